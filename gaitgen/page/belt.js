// The ground: a moving belt, the shade on it, foot prints, and the letters of the feet.

// Half its width and its depth under an animal of 1.6 m at the withers, in metres.
const BELT_SIDE = 0.42, BELT_DEPTH = 0.045;

// As wide as a chip and a little more. [px]
const CHIP_ROOM = 28;

/** Move those of some places that are in one row and too near each other to both sides. */
function moveApart(places) {
  for (const isFar of [true, false]) {
    const [left, right] = places.filter(({ far }) => far === isFar).sort((a, b) => a.x - b.x);
    if (!right) continue;
    const short = Math.abs(left.y - right.y) < 17 ? Math.max(CHIP_ROOM - (right.x - left.x), 0) : 0;
    left.x -= short / 2;
    right.x += short / 2;
  }
}

/** The moving belt with its stripes, the shade of the animal, and the prints of its feet. */
class Belt {
  constructor(figure) {
    this.figure = figure;
    const { clip } = figure, stride = Math.abs(clip.belt_m_per_frame * clip.frames), near = 0.2 * figure.size;
    this.spacing = stride / Math.max(1, Math.round(stride / near)) || near; // backwards, or on the spot, too
    const x = figure.middle[0];
    this.ends = [x - 1.05 * figure.size, x + 1.15 * figure.size];
    this.side = BELT_SIDE * figure.size / 1.6;
    this.beside = 1.22 * this.side;
  }

  /** Draw on the ground itself: x and y in metres. */
  onGround(ctx, camera, draw) {
    const s = camera.scale, [rx, ry] = camera.right, [ux, uy] = camera.up, zero = project(camera, [0, 0, 0]);
    ctx.save();
    ctx.transform(s * rx, -s * ux, s * ry, -s * uy, zero.x, zero.y);
    draw();
    ctx.restore();
  }

  /** How high the ground is at a place of a frame. */
  level() {
    return 0;
  }

  stripes(row) {
    const [from, to] = this.ends, shift = -row * this.figure.clip.belt_m_per_frame;
    const first = Math.ceil((from - shift) / this.spacing), out = [];
    for (let k = first; k * this.spacing + shift < to; k += 1) out.push(k * this.spacing + shift);
    return out;
  }

  paint(ctx, row, camera) {
    const [from, to] = this.ends, side = this.side, high = camera.towards[2] > 0.03;
    if (high) {
      this.onGround(ctx, camera, () => {
        ctx.fillStyle = TONES.belt;
        ctx.fillRect(from, -side, to - from, 2 * side);
        ctx.fillStyle = TONES.stripe;
        for (const x of this.stripes(row)) ctx.fillRect(x, -side, 0.02 * this.figure.size, 2 * side);
        this.prints(ctx, row);
        ctx.fillStyle = TONES.shade;
        ctx.fill(this.shade(row));
      });
    }
    this.rims(ctx, row, camera);
  }

  /** The faces of the belt that look at the viewer. */
  rims(ctx, row, camera) {
    const [from, to] = this.ends, side = this.side, [tx, ty] = camera.towards;
    const face = (corners, tone) => {
      const path = new Path2D();
      addPolygon(path, corners.map((c) => project(camera, c)));
      ctx.fillStyle = tone;
      ctx.fill(path);
    };
    const low = -BELT_DEPTH * this.figure.size / 1.6;
    if (Math.abs(tx) > 0.02) {
      const x = tx > 0 ? to : from;
      face([[x, -side, 0], [x, side, 0], [x, side, low], [x, -side, low]], TONES.edge);
    }
    if (Math.abs(ty) > 0.02) {
      const y = ty > 0 ? side : -side;
      face([[from, y, 0], [to, y, 0], [to, y, low], [from, y, low]], TONES.edge);
      for (const x of this.stripes(row)) {
        const end = Math.min(x + 0.02 * this.figure.size, to);
        face([[x, y, 0], [end, y, 0], [end, y, low], [x, y, low]], "#948a72");
      }
    }
  }

