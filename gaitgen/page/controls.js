// The served page: sliders and choices, and the button that writes files.

/** Sliders and choices of the served page; each change brings a new clip. */
class Controls {
  constructor(page, served) {
    this.page = page;
    this.served = served;
    this.values = { ...served.values };
    this.rows = new Map();
    byId("desk").hidden = false;
    byId("files").hidden = false;
    const groups = new Map();
    for (const control of served.controls) {
      if (!groups.has(control.group)) groups.set(control.group, this.group(control.group));
      groups.get(control.group).append(this.row(control));
    }
    byId("controls").append(...groups.values());
    byId("own").addEventListener("click", () => {
      this.values = {};
      this.changed();
    });
    byId("write").addEventListener("click", () => this.write());
    this.show();
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
    const undo = document.createElement("button"), isChoice = "choices" in control;
    const input = document.createElement(isChoice ? "select" : "input"), output = document.createElement("output");
    row.className = isChoice ? "control choice" : "control";
    row.title = control.hint;
    input.id = `control_${control.name}`;
    label.htmlFor = input.id;
    label.textContent = control.label;
    undo.type = "button";
    undo.className = "undo";
    undo.textContent = "\u00d7";
    undo.title = `Set ${control.label.toLowerCase()} back`;
    undo.setAttribute("aria-label", undo.title);
    undo.addEventListener("click", () => {
      delete this.values[control.name];
      this.changed();
    });
    if (isChoice) {
      for (const choice of control.choices) input.append(new Option(choice.replaceAll("_", " "), choice));
      row.append(label, input, undo);
    } else {
      Object.assign(input, { type: "range", min: control.least, max: control.greatest, step: control.step });
      row.append(label, output, undo, input);
    }
    input.addEventListener("input", () => {
      this.values[control.name] = input.value;
      this.changed();
    });
    this.rows.set(control.name, { control, row, input, output });
    return row;
  }

  /** Put every slider where its value is: the user's, or the one that was chosen for the animal. */
  show() {
    const { own } = this.page.clip;
    for (const [name, { control, row, input, output }] of this.rows) {
      const given = name in this.values, value = given ? this.values[name] : control.own ?? own[name];
      row.classList.toggle("changed", given && this.values[name] !== control.own);
      if (document.activeElement !== input || !given) input.value = value ?? "";
      if (!output) continue;
      const digits = Math.max(0, Math.ceil(-Math.log10(control.step || 1)));
      output.textContent = value === undefined ? "its own" : `${Number(value).toFixed(digits)}${control.unit || ""}`;
      output.classList.toggle("chosen", !given);
    }
  }

  /** Ask for the clip of the latest values; while one is on its way the next waits. */
  async changed() {
    this.show();
    this.wanted = true;
    if (this.asking) return;
    this.asking = true;
    document.body.dataset.state = "asking";
    while (this.wanted) {
      this.wanted = false;
      await this.ask();
    }
    this.asking = false;
    document.body.dataset.state = "shown";
  }

  async ask() {
    const answer = await this.fetch(`clip?${new URLSearchParams(this.values)}`, {});
    if (!answer) return;
    this.page.take(answer);
    this.page.draw();
    this.show();
  }

  async write() {
    byId("written").textContent = "";
    const answer = await this.fetch("write", {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Gaitgen-Token": this.served.token },
      body: JSON.stringify({ values: this.values, name: byId("stem").value.trim() }),
    });
    if (answer) byId("written").textContent = [...answer.said, "Written:", ...answer.files].join("\n");
  }

  /** Fetch JSON; what is wrong is shown on the page, and nothing comes back. */
  async fetch(where, options) {
    let message = "gaitgen does not answer; is it still running?";
    try {
      const reply = await fetch(where, options), answer = await reply.json();
      message = reply.ok ? "" : answer.error;
      if (reply.ok) return answer;
    } catch (fault) {
      if (!(fault instanceof TypeError || fault instanceof SyntaxError)) throw fault;
    } finally {
      byId("trouble").textContent = message;
      byId("trouble").hidden = !message;
    }
    return null;
  }
}
