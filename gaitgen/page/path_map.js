// The path of a shot from above: the way, prints, heights, where the body is, and points that can be dragged.

const MAP = { room: 30, least: 4, tick: 5, step: 0.1, far: 1 };

class PathMap {
  constructor(holder, canvas) {
    this.holder = holder;
    this.canvas = canvas;
    this.handles = [];
    this.points = [];
    this.edit = null;
  }

  take(clip) {
    this.clip = clip;
    if (!this.edit || !this.edit.isHeld) this.points = clip.path_points;
    this.fit();
  }

  /** Make the points draggable: `edit` has move(k, place), done(), add(k), remove(k). */
  let(edit) {
    this.edit = edit;
    this.show(this.points);
  }

  /** Put way and points into the room there is; not while one is held. */
  fit() {
    const places = [...this.clip.way.map(([x, y]) => [x, y]), ...this.points];
    const low = [0, 1].map((axis) => Math.min(...places.map((p) => p[axis])));
    const high = [0, 1].map((axis) => Math.max(...places.map((p) => p[axis])));
    this.middle = [0, 1].map((axis) => (low[axis] + high[axis]) / 2);
    this.span = [0, 1].map((axis) => Math.max(high[axis] - low[axis], MAP.least));
  }

  get scale() {
    const { clientWidth: wide, clientHeight: high } = this.canvas;
    return Math.max(Math.min((wide - 2 * MAP.room) / this.span[0], (high - 2 * MAP.room) / this.span[1]), 1);
  }

  at([x, y]) {
    const { scale, middle, canvas } = this;
    return { x: canvas.clientWidth / 2 + scale * (x - middle[0]), y: canvas.clientHeight / 2 - scale * (y - middle[1]) };
  }

  /** Show other points, before the shot follows. */
  show(points) {
    this.points = points;
    if (this.edit) {
      while (this.handles.length > points.length) this.handles.pop().remove();
      while (this.handles.length < points.length) this.handles.push(this.handle(this.handles.length));
    }
    this.place();
  }

  place() {
    this.handles.forEach((node, k) => {
      const { x, y } = this.at(this.points[k]), [east, north] = this.points[k].map((v) => v.toFixed(2));
      node.style.left = `${x}px`;
      node.style.top = `${y}px`;
      node.title = `Point ${k + 1}: ${east}, ${north} m`;
      node.setAttribute("aria-label", `Point ${k + 1} of the path`);
      node.setAttribute("aria-valuetext", `${east}, ${north} metres`);
    });
  }

