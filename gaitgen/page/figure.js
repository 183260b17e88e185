// The animal on its belt. Parts are painted from far to near; each is a union of hulls in a few tones, the inner
// ones shifted towards the light, so that flesh looks round and has no seams.

// Each inner tone takes this share off the radius, and moves that far, times the rest, towards the light.
const ROUND = [0, 0.15, 0.32, 0.51, 0.71];
const LIGHT = [-0.32, -0.6];
// In parts of several chains the taken off share is in part the same for all, so that thin ones leave no streaks.
const EVEN = { trunk: 0.75, neck: 0.6, head: 0.5, upper: 0.6 };
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
