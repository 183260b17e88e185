// The desk of a served shot: the points of its path and their history, the shot that follows them, and its file.

class PathDesk {
  constructor(page, served) {
    this.page = page;
    page.desk = this;
    this.served = served;
    this.changes = new Changes(this.known(page.kept.values) || {}, window.history.state);
    this.lane = new Lane((isBusy) => this.onLane(isBusy));
    this.isHeld = false;
    this.writes = 0;
    byId("path").hidden = false;
    page.map.let(this);
    this.listen();
    if (isSame(this.values, {})) this.show();
    else this.follow();
  }

  get values() {
    return this.changes.now;
  }

  get whole() {
    return { ...this.served.own, ...this.values };
  }

  get points() {
    return readPoints(this.whole.points);
  }

  known(values) {
    if (!values) return null;
    return Object.fromEntries(Object.entries(values).filter(([name]) => name === "points" || name === "radius"));
  }

  listen() {
    const click = (id, act) => byId(id).addEventListener("click", act);
    click("path_undo", () => this.undo());
    click("path_redo", () => this.redo());
    click("path_own", () => this.reset());
    click("path_add", () => this.add(this.chosen));
    click("path_remove", () => this.remove(this.chosen));
    click("path_write", () => this.write());
    const radius = byId("radius");
    radius.addEventListener("change", () => this.put({ ...this.whole, radius: radius.value }));
    byId("map").addEventListener("focusin", (event) => {
      const k = this.page.map.handles.indexOf(event.target);
      if (k >= 0) this.chosen = k;
    });
    this.chosen = 0;
  }

  // What is changed

  put(values, gesture = null) {
    if (!this.changes.put(values, gesture)) return;
    if (gesture === null) this.follow();
    else this.show();
  }

  goTo(values) {
    this.put(this.known(values) || {});
  }

  putPoints(points, gesture = null) {
    this.put({ ...this.whole, points: writePoints(points) }, gesture);
  }

  /** Move a point; the shot follows when it is let go. */
  move(k, place) {
    this.isHeld = true;
    this.chosen = k;
    this.putPoints(this.points.map((each, row) => (row === k ? place : each)), `point ${k}`);
  }

  done() {
    this.isHeld = false;
    this.changes.end();
    this.follow();
  }

  /** Add a point half-way to the next one; after the last, as far on again. */
  add(k) {
    const { points } = this, a = points[k], b = points[k + 1];
    const place = b ? a.map((v, axis) => (v + b[axis]) / 2) : a.map((v, axis) => 2 * v - points[k - 1][axis]);
    this.putPoints([...points.slice(0, k + 1), place, ...points.slice(k + 1)]);
    this.page.map.focus(k + 1);
  }

  remove(k) {
    if (this.points.length < 3) return;
    this.putPoints(this.points.filter((_, row) => row !== k));
    this.page.map.focus(k);
  }

  undo() {
    if (this.changes.undo()) this.follow();
  }

  redo() {
    if (this.changes.redo()) this.follow();
  }

  reset() {
    this.put({});
  }

  focus() {
    this.page.map.focus(this.chosen);
  }

  // What follows from it

  follow() {
    this.show();
    this.lane.put("clip", () => this.bring());
  }

  async bring() {
    const found = await fetchJson(`clip?${new URLSearchParams(this.values)}`);
    this.page.complain(found.trouble && `${found.trouble}. The shot is as it was; move the point, or undo.`);
    if (!found.answer) return;
    this.page.take(found.answer);
    this.page.draw();
    this.show();
  }

  onLane(isBusy) {
    document.body.dataset.state = isBusy ? "asking" : "shown";
  }

  show() {
    const { changes, points } = this;
    this.page.map.show(points);
    byId("radius").value = this.whole.radius;
    byId("path_undo").disabled = changes.past.length === 0;
    byId("path_redo").disabled = changes.future.length === 0;
    byId("path_own").disabled = Object.keys(this.values).length === 0;
    byId("path_remove").disabled = points.length < 3;
    this.page.remember();
    this.page.draw();
  }

  // Its file

  write() {
    const asked = { values: this.values };
    this.lane.put("write", () => writeFrom(this, asked, byId("path_written")));
  }
}