  shade(row) {
    const path = new Path2D(), flesh = this.figure.flesh(row);
    for (const [part, chains] of Object.entries(flesh)) {
      if (part === "mane" || this.figure.clip.marks.includes(part)) continue;
      for (const chain of chains) {
        for (let i = 0; i + 4 < chain.length; i += 4) {
          addHull(path, chain[i], chain[i + 1], 0.92 * chain[i + 3], chain[i + 4], chain[i + 5], 0.92 * chain[i + 7]);
        }
      }
    }
    return path;
  }

  prints(ctx, row) {
    const { clip } = this.figure, frames = clip.frames, belt = clip.belt_m_per_frame;
    for (const foot of clip.feet) {
      const limb = clip.limbs.indexOf(foot.foot), down = foot.frames_down;
      const flat = Math.floor(down / 2), contact = Math.round(foot.contact_frame) - 1;
      const sole = this.figure.foot((contact + flat) % frames, limb).slice(0, 4);
      const since = (((row - contact) % frames) + frames) % frames;
      for (let turn = 0; turn < 4; turn += 1) {
        const shift = -(since + turn * frames - flat) * belt;
        const corners = convexHull(sole.map(([x, y]) => ({ x: x + shift, y })));
        const xs = corners.map((c) => c.x);
        if (Math.min(...xs) < this.ends[0] || Math.max(...xs) > this.ends[1]) break;
        const path = new Path2D();
        addPolygon(path, corners);
        const planted = turn === 0 && clip.planted[row][limb];
        ctx.fillStyle = planted ? TONES.print : TONES.oldPrint;
        if (planted) {
          ctx.strokeStyle = TONES.print;
          ctx.lineWidth = 0.025 * this.figure.size;
          ctx.lineJoin = "round";
          ctx.stroke(path);
        }
        ctx.fill(path);
      }
    }
  }

  /** Letters of the feet beside or under them, filled while the foot is down; those behind the animal come first. */
  letters(ctx, row, camera, behind) {
    const { clip } = this.figure, flat = Math.max(0, 1 - camera.towards[2] / 0.14);
    const above = camera.towards[2] > 0.8;
    ctx.font = "600 12px system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    const low = -BELT_DEPTH * this.figure.size / 1.6;
    const places = clip.limbs.map((limb, k) => {
      const corners = this.figure.foot(row, k);
      const x = corners.slice(0, 4).reduce((sum, c) => sum + c[0] / 4, 0);
      const side = limb[0] === "L" ? 1 : -1;
      const aside = side * this.beside * (above ? 0.885 : 1);
      const p = project(camera, [x, aside, this.level(row, x, aside) + (flat > 0.5 ? low : 0)]);
      const far = this.isFar(limb, camera);
      return { x: p.x, y: p.y + flat * (far ? 33 : 14) + (1 - flat) * (above ? 0 : 4), far };
    });
    if (flat > 0.5) moveApart(places);
    clip.limbs.forEach((limb, k) => {
      if ((flat < 0.5 && places[k].far) !== behind) return;
      this.chip(ctx, places[k].x, places[k].y, limb, clip.planted[row][k]);
      if (flat > 0.5 && clip.planted[row][k]) this.bar(ctx, this.figure.foot(row, k), camera, row);
    });
  }

  isFar(limb, camera) {
    return this.figure.before(limb, camera) <= 0.008;
  }

  /** Seen level, a planted foot has a mark on the edge of the belt. */
  bar(ctx, corners, camera, row) {
    const xs = corners.slice(0, 4).map((c) => project(camera, [c[0], c[1], this.level(row, c[0], c[1])]));
    const [left, right] = [Math.min(...xs.map((p) => p.x)), Math.max(...xs.map((p) => p.x))];
    ctx.fillStyle = TONES.print;
    ctx.fillRect(left - 2, xs[0].y + 0.5, right - left + 4, 4.5);
  }

  chip(ctx, x, y, text, filled) {
    ctx.beginPath();
    ctx.roundRect(x - 13, y - 8.5, 26, 17, 8.5);
    ctx.fillStyle = filled ? TONES.print : TONES.sheet;
    ctx.fill();
    ctx.lineWidth = 1;
    ctx.strokeStyle = filled ? TONES.print : "#9aa19b";
    ctx.stroke();
    ctx.fillStyle = filled ? "#ffffff" : TONES.quiet;
    ctx.fillText(text, x, y + 0.5);
  }
}
