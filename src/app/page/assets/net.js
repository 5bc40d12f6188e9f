// The unfolded faces: shown as they come, folded out once the cube is known, every sticker open to correction.

const NS = "http://www.w3.org/2000/svg";
const FACE = 100;
const ROOM = 14;
// Between the faces of the unfolded cube there is room for their letters, which sentences and moves go by.
const NAME_ROOM = 24;
const NAMES = { U: "top", R: "right", F: "front", D: "bottom", L: "left", B: "back" };
const UNFOLDED = { U: [1, 0], L: [0, 1], F: [1, 1], R: [2, 1], B: [3, 1], D: [1, 2] };
const PLACES = ["first", "second", "third", "fourth", "fifth", "sixth"];

function shape(name, attributes, parent) {
  const element = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  parent?.append(element);
  return element;
}

function nameOf({ face }, slot) {
  return face ? `${face} ${NAMES[face]}` : `${PLACES[slot]} face`;
}

export class Net {
  #holder = document.getElementById("net");
  #chooser = document.getElementById("chooser");
  #link;
  #scene = null;
  #cells = [];
  #active = [0, 0];
  #known = 0;

  constructor(link) {
    this.#link = link;
    this.#holder.addEventListener("keydown", (event) => this.#key(event));
    this.#holder.addEventListener("click", (event) => {
      const cell = event.target.closest?.(".cell");
      if (cell) this.#choose(cell);
    });
    this.#chooser.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.#close(true);
    });
    document.addEventListener("pointerdown", (event) => {
      if (!this.#chooser.contains(event.target) && !event.target.closest?.(".cell")) this.#close(false);
    });
  }

  focus() {
    this.#find(this.#active)?.focus();
  }

  show(scene) {
    this.#scene = scene;
    const hadFocus = this.#holder.contains(document.activeElement);
    const isUnfolded = scene.faces.length === 6 && scene.faces.every(({ face }) => face);
    const [wide, high] = isUnfolded ? [4, 3] : [3, 2];
    const room = isUnfolded ? NAME_ROOM : ROOM;
    const step = FACE + room;
    const [above, below] = isUnfolded ? [NAME_ROOM - 4, 0] : [0, 22];
    const svg = shape("svg", { viewBox: `-4 ${-4 - above} ${wide * step - room + 8} ${above + high * (step + below) - room + 8}` });
    this.#cells = [];
    for (let slot = 0; slot < 6; slot += 1) {
      const held = scene.faces[slot];
      const [col, row] = isUnfolded ? UNFOLDED[held.face] : [slot % 3, Math.floor(slot / 3)];
      const group = shape("g", { transform: `translate(${col * step} ${row * (step + below)})` }, svg);
      if (held) this.#drawFace(group, slot, held, slot >= this.#known && !isUnfolded);
      else this.#drawEmpty(group, slot);
      if (!held) continue;
      const y = isUnfolded ? -8 : FACE + 17;
      shape("text", { class: "name", x: FACE / 2, y }, group).textContent = nameOf(held, slot);
    }
    if (isUnfolded) this.#drawFolds(svg, step);
    this.#known = scene.faces.length;
    this.#holder.replaceChildren(svg);
    const active = this.#find(this.#active) ?? this.#cells[0]?.element;
    active?.setAttribute("tabindex", "0");
    if (hadFocus) active?.focus();
    if (!this.#chooser.hidden) this.#close(false);
  }

  #find([slot, place]) {
    return this.#cells.find((cell) => cell.slot === slot && cell.place === place)?.element;
  }

  #drawEmpty(group, slot) {
    shape("rect", { class: "empty", width: FACE, height: FACE, rx: 6 }, group);
    shape("text", { class: "order", x: FACE / 2, y: FACE / 2 + 16 }, group).textContent = slot + 1;
  }

  // Dashed where the paper folds between the faces of the belt; above and below the front its names stand there.
  #drawFolds(svg, step) {
    for (const [col, row] of [[1, 1], [2, 1], [3, 1]]) {
      const x = col * step - NAME_ROOM / 2;
      shape("path", { class: "fold", d: `M${x} ${row * step + 4}V${row * step + FACE - 4}` }, svg);
    }
  }

  #drawFace(group, slot, held, isFresh) {
    const n = Math.round(Math.sqrt(held.cells.length));
    const side = FACE / n;
    const sheet = shape("g", isFresh ? { class: "fresh" } : {}, group);
    shape("rect", { class: "card", x: -3, y: -3, width: FACE + 6, height: FACE + 6, rx: 5 }, sheet);
    const name = nameOf(held, slot);
    held.cells.forEach((cell, place) => {
      const [row, col] = [Math.floor(place / n), place % n];
      const [x, y, inner] = [col * side + side * 0.05, row * side + side * 0.05, side * 0.9];
      const marks = [cell.or && `might be ${cell.or}`, cell.fault && "cannot be here", cell.fixed && "set by hand"];
      const element = shape("g", {
        class: "cell",
        role: "button",
        tabindex: -1,
        "data-slot": slot,
        "data-place": place,
        "aria-label": [`${name}, row ${row + 1}, column ${col + 1}: ${cell.colour}`, ...marks.filter(Boolean)].join(", "),
      }, sheet);
      shape("rect", { x, y, width: inner, height: inner, rx: inner * 0.12, fill: cell.fill }, element);
      const letter = shape("text", { x: x + inner / 2, y: y + inner / 2, fill: cell.ink, "font-size": inner * 0.56 }, element);
      letter.textContent = cell.or ? `${cell.letter}?` : cell.letter;
      if (cell.or) {
        letter.setAttribute("font-size", inner * 0.42);
        shape("rect", { class: "doubt", x: x + 1, y: y + 1, width: inner - 2, height: inner - 2, rx: inner * 0.12 }, element);
      }
      if (cell.fault) shape("path", { class: "fault", d: `M${x} ${y}h${inner}v${inner}h${-inner}zM${x} ${y + inner}l${inner * 0.3} ${-inner * 0.3}` }, element);
      if (cell.fixed) {
        shape("circle", { class: "badge", cx: x + inner * 0.86, cy: y + inner * 0.14, r: Math.max(2.4, inner * 0.13) }, element);
      }
      shape("rect", { class: "ring", x, y, width: inner, height: inner, rx: inner * 0.12 }, element);
      this.#cells.push({ slot, place, element, letter: cell.letter, colour: cell.colour });
    });
  }

  #key(event) {
    const element = event.target.closest?.(".cell");
    if (!element || event.ctrlKey || event.metaKey || event.altKey) return;
    const [slot, place] = [Number(element.dataset.slot), Number(element.dataset.place)];
    const towards = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const chosen = this.#scene.palette.find(({ letter }) => letter === event.key.toUpperCase());
    const own = this.#scene.faces[slot].cells[place].colour;
    if (towards) this.#walk(element, towards);
    else if (event.key === "Enter") this.#set(slot, place, own);
    else if (event.key === " ") this.#choose(element);
    else if (event.key === "Delete" || event.key === "Backspace") this.#set(slot, place, null);
    else if (chosen) this.#set(slot, place, chosen.colour);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  #walk(from, [dx, dy]) {
    const middle = (element) => {
      const box = element.querySelector("rect").getBoundingClientRect();
      return [box.x + box.width / 2, box.y + box.height / 2];
    };
    const [x, y] = middle(from);
    let best = null;
    let least = Infinity;
    for (const { element } of this.#cells) {
      const [cx, cy] = middle(element);
      const along = (cx - x) * dx + (cy - y) * dy;
      const aside = Math.abs((cx - x) * dy) + Math.abs((cy - y) * dx);
      if (along > 1 && along + aside * 3 < least) [best, least] = [element, along + aside * 3];
    }
    if (best) this.#activate(best);
  }

  #activate(element) {
    this.#find(this.#active)?.setAttribute("tabindex", "-1");
    this.#active = [Number(element.dataset.slot), Number(element.dataset.place)];
    element.setAttribute("tabindex", "0");
    element.focus();
  }

  #set(face, place, colour) {
    this.#link.ask({ do: "correct", face, place, colour });
  }

  #choose(element) {
    this.#activate(element);
    const [slot, place] = this.#active;
    const button = (content, act) => {
      const made = document.createElement("button");
      made.type = "button";
      made.setAttribute("role", "menuitem");
      made.append(...content);
      made.addEventListener("click", () => {
        act();
        this.#close(true);
      });
      return made;
    };
    const colours = this.#scene.palette.map((cell) => {
      const swatch = document.createElement("span");
      swatch.className = "swatch";
      swatch.style.background = cell.fill;
      swatch.style.color = cell.ink;
      swatch.textContent = cell.letter;
      return button([swatch, cell.colour], () => this.#set(slot, place, cell.colour));
    });
    const undo = button(["As it was seen"], () => this.#set(slot, place, null));
    const drop = button(["Show this face again"], () => this.#link.ask({ do: "drop", face: slot }));
    const last = this.#scene.standing === "answered" ? [undo] : [undo, drop];
    this.#chooser.replaceChildren(...colours, ...last);
    this.#chooser.hidden = false;
    const [box, home] = [element.getBoundingClientRect(), this.#holder.parentElement.getBoundingClientRect()];
    const left = Math.max(0, Math.min(box.right - home.left + 8, home.width - this.#chooser.offsetWidth));
    this.#chooser.style.left = `${left}px`;
    // Below the sticker, or above it where the screen ends.
    const height = this.#chooser.offsetHeight;
    const isAbove = box.bottom + 8 + height > window.innerHeight && box.top - 8 - height >= 0;
    this.#chooser.style.top = `${isAbove ? box.top - home.top - 8 - height : box.bottom - home.top + 8}px`;
    colours[0]?.focus();
  }

  #close(isBack) {
    if (this.#chooser.hidden) return;
    this.#chooser.hidden = true;
    if (isBack) this.focus();
  }
}
