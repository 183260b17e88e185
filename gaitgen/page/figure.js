// The animal on its belt. Parts are painted from far to near; each is a union of hulls in a few tones, the inner
// ones shifted towards the light, so that flesh looks round and has no seams.

const TONES = {
  eye: "#0f0b09",
  belt: "#e6e0d0", stripe: "#d3cbb6", edge: "#bdb39b", shade: "rgba(40,32,24,0.20)",
  print: "#14555a", oldPrint: "rgba(60,50,40,0.20)", ghost: "#1d2422", sheet: "#fffdf8", quiet: "#535c57",
};
// Light and shade of a colour, from its rim to where the light falls, and what far parts are mixed with.
const SKIN_SHADES = [0.67, 0.85, 1, 1.12, 1.22], FAR_SHADES = [0.79, 0.9, 1, 1.1, 1.18];
const HAIR_SHADES = [0.62, 0.79, 1, 1.2, 1.4];
const FAR = "#504f4c", FAR_SHARE = 0.62;
// Each inner tone takes this share off the radius, and moves that far, times the rest, towards the light.
const ROUND = [0, 0.15, 0.32, 0.51, 0.71];
const LIGHT = [-0.32, -0.6];
// In parts of several chains the taken off share is in part the same for all, so that thin ones leave no streaks.
const EVEN = { trunk: 0.75, neck: 0.6, head: 0.5, upper: 0.6 };
// The tone of a foot that is not of horn.
const SKIN_STEP = 2;
// The first tone in which a part that passes into the trunk is painted over it.
const MERGED_STEP = 3;
// A limb lies before or behind the trunk by its side, and a little by its end.
const END_SHARE = 0.12;

class Figure {
  constructor(clip) {
    this.clip = clip;
    this.rows = clip.balls.length;
    this.cache = new Map();
    this.tones = coatTones(clip.colours);
    this.chains = { };
    clip.chains.forEach(([part, first, count], k) => {
      (this.chains[clip.parts[part]] ||= []).push([first, count, clip.merged.includes(k)]);
    });
    this.widest = {};
    for (const [part, chains] of Object.entries(this.chains)) {
      const radii = chains.flatMap(([first, count]) => clip.radii.slice(first, first + count));
      this.widest[part] = Math.max(...radii) * clip.unit_m;
    }
    this.size = clip.withers_height_m;
    this.middle = this.meanOf(["trunk"]);
    this.place = {};
    for (const limb of clip.limbs) this.place[limb] = this.meanOf([`${limb} upper`, `${limb} lower`]);
  }

  /** Smooth chains of a row: part name to a list of [x, y, z, r, ...] in metres. */
  flesh(row) {
    if (this.cache.has(row)) return this.cache.get(row);
    const { balls, radii, unit_m: unit } = this.clip, places = balls[row], flesh = {};
    for (const [part, chains] of Object.entries(this.chains)) {
      flesh[part] = chains.map(([first, count]) => {
        const chain = [];
        for (let i = first; i < first + count; i += 1) {
          chain.push(places[3 * i] * unit, places[3 * i + 1] * unit, places[3 * i + 2] * unit, radii[i] * unit);
        }
        return smoothChain(chain);
      });
    }
    this.cache.set(row, flesh);
    return flesh;
  }

  /** Corners of a foot of a row, sole first: eight points [x, y, z] in metres. */
  foot(row, limb) {
    const unit = this.clip.unit_m, flat = this.clip.foot_corners[row];
    return Array.from({ length: 8 }, (_, k) => [0, 1, 2].map((axis) => flat[24 * limb + 3 * k + axis] * unit));
  }

  /** Mean place of some parts over the stride. */
  meanOf(parts) {
    const sum = [0, 0, 0];
    let count = 0;
    for (let row = 0; row < this.rows; row += Math.max(1, Math.floor(this.rows / 16))) {
      for (const part of parts) {
        for (const chain of this.flesh(row)[part] || []) {
          for (let i = 0; i < chain.length; i += 4, count += 1) {
            for (let k = 0; k < 3; k += 1) sum[k] += chain[i + k];
          }
        }
      }
    }
    return sum.map((v) => v / Math.max(count, 1));
  }

