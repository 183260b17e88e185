// Reads {views, chains, discs, points, feet, stances, moved} from standard input, answers with what the page's script makes of them.
const path = require("node:path");
const geometry = require(path.join(__dirname, "..", "..", "gaitgen", "page", "geometry.js"));

class Recorder {
  constructor() {
    this.points = [];
  }

  moveTo(x, y) {
    this.points.push([x, y]);
  }

  arc(x, y, r, from, to) {
    if (to < from) throw new Error("the arc turns the other way");
    for (let k = 0; k <= 40; k += 1) {
      const angle = from + ((to - from) * k) / 40;
      this.points.push([x + r * Math.cos(angle), y + r * Math.sin(angle)]);
    }
  }

  closePath() {
    this.points.push(this.points[0]);
  }
}

let text = "";
process.stdin.on("data", (piece) => { text += piece; });
process.stdin.on("end", () => {
  const asked = JSON.parse(text);
  const camera = { target: [0, 0, 0], middle: [0, 0], scale: 1 };
  console.log(JSON.stringify({
    views: asked.views.map(([azimuth, elevation]) => {
      const looks = geometry.lookFrom(azimuth, elevation);
      return { ...looks, shown: asked.points.map((p) => geometry.project({ ...camera, ...looks }, p)) };
    }),
    chains: asked.chains.map((chain) => geometry.smoothChain(chain)),
    hulls: asked.discs.map((discs) => {
      const recorder = new Recorder();
      geometry.addHull(recorder, ...discs);
      return recorder.points;
    }),
    convex: geometry.convexHull(asked.points.map(([x, y]) => ({ x, y }))),
    feet: asked.feet.map((corners) => geometry.roundedFoot(corners)),
    moved: asked.moved.map(([feet, row, end, by, frames]) => (
      geometry.contactsText(feet.map((foot, k) => (k === row ? geometry.movedStance(foot, end, by, frames) : foot)))
    )),
    spans: asked.stances.map((stance) => geometry.stanceSpans(...stance)),
  }));
});
