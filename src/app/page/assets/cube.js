// A cube in the hand, drawn from the front, above and the right; some of its layers may be on their way.
//
// R is +x, U is +y, F is +z; the cube reaches from -1 to 1. Stickers come in the order U R F D L B, row by row.

const FACES = {
  U: [[0, 1, 0], [0, 0, 1], [1, 0, 0]],
  R: [[1, 0, 0], [0, -1, 0], [0, 0, -1]],
  F: [[0, 0, 1], [0, -1, 0], [1, 0, 0]],
  D: [[0, -1, 0], [0, 0, -1], [1, 0, 0]],
  L: [[-1, 0, 0], [0, -1, 0], [0, 0, 1]],
  B: [[0, 0, -1], [0, -1, 0], [-1, 0, 0]],
};
const ORDER = ["U", "R", "F", "D", "L", "B"];
const DISTANCE = 7.5;
const HOME = { yaw: 0.6, pitch: 0.5 };

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const sum = (...parts) => [0, 1, 2].map((k) => parts.reduce((total, [vector, factor]) => total + vector[k] * factor, 0));
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];

// Turned about an axis of length one, right-handed.
function turned(vector, axis, angle) {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return sum([vector, c], [cross(axis, vector), s], [axis, dot(axis, vector) * (1 - c)]);
}

export class Cube {
  #canvas;
  #pen;
  #view = { ...HOME };
  #n = 3;
  #stickers = "";
  #paints = {};
  #move = null;
  #share = 0;

  constructor(canvas) {
    this.#canvas = canvas;
    this.#pen = canvas.getContext("2d");
    let last = null;
    canvas.addEventListener("pointerdown", (event) => {
      last = [event.clientX, event.clientY];
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (!last) return;
      this.#view.yaw += (last[0] - event.clientX) * 0.008;
      this.#view.pitch = Math.max(-1.2, Math.min(1.2, this.#view.pitch + (event.clientY - last[1]) * 0.008));
      last = [event.clientX, event.clientY];
      this.draw();
    });
    const release = () => {
      last = null;
      this.#view = { ...HOME };
      this.draw();
    };
    canvas.addEventListener("pointerup", release);
    canvas.addEventListener("pointercancel", release);
  }

