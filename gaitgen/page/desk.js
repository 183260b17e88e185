// The served page's desk: values of the controls and their history, the clip that shows them, and the files.

const CONTACTS = "contacts", CONTACT_FRAMES = "contact_frames";

class Desk {
  constructor(page, served) {
    this.page = page;
    page.desk = this;
    this.served = served;
    this.shown = served.values; // what the clip on the page was made from
    this.changes = new Changes(this.known(page.kept.values) || served.values, window.history.state);
    this.lane = new Lane((isBusy) => this.onLane(isBusy));
    this.controls = new Controls(served.controls, this);
    this.ends = new BarEnds(byId("timeline"), page.bars, {
      onMove: (feet) => this.moveContacts(feet),
      onDone: () => this.endGesture(),
      onBack: () => this.ownContacts(),
    });
    this.writes = 0;
    document.body.classList.add("served");
    for (const name of ["desk", "files", "contacts"]) byId(name).hidden = false;
    this.listen();
    if (isSame(this.values, this.shown)) this.show();
    else this.follow();
  }

  get values() {
    return this.changes.now;
  }

  /** Leave out of an address what is no control of this page. */
  known(values) {
    if (!values) return null;
    const names = [...this.served.controls.map((control) => control.name), CONTACTS, CONTACT_FRAMES];
    return Object.fromEntries(Object.entries(values).filter(([name]) => names.includes(name)));
  }

  listen() {
    const click = (id, act) => byId(id).addEventListener("click", act);
    click("undo", () => this.undo());
    click("redo", () => this.redo());
    click("reset", () => this.reset());
    click("contacts_own", () => this.ownContacts());
    click("write", () => this.write());
    byId("write").title = `Key W; into ${this.served.out}`;
  }

  // What is changed

  put(values, gesture = null) {
    if (this.changes.put(values, gesture)) this.follow();
  }

  /** Take the values of an address. */
  goTo(values) {
    this.put(this.known(values) || this.served.values);
  }

  set(name, text, gesture) {
    this.put({ ...this.values, [name]: text }, gesture);
  }

  unset(...names) {
    this.put(Object.fromEntries(Object.entries(this.values).filter(([name]) => !names.includes(name))));
  }

  reset() {
    this.put({});
  }

  undo() {
    if (this.changes.undo()) this.follow();
  }

  redo() {
    if (this.changes.redo()) this.follow();
  }

  endGesture() {
    this.changes.end();
    this.settle();
    this.show();
  }

  /** Bars as somebody moves them: they are there at once, and the walk follows. */
  moveContacts(feet) {
    this.page.bars.moved = feet;
    this.page.draw();
    const contacts = { [CONTACTS]: contactsText(feet), [CONTACT_FRAMES]: String(this.page.clip.frames) };
    this.put({ ...this.values, ...contacts }, CONTACTS);
  }

  ownContacts() {
    this.unset(CONTACTS, CONTACT_FRAMES);
  }

  // What follows from it

  /** Controls that something else says already, with the reason. */
  get stoodFor() {
    const { values, served } = this;
    const bars = CONTACTS in values ? served.contacts_stand_for : [];
    const rig = served.rigs.includes(values.animal) ? served.rigs_stand_for : [];
    return new Map([
      ...bars.map((name) => [name, "The bars say it while contacts are moved."]),
      ...rig.map((name) => [name, "A rig has its own proportions."]),
    ]);
  }

  /** What is sent: not what something else says. */
  get sent() {
    const left = this.stoodFor;
    return Object.fromEntries(Object.entries(this.values).filter(([name]) => !left.has(name)));
  }

  /** Show the values, and ask for their clip. */
  follow() {
    this.show();
    this.lane.put("clip", () => this.bring());
  }

  async bring() {
    const asked = this.values, found = await fetchJson(`clip?${new URLSearchParams(this.sent)}`);
    this.isRefused = Boolean(found.isRefused);
    if (found.trouble || !this.takenBack) this.page.complain(found.trouble);
    if (found.trouble) this.trouble = found.trouble;
    if (!found.answer) return;
    this.takenBack = false;
    this.shown = asked;
    this.page.take(found.answer, CONTACTS in asked); // no bar may change its row under somebody's hand
    this.page.draw();
    this.show();
  }

  onLane(isBusy) {
    document.body.dataset.state = isBusy ? "asking" : "shown";
    if (!isBusy) this.settle();
  }

  /** At rest the bars are those of the clip: contacts that were refused go back to where they were before. */
  settle() {
    if (this.lane.isBusy || this.changes.gesture === CONTACTS) return;
    if (this.isRefused && this.values[CONTACTS] !== this.shown[CONTACTS]) {
      this.changes.takeBack(this.shown);
      this.page.complain(`${this.trouble}. The bars are as they were.`);
      this.takenBack = true;
      this.isRefused = false;
      this.follow();
      return;
    }
    if (!this.page.bars.moved) return; // the clip is drawn already
    this.page.bars.moved = null;
    this.page.draw();
  }

  show() {
    const { values, changes } = this, isMoved = CONTACTS in values;
    this.controls.show(values, this.page.clip.own, this.stoodFor);
    byId("undo").disabled = changes.past.length === 0;
    byId("redo").disabled = changes.future.length === 0;
    byId("reset").disabled = Object.keys(values).length === 0;
    byId("contacts_own").disabled = !isMoved;
    byId("contacts_said").textContent = isMoved ? "Contacts moved by hand" : "Contacts of the gait";
    this.page.remember();
  }

  // Files

  write() {
    const asked = { values: this.sent, name: byId("stem").value.trim() };
    this.lane.put("write", () => writeFrom(this, asked, byId("written")));
  }
}

/** Let the server write what a desk asks for, and say in a box what it did. */
async function writeFrom(desk, asked, box) {
  const found = await fetchJson("write", {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-Gaitgen-Token": desk.served.token },
    body: JSON.stringify(asked),
  });
  desk.page.complain(found.trouble);
  if (!found.answer) box.textContent = "Nothing was written.";
  else box.textContent = [`Write ${(desk.writes += 1)}`, ...fatesInWords(found.answer)].join("\n");
}

/** Say what became of files, in lines. */
function fatesInWords({ files, fates, said }) {
  const cut = (path) => Math.max(path.lastIndexOf("/"), path.lastIndexOf("\\")) + 1;
  const named = (fate) => files.filter((_, row) => fates[row] === fate).map((path) => path.slice(cut(path)));
  const words = { new: "New", replaced: "Replaced", unchanged: "There already, unchanged" };
  const lines = Object.keys(words).filter((fate) => named(fate).length).map((fate) => (
    `${words[fate]}: ${named(fate).join(", ")}`
  ));
  return [`In ${files[0].slice(0, cut(files[0]) - 1)}`, ...lines, ...said.map((text) => `Kept: ${text}`)];
}

if (typeof module !== "undefined") module.exports = { fatesInWords };
