// Everything that keys do. One table answers the keyboard and is printed as the help.

const SHIFTS = {
  "Ctrl+ArrowLeft": [-SHIFT_PX, 0], "Ctrl+ArrowRight": [SHIFT_PX, 0],
  "Ctrl+ArrowUp": [0, -SHIFT_PX], "Ctrl+ArrowDown": [0, SHIFT_PX],
};

/** Rows of keys: {keys, shown, what, act}; `keys` are as in `keyName`. */
function keyTable(page) {
  const { player, view, trails, desk } = page, here = () => player.frame;
  const rows = [
    ["Space", ["Space"], "play or pause", () => player.play(!player.isPlaying)],
    ["\u2190 \u2192", ["ArrowLeft", "ArrowRight"], "a frame back or on", (key) => player.step(key === "ArrowLeft" ? -1 : 1)],
    ["Shift + \u2190 \u2192", ["Shift+ArrowLeft", "Shift+ArrowRight"], "the key pose before or after",
      (key) => page.stepKey(key.endsWith("Left") ? -1 : 1)],
    ["Home, End", ["Home", "End"], "the first or last frame", (key) => player.goTo(key === "Home" ? 1 : player.frames + 1)],
    ["Q, H, N", ["Q", "H", "N"], "a quarter of the speed, half, or full", (key) => player.setSpeed(SPEEDS["QHN".indexOf(key)])],
    ["A, B", ["A", "B"], "play from here, or to here", (key) => (key === "A" ? player.beginAt(here()) : player.endAt(here()))],
    ["L", ["L"], "play all of it", () => player.playAll()],
    ["1 2 3 4", ["1", "2", "3", "4"], "look from the side, front, three-quarter, top",
      (key) => view.look(Object.keys(VIEWS)[key - 1])],
    ["R, Shift + R", ["R", "Shift+R"], "turn the view round, one way or the other",
      (key) => view.turn(key === "R" ? TURN_DEG : -TURN_DEG, 0)],
    ["E, Shift + E", ["E", "Shift+E"], "raise or lower the view", (key) => view.turn(0, key === "E" ? TURN_DEG : -TURN_DEG)],
    ["+ \u2212", ["+", "=", "-"], "zoom in or out", (key) => view.zoomBy(key === "-" ? 1 / ZOOM_STEP : ZOOM_STEP)],
    ["Ctrl + \u2190 \u2192 \u2191 \u2193", Object.keys(SHIFTS), "shift the picture", (key) => view.shift(...SHIFTS[key])],
    ["F", ["F"], "fit the animal into the picture", () => view.fitAgain()],
    ["G", ["G"], "key ghosts: the key poses before and after", () => page.aid("ghosts")],
    ["O", ["O"], "onion skin: three frames before and after", () => page.aid("onion")],
    ["T", ["T"], "trails of the chosen points", () => trails.show(!trails.isOn)],
    ["Shift + T", ["Shift+T"], "to the list of points; Tab goes on, Space chooses", () => page.goToPoints()],
    ...(page.clip.is_shot ? [
      ["P", ["P"], "the path from above, or not", () => page.showMap(byId("map").hidden)],
      ["V", ["V"], "hold the direction of the view while the animal turns", () => page.hold(page.held === null)],
    ] : []),
    ["Esc", ["Escape"], "leave a slider, an end or a field", () => document.activeElement.blur()],
    ["?", ["?"], "this list", () => page.help()],
  ];
  return [...rows, ...(!desk ? [] : page.clip.is_shot ? pathRows(desk) : deskRows(desk))].map(([shown, keys, what, act]) => ({ shown, keys, what, act }));
}