  // The stickers, and for each home face its paint and letter.
  set(n, stickers, paints) {
    [this.#n, this.#stickers, this.#paints] = [n, stickers, paints];
  }

  // A move on its way: `share` 0 is before it, 1 after.
  set moving([move, share]) {
    [this.#move, this.#share] = [move, share];
  }

  #project(point) {
    const { yaw, pitch } = this.#view;
    const ahead = point[0] * Math.sin(yaw) + point[2] * Math.cos(yaw);
    const x = point[0] * Math.cos(yaw) - point[2] * Math.sin(yaw);
    const y = ahead * Math.sin(pitch) - point[1] * Math.cos(pitch);
    const depth = ahead * Math.cos(pitch) + point[1] * Math.sin(pitch);
    const scale = (this.#canvas.height * 0.285 * DISTANCE) / (DISTANCE - depth);
    return [this.#canvas.width / 2 + x * scale, this.#canvas.height * 0.5 + y * scale];
  }

  get #eye() {
    const { yaw, pitch } = this.#view;
    return [Math.sin(yaw) * Math.cos(pitch), Math.sin(pitch), Math.cos(yaw) * Math.cos(pitch)].map((x) => x * DISTANCE);
  }

  draw() {
    const pen = this.#pen;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.clearRect(0, 0, this.#canvas.width, this.#canvas.height);
    if (!this.#stickers) return;
    const move = this.#move;
    if (!move) {
      this.#drawBlock([1, 0, 0], -1, 1, 0, 1);
      return;
    }
    const axis = FACES[move.face][0];
    const cut = 1 - (2 * move.layers) / this.#n;
    // Clockwise as seen from outside is left-handed about the outward normal.
    const angle = (-move.quarters * Math.PI * this.#share) / 2;
    const moving = () => this.#drawBlock(axis, cut, 1, angle, 1);
    const still = () => {
      if (move.layers < this.#n) this.#drawBlock(axis, -1, cut, 0, 0.42);
    };
    const parts = dot(this.#eye, axis) > cut ? [still, moving] : [moving, still];
    for (const part of parts) part();
    if (this.#share === 0) this.#drawArrow(axis, (1 + cut) / 2, move);
  }

  // The part of the cube between two planes across an axis, turned about it.
  #drawBlock(axis, low, high, angle, strength) {
    for (const name of ORDER) {
      const [normal, down, right] = FACES[name];
      const along = dot(normal, axis);
      const reach = (vector) => {
        const part = dot(vector, axis);
        if (part === 0) return [-1, 1];
        return part > 0 ? [low, high] : [-high, -low];
      };
      const out = along === 0 ? 1 : along > 0 ? high : -low;
      const [[top, bottom], [left, end]] = [reach(down), reach(right)];
      const at = (d, r) => turned(sum([normal, out], [down, d], [right, r]), axis, angle);
      const facing = turned(normal, axis, angle);
      if (dot(facing, sum([this.#eye, 1], [at((top + bottom) / 2, (left + end) / 2), -1])) <= 0) continue;
      const pen = this.#pen;
      pen.globalAlpha = 1;
      pen.fillStyle = "#20262b";
      pen.strokeStyle = "#20262b";
      pen.lineJoin = "round";
      pen.lineWidth = 5;
      this.#trace([at(top, left), at(top, end), at(bottom, end), at(bottom, left)]);
      pen.fill();
      pen.stroke();
      if (out === 1) {
        this.#drawStickers(name, at, [top, bottom, left, end], strength);
      }
    }
  }

  #trace(points) {
    this.#pen.beginPath();
    points.forEach((point, k) => this.#pen[k ? "lineTo" : "moveTo"](...this.#project(point)));
    this.#pen.closePath();
  }

  #drawStickers(name, at, [top, bottom, left, end], strength) {
    const n = this.#n;
    const first = ORDER.indexOf(name) * n * n;
    const pen = this.#pen;
    const half = 0.87 / n;
    for (let row = 0; row < n; row += 1) {
      const d = (2 * row + 1) / n - 1;
      if (d < top || d > bottom) continue;
      for (let col = 0; col < n; col += 1) {
        const r = (2 * col + 1) / n - 1;
        if (r < left || r > end) continue;
        const paint = this.#paints[this.#stickers[first + row * n + col]];
        pen.globalAlpha = strength;
        pen.fillStyle = paint.fill;
        pen.strokeStyle = paint.fill;
        pen.lineWidth = 18 / n;
        const inner = half - 0.06 / n;
        this.#trace([at(d - inner, r - inner), at(d - inner, r + inner), at(d + inner, r + inner), at(d + inner, r - inner)]);
        pen.fill();
        pen.stroke();
        this.#drawLetter(paint, at(d, r), at(d, r + half), at(d + half, r));
      }
    }
    pen.globalAlpha = 1;
  }

  // A letter lying on the sticker.
  #drawLetter({ letter, ink }, middle, beside, below) {
    const [[x, y], [bx, by], [dx, dy]] = [middle, beside, below].map((point) => this.#project(point));
    const pen = this.#pen;
    pen.save();
    pen.setTransform((bx - x) / 50, (by - y) / 50, (dx - x) / 50, (dy - y) / 50, x, y);
    pen.fillStyle = ink;
    pen.font = "700 56px system-ui, sans-serif";
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.fillText(letter, 0, 4);
    pen.restore();
  }

  // A bent arrow round the layers that turn next, on the side one sees.
  #drawArrow(axis, middle, move) {
    const eye = this.#eye;
    const towards = sum([eye, 1], [axis, -dot(eye, axis)]);
    const length = Math.hypot(...towards);
    const start = length < 0.2 ? FACES.U[0] : towards.map((x) => x / length);
    const sense = move.quarters < 0 ? 1 : -1;
    const sweep = Math.abs(move.quarters) === 2 ? 1.25 : 0.85;
    const radius = 1.36;
    const points = [];
    for (let k = -20; k <= 20; k += 1) {
      const way = turned(start, axis, (sense * sweep * k) / 20);
      points.push(this.#project(sum([axis, middle], [way, radius])));
    }
    const pen = this.#pen;
    const draw = (colour, width) => {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.lineCap = "round";
      pen.lineJoin = "round";
      pen.beginPath();
      points.forEach((point, k) => pen[k ? "lineTo" : "moveTo"](...point));
      const [x, y] = points[points.length - 1];
      const [px, py] = points[points.length - 5];
      const angle = Math.atan2(y - py, x - px);
      for (const bend of [2.5, -2.5]) {
        pen.moveTo(x, y);
        pen.lineTo(x + Math.cos(angle + bend) * 34, y + Math.sin(angle + bend) * 34);
      }
      pen.stroke();
    };
    draw("#fffdf8", 20);
    draw("#1d2a33", 11);
    if (Math.abs(move.quarters) === 2) {
      const [x, y] = points[20];
      pen.fillStyle = "#1d2a33";
      pen.beginPath();
      pen.arc(x, y, 24, 0, 7);
      pen.fill();
      pen.fillStyle = "#fffdf8";
      pen.font = "700 26px system-ui, sans-serif";
      pen.textAlign = "center";
      pen.textBaseline = "middle";
      pen.fillText("2×", x, y + 1);
    }
  }
}
