// The colours of the page's picture, and those of a coat in light and shade.

const TONES = {
  eye: "#0f0b09",
  belt: "#e6e0d0", stripe: "#d3cbb6", edge: "#bdb39b", shade: "rgba(40,32,24,0.20)",
  print: "#14555a", passedPrint: "rgba(60,50,40,0.45)", oldPrint: "rgba(60,50,40,0.20)", ghost: "#1d2422", sheet: "#fffdf8", quiet: "#535c57",
};
// Light and shade of a colour, from its rim to where the light falls, and what far parts are mixed with.
const SKIN_SHADES = [0.67, 0.85, 1, 1.12, 1.22], FAR_SHADES = [0.9, 0.95, 1, 1.04, 1.08];
const HAIR_SHADES = [0.62, 0.79, 1, 1.2, 1.4];
// Far legs are flat as well as grey, near ones round.
const FAR = "#55585a", FAR_SHARE = 0.78;

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
