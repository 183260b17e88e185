"use strict";
// Directions to look from, smooth chains, hulls. World: x forward, y left, z up, metres; picture: y down, pixels.

/** Look from an azimuth, counted from the animal's front to its right, and an elevation, both in degrees. */
function lookFrom(azimuth, elevation) {
  const a = (azimuth * Math.PI) / 180, e = (elevation * Math.PI) / 180;
  const [ca, sa, ce, se] = [Math.cos(a), Math.sin(a), Math.cos(e), Math.sin(e)];
  return {
    right: [sa, ca, 0],
    up: [-ca * se, sa * se, ce],
    towards: [ca * ce, -sa * ce, se],
  };
}

function dot(a, b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/** Turn a point into picture coordinates: {x, y} in pixels. */
function project(camera, point) {
  const d = [point[0] - camera.target[0], point[1] - camera.target[1], point[2] - camera.target[2]];
  return {
    x: camera.middle[0] + camera.scale * dot(d, camera.right),
    y: camera.middle[1] - camera.scale * dot(d, camera.up),
  };
}

/** A clip whose packed tables, 32-bit integers in base64, are lists of their rows. */
function unpacked(clip) {
  const open = (table) => {
    const text = atob(table.packed), { columns } = table, numbers = new Int32Array(text.length / 4);
    for (let k = 0; k < numbers.length; k += 1) {
      const at = 4 * k;
      numbers[k] = text.charCodeAt(at) | (text.charCodeAt(at + 1) << 8) | (text.charCodeAt(at + 2) << 16)
        | (text.charCodeAt(at + 3) << 24);
    }
    const rows = [];
    for (let first = 0; first < numbers.length; first += columns) rows.push(numbers.subarray(first, first + columns));
    return rows;
  };
  const isPacked = (value) => value !== null && typeof value === "object" && "packed" in value;
  return Object.fromEntries(Object.entries(clip).map(([name, value]) => [name, isPacked(value) ? open(value) : value]));
}

/**
 * A smooth curve through balls [x, y, z, r, ...]: cubic pieces whose slope at a ball is half the way from the
 * ball before to the ball after; two balls are joined by a straight line.
 */
function smoothChain(balls, pieces = 4) {
  const count = balls.length / 4;
  if (count < 3) return balls.slice();
  const out = [];
  const slope = (i, k) => {
    const before = Math.max(i - 1, 0), after = Math.min(i + 1, count - 1);
    return (balls[4 * after + k] - balls[4 * before + k]) / (after - before);
  };
  for (let i = 0; i + 1 < count; i += 1) {
    for (let piece = 0; piece < pieces; piece += 1) {
      const t = piece / pieces, u = 1 - t;
      for (let k = 0; k < 4; k += 1) {
        const value = (1 + 2 * t) * u * u * balls[4 * i + k] + t * u * u * slope(i, k)
          + t * t * (3 - 2 * t) * balls[4 * i + 4 + k] - t * t * u * slope(i + 1, k);
        out.push(k === 3 ? Math.max(value, 1e-3) : value);
      }
    }
  }
  out.push(...balls.slice(-4));
  return out;
}

/** Add the convex hull of two discs to a path: two arcs and their common tangents. All hulls turn the same way. */
function addHull(path, ax, ay, ar, bx, by, br) {
  const length = Math.hypot(bx - ax, by - ay);
  if (length <= Math.abs(ar - br) + 1e-9) {
    const [x, y, r] = ar >= br ? [ax, ay, ar] : [bx, by, br];
    path.moveTo(x + r, y);
    path.arc(x, y, r, 0, 2 * Math.PI);
    path.closePath();
    return;
  }
  const heading = Math.atan2(by - ay, bx - ax), lean = Math.acos((ar - br) / length);
  path.moveTo(ax + ar * Math.cos(heading + lean), ay + ar * Math.sin(heading + lean));
  path.arc(ax, ay, ar, heading + lean, heading - lean + 2 * Math.PI);
  path.arc(bx, by, br, heading - lean, heading + lean);
  path.closePath();
}

/**
 * Round a foot off: eight corners [x, y, z], sole first, to the outlines of its sole and its rim, which touch the
 * middle of each side of the box: toe, heel and both flanks stay.
 */
function roundedFoot(corners, sections = 24, roundness = 2.4) {
  const out = [];
  const spread = (v) => (Math.abs(v) < 1e-9 ? 0 : Math.sign(v) * Math.abs(v) ** (2 / roundness));
  for (const box of [corners.slice(0, 4), corners.slice(4)]) {
    for (let i = 0; i < sections; i += 1) {
      const angle = (2 * Math.PI * i) / sections;
      const ahead = (1 + spread(Math.cos(angle))) / 2, left = (1 + spread(Math.sin(angle))) / 2;
      const shares = [ahead * left, ahead * (1 - left), (1 - ahead) * left, (1 - ahead) * (1 - left)];
      out.push([0, 1, 2].map((axis) => shares.reduce((sum, share, k) => sum + share * box[k][axis], 0)));
    }
  }
  return out;
}

/** Convex hull of a few points {x, y}, always turning the same way. */
function convexHull(points) {
  const sorted = points.slice().sort((a, b) => a.x - b.x || a.y - b.y);
  const half = (list) => {
    const chain = [];
    for (const p of list) {
      while (chain.length > 1) {
        const [a, b] = chain.slice(-2);
        if ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0) break;
        chain.pop();
      }
      chain.push(p);
    }
    return chain.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

function addPolygon(path, points) {
  points.forEach((p, i) => (i === 0 ? path.moveTo(p.x, p.y) : path.lineTo(p.x, p.y)));
  path.closePath();
}

/** Frames in which a foot is down, as pieces of the axis from 1 to frames + 1. */
function stanceSpans(contact, framesDown, frames) {
  const end = contact + framesDown;
  return end <= frames + 1 ? [[contact, end]] : [[contact, frames + 1], [1, end - frames]];
}

/** Move one end of a stance by some frames, onto a whole frame; a foot is down, and up, for at least a frame. */
function movedStance(foot, end, by, frames) {
  const { contact_frame: contact, frames_down: down } = foot;
  const within = (value) => Math.min(Math.max(value, 1), frames - 1);
  if (end === "contact") {
    const moved = within(contact + down - Math.round(contact + by));
    const from = contact + down - moved;
    return { ...foot, contact_frame: ((((from - 1) % frames) + frames) % frames) + 1, frames_down: moved };
  }
  return { ...foot, frames_down: within(Math.round(contact + down + by) - contact) };
}

/** Write stances as the options of a gait take them: "RH 1-23, RF 9-31, ...". */
function contactsText(feet) {
  const number = (frame) => String(Math.round(1000 * frame) / 1000);
  return feet.map(({ foot, contact_frame: contact, frames_down: down }) => (
    `${foot} ${number(contact)}-${number(contact + down)}`
  )).join(", ");
}

if (typeof module !== "undefined") {
  module.exports = { lookFrom, project, smoothChain, addHull, convexHull, roundedFoot, stanceSpans, movedStance, contactsText };
}