  handle(k) {
    const node = document.createElement("span"), { edit } = this;
    node.className = "handle point";
    node.tabIndex = 0;
    node.textContent = k + 1;
    node.setAttribute("role", "slider");
    let held = null;
    node.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      node.setPointerCapture(event.pointerId);
      held = { x: event.clientX, y: event.clientY, from: this.points[k], scale: this.scale };
    });
    node.addEventListener("pointermove", (event) => {
      if (!held) return;
      const by = [(event.clientX - held.x) / held.scale, (held.y - event.clientY) / held.scale];
      edit.move(k, held.from.map((v, axis) => v + by[axis]));
    });
    const end = () => {
      if (held) edit.done();
      held = null;
    };
    node.addEventListener("pointerup", end);
    node.addEventListener("pointercancel", end);
    this.listenToKeys(node, k);
    this.holder.append(node);
    return node;
  }

  listenToKeys(node, k) {
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    node.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      const by = event.shiftKey ? MAP.far : MAP.step;
      if (event.key in ways) this.edit.move(k, this.points[k].map((v, axis) => v + by * ways[event.key][axis]));
      else if (event.key === "Insert") this.edit.add(k);
      else if ((event.key === "Delete" || event.key === "Backspace") && !event.shiftKey) this.edit.remove(k);
      else return;
      event.preventDefault();
      event.stopPropagation();
    });
    node.addEventListener("keyup", (event) => {
      if (event.key in ways) this.edit.done();
    });
  }

  focus(k = 0) {
    this.handles[Math.min(k, this.handles.length - 1)].focus();
  }

  // What is drawn

  paint(frame) {
    if (this.holder.hidden) return;
    const ctx = sized(this.canvas, window.devicePixelRatio || 1), { clip } = this;
    ctx.lineJoin = ctx.lineCap = "round";
    this.written = [];
    for (const [, lines] of clip.heights) this.height(ctx, lines);
    this.line(ctx, this.points, 1, "#a9a692", [4, 4]);
    this.line(ctx, clip.way, 2, TONES.print, []);
    for (const [limb, first, last, flat] of clip.prints) this.print(ctx, limb, first, last, flat, frame);
    clip.stretches.forEach((stretch) => this.stroke(ctx, stretch));
    clip.stretches.forEach((stretch) => this.name(ctx, stretch));
    for (const [label, lines] of clip.heights) this.heightName(ctx, label, lines);
    this.body(ctx, clip.way[frame - 1]);
    this.ruler(ctx);
    this.place();
  }

  line(ctx, places, width, tone, dash) {
    ctx.strokeStyle = tone;
    ctx.lineWidth = width;
    ctx.setLineDash(dash);
    ctx.beginPath();
    places.map((p) => this.at(p)).forEach((p, k) => (k ? ctx.lineTo(p.x, p.y) : ctx.moveTo(p.x, p.y)));
    ctx.stroke();
    ctx.setLineDash([]);
  }

  height(ctx, lines) {
    for (const flat of lines) this.line(ctx, inPairs(flat), 1, "#ddd7c7", []);
  }

  /** Name a line of equal height where it is seen and there is room. */
  heightName(ctx, label, lines) {
    ctx.font = "11px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";
    const wide = ctx.measureText(label).width, { clientWidth: right, clientHeight: low } = this.canvas;
    const seen = lines.flatMap(inPairs).map((place) => this.at(place))
      .filter(({ x, y }) => x > 4 && x < right - wide - 4 && y > 12 && y < low - 24);
    const there = seen.find(({ x, y }) => this.isFree(x + 2, y - 7, wide, 14));
    if (there) this.write(ctx, label, there.x + 2, there.y, "#8a8674");
  }

  /** Whether words would cover none that are there, nor the way. */
  isFree(left, top, wide, high, withWay = true) {
    const { clientWidth, clientHeight } = this.canvas;
    if (left < 2 || top < 2 || left + wide > clientWidth - 2 || top + high > clientHeight - 2) return false;
    const hits = ([l, t, w, h]) => left < l + w && l < left + wide && top < t + h && t < top + high;
    if (this.written.some(hits)) return false;
    return !withWay || !this.clip.way.some((place, k) => {
      if (k % 4) return false;
      const { x, y } = this.at(place);
      return x > left - 5 && x < left + wide + 5 && y > top - 3 && y < top + high + 3;
    });
  }

  write(ctx, text, left, middle, tone) {
    const wide = ctx.measureText(text).width;
    this.written.push([left - 3, middle - 8, wide + 6, 16]);
    ctx.textAlign = "left";
    ctx.textBaseline = "middle";
    ctx.strokeStyle = TONES.sheet;
    ctx.lineWidth = 3.5;
    ctx.strokeText(text, left, middle);
    ctx.fillStyle = tone;
    ctx.fillText(text, left, middle);
  }

  print(ctx, limb, first, last, flat, frame) {
    const { x, y } = this.at([flat[0], flat[1]]), name = this.clip.limbs[limb];
    const down = frame >= first && frame <= last;
    ctx.beginPath();
    ctx.arc(x, y, name[1] === "F" ? 2.4 : 1.7, 0, 2 * Math.PI);
    ctx.fillStyle = down ? TONES.print : name[0] === "R" ? "#6d6a5c" : TONES.sheet;
    ctx.strokeStyle = down ? TONES.print : "#6d6a5c";
    ctx.lineWidth = down ? 3 : 0.9;
    ctx.globalAlpha = first > frame ? 0.35 : 1;
    ctx.stroke();
    ctx.fill();
    ctx.globalAlpha = 1;
  }

  /** Where a stretch begins, on the screen, and the direction to the left of the way there. */
  beginning([first]) {
    const [x, y, , heading] = this.clip.way[Math.min(first, this.clip.frames + 1) - 1];
    return { ...this.at([x, y]), left: [-Math.sin(heading), -Math.cos(heading)] };
  }

  /** A stroke across the way where something begins. */
  stroke(ctx, stretch) {
    const { x, y, left: [nx, ny] } = this.beginning(stretch);
    ctx.strokeStyle = "#1d2422";
    ctx.lineWidth = 2;
    ctx.beginPath();
    ctx.moveTo(x - MAP.tick * nx, y - MAP.tick * ny);
    ctx.lineTo(x + MAP.tick * nx, y + MAP.tick * ny);
    ctx.stroke();
  }

  /** What begins there: beside the stroke, on the other side, or farther off with a line to it. */
  name(ctx, stretch) {
    const { x, y, left: [nx, ny] } = this.beginning(stretch), text = `${stretch[0]} ${stretch[2]}`;
    ctx.font = "600 11.5px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";
    const wide = ctx.measureText(text).width;
    for (const away of [14, -14, 30, -30, 46, -46, 62, -62]) {
      const [px, py] = [x + away * nx, y + away * ny], side = Math.sign(away) * nx;
      const start = px - (side < -0.3 ? wide : side > 0.3 ? 0 : wide / 2);
      const left = Math.min(Math.max(start, 3), this.canvas.clientWidth - wide - 3);
      if (!this.isFree(left, py - 8, wide, 16)) continue;
      if (Math.abs(away) > 20) {
        ctx.strokeStyle = "#535c57";
        ctx.lineWidth = 0.8;
        ctx.beginPath();
        ctx.moveTo(x, y);
        ctx.lineTo(px, py - 7 * Math.sign(py - y));
        ctx.stroke();
      }
      this.write(ctx, text, left, py, "#1d2422");
      return;
    }
  }

  /** The animal: as long as it is, pointed ahead. */
  body(ctx, [x, y, , heading]) {
    const long = Math.max(0.55 * this.clip.withers_height_m * this.scale, 9), p = this.at([x, y]);
    ctx.save();
    ctx.translate(p.x, p.y);
    ctx.rotate(-heading);
    ctx.beginPath();
    ctx.moveTo(long, 0);
    ctx.quadraticCurveTo(0.3 * long, -0.42 * long, -0.8 * long, -0.22 * long);
    ctx.lineTo(-0.8 * long, 0.22 * long);
    ctx.quadraticCurveTo(0.3 * long, 0.42 * long, long, 0);
    ctx.fillStyle = "rgba(178,70,27,0.75)";
    ctx.fill();
    ctx.restore();
  }

  /** A length to compare with. */
  ruler(ctx) {
    const length = [0.5, 1, 2, 5, 10, 20, 50, 100, 500].find((each) => each * this.scale > 40) || 1000;
    const right = this.canvas.clientWidth - 10, y = this.canvas.clientHeight - 10, left = right - length * this.scale;
    ctx.strokeStyle = ctx.fillStyle = "#535c57";
    ctx.lineWidth = 1.2;
    ctx.beginPath();
    ctx.moveTo(left, y - 4);
    ctx.lineTo(left, y);
    ctx.lineTo(right, y);
    ctx.lineTo(right, y - 4);
    ctx.stroke();
    ctx.font = "11.5px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";
    ctx.textAlign = "center";
    ctx.textBaseline = "bottom";
    ctx.fillText(`${length} m`, (left + right) / 2, y - 2);
  }
}

/** Take x, y, x, y, ... as places. */
function inPairs(flat) {
  return Array.from({ length: flat.length / 2 }, (_, k) => [flat[2 * k], flat[2 * k + 1]]);
}

/** Read points as they are sent: "x,y;x,y". */
function readPoints(text) {
  return text.split(";").map((row) => row.split(",").map(Number));
}

/** Write points as they are sent, to the centimetre. */
function writePoints(points) {
  return points.map((row) => row.map((v) => String(Math.round(100 * v) / 100 || 0)).join(",")).join(";");
}

if (typeof module !== "undefined") module.exports = { readPoints, writePoints };
