// The camera picture with the face that was found drawn on it, and the browser's own camera if it is used.

const QUALITY = 0.92;
const LATE_MS = 250;

export class Finder {
  #canvas = document.getElementById("picture");
  #video = document.getElementById("video");
  #caption = document.getElementById("seen");
  #link;
  #glimpse = null;
  #sentAt = 0;
  #waiting = false;
  #track = null;
  #readingAt = 1;
  mirrored = true;

  constructor(link) {
    this.#link = link;
    link.addEventListener("glimpse", ({ detail }) => {
      this.#glimpse = detail;
      this.#waiting = false;
      this.#describe(detail);
      if (!this.#track) this.#draw(detail.picture);
      detail.picture?.close();
    });
  }

  get usesBrowser() {
    return document.body.dataset.camera === "browser";
  }

  async openCamera() {
    if (!navigator.mediaDevices) throw new Error("this browser gives no page a camera here: use 127.0.0.1 or localhost");
    const stream = await navigator.mediaDevices.getUserMedia({
      audio: false,
      video: { width: { ideal: 1280 }, height: { ideal: 720 }, frameRate: { ideal: 30 }, facingMode: { ideal: "user" } },
    });
    this.#track = stream.getVideoTracks()[0];
    this.#video.srcObject = stream;
    await this.#video.play();
    const tick = () => {
      if (this.#track?.readyState !== "live") return;
      this.#draw(this.#video);
      this.#post();
      requestAnimationFrame(tick);
    };
    tick();
    this.#track.addEventListener("ended", () => {
      this.#track = null;
    });
  }