  /** Box around the picture of the whole stride: pixels per metre taken out. */
  extent(camera) {
    const flat = { ...camera, scale: 1, middle: [0, 0] };
    const box = { left: Infinity, right: -Infinity, top: Infinity, bottom: -Infinity };
    const add = (x, y, r) => {
      box.left = Math.min(box.left, x - r); box.right = Math.max(box.right, x + r);
      box.top = Math.min(box.top, y - r); box.bottom = Math.max(box.bottom, y + r);
    };
    for (let row = 0; row < this.rows; row += Math.max(1, Math.floor(this.rows / 12))) {
      for (const chain of Object.values(this.flesh(row)).flat()) {
        for (let i = 0; i < chain.length; i += 4) {
          const p = project(flat, chain.slice(i, i + 3));
          add(p.x, p.y, chain[i + 3]);
        }
      }
      this.clip.limbs.forEach((_, limb) => this.foot(row, limb).forEach((c) => {
        const p = project(flat, c);
        add(p.x, p.y, 0.0125 * this.size);
      }));
    }
    return box;
  }

  /** One path around some parts; the tone's step of roundness is taken off; merged chains may be left out. */
  outline(row, camera, parts, step = 0, withMerged = true) {
    const path = new Path2D(), flesh = this.flesh(row), taken = ROUND[step];
    const [rx, ry] = camera.right, [ux, uy, uz] = camera.up, s = camera.scale;
    const cx = camera.middle[0] - s * dot(camera.target, camera.right);
    const cy = camera.middle[1] + s * dot(camera.target, camera.up);
    for (const part of parts) {
      const even = EVEN[part.split(" ").pop()] || 0, widest = this.widest[part];
      for (const [k, chain] of (flesh[part] || []).entries()) {
        if (!withMerged && this.chains[part][k][2]) continue;
        let x = 0, y = 0, r = 0;
        for (let i = 0; i < chain.length; i += 4) {
          const off = s * taken * ((1 - even) * chain[i + 3] + even * widest);
          const px = x, py = y, pr = r;
          x = cx + s * (chain[i] * rx + chain[i + 1] * ry) + off * LIGHT[0];
          y = cy - s * (chain[i] * ux + chain[i + 1] * uy + chain[i + 2] * uz) + off * LIGHT[1];
          r = s * chain[i + 3] - off;
          if (i > 0 && r > 0 && pr > 0) addHull(path, px, py, pr, x, y, r);
          else if (chain.length === 4 && r > 0) addHull(path, x, y, r, x, y, r);
        }
      }
    }
    return path;
  }

  footPath(row, camera, limb) {
    const path = new Path2D();
    addPolygon(path, convexHull(roundedFoot(this.foot(row, limb)).map((c) => project(camera, c))));
    return path;
  }

  /** How far before (positive) or behind the trunk a limb lies. */
  before(limb, camera) {
    const [x, y] = this.place[limb], [tx, ty] = camera.towards;
    return ((y - this.middle[1]) * ty + END_SHARE * (x - this.middle[0]) * tx) / this.size;
  }

  paint(ctx, row, camera) {
    const { clip, tones } = this, tx = camera.towards[0];
    const near = (limb) => this.before(limb, camera) > 0.008;
    const depth = (limb) => {
      const corner = this.foot(row, clip.limbs.indexOf(limb))[0];
      return dot(this.place[limb].map((v, k) => 0.7 * v + 0.3 * corner[k]), camera.towards);
    };
    const byDepth = clip.limbs.slice().sort((a, b) => depth(a) - depth(b));
    const over = byDepth.filter(near), under = byDepth.filter((limb) => !near(limb));
    const rear = tx < -0.45, front = tx > 0.82;
    const body = front || rear ? ["trunk"] : ["trunk", "neck"];
    const brush = new Brush(ctx, this, row, camera);

    // Flaps of the side that is seen lie over the head, the others behind it; seen from behind, all lie over it.
    const isOver = (flap) => rear || (flap[0] === "L" ? 1 : -1) * camera.towards[1] > 0.2;
    const flaps = ["L flap", "R flap"].filter((part) => this.chains[part]);
    const head = () => {
      for (const flap of flaps.filter((part) => !isOver(part))) brush.part([flap], tones.near, 1.5);
      brush.part(["head"], tones.near, 1.5);
      this.marks(ctx, row, camera);
      for (const flap of flaps.filter(isOver)) brush.part([flap], tones.near, 1);
    };
    for (const limb of under) brush.limb(limb, false);
    if (rear) {
      head();
      brush.part(["neck"], tones.near, 1.5);
      brush.part(["mane"], tones.hair, 0.8);
    } else {
      brush.part(["tail"], tones.hair, 1.2);
    }
    const uppers = over.map((limb) => `${limb} upper`);
    brush.line(front ? ["trunk", "neck", ...uppers] : [...body, ...uppers], tones.line, 3);
    if (front) brush.part(["mane"], tones.hair, 0.8);
    brush.fill([...body, ...uppers], tones.near);
    if (!front && !rear) brush.part(["mane"], tones.hair, 0.8);
    // Seen from the front, the neck stands before a limb of the side that is turned away.
    const turnedAway = (limb) => front && (this.place[limb][1] - this.middle[1]) * camera.towards[1] < -0.01 * this.size;
    for (const limb of over.filter(turnedAway)) brush.limb(limb, true);
    if (front) {
      brush.line(["neck"], tones.soft, 1.6);
      brush.fill(["neck"], tones.near);
    }
    for (const limb of over.filter((name) => !turnedAway(name))) brush.limb(limb, true);
    if (rear) brush.part(["tail"], tones.hair, 1.2);
    else head();
  }

