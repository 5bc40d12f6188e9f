// Plays the advised moves on the drawn cube, turn by turn, and says each.

import { Cube } from "./cube.js";

const TURN_MS = 900;
const REST_MS = 1500;

export class Player {
  #cube = new Cube(document.getElementById("cube"));
  #plan = null;
  #n = 0;
  #at = 0;
  #isPlaying = false;
  #isSlow = false;
  #timer = 0;
  #frame = 0;
  #voice;
  #part = document.getElementById("part");
  #turn = document.getElementById("turn");
  #moves = document.getElementById("moves");
  #play = document.getElementById("play");
  #slower = document.getElementById("slower");

  constructor(voice) {
    this.#voice = voice;
    this.#play.addEventListener("click", () => this.toggle());
    document.getElementById("step").addEventListener("click", () => this.step(1));
    document.getElementById("back").addEventListener("click", () => this.step(-1));
    this.#slower.addEventListener("click", () => this.slower());
  }

  get hasPlan() {
    return this.#plan !== null;
  }

  show(plan, n, palette) {
    const isNew = JSON.stringify([plan?.moves, plan?.states]) !== JSON.stringify([this.#plan?.moves, this.#plan?.states]);
    const done = plan?.done ?? 0;
    const isMoved = done !== (this.#plan?.done ?? 0);
    this.#plan = plan;
    this.#n = n;
    if (!plan) {
      this.pause();
      return;
    }
    this.#paints = Object.fromEntries(["U", "R", "F", "D", "L", "B"].map((face, k) => [face, palette[k]]));
    if (isNew) {
      this.#list();
      this.#at = 0;
      document.getElementById("holding").textContent = this.#hold();
      document.getElementById("outcome").textContent = this.#plan.outcome;
    }
    if (isNew || isMoved) {
      this.pause();
      this.#at = done;
    }
    this.#render();
  }

  #paints = {};

  // What each move belongs to, where the moves come in parts.
  get #parts() {
    return this.#plan.parts.flatMap((part) => part.moves.split(" ").map(() => part));
  }

  #list() {
    const parts = this.#parts;
    this.#moves.dataset.parts = String(parts.length > 0);
    this.#moves.replaceChildren(
      ...this.#plan.moves.map((move, k) => {
        const item = document.createElement("li");
        // The word before the colon heads the part's first move.
        if (parts[k] !== parts[k - 1]) item.dataset.part = parts[k].text.split(":")[0];
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = move.sign;
        button.setAttribute("aria-label", `Move ${k + 1}: ${move.words}`);
        button.addEventListener("click", () => {
          this.pause();
          this.#go(k);
        });
        item.append(button);
        return item;
      }),
    );
  }

  toggle() {
    if (!this.#plan) return;
    if (this.#isPlaying) {
      this.pause();
      return;
    }
    if (this.#at >= this.#plan.moves.length) this.#at = this.#plan.done;
    this.#isPlaying = true;
    this.#render();
    this.#announce();
    this.#wait();
  }

  pause() {
    this.#isPlaying = false;
    clearTimeout(this.#timer);
    cancelAnimationFrame(this.#frame);
    if (this.#plan) this.#render();
  }

  slower() {
    this.#isSlow = !this.#isSlow;
    this.#slower.setAttribute("aria-pressed", String(this.#isSlow));
  }

  step(by) {
    if (!this.#plan) return;
    this.pause();
    if (by > 0 && this.#at < this.#plan.moves.length) this.#turnOn();
    else if (by < 0 && this.#at > 0) this.#go(this.#at - 1);
  }

  #go(at) {
    cancelAnimationFrame(this.#frame);
    this.#at = at;
    this.#render();
    this.#announce();
  }

  #wait() {
    const rest = this.#isSlow ? REST_MS * 2 : REST_MS;
    this.#timer = setTimeout(() => this.#turnOn(), rest);
  }

  // Turns the layers of the next move, then rests before the one after.
  #turnOn() {
    if (this.#at >= this.#plan.moves.length) {
      this.pause();
      return;
    }
    const move = this.#plan.moves[this.#at];
    const isCalm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const length = (this.#isSlow ? TURN_MS * 2.2 : TURN_MS) * (Math.abs(move.quarters) === 2 ? 1.5 : 1);
    const start = performance.now();
    const tick = (now) => {
      const share = isCalm ? 1 : Math.min(1, (now - start) / length);
      if (share >= 1) {
        this.#at += 1;
        this.#render();
        this.#announce();
        if (this.#isPlaying) {
          if (this.#at < this.#plan.moves.length) this.#wait();
          else this.pause();
        }
        return;
      }
      this.#cube.moving = [move, Math.max(0.001, share * share * (3 - 2 * share))];
      this.#cube.draw();
      this.#frame = requestAnimationFrame(tick);
    };
    this.#frame = requestAnimationFrame(tick);
  }

  #words() {
    const move = this.#plan.moves[this.#at];
    if (move) return move.words;
    return "That was the last move. Show me a face, and I look whether all is well";
  }

  // What is on top and in front, if their middles have one colour.
  #hold() {
    const n = this.#n;
    const middle = (face) => {
      const first = ["U", "R", "F", "D", "L", "B"].indexOf(face) * n * n;
      const [low, high] = [Math.floor((n - 1) / 2), Math.floor(n / 2)];
      const found = new Set([low, high].flatMap((row) => [low, high].map((col) => this.#plan.states[0][first + row * n + col])));
      return found.size === 1 ? this.#paints[[...found][0]].colour : null;
    };
    const [top, front] = [middle("U"), middle("F")];
    return top && front ? `Hold it so: ${top} on top, ${front} in front` : "Hold it as drawn";
  }

  #announce() {
    const parts = this.#parts;
    const part = parts[this.#at] !== parts[this.#at - 1] ? parts[this.#at]?.text : null;
    const hold = this.#at === 0 ? `${this.#hold()}.` : null;
    this.#voice.say([hold, part, this.#words()].filter(Boolean).join(" "), { again: true });
  }

  #render() {
    const { moves, states, done } = this.#plan;
    this.#cube.set(this.#n, states[this.#at], this.#paints);
    this.#cube.moving = [moves[this.#at] ?? null, 0];
    this.#cube.draw();
    this.#turn.textContent = this.#words();
    const part = this.#parts[this.#at]?.text;
    this.#part.hidden = !this.#plan.parts.length;
    this.#part.textContent = part ?? "All parts are done.";
    this.#play.dataset.playing = String(this.#isPlaying);
    this.#play.querySelector("span").textContent = this.#isPlaying ? "Pause" : "Play";
    document.getElementById("back").disabled = this.#at === 0;
    document.getElementById("step").disabled = this.#at >= moves.length;
    [...this.#moves.children].forEach((item, k) => {
      const button = item.firstElementChild;
      button.dataset.state = k < done ? "done" : "open";
      if (k === this.#at) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
    });
  }
}