/** What needs somebody to answer. */
function deskRows(desk) {
  return [
    ["S", ["S"], "to the sliders; arrows move one, Delete sets it back", () => desk.controls.focus()],
    ["Ctrl + Z", ["Ctrl+Z"], "undo a change of sliders or contacts", () => desk.undo()],
    ["Ctrl + Shift + Z", ["Ctrl+Shift+Z", "Ctrl+Y"], "redo it", () => desk.redo()],
    ["Shift + Delete", ["Shift+Delete", "Shift+Backspace"], "reset all", () => desk.reset()],
    ["C", ["C"], "to the ends of the bars: Tab goes on, \u2190 \u2192 move a contact or lift-off by a frame",
      () => desk.ends.focus()],
    ["Shift + C", ["Shift+C"], "give the gait its own contacts back", () => desk.ownContacts()],
    ["M", ["M"], "to the name of the files", () => byId("stem").focus()],
    ["W", ["W"], "write the files", () => desk.write()],
  ];
}

/** What needs somebody to answer, of a shot. */
function pathRows(desk) {
  return [
    ["D", ["D"], "to the points of the path: Tab goes on, arrows move one by 10 cm, with Shift by 1 m", () => desk.focus()],
    ["Insert", ["Insert"], "add a point after the one that was chosen last", () => desk.add(desk.chosen)],
    ["Delete", ["Delete"], "take that point out", () => desk.remove(desk.chosen)],
    ["U", ["U"], "to the radius of the turns", () => byId("radius").focus()],
    ["Ctrl + Z", ["Ctrl+Z"], "undo a change of the path", () => desk.undo()],
    ["Ctrl + Shift + Z", ["Ctrl+Shift+Z", "Ctrl+Y"], "redo it", () => desk.redo()],
    ["Shift + Delete", ["Shift+Delete", "Shift+Backspace"], "the path of the file again", () => desk.reset()],
    ["W", ["W"], "write the path into the shot file, or beside it", () => desk.write()],
  ];
}

/** What the mouse, a pen or a finger does. */
function mouseRows({ desk, clip }) {
  return [
    ["Drag the picture", "turn the view, with Shift shift the picture"],
    ["Wheel", "zoom where the pointer is"],
    ["Double click", "fit the animal again"],
    ["Click, drag on the bars", "go to a frame"],
    ["Drag A, B over the bars", "play only the frames between; a double click plays all"],
    ...(desk && clip.is_shot ? [["Drag a point of the plan", "lead the path another way"]] : []),
    ...(desk && !clip.is_shot ? [
      ["Drag the end of a bar", "move a contact or lift-off; a double click gives the gait its own"],
      ["\u00d7 beside a slider", "set it back"],
    ] : []),
  ];
}

/** Name a key with what is held beside it. Shift counts with letters and named keys alone: signs have it inside. */
function keyName(event) {
  const key = event.key === " " ? "Space" : event.key.length === 1 ? event.key.toUpperCase() : event.key;
  const withShift = event.shiftKey && (key.length > 1 || /^[A-Z]$/.test(key));
  return `${event.ctrlKey || event.metaKey ? "Ctrl+" : ""}${withShift ? "Shift+" : ""}${key}`;
}

/** Whether what has the focus needs the key itself. */
function needsKey(node, name) {
  if (node.tagName === "SELECT") return !name.startsWith("Ctrl+");
  if (node.tagName === "INPUT" && /^(text|number)$/.test(node.type)) return name !== "Escape";
  if (node.tagName === "INPUT" && node.type === "range") return /^(Arrow|Home|End|Page)/.test(name);
  return name === "Space" && /^(BUTTON|INPUT|SUMMARY)$/.test(node.tagName);
}

class Keys {
  constructor(page) {
    this.rows = keyTable(page);
    this.acts = new Map(this.rows.flatMap(({ keys, act }) => keys.map((key) => [key, act])));
    document.addEventListener("keydown", (event) => this.press(event));
    byId("keys").replaceChildren(
      ...this.rows.flatMap(({ shown, what }) => this.line(shown, what)),
      ...mouseRows(page).flatMap(([shown, what]) => this.line(shown, what)),
    );
  }

  press(event) {
    const name = keyName(event), act = this.acts.get(name);
    if (!act || event.altKey || needsKey(event.target, name)) return;
    event.preventDefault();
    act(name);
  }

  line(shown, what) {
    const term = document.createElement("dt"), words = document.createElement("dd");
    term.textContent = shown;
    words.textContent = what;
    return [term, words];
  }
}

if (typeof module !== "undefined") module.exports = { keyName };
