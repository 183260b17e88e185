// Paints parts of the figure: lines around them, and tones inside.

// The tone of a foot that is not of horn.
const SKIN_STEP = 2;
// The first tone in which a part that passes into the trunk is painted over it.
const MERGED_STEP = 3;

/** Break lines of any direction into dashes: wipe them with a tilted chequer of squares. */
function breakLines(ctx, layer, size) {
  const tile = document.createElement("canvas");
  tile.width = tile.height = 2 * size;
  const squares = tile.getContext("2d");
  squares.fillRect(0, 0, size, size);
  squares.fillRect(size, size, size, size);
  const pattern = ctx.createPattern(tile, "repeat");
  pattern.setTransform(new DOMMatrix().rotate(22));
  ctx.setTransform(1, 0, 0, 1, 0, 0);
  ctx.fillStyle = pattern;
  ctx.fillRect(0, 0, layer.width, layer.height);
}

class Brush {
  constructor(ctx, figure, row, camera) {
    Object.assign(this, { ctx, figure, row, camera });
  }

  line(parts, tone, width, withMerged = true) {
    this.ctx.strokeStyle = tone;
    this.ctx.lineWidth = width;
    this.ctx.lineJoin = "round";
    this.ctx.stroke(this.figure.outline(this.row, this.camera, parts, 0, withMerged));
  }

  /** Fill parts in tones; merged chains have no rim of their own if they start with a later tone. */
  fill(parts, tones, mergedFrom = 0) {
    tones.forEach((tone, step) => {
      this.ctx.fillStyle = tone;
      this.ctx.fill(this.figure.outline(this.row, this.camera, parts, step, step >= mergedFrom));
    });
  }

  part(parts, tones, width) {
    this.line(parts, this.figure.tones.line, 2 * width);
    this.fill(parts, tones);
  }

  limb(limb, isNear) {
    const { ctx, figure, row, camera } = this, index = figure.clip.limbs.indexOf(limb);
    const upper = `${limb} upper`, lower = `${limb} lower`;
    const shade = Math.min(Math.max(0.4 - 25 * figure.before(limb, camera), 0), 1);
    const coat = figure.tones, tones = mixTones(coat.near, coat.far, shade);
    const foot = figure.footPath(row, camera, index);
    if (isNear) {
      this.line([upper], coat.soft, 1.6, false);
      this.line([lower], coat.line, 3);
    } else {
      this.line([upper, lower], coat.line, 2.2);
    }
    ctx.strokeStyle = coat.line;
    if (figure.clip.horn[index]) {
      this.fill([upper, lower], tones, isNear ? MERGED_STEP : 0);
      ctx.lineWidth = 1.2;
      ctx.fillStyle = isNear ? coat.horn : coat.farHorn;
    } else { // a foot of skin is one shape with its leg
      ctx.lineWidth = isNear ? 3 : 2.2;
      ctx.fillStyle = tones[SKIN_STEP];
    }
    ctx.stroke(foot);
    ctx.fill(foot);
    if (!figure.clip.horn[index]) this.fill([upper, lower], tones, isNear ? MERGED_STEP : 0);
  }
}
