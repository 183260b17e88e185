// The time line of a shot: what happens, every stance of each foot, speed and ground, and the moving mark.

class ShotBars extends Bars {
  take(clip) {
    this.clip = clip;
    this.stances = clip.limbs.map((_, limb) => clip.prints.filter((print) => print[0] === limb).map((p) => [p[1], p[2]]));
    this.high = clip.way.map((place) => place[2]);
  }

  get feet() {
    return this.clip.feet;
  }

  /** What happens, over the bars; a name that has no room is cut short. */
  rules(ctx, clip, frame) {
    ctx.textAlign = "left";
    ctx.textBaseline = "middle";
    clip.stretches.forEach(([first, last, what], k) => {
      const left = this.x(first), right = this.x(last), here = frame >= first && frame < last;
      ctx.fillStyle = here ? "#dfe9e4" : k % 2 ? "#f4f1e8" : "#ebe6d8";
      ctx.fillRect(left, BAR.number - 9, right - left, 19);
      ctx.strokeStyle = "#a9a692";
      ctx.lineWidth = 1;
      ctx.beginPath();
      ctx.moveTo(left, BAR.number - 9);
      ctx.lineTo(left, this.canvas.clientHeight - 8);
      ctx.stroke();
      ctx.fillStyle = "#1d2422";
      ctx.font = `600 12px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif`;
      const text = cutShort(ctx, what, right - left - 8);
      if (text) ctx.fillText(text, left + 4, BAR.number + 0.5);
    });
  }

  foot(ctx, { foot }, row, frame) {
    const y = this.rowTop(row), spans = this.stances[this.clip.limbs.indexOf(foot)];
    const isDown = spans.some(([from, to]) => frame >= from && frame <= to);
    ctx.textAlign = "right";
    ctx.textBaseline = "middle";
    ctx.fillStyle = isDown ? "#14555a" : "#535c57";
    ctx.font = `${isDown ? 700 : 500} ${LABEL_FONT}`;
    ctx.fillText(foot, BAR.left - 12, y + BAR.row / 2);
    for (const [from, to] of spans) {
      const down = frame >= from && frame <= to, end = this.clip.frames + 1;
      const [left, right] = [this.x(Math.max(from, 1)), this.x(Math.min(to, end))];
      ctx.fillStyle = down ? "#14555a" : "#7c8a84";
      ctx.beginPath();
      ctx.roundRect(left, y + 2, Math.max(right - left, 1), BAR.row - 4, Math.min(3, (right - left) / 2));
      ctx.fill();
    }
  }

  /** Speed, and the height of the ground where it is not level. */
  curves(ctx, clip) {
    const top = this.rowTop(this.feet.length) + BAR.under, rows = [["speed", clip.speed_m_s, [], 0]];
    const low = Math.min(...this.high), rise = Math.max(...this.high) - low;
    if (rise > 0.02) rows.push(["ground", this.high, [5, 4], low]);
    ctx.lineJoin = "round";
    rows.forEach(([name, values, dash, from], k) => {
      const room = BAR.curve / rows.length - 6, bottom = top + (k + 1) * (BAR.curve / rows.length) - 3;
      const span = Math.max(...values) - from || 1;
      ctx.strokeStyle = ctx.fillStyle = "#1d2422";
      ctx.textAlign = "right";
      ctx.textBaseline = "middle";
      ctx.font = `500 ${LABEL_FONT}`;
      ctx.fillText(name, BAR.left - 12, bottom - room / 2);
      ctx.setLineDash(dash);
      ctx.lineWidth = 1.8;
      ctx.beginPath();
      values.forEach((value, row) => {
        const y = bottom - (room * (value - from)) / span;
        if (row) ctx.lineTo(this.x(row + 1), y); else ctx.moveTo(this.x(1), y);
      });
      ctx.stroke();
    });
    ctx.setLineDash([]);
  }
}

/** Words as far as there is room; none if there is next to none. */
function cutShort(ctx, words, room) {
  if (ctx.measureText(words).width <= room) return words;
  let text = words;
  while (text.length > 2 && ctx.measureText(`${text}\u2026`).width > room) text = text.slice(0, -1);
  return text.length > 2 ? `${text.trimEnd()}\u2026` : "";
}