  /** Eyes, nostrils and whatever else lies on the skin of the head, on the side that faces the viewer. */
  marks(ctx, row, camera) {
    const flesh = this.flesh(row), { marks } = this.clip;
    const pair = marks.find((part) => flesh[part].length >= 2);
    if (!pair) return;
    const eyes = flesh[pair].map((c) => c.slice(0, 3));
    const across = eyes[0].map((v, k) => v - eyes[1][k]);
    const wide = Math.hypot(...across);
    const face = camera.towards[0];
    marks.forEach((part) => flesh[part].forEach((chain) => {
      const out = chain.slice(0, 3).map((v, k) => v - (eyes[0][k] + eyes[1][k]) / 2);
      const isMiddle = Math.abs(dot(out, across)) < 0.1 * wide * wide;
      const side = Math.sign(dot(out, across)) * (dot(across, camera.towards) / wide);
      if (isMiddle ? face < -0.2 : side + 0.45 * face < 0.1) return;
      const path = new Path2D();
      for (let i = 0; i < Math.max(chain.length - 4, 4); i += 4) {
        const j = Math.min(i + 4, chain.length - 4);
        const [a, b] = [i, j].map((k) => project(camera, chain.slice(k, k + 3)));
        addHull(path, a.x, a.y, camera.scale * chain[i + 3], b.x, b.y, camera.scale * chain[j + 3]);
      }
      ctx.fillStyle = TONES.eye;
      ctx.fill(path);
    }));
  }

  /** The whole animal in one tone, or as a line around it, on a canvas of its own. */
  shape(layer, row, camera, { broken = false, tint = false }) {
    const ctx = layer.getContext("2d");
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.clearRect(0, 0, layer.width, layer.height);
    ctx.setTransform(camera.dots, 0, 0, camera.dots, 0, 0);
    const whole = this.outline(row, camera, Object.keys(this.chains));
    this.clip.limbs.forEach((_, limb) => whole.addPath(this.footPath(row, camera, limb)));
    ctx.globalCompositeOperation = "source-over";
    ctx.strokeStyle = ctx.fillStyle = TONES.ghost;
    ctx.lineWidth = 3;
    if (tint) {
      ctx.fill(whole);
    } else {
      ctx.stroke(whole);
      ctx.globalCompositeOperation = "destination-out";
      ctx.fill(whole);
      if (broken) breakLines(ctx, layer, Math.round(7 * camera.dots));
    }
    ctx.globalCompositeOperation = "source-over";
    return layer;
  }
}

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

/** Everything an animal is painted in, from the colours of its skin, hair and horn, "#rrggbb". */
function coatTones({ skin, hair, horn }) {
  const [far] = mixTones([skin], [FAR], FAR_SHARE);
  return {
    near: shades(skin, SKIN_SHADES), far: shades(far, FAR_SHADES), hair: shades(hair, HAIR_SHADES),
    line: shades(skin, [0.2])[0], soft: shades(skin, [0.55])[0],
    horn, farHorn: mixTones([horn], [FAR], 0.5)[0],
  };
}

function channels(tone) {
  return [1, 3, 5].map((k) => parseInt(tone.slice(k, k + 2), 16));
}

function toneOf(values) {
  const two = (v) => Math.min(Math.max(Math.round(v), 0), 255).toString(16).padStart(2, "0");
  return `#${values.map(two).join("")}`;
}

/** A tone "#rrggbb" darker and lighter by some factors. */
function shades(tone, factors) {
  return factors.map((factor) => toneOf(channels(tone).map((v) => v * factor)));
}

/** Mix two lists of tones "#rrggbb"; 0 is the first, 1 the second. */
function mixTones(first, second, share) {
  return first.map((tone, i) => {
    const other = channels(second[i]);
    return toneOf(channels(tone).map((v, k) => v + share * (other[k] - v)));
  });
}
