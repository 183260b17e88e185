// The footfall bars of one stride, the key poses ruled through them, hips and chest under them, the frames that are
// played over them, and the moving mark.

const BAR = { left: 62, right: 20, loop: 8, number: 26, top: 42, row: 19, gap: 3, under: 9, curve: 52 };
const LABEL_FONT = "13px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";

class Bars {
  constructor(canvas, onFrame) {
    this.canvas = canvas;
    this.clip = null;
    this.loop = null;
    this.order = []; // of the feet, from the top
    this.moved = null; // feet as they are being moved, before the clip follows
    const go = (event) => onFrame(this.frameAt(event.clientX - canvas.getBoundingClientRect().left));
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      go(event);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (event.buttons) go(event);
    });
  }

  /** Show another clip: feet by order of contact, or each in the row that it has. */
  take(clip, keepsRows) {
    this.clip = clip;
    if (!keepsRows || this.order.length !== clip.feet.length) this.order = clip.feet.map(({ foot }) => foot);
  }

  /** Stances that are shown, from the top: {foot, contact_frame, frames_down}. */
  get feet() {
    return this.moved || this.order.map((name) => this.clip.feet.find(({ foot }) => foot === name));
  }

  rowTop(row) {
    return BAR.top + row * (BAR.row + BAR.gap);
  }

  get wide() {
    return this.canvas.clientWidth - BAR.left - BAR.right;
  }

  x(frame) {
    return BAR.left + ((frame - 1) / this.clip.frames) * this.wide;
  }

  frameAt(x) {
    const frame = Math.round(1 + ((x - BAR.left) / this.wide) * this.clip.frames);
    return Math.min(Math.max(frame, 1), this.clip.frames + 1);
  }

  paint(frame) {
    const { canvas, clip } = this, dots = window.devicePixelRatio || 1;
    const width = Math.round(canvas.clientWidth * dots), height = Math.round(canvas.clientHeight * dots);
    if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
    const ctx = canvas.getContext("2d");
    ctx.setTransform(dots, 0, 0, dots, 0, 0);
    ctx.clearRect(0, 0, canvas.clientWidth, canvas.clientHeight);
    this.rules(ctx, clip, frame);
    this.loopLine(ctx);
    this.feet.forEach((foot, row) => this.foot(ctx, foot, row, frame));
    this.curves(ctx, clip);
    this.mark(ctx, frame);
  }

  /** The frames that are played, over the numbers. */
  loopLine(ctx) {
    const line = (from, to, width, tone) => {
      ctx.strokeStyle = tone;
      ctx.lineWidth = width;
      ctx.beginPath();
      ctx.moveTo(this.x(from), BAR.loop);
      ctx.lineTo(this.x(to), BAR.loop);
      ctx.stroke();
    };
    line(1, this.clip.frames + 1, 1, "#a9a692");
    if (this.loop) line(...this.loop, 5, "#14555a");
  }

  /** Key poses; a number that the mark would cover is left out. */
  rules(ctx, clip, frame) {
    ctx.font = "600 12px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";
    ctx.textAlign = "center";
    ctx.textBaseline = "alphabetic";
    ctx.fillStyle = "#1d2422";
    ctx.lineWidth = 1;
    const here = this.x(frame);
    let last = -Infinity;
    for (const pose of clip.key_poses) {
      const x = this.x(pose.frame), contact = pose.name.endsWith("contact");
      ctx.strokeStyle = "#a9a692";
      ctx.setLineDash(contact ? [] : [2, 3]);
      ctx.beginPath();
      ctx.moveTo(x, BAR.top - 4);
      ctx.lineTo(x, this.canvas.clientHeight - 8);
      ctx.stroke();
      if (x - last > 24 && Math.abs(x - here) > 28) {
        ctx.fillText(String(pose.frame), x, BAR.top - 9);
        last = x;
      }
    }
    ctx.setLineDash([]);
  }

  foot(ctx, foot, row, frame) {
    const y = this.rowTop(row), spans = stanceSpans(foot.contact_frame, foot.frames_down, this.clip.frames);
    const down = spans.some(([from, to]) => frame >= from && frame <= to);
    ctx.textAlign = "right";
    ctx.textBaseline = "middle";
    ctx.fillStyle = down ? "#14555a" : "#535c57";
    ctx.font = `${down ? 700 : 500} ${LABEL_FONT}`;
    ctx.fillText(foot.foot, BAR.left - 12, y + BAR.row / 2);
    for (const [from, to] of spans) {
      ctx.fillStyle = down ? "#14555a" : "#7c8a84";
      ctx.beginPath();
      ctx.roundRect(this.x(from), y + 2, Math.max(this.x(to) - this.x(from), 1), BAR.row - 4, 3);
      ctx.fill();
    }
  }

  curves(ctx, clip) {
    const top = this.rowTop(this.feet.length) + BAR.under;
    const all = [...clip.hips_mm, ...clip.chest_mm], low = Math.min(...all), span = Math.max(...all) - low || 1;
    const y = (mm) => top + (1 - (mm - low) / span) * BAR.curve;
    ctx.lineJoin = "round";
    ctx.textAlign = "right";
    ctx.font = `500 ${LABEL_FONT}`;
    [["hips", clip.hips_mm, []], ["chest", clip.chest_mm, [5, 4]]].forEach(([name, values, dash], k) => {
      const level = top + (k === 0 ? 0.25 : 0.75) * BAR.curve;
      ctx.strokeStyle = ctx.fillStyle = "#1d2422";
      ctx.fillText(name, BAR.left - 12, level - 6);
      ctx.setLineDash(dash);
      ctx.lineWidth = 1.8;
      ctx.beginPath();
      ctx.moveTo(BAR.left - 44, level + 5);
      ctx.lineTo(BAR.left - 12, level + 5);
      ctx.stroke();
      ctx.beginPath();
      values.forEach((mm, row) => (row ? ctx.lineTo(this.x(row + 1), y(mm)) : ctx.moveTo(this.x(1), y(mm))));
      ctx.stroke();
    });
    ctx.setLineDash([]);
  }

  mark(ctx, frame) {
    const x = this.x(frame);
    ctx.strokeStyle = "#b2461b";
    ctx.lineWidth = 2.5;
    ctx.beginPath();
    ctx.moveTo(x, BAR.number + 8);
    ctx.lineTo(x, this.canvas.clientHeight - 5);
    ctx.stroke();
    ctx.fillStyle = "#b2461b";
    ctx.beginPath();
    ctx.roundRect(x - 15, BAR.number - 9, 30, 18, 5);
    ctx.fill();
    ctx.fillStyle = "#fff";
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    ctx.font = "700 12.5px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";
    ctx.fillText(String(frame), x, BAR.number + 0.5);
  }
}
