// Puts the page together: what the program says, shown and spoken; what the person does, passed on.

import { Finder } from "./finder.js";
import { Link } from "./link.js";
import { Net } from "./net.js";
import { Player } from "./player.js";
import { drawSign } from "./sign.js";
import { Voice } from "./voice.js";

const find = (id) => document.getElementById(id);
const LONG = 78;
const VERY_LONG = 150;
const LASTING_MS = 600;

const link = new Link();
const voice = new Voice();
const finder = new Finder(link);
const net = new Net(link);
const player = new Player(voice);
let scene = null;
let source = null;
// What the browser says of its camera; it knows more of it than the program.
let refusal = null;
// What keeps pictures from coming, once it has for a moment.
let hindrance = null;
let hindranceTimer = 0;
let hasEnded = false;

function say() {
  // Who waits for the camera is told so where everything else is said; an answer stays.
  const isStopped = hindrance && scene?.standing !== "answered";
  const words = isStopped ? sentence(hindrance) : scene?.say ?? "";
  if (find("say").textContent !== words) find("say").textContent = words;
  document.body.dataset.long = words.length > VERY_LONG ? "very" : String(words.length > LONG);
  const isImpossible = scene?.mood === "answer" && scene.examination?.legality.legal === false;
  const sign = isStopped || isImpossible ? { mood: "warning" } : { mood: scene?.mood, turning: scene?.turning };
  drawSign(find("sign"), { ...sign, mirrored: finder.mirrored });
}

link.addEventListener("scene", ({ detail }) => {
  const isFirst = scene === null;
  scene = detail;
  const { standing, mood, plan, n, palette, faces, examination, table } = scene;
  showTrouble();
  Object.assign(document.body.dataset, { standing, mood, caution: String(Boolean(scene.caution)), plan: String(Boolean(plan)), parts: String(Boolean(plan?.parts.length)), table: String(table) });
  say();
  if (!hindrance && (!isFirst || !source?.trouble)) voice.say(scene.say);
  net.show(scene);
  find("net-title").textContent = standing === "collecting" ? `The faces so far: ${faces.length} of 6` : "The cube, unfolded";
  // Where there are no stickers there is nothing to walk over.
  find("net-help").hidden = faces.length === 0;
  find("another").hidden = !scene.say.startsWith("I have this face already");
  find("advice").hidden = !plan;
  if (plan) find("aim").textContent = plan.aim;
  player.show(plan, n, palette);
  find("caution").hidden = !scene.caution;
  find("caution").textContent = scene.caution ?? "";
  showTaught(plan ? examination?.advice : null);
  showFacts(examination, standing);
  find("table").hidden = !table;
  find("away").hidden = standing !== "answered";
});

link.addEventListener("source", ({ detail }) => {
  if (source?.wants_held !== detail.wants_held) finder.hold(detail.wants_held);
  source = detail;
  showTrouble();
  const locking = {
    held: "Exposure and white balance are held.",
    refused: detail.refusal ? `Not held: ${detail.refusal}. Keep the light steady.` : "Exposure and white balance could not be held: keep the light steady.",
  };
  find("source").textContent = [
    `Pictures from ${detail.name}, seen by this computer only.`,
    detail.is_over ? "The recording is over." : "",
    locking[detail.locking] ?? "",
  ].filter(Boolean).join(" ");
});

const STAGES = {
  illegal: "cannot be solved by turning",
  centres: "at the centres",
  pairing: "pairing edges",
  "last-groups": "at the last edge groups",
  reduced: "like a 3×3×3",
  solved: "solved",
};

