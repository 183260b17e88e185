// The ground along the way of a shot: a strip of it at its true heights, the path on it, and the prints so far.

// Half its width, and how much of it is seen ahead and behind, in withers heights; every so many stations a stripe.
const WAY = { reach: 2.1, letters: 0.3, stripes: 3 };

/** Stands for the belt where the animal goes along a way. */
class Way extends Belt {
  constructor(figure) {
    super(figure);
    this.lane = 0.5 * figure.size;
    this.beside = WAY.letters * figure.size;
    this.known = { row: -1 };
  }

  /** A place in the world as it is seen from the frame that goes along. */
  local(row, x, y, z) {
    const [px, py, pz, heading] = this.figure.clip.way[row], cos = Math.cos(heading), sin = Math.sin(heading);
    return [cos * (x - px) + sin * (y - py), cos * (y - py) - sin * (x - px), z - pz];
  }

  /** What of the ground is seen in a frame: stations of points across it, and how it tilts under the body. */
  strip(row) {
    if (this.known.row === row) return this.known;
    const { clip, size } = this.figure, { ribbon, unit_m: unit, ribbon_station_m: step, ribbon_starts_m: from } = clip;
    const at = (clip.gone_m[row] - from) / step, reach = (WAY.reach * size) / step;
    const first = Math.max(0, Math.ceil(at - reach)), last = Math.min(ribbon.length - 1, Math.floor(at + reach));
    const stations = [];
    for (let k = first; k <= last; k += 1) {
      const flat = ribbon[k], points = [];
      for (let i = 0; i < flat.length; i += 3) {
        points.push(this.local(row, flat[i] * unit, flat[i + 1] * unit, flat[i + 2] * unit));
      }
      stations.push({ k, points });
    }
    this.known = { row, stations, tilt: this.tiltOf(stations) };
    return this.known;
  }

  /** How the ground rises ahead and to the left under the body. */
  tiltOf(stations) {
    const middle = Math.floor(stations[0].points.length / 2), { size } = this.figure;
    const near = stations.filter(({ points }) => Math.abs(points[middle][0]) < 0.7 * size);
    if (near.length < 2) return [0, 0];
    const [a, b] = [near[0].points[middle], near[near.length - 1].points[middle]];
    const across = near[Math.floor(near.length / 2)].points, right = across[0], left = across[across.length - 1];
    const ahead = (b[2] - a[2]) / Math.max(b[0] - a[0], 1e-6);
    return [ahead, (left[2] - right[2]) / Math.max(Math.hypot(left[0] - right[0], left[1] - right[1]), 1e-6)];
  }

  level(row, x, y) {
    const [ahead, left] = this.strip(row).tilt;
    return ahead * x + left * y;
  }

  /** Draw on the ground as it tilts under the body: x and y in metres. */
  onGround(ctx, camera, draw, row) {
    const s = camera.scale, [rx, ry] = camera.right, [ux, uy, uz] = camera.up, zero = project(camera, [0, 0, 0]);
    const [ahead, left] = this.strip(row).tilt;
    ctx.save();
    ctx.transform(s * rx, -s * (ux + uz * ahead), s * ry, -s * (uy + uz * left), zero.x, zero.y);
    draw();
    ctx.restore();
  }

  paint(ctx, row, camera) {
    const { stations } = this.strip(row), last = stations[0].points.length - 1;
    const edge = (k) => stations.map(({ points }) => project(camera, points[k]));
    const fill = (points, tone) => {
      const path = new Path2D();
      addPolygon(path, points);
      ctx.fillStyle = tone;
      ctx.fill(path);
    };
    fill([...edge(0), ...edge(last).reverse()], TONES.belt);
    this.stripesAcross(ctx, stations, camera);
    this.path(ctx, stations, camera);
    this.prints(ctx, row, camera);
    if (camera.towards[2] > 0.03) {
      this.onGround(ctx, camera, () => {
        ctx.fillStyle = TONES.shade;
        ctx.fill(this.shade(row));
      }, row);
    }
    this.face(ctx, stations, camera, camera.towards[1] > 0 ? last : 0);
  }

  stripesAcross(ctx, stations, camera) {
    ctx.strokeStyle = TONES.stripe;
    ctx.lineWidth = Math.max(1, 0.02 * this.figure.size * camera.scale);
    for (const { k, points } of stations) {
      if (k % WAY.stripes) continue;
      ctx.beginPath();
      points.map((p) => project(camera, p)).forEach((p, i) => (i ? ctx.lineTo(p.x, p.y) : ctx.moveTo(p.x, p.y)));
      ctx.stroke();
    }
  }

  /** The path itself, along the middle. */
  path(ctx, stations, camera) {
    const middle = Math.floor(stations[0].points.length / 2);
    ctx.strokeStyle = TONES.print;
    ctx.lineWidth = 1.4;
    ctx.setLineDash([7, 5]);
    ctx.lineDashOffset = 0;
    ctx.beginPath();
    stations.forEach(({ points }, i) => {
      const p = project(camera, points[middle]);
      if (i) ctx.lineTo(p.x, p.y); else ctx.moveTo(p.x, p.y);
    });
    ctx.stroke();
    ctx.setLineDash([]);
  }

  /** The face of the strip that looks at the viewer. */
  face(ctx, stations, camera, side) {
    const low = -BELT_DEPTH * this.figure.size / 1.6, points = stations.map((station) => station.points[side]);
    const path = new Path2D();
    addPolygon(path, [
      ...points.map((p) => project(camera, p)),
      ...points.map(([x, y, z]) => project(camera, [x, y, z + low])).reverse(),
    ]);
    ctx.fillStyle = TONES.edge;
    ctx.fill(path);
    for (const { k, points: across } of stations) {
      if (k % WAY.stripes) continue;
      const [x, y, z] = across[side], [a, b] = [project(camera, [x, y, z]), project(camera, [x, y, z + low])];
      ctx.strokeStyle = "#948a72";
      ctx.lineWidth = 2;
      ctx.beginPath();
      ctx.moveTo(a.x, a.y);
      ctx.lineTo(b.x, b.y);
      ctx.stroke();
    }
  }

  /** Prints that are there by now; those of feet that are down are dark. */
  prints(ctx, row, camera) {
    const frame = row + 1, reach = WAY.reach * this.figure.size;
    for (const [, first, last, flat, height] of this.figure.clip.prints) {
      if (first > frame) continue;
      const corners = [];
      for (let i = 0; i < flat.length; i += 2) corners.push(this.local(row, flat[i], flat[i + 1], height));
      if (Math.abs(corners[0][0]) > reach) continue;
      const path = new Path2D();
      addPolygon(path, convexHull(corners.map((c) => project(camera, c))));
      const planted = frame <= last;
      ctx.fillStyle = planted ? TONES.print : TONES.passedPrint;
      if (planted) {
        ctx.strokeStyle = TONES.print;
        ctx.lineWidth = 3;
        ctx.lineJoin = "round";
        ctx.stroke(path);
      }
      ctx.fill(path);
    }
  }
}
