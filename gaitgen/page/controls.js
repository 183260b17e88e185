// Sliders and choices of the served page.

class Controls {
  /** `desk` is told of each change: set(name, text, gesture), unset(name), endGesture(). */
  constructor(controls, desk) {
    this.desk = desk;
    this.rows = new Map();
    const groups = new Map();
    for (const control of controls) {
      if (!groups.has(control.group)) groups.set(control.group, this.group(control.group));
      groups.get(control.group).append(this.row(control));
    }
    byId("controls").append(...groups.values());
  }

  group(name) {
    const group = document.createElement("div"), title = document.createElement("h2");
    group.className = "group";
    title.textContent = name;
    group.append(title);
    return group;
  }

  row(control) {
    const row = document.createElement("div"), label = document.createElement("label");
    const isChoice = "choices" in control, input = document.createElement(isChoice ? "select" : "input");
    const output = document.createElement("output"), undo = this.undo(control, input);
    row.className = isChoice ? "control choice" : "control";
    row.title = control.hint;
    input.id = `control_${control.name}`;
    input.autocomplete = "off";
    label.htmlFor = input.id;
    label.textContent = control.label;
    if (isChoice) {
      for (const choice of control.choices) input.append(new Option(wordOf(choice), choice));
      const none = new Option("none", "");
      none.hidden = true; // shown where a gait has no such choice, as a walk has no lead
      input.append(none);
      row.append(label, input, undo);
    } else {
      Object.assign(input, { type: "range", min: control.least, max: control.greatest, step: control.step });
      row.append(label, output, undo, input);
    }
    this.listen(control, input);
    this.rows.set(control.name, { control, row, input, output: isChoice ? null : output });
    return row;
  }

  undo(control, input) {
    const undo = document.createElement("button");
    undo.type = "button";
    undo.className = "undo";
    undo.textContent = "\u00d7";
    undo.title = `Set ${control.label.toLowerCase()} back (Delete)`;
    undo.setAttribute("aria-label", undo.title);
    undo.addEventListener("click", () => {
      this.desk.unset(control.name);
      input.focus(); // the button goes
    });
    return undo;
  }

  /** From the first move of a slider until it is let go is one gesture. */
  listen(control, input) {
    const { desk } = this, end = () => desk.endGesture();
    input.addEventListener("input", () => desk.set(control.name, input.value, control.name));
    for (const kind of ["pointerup", "pointercancel", "keyup", "blur"]) input.addEventListener(kind, end);
    input.addEventListener("keydown", (event) => {
      const isBack = event.key === "Delete" || event.key === "Backspace";
      if (!isBack || event.shiftKey || event.ctrlKey) return;
      event.preventDefault();
      desk.unset(control.name);
    });
  }

  /**
   * Put every slider where its value is: the user's, or the one that was chosen for the animal. ``stoodFor`` are
   * those that something else says, with the reason.
   */
  show(values, own, stoodFor) {
    for (const [name, { control, row, input, output }] of this.rows) {
      const isStoodFor = stoodFor.has(name), given = name in values && !isStoodFor;
      const plain = isStoodFor ? own[name] ?? control.own : control.own ?? own[name];
      const value = given ? values[name] : plain;
      row.classList.toggle("changed", given && values[name] !== control.own);
      row.title = isStoodFor ? `${control.hint} ${stoodFor.get(name)}` : control.hint;
      input.disabled = isStoodFor;
      input.value = value ?? "";
      if (!output) continue;
      const digits = Math.max(0, Math.ceil(-Math.log10(control.step || 1)));
      output.textContent = isEmpty(value) ? "its own" : `${Number(value).toFixed(digits)}${control.unit || ""}`;
      output.classList.toggle("chosen", !given);
    }
  }

  focus() {
    this.rows.values().next().value.input.focus();
  }
}

/** A choice as it is read: of a file its name, without folder and suffix. */
function wordOf(choice) {
  return choice.endsWith(".toml") ? choice.replace(/^.*[\\/]/, "").slice(0, -5) : choice.replaceAll("_", " ");
}

function isEmpty(value) {
  return value === undefined || value === null;
}