link.addEventListener("findings", ({ detail }) => {
  find("none").hidden = detail.cubes.length > 0;
  find("save").hidden = detail.cubes.length === 0;
  find("cubes").replaceChildren(
    ...detail.cubes.toReversed().map((cube) => {
      const item = document.createElement("li");
      const picture = document.createElement(cube.picture ? "img" : "span");
      if (cube.picture) Object.assign(picture, { src: cube.picture, alt: `The camera's picture of cube ${cube.number}` });
      const words = document.createElement("div");
      const title = document.createElement("strong");
      // A 3×3×3 is not like one.
      const stage = cube.stage === "reduced" && cube.size <= 3 ? "layer by layer" : STAGES[cube.stage];
      title.textContent = `Cube ${cube.number}: ${stage ?? cube.stage}${cube.certain ? "" : " ?"}`;
      const when = document.createElement("small");
      const time = new Date(cube.at_ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
      when.textContent = `${cube.size}×${cube.size}×${cube.size}, ${time}`;
      const text = document.createElement("p");
      text.textContent = cube.text;
      words.append(title, when, text);
      item.append(picture, words);
      return item;
    }),
  );
});

link.addEventListener("closed", () => {
  hasEnded = true;
  showTrouble();
});
link.addEventListener("open", () => {
  hasEnded = false;
});

function showTrouble() {
  const isCut = source?.is_over && ["collecting", "doubtful", "unmade"].includes(scene?.standing);
  const over = isCut ? "The recording is over before the cube was read: show more faces in it, or longer" : null;
  const ended = hasEnded ? "The program has ended. Start it again, and open the address it prints" : null;
  const stops = ended ?? refusal ?? source?.trouble ?? null;
  const words = stops ?? over;
  const trouble = find("trouble");
  trouble.hidden = !words;
  if (words) trouble.textContent = sentence(words);
  hinder(stops);
}

// A frame left out is no hindrance: only what lasts is said in the one sentence, and aloud.
function hinder(words) {
  clearTimeout(hindranceTimer);
  if (words === hindrance) return;
  hindranceTimer = setTimeout(() => {
    hindrance = words;
    say();
    if (words) voice.say(sentence(words));
    else if (scene) voice.say(scene.say, { again: true });
  }, words ? LASTING_MS : 0);
}

function sentence(words) {
  return words.charAt(0).toUpperCase() + words.slice(1);
}

// As it stands after a colon; names of places are written in capitals.
function withinSentence(words) {
  return /^[A-Z][a-z ]/.test(words) ? words.charAt(0).toLowerCase() + words.slice(1) : words;
}

function showFacts(examination, standing) {
  const facts = find("facts");
  let lines = [];
  if (examination && (standing === "answered" || standing === "doubtful")) {
    // What is doubtful is not told as a fact.
    const how = standing === "doubtful" ? "If all is as read: " : "";
    for (const fault of examination.legality.faults) lines.push([how ? how + withinSentence(fault.text) : fault.text, "big"]);
    const { diagnosis } = examination;
    if (standing === "answered" && diagnosis?.case) lines.push([diagnosis.case.title, "big"], [diagnosis.case.text, ""]);
    if (standing === "answered" && diagnosis?.text) lines.push([diagnosis.text, ""]);
    // What the one sentence says already need not be said twice.
    const plain = (words) => words.toLowerCase().replace(/\.$/, "");
    const said = plain(scene.say);
    lines = lines.filter(([words], k) => !said.includes(plain(words)) && !plain(words).includes(said) && lines.findIndex(([other]) => other === words) === k);
  }
  const repair = standing === "answered" ? examination?.repair : null;
  showRepair(repair);
  const { own_error } = examination ?? {};
  if (own_error) lines.push([`This program found no advice, which is its own fault: ${own_error}`, ""]);
  document.body.dataset.repair = String(Boolean(repair));
  const mending = lines.length ? "What is wrong, and how to mend it" : "How to mend it";
  find("details-title").textContent = repair ? mending : "In more detail";
  find("details").hidden = lines.length === 0 && !repair;
  facts.replaceChildren(...lines.map(([words, kind]) => paragraph(words, kind)));
}

function paragraph(words, kind = "") {
  const line = document.createElement("p");
  line.textContent = words;
  line.className = kind;
  return line;
}

// A cube that cannot be: what to do with fingers, and what to mind.
function showRepair(repair) {
  const holder = find("repair");
  holder.hidden = !repair;
  if (!repair) return;
  const parts = [paragraph(repair.text)];
  const shown = repair.ways.slice(0, 4);
  if (shown.length) {
    const list = document.createElement("ol");
    for (const way of shown) {
      const item = document.createElement("li");
      item.textContent = way.steps.map((step) => step.text).join(" ");
      list.append(item);
    }
    parts.push(list);
  }
  const more = repair.ways_total - shown.length;
  if (more > 0) parts.push(paragraph(`… and ${more} more.`));
  if (repair.caution) parts.push(paragraph(repair.caution, "mind"));
  parts.push(paragraph("A sticker read wrongly can be set right on the unfolded cube. Once the cube is mended, begin again with Next cube."));
  holder.replaceChildren(...parts);
}

// What the moves are known as, what else they do, and other ways that are often taught.
function showTaught(advice) {
  const holder = find("taught");
  const lines = [];
  const known = advice?.known;
  if (known) lines.push(paragraph(`These moves are themselves a sequence often taught: ${known.title}. ${known.side_effects}`));
  for (const other of advice?.others ?? []) {
    const what = other.title === known?.title ? "The same as it is often written" : `Or, as is often taught, ${other.title}`;
    const first = other.from_step ? `from that hold first ${other.from_step}, then ` : "in the same hold ";
    lines.push(paragraph(`${what}: ${first}${other.moves}. ${other.side_effects}`));
  }
  holder.hidden = lines.length === 0;
  holder.replaceChildren(...lines);
}

// For whoever opens the browser's console: the newest of what the program said.
window.sixfold = { get scene() { return scene; } };

// Tools.
const mirror = () => {
  finder.mirrored = !finder.mirrored;
  find("mirror").setAttribute("aria-pressed", String(finder.mirrored));
  say();
};
const speak = () => {
  voice.isOn = !voice.isOn;
  showVoice();
  if (voice.isOn && scene) voice.say(scene.say, { again: true });
};
function showVoice() {
  find("voice").setAttribute("aria-pressed", String(voice.isOn));
  find("voice").querySelector("span").textContent = voice.isOn ? "Voice on" : "Voice off";
  find("voice").hidden = !voice.exists;
  // Each turn is said once: aloud, or by the reader of whoever has one.
  find("turn").setAttribute("aria-live", voice.exists && voice.isOn ? "off" : "polite");
}
const help = () => {
  const dialog = find("help");
  if (dialog.open) dialog.close();
  else dialog.showModal();
};
// The unfolded cube instead of all else, for those who look from afar or correct with a finger.
const enlarge = () => {
  const isLarge = document.body.dataset.large !== "true";
  document.body.dataset.large = String(isLarge);
  find("larger").setAttribute("aria-pressed", String(isLarge));
};
const next = () => link.ask({ do: "start-over" });
const another = () => link.ask({ do: "another" });
find("over").addEventListener("click", next);
find("another").addEventListener("click", another);
find("voice").addEventListener("click", speak);
find("mirror").addEventListener("click", mirror);
find("keys").addEventListener("click", help);
find("larger").addEventListener("click", enlarge);

const KEYS = {
  n: next,
  a: another,
  v: speak,
  m: mirror,
  c: () => net.focus(),
  z: enlarge,
  s: () => player.slower(),
  "?": help,
  ArrowRight: () => player.step(1),
  ArrowLeft: () => player.step(-1),
  " ": () => player.toggle(),
};
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || find("help").open) return;
  if (event.key === " " && event.target.closest("button, a")) return;
  const act = KEYS[event.key] ?? KEYS[event.key.toLowerCase()];
  if (!act) return;
  act();
  event.preventDefault();
});

// A recording is no mirror.
finder.mirrored = document.body.dataset.mirror !== "false";
showVoice();
say();
link.open();
if (finder.usesBrowser) {
  link.addEventListener("open", () => {
    finder.openCamera().catch((problem) => {
      const words = {
        NotAllowedError: "The browser may not use the camera: allow it beside the address, then load this page again",
        NotFoundError: "The browser finds no camera: plug one in, then load this page again",
        NotReadableError: "The camera is in use by another program: close that program, then load this page again",
      };
      refusal = words[problem.name] ?? String(problem.message);
      showTrouble();
    });
  }, { once: true });
}
