// The picture beside the sentence: which side of the cube to turn to the camera, or how the sentence is meant.

const NS = "http://www.w3.org/2000/svg";

function shape(name, attributes, parent) {
  const element = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  parent?.append(element);
  return element;
}

// The cube as the picture shows it: its front faces the camera. Sides as they lie on the screen.
const FRONT = "28,30 72,30 72,74 28,74";
const SIDES = {
  left: ["10,20 28,30 28,74 10,62", "M14 96 C 26 104, 46 102, 56 86", [56, 86, -52]],
  right: ["90,20 72,30 72,74 90,62", "M86 96 C 74 104, 54 102, 44 86", [44, 86, 232]],
  top: ["28,30 72,30 62,12 38,12", "M92 12 C 104 26, 102 44, 84 54", [84, 54, 150]],
  bottom: ["28,74 72,74 62,92 38,92", "M92 94 C 104 80, 102 62, 84 52", [84, 52, 210]],
  behind: ["", "M8 84 C 20 108, 80 108, 92 84", [92, 84, -58]],
};

const WHERE = {
  "from-left-hand": ["left", "right"],
  "from-right-hand": ["right", "left"],
  "from-top": ["top", "top"],
  "from-bottom": ["bottom", "bottom"],
  "from-behind": ["behind", "behind"],
};

export function drawSign(holder, { mood, turning, mirrored }) {
  const svg = shape("svg", { viewBox: "0 0 100 110", fill: "none", "stroke-linejoin": "round", "stroke-linecap": "round" });
  const ink = { stroke: "currentColor", "stroke-width": 3.4 };
  if (turning) {
    const side = WHERE[turning]?.[mirrored ? 0 : 1];
    if (side && SIDES[side][0]) {
      shape("polygon", { points: SIDES[side][0], fill: "currentColor", ...ink }, svg);
    }
    shape("polygon", { points: FRONT, fill: "var(--card)", ...ink }, svg);
    for (const k of [1, 2]) {
      const at = 28 + (44 * k) / 3;
      shape("path", { d: `M${at} 30V74M28 ${at + 2}H72`, stroke: "currentColor", "stroke-width": 1.6 }, svg);
    }
    if (side) {
      const [, path, [x, y, turn]] = SIDES[side];
      shape("path", { d: path, stroke: "currentColor", "stroke-width": 5.5 }, svg);
      shape("path", { d: "M-11 -8 L4 0 L-11 8", transform: `translate(${x} ${y}) rotate(${turn})`, stroke: "currentColor", "stroke-width": 5.5 }, svg);
    } else {
      // Any face, or the same one: the cube looks into a lens.
      shape("circle", { cx: 50, cy: 95, r: 9, ...ink }, svg);
      shape("circle", { cx: 50, cy: 95, r: 2.4, fill: "currentColor" }, svg);
    }
  } else if (mood === "work") {
    shape("path", { d: "M36 18h28v22h22v26H64v26H36V66H14V40h22z", ...ink }, svg);
    shape("path", { d: "M36 40h28v26H36z", stroke: "currentColor", "stroke-width": 2.6, "stroke-dasharray": "5 5" }, svg);
  } else if (mood === "answer") {
    shape("circle", { cx: 50, cy: 54, r: 38, ...ink }, svg);
    shape("path", { d: "M32 55l13 14 25-30", stroke: "currentColor", "stroke-width": 8 }, svg);
  } else if (mood === "warning") {
    shape("path", { d: "M50 14 92 90H8z", ...ink }, svg);
    shape("path", { d: "M50 40v24", stroke: "currentColor", "stroke-width": 8 }, svg);
    shape("circle", { cx: 50, cy: 78, r: 4.6, fill: "currentColor" }, svg);
  } else {
    shape("circle", { cx: 50, cy: 54, r: 38, "stroke-dasharray": "9 7", ...ink }, svg);
    shape("path", { d: "M38 44c0-8 6-12 12-12s13 4 13 12c0 9-13 9-13 19", stroke: "currentColor", "stroke-width": 7 }, svg);
    shape("circle", { cx: 50, cy: 77, r: 4.6, fill: "currentColor" }, svg);
  }
  holder.replaceChildren(svg);
}