  // One frame at a time: the next when the last was looked at.
  async #post() {
    const now = performance.now();
    if (this.#waiting && now - this.#sentAt < LATE_MS) return;
    this.#waiting = true;
    this.#sentAt = now;
    const [wide, high] = [this.#video.videoWidth, this.#video.videoHeight];
    if (!wide) return;
    const shot = new OffscreenCanvas(wide, high);
    shot.getContext("2d").drawImage(this.#video, 0, 0);
    this.#link.send(await shot.convertToBlob({ type: "image/jpeg", quality: QUALITY }));
  }

  // Exposure and white balance held or let go, as far as the browser lets us; the truth is read back.
  async hold(isHeld) {
    if (!this.#track) return;
    if (!isHeld) {
      await this.#track.applyConstraints({ advanced: [{ exposureMode: "continuous", whiteBalanceMode: "continuous" }] }).catch(() => {});
      this.#link.ask({ do: "locked", held: null });
      return;
    }
    const can = this.#track.getCapabilities?.() ?? {};
    const wanted = {};
    if (can.exposureMode?.includes("manual")) wanted.exposureMode = "manual";
    if (can.whiteBalanceMode?.includes("manual")) wanted.whiteBalanceMode = "manual";
    let held = Object.keys(wanted).length === 2;
    if (held) {
      await this.#track.applyConstraints({ advanced: [wanted] }).catch(() => {});
      const got = this.#track.getSettings();
      held = got.exposureMode === "manual" && got.whiteBalanceMode === "manual";
    }
    this.#link.ask({ do: "locked", held });
  }

  #describe({ lattice }) {
    const words = lattice
      ? `A ${lattice.n} by ${lattice.n} face${lattice.progress < 1 ? ", hold it still" : ""}`
      : "No face in sight";
    if (this.#caption.textContent !== words) this.#caption.textContent = words;
  }

  #draw(picture) {
    const canvas = this.#canvas;
    const [wide, high] = this.#glimpse?.size_px?.[0] ? this.#glimpse.size_px : [picture?.videoWidth || 640, picture?.videoHeight || 480];
    if (canvas.width !== wide || canvas.height !== high) [canvas.width, canvas.height] = [wide, high];
    const pen = canvas.getContext("2d");
    pen.save();
    if (this.mirrored) pen.transform(-1, 0, 0, 1, wide, 0);
    if (picture) pen.drawImage(picture, 0, 0, wide, high);
    const lattice = this.#glimpse?.lattice;
    if (lattice) this.#drawLattice(pen, lattice, wide);
    pen.restore();
    if (!lattice) return;
    // What has a handedness of its own is drawn unmirrored.
    const onScreen = plane(lattice.corners.map(([x, y]) => [this.mirrored ? wide - x : x, y]));
    if (lattice.progress >= 1) tick(pen, onScreen(0.5, 0.5), Math.max(1.5, wide / 420) * 15);
    this.#readingAt = drawReading(pen, lattice, onScreen, wide, high, this.#readingAt);
  }

  #drawLattice(pen, { n, corners, progress }, wide) {
    const at = plane(corners);
    const unit = Math.max(1.5, wide / 420);
    const lines = new Path2D();
    for (let k = 0; k <= n; k += 1) {
      lines.moveTo(...at(k / n, 0));
      lines.lineTo(...at(k / n, 1));
      lines.moveTo(...at(0, k / n));
      lines.lineTo(...at(1, k / n));
    }
    pen.lineCap = "round";
    pen.strokeStyle = "rgb(13 17 20 / 0.75)";
    pen.lineWidth = unit * 2.2;
    pen.stroke(lines);
    pen.strokeStyle = "rgb(255 253 248 / 0.95)";
    pen.lineWidth = unit * 0.8;
    pen.stroke(lines);
    // The rim fills as looks agree: dashed while it does, whole when the face is read.
    const rim = new Path2D();
    const round = [[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]];
    round.forEach(([x, y], k) => {
      const corner = at(x, y);
      if (k) rim.lineTo(...corner);
      else rim.moveTo(...corner);
    });
    const length = corners.reduce((sum, [x, y], k) => sum + Math.hypot(x - corners[(k + 1) % 4][0], y - corners[(k + 1) % 4][1]), 0);
    pen.strokeStyle = "rgb(13 17 20 / 0.85)";
    pen.lineWidth = unit * 6;
    pen.stroke(rim);
    pen.strokeStyle = "#fffdf8";
    pen.lineWidth = unit * 3.6;
    pen.setLineDash(progress >= 1 ? [] : [length * progress, length]);
    pen.stroke(rim);
    pen.setLineDash([]);
  }
}

// The colours as read, upright as the face is on the screen, in the lower corner where they were last (0 left, 1 right)
// or, if they would cover the face there and not in the other, there. Gives the corner.
function drawReading(pen, { n, fills }, at, wide, high, last) {
  const side = Math.min(wide, high) * 0.27;
  const cell = side / n;
  const margin = side * 0.09;
  const room = side + margin * 2;
  const face = [[0, 0], [1, 0], [1, 1], [0, 1]].map(([x, y]) => at(x, y));
  const [least, most] = [Math.min(...face.map(([x]) => x)), Math.max(...face.map(([x]) => x))];
  const isLow = Math.max(...face.map(([, y]) => y)) > high - room;
  const isCovered = [isLow && least < room, isLow && most > wide - room];
  const corner = isCovered[last] && !isCovered[1 - last] ? 1 - last : last;
  const [left, top] = [corner ? wide - side - margin * 2 : margin * 2, high - side - margin * 2];
  pen.fillStyle = "#0d1114";
  pen.beginPath();
  pen.roundRect(left - margin, top - margin, side + margin * 2, side + margin * 2, margin);
  pen.fill();
  // Which way columns and rows of the face run on the screen.
  const [[ax, ay], [bx, by], [cx, cy]] = [at(0, 0), at(1, 0), at(0, 1)];
  const isLevel = Math.abs(bx - ax) > Math.abs(by - ay);
  const [isAcross, isDown] = isLevel ? [bx > ax, cy > ay] : [cx > ax, by > ay];
  for (let place = 0; place < n * n; place += 1) {
    const [row, col] = [Math.floor(place / n), place % n];
    const [x, y] = isLevel ? [col, row] : [row, col];
    pen.fillStyle = fills[place];
    pen.fillRect(left + (isAcross ? x : n - 1 - x) * cell + 1, top + (isDown ? y : n - 1 - y) * cell + 1, cell - 2, cell - 2);
  }
  return corner;
}

function tick(pen, [x, y], size) {
  pen.fillStyle = "rgb(13 17 20 / 0.8)";
  pen.beginPath();
  pen.arc(x, y, size, 0, 7);
  pen.fill();
  pen.strokeStyle = "#fffdf8";
  pen.lineWidth = size * 0.22;
  pen.beginPath();
  pen.moveTo(x - size * 0.42, y + size * 0.02);
  pen.lineTo(x - size * 0.08, y + size * 0.36);
  pen.lineTo(x + size * 0.46, y - size * 0.34);
  pen.stroke();
}

// The projective map from the unit square to four corners, clockwise from the top left.
function plane([a, b, c, d]) {
  const [dx1, dy1, dx2, dy2] = [b[0] - c[0], b[1] - c[1], d[0] - c[0], d[1] - c[1]];
  const [sx, sy] = [a[0] - b[0] + c[0] - d[0], a[1] - b[1] + c[1] - d[1]];
  const under = dx1 * dy2 - dx2 * dy1 || 1;
  const g = (sx * dy2 - dx2 * sy) / under;
  const h = (dx1 * sy - sx * dy1) / under;
  return (x, y) => {
    const weight = g * x + h * y + 1;
    return [0, 1].map((k) => ((b[k] - a[k] + g * b[k]) * x + (d[k] - a[k] + h * d[k]) * y + a[k]) / weight);
  };
}
