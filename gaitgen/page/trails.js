// The paths of chosen points through the cycle. Right and left are told apart by weight and a letter.

const FEET = ["LF", "RF", "LH", "RH"];
const TRAIL_WEIGHT = { L: 1.1, "": 2, R: 4.2 };
const TRAIL = { ink: "#14555a", halo: "rgba(255,253,248,0.85)", now: "#b2461b", faint: 0.32 };
// Lines and dots are finer on an animal that is drawn less high than this, in pixels.
const FULL_PX = 300;
// Dots are drawn where frames are farther apart than this, in pixels.
const DOT_GAP = 4.5;
// Names of points are as high, in pixels.
const NAME_PX = 14;

class Trails {
  constructor(list, onChange) {
    this.list = list;
    this.onChange = onChange;
    this.isOn = false;
    this.chosen = new Set();
  }

  /** List the points of a clip; what was chosen stays chosen where the clip has it. */
  take(clip) {
    this.clip = clip;
    const names = clip.points.map(([name]) => name).join();
    if (names === this.names) return;
    this.names = names;
    this.boxes = new Map();
    this.list.replaceChildren(...clip.points.map((point) => this.row(point)));
    this.tick();
  }

  row([name, label, side]) {
    const row = document.createElement("label"), box = document.createElement("input");
    box.type = "checkbox";
    box.value = name;
    box.autocomplete = "off";
    box.addEventListener("change", () => this.choose(name, box.checked));
    row.append(box, side && side !== label[0] ? `${label} ${side}` : label);
    this.boxes.set(name, box);
    return row;
  }

  choose(name, isChosen) {
    if (isChosen) this.chosen.add(name);
    else this.chosen.delete(name);
    this.show(this.shown.length > 0);
  }

  /** Show or hide the trails; where no point is chosen, those of the feet. */
  show(isOn) {
    if (isOn && this.shown.length === 0) FEET.forEach((name) => this.chosen.add(name));
    this.isOn = isOn;
    this.tick();
    this.onChange();
  }

  /** Choose these points and no others. */
  set(names, isOn) {
    this.chosen = new Set(names);
    this.show(isOn && names.length > 0);
  }

  tick() {
    for (const [name, box] of this.boxes) box.checked = this.chosen.has(name);
  }

  /** Rows of the points that are chosen and that the clip has. */
  get shown() {
    return this.clip.points.flatMap(([name], row) => (this.chosen.has(name) ? [row] : []));
  }

  /** Places of a point in the picture, one a frame; the last is the first again. */
  path(point, camera) {
    const { point_paths: paths, unit_m: unit } = this.clip;
    return paths.map((row) => project(camera, [0, 1, 2].map((axis) => row[3 * point + axis] * unit)));
  }

  paint(ctx, camera, frame, loop) {
    if (!this.isOn) return;
    if (this.clip.is_shot) loop = this.around(frame);
    ctx.save();
    ctx.lineJoin = ctx.lineCap = "round";
    this.fine = Math.min(Math.max((camera.scale * this.clip.withers_height_m) / FULL_PX, 0.55), 1);
    const weight = (point) => TRAIL_WEIGHT[this.clip.points[point][2]];
    const heavyFirst = this.shown.sort((a, b) => weight(b) - weight(a)); // where both sides go one way, both are seen
    const paths = heavyFirst.map((point) => [point, this.path(point, camera)]);
    for (const [point, path] of paths) {
      const side = this.clip.points[point][2];
      this.line(ctx, path, side, loop);
      this.dots(ctx, path, side, loop);
    }
    this.boxes_px = [];
    for (const [point, path] of paths) this.here(ctx, path[frame - 1], this.clip.points[point]);
    ctx.restore();
  }

  /** Of a shot, a second before and after are shown. */
  around(frame) {
    const by = Math.round(this.clip.frame_rate_hz);
    return [Math.max(frame - by, 1), Math.min(frame + by, this.clip.frames + 1)];
  }

  line(ctx, path, side, loop) {
    const weight = this.fine * TRAIL_WEIGHT[side], inLoop = loop ? path.slice(loop[0] - 1, loop[1]) : path;
    this.stroke(ctx, this.clip.is_shot ? inLoop : path, weight + 2.2, TRAIL.halo);
    ctx.globalAlpha = loop ? TRAIL.faint : 1;
    if (!this.clip.is_shot) this.stroke(ctx, path, weight, TRAIL.ink);
    ctx.globalAlpha = 1;
    if (loop) this.stroke(ctx, inLoop, weight, TRAIL.ink);
  }

  stroke(ctx, path, width, tone) {
    ctx.lineWidth = width;
    ctx.strokeStyle = tone;
    ctx.beginPath();
    path.forEach((p, row) => (row ? ctx.lineTo(p.x, p.y) : ctx.moveTo(p.x, p.y)));
    ctx.stroke();
  }

  /** A dot a frame, so that their distance tells the speed; larger ones on key poses. */
  dots(ctx, path, side, loop) {
    const weight = TRAIL_WEIGHT[side];
    const keys = new Set(this.clip.key_poses.map((pose) => Math.round(pose.frame)));
    const far = path.slice(1).reduce((sum, p, row) => sum + Math.hypot(p.x - path[row].x, p.y - path[row].y), 0);
    const every = far / (path.length - 1) >= DOT_GAP;
    ctx.lineWidth = 1.2;
    ctx.strokeStyle = TRAIL.ink;
    path.slice(0, -1).forEach((p, row) => {
      const isKey = keys.has(row + 1);
      if (!isKey && !every) return;
      if (this.clip.is_shot && (row + 1 < loop[0] || row + 1 > loop[1])) return;
      ctx.globalAlpha = !loop || (row + 1 >= loop[0] && row + 1 <= loop[1]) ? 1 : TRAIL.faint;
      ctx.beginPath();
      ctx.arc(p.x, p.y, this.fine * (isKey ? 2 + weight / 2 : 0.5 + weight / 2), 0, 2 * Math.PI);
      ctx.fillStyle = isKey ? TONES.sheet : TRAIL.ink;
      ctx.fill();
      ctx.stroke();
    });
    ctx.globalAlpha = 1;
  }

  /** Where the point is now, and its name. */
  here(ctx, p, [, label, side]) {
    ctx.beginPath();
    ctx.arc(p.x, p.y, 4.6, 0, 2 * Math.PI);
    ctx.fillStyle = TRAIL.now;
    ctx.fill();
    ctx.font = "600 12px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";
    ctx.textAlign = "left";
    ctx.textBaseline = "middle";
    ctx.lineWidth = 3.5;
    ctx.strokeStyle = TRAIL.halo;
    const text = side && side !== label[0] ? `${label} ${side}` : label;
    const [x, y] = this.free(p, ctx.measureText(text).width);
    ctx.strokeText(text, x, y);
    ctx.fillStyle = "#1d2422";
    ctx.fillText(text, x, y);
  }

  /** Where a name goes: beside its point, clear of the names before it; above them all if nowhere else. */
  free(p, width) {
    const aside = [p.x + 8, p.x - 8 - width], lines = [-9, 9, -9 - NAME_PX, 9 + NAME_PX];
    const places = lines.flatMap((down) => aside.map((x) => [x, p.y + down]));
    const isFree = ([x, y]) => !this.boxes_px.some(
      (box) => x < box.x + box.width && box.x < x + width && Math.abs(y - box.y) < NAME_PX);
    const top = Math.min(p.y, ...this.boxes_px.map((box) => box.y)) - NAME_PX;
    const [x, y] = places.find(isFree) || [aside[0], top];
    this.boxes_px.push({ x, y, width });
    return [x, y];
  }
}
