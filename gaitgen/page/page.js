// The page: what is drawn and said of a frame, and what the address keeps of it.

const byId = (id) => document.getElementById(id);
const fromPage = (id) => JSON.parse(byId(id).textContent);
// The address is written at most so often: browsers refuse more.
const ADDRESS_MS = 400;
const AIDS = {
  ghosts: "Key ghosts: key pose before in a solid line, after in a broken one",
  onion: "Onion skin: three frames before filled, three after in lines",
};

class Page {
  constructor(clip) {
    this.desk = null;
    takeUpAfterReload();
    this.kept = readAddress(window.location.hash);
    this.aids = { ghosts: false, onion: false };
    this.layer = document.createElement("canvas");
    this.player = new Player(() => this.draw(), () => this.showState());
    this.view = new View(byId("stage"), byId("picture"), () => this.showState());
    this.trails = new Trails(byId("points"), () => this.showState());
    this.bars = new (clip.is_shot ? ShotBars : Bars)(byId("bars"), (frame) => this.player.goTo(frame));
    this.map = clip.is_shot ? new PathMap(byId("map"), byId("map_picture")) : null;
    this.held = null; // the heading from which the direction is held
    this.view.swing = () => this.turnedBy();
    for (const name of ["map", "of_shot"]) byId(name).hidden = false;
    if (!clip.is_shot) for (const name of ["map", "of_shot", "path"]) byId(name).remove();
    this.take(clip);
    this.loopEnds = new LoopEnds(byId("timeline"), this.bars, this.player);
    this.listen();
    this.bringBack(this.kept.shown);
  }

  /** Show it, when all that belongs to it is there; only then the address may be written anew. */
  start() {
    this.isReady = true;
    this.showState();
    new ResizeObserver(() => {
      this.view.fill();
      this.draw();
    }).observe(byId("stage"));
    if (!window.matchMedia("(prefers-reduced-motion: reduce)").matches) this.player.play(true);
  }

  /** Show another clip; the view stays, and the frame, or the moment of the stride if its length changes. */
  take(packed, keepsRows = false) {
    const clip = unpacked(packed);
    this.clip = clip;
    this.figure = new Figure(clip);
    this.belt = new (clip.is_shot ? Way : Belt)(this.figure);
    if (this.map) this.map.take(clip);
    this.bars.take(clip, keepsRows);
    this.view.take(this.figure);
    this.trails.take(clip);
    listPlan(clip, (frame) => this.player.goTo(frame));
    this.player.take(clip.frames, clip.frame_rate_hz); // draws, so all that is drawn is there by now
    byId("title").textContent = `${clip.title}, ${clip.gait}`;
    byId("subtitle").textContent = clip.is_shot
      ? `frames 1 to ${clip.frames + 1} at ${clip.frame_rate_hz} fps, along its path`
      : `${clip.frames} frames at ${clip.frame_rate_hz} fps, in place; frame ${clip.frames + 1} repeats frame 1`;
    byId("loop_all").textContent = clip.is_shot ? "whole shot" : "whole cycle";
    document.title = `${clip.title}, ${clip.gait}, ${clip.frames} frames`;
    byId("bars").setAttribute("aria-valuemax", clip.frames + 1);
  }

  listen() {
    const { player, view, trails } = this, click = (id, act) => byId(id).addEventListener("click", act);
    click("play", () => player.play(!player.isPlaying));
    click("back", () => player.step(-1));
    click("ahead", () => player.step(1));
    click("key_back", () => this.stepKey(-1));
    click("key_ahead", () => this.stepKey(1));
    click("ghosts", () => this.aid("ghosts"));
    click("onion", () => this.aid("onion"));
    click("trails", () => trails.show(!trails.isOn));
    click("smaller", () => view.zoomBy(1 / ZOOM_STEP));
    click("larger", () => view.zoomBy(ZOOM_STEP));
    click("fit", () => view.fitAgain());
    if (this.map) {
      click("plan_shown", () => this.showMap(byId("map").hidden));
      click("hold", () => this.hold(this.held === null));
    }
    click("feet", () => trails.set(FEET, true));
    click("no_points", () => trails.set([], false));
    click("loop_from", () => player.beginAt(player.frame));
    click("loop_to", () => player.endAt(player.frame));
    click("loop_all", () => player.playAll());
    for (const button of document.querySelectorAll("[data-view]")) {
      button.addEventListener("click", () => view.look(button.dataset.view));
    }
    for (const button of document.querySelectorAll("[data-speed]")) {
      button.addEventListener("click", () => player.setSpeed(Number(button.dataset.speed)));
    }
    window.addEventListener("pagehide", () => leaveForReload(...this.writeAddress()));
    window.addEventListener("hashchange", () => this.goToAddress());
  }

  // What the address keeps

  bringBack({ view, aids = "", trails, loop }) {
    this.view.look(view in VIEWS ? view : "side");
    for (const name of Object.keys(this.aids)) this.aids[name] = aids.split(",").includes(name);
    this.trails.set(trails ? trails.split(",") : [], true);
    const [from, to, frames] = (/^(\d{1,5})-(\d{1,5})\/(\d{1,5})$/.exec(loop) || []).slice(1).map(Number);
    if (from < to && frames > 1) this.player.setLoop(from, to, frames);
    else this.player.playAll();
  }

  /** Follow an address that somebody has put there. */
  goToAddress() {
    const { values, shown } = readAddress(window.location.hash);
    this.isReady = false; // the address is not written before all of it is taken
    this.bringBack(shown);
    this.isReady = true;
    if (this.desk) this.desk.goTo(values);
    this.showState();
  }

  get inAddress() {
    const { view, player, trails } = this, aids = Object.keys(this.aids).filter((name) => this.aids[name]);
    return {
      view: view.name === "side" ? "" : view.name,
      aids: aids.join(),
      trails: trails.isOn ? [...trails.chosen].join() : "",
      loop: player.chosen ? `${player.chosen.ends.join("-")}/${player.chosen.frames}` : "",
    };
  }

  /** Keep what is shown in the address, at once or a moment later if that was just done. */
  remember() {
    if (!this.isReady || this.later) return;
    this.writeAddress();
    this.later = setTimeout(() => {
      this.later = null;
      this.writeAddress();
    }, ADDRESS_MS);
  }

  writeAddress() {
    const { desk } = this, hash = writeAddress(desk ? desk.values : null, this.inAddress);
    const state = desk ? { past: desk.changes.past, future: desk.changes.future } : null;
    if (desk || hash !== (window.location.hash || "#")) window.history.replaceState(state, "", hash);
    return [hash, state];
  }

  // What is seen

  stepKey(by) {
    const { before, after } = neighbours(this.clip, this.player.frame);
    this.player.goTo(by < 0 ? before.at : after.at);
  }

  aid(name) {
    this.aids[name] = !this.aids[name];
    this.showState();
  }

  /** Show the path from above, or not. */
  showMap(isShown) {
    byId("map").hidden = !isShown;
    this.view.fill();
    this.showState();
  }

  /** Hold the direction of the view over the ground, or let it turn with the animal. */
  hold(isHeld) {
    if (isHeld) {
      this.held = this.clip.way[this.player.frame - 1][3];
    } else {
      this.view.azimuth += this.turnedBy();
      this.held = null;
    }
    this.showState();
  }

  turnedBy() {
    return this.held === null ? 0 : ((this.clip.way[this.player.frame - 1][3] - this.held) * 180) / Math.PI;
  }

  goToPoints() {
    byId("points").querySelector("input").focus();
  }

  help() {
    const help = byId("help");
    help.open = !help.open;
    if (!help.open) return;
    help.scrollIntoView({ block: "nearest" });
    help.querySelector("summary").focus();
  }

  /** Say what is wrong; nothing takes it away. */
  complain(text) {
    byId("trouble").textContent = text || "";
    byId("trouble").hidden = !text;
  }

  /** Show what is pressed and chosen, and draw. */
  showState() {
    if (!this.isReady) return;
    const { player, view, trails, aids } = this;
    const press = (node, isOn) => node.setAttribute("aria-pressed", isOn);
    byId("play").textContent = player.isPlaying ? "Pause" : "Play";
    for (const button of document.querySelectorAll("[data-view]")) press(button, button.dataset.view === view.name);
    for (const button of document.querySelectorAll("[data-speed]")) {
      press(button, Number(button.dataset.speed) === player.speed);
    }
    for (const name of Object.keys(aids)) press(byId(name), aids[name]);
    press(byId("trails"), trails.isOn);
    if (this.map) {
      press(byId("plan_shown"), !byId("map").hidden);
      press(byId("hold"), this.held !== null);
    }
    const words = Object.keys(aids).filter((name) => aids[name]).map((name) => AIDS[name]);
    if (trails.isOn) {
      const what = "a dot a frame, a ring on key poses; right heavy, left light";
      words.push(this.clip.is_shot ? `Trails of a second before and after: ${what}` : `Trails: ${what}`);
    }
    byId("legend").hidden = words.length === 0;
    byId("legend").textContent = words.join("\n");
    const [from, to] = this.loopEnds.ends;
    byId("looped").textContent = player.loop ? `plays ${from} to ${to}` : "plays all";
    byId("loop_all").disabled = !player.loop;
    this.remember();
    this.draw();
  }

  draw() {
    if (!this.isReady) return;
    const { frame } = this.player, picture = byId("picture"), camera = this.view.camera(), row = frame - 1;
    const ctx = sized(picture, camera.dots);
    sized(this.layer, camera.dots, picture);
    this.belt.paint(ctx, row, camera);
    this.belt.letters(ctx, row, camera, true);
    if (this.aids.onion) this.drawOnion(ctx, camera);
    this.figure.paint(ctx, row, camera);
    if (this.aids.ghosts) this.drawGhosts(ctx, camera);
    this.belt.letters(ctx, row, camera, false);
    this.trails.paint(ctx, camera, frame, this.player.loop);
    this.loopEnds.show();
    if (this.desk?.ends) this.desk.ends.show();
    this.bars.paint(frame);
    if (this.map) this.map.paint(frame);
    tell(this.clip, frame);
  }

  stamp(ctx, row, camera, alpha, manner) {
    this.figure.shape(this.layer, row, camera, manner);
    ctx.save();
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.globalAlpha = alpha;
    ctx.drawImage(this.layer, 0, 0);
    ctx.restore();
  }

  drawOnion(ctx, camera) {
    const { frames } = this.clip, row = (by) => ((((this.player.frame - 1 + by) % frames) + frames) % frames);
    for (const by of [3, 2, 1]) {
      this.stamp(ctx, row(-by), camera, 0.08, { tint: true });
      this.stamp(ctx, row(by), camera, 0.62 - 0.14 * by, {});
    }
  }

  drawGhosts(ctx, camera) {
    const { before, after } = neighbours(this.clip, this.player.frame);
    this.stamp(ctx, before.at - 1, camera, 0.6, {});
    this.stamp(ctx, after.at - 1, camera, 0.85, { broken: true });
  }
}

/** Empty a canvas of the size of another, or of its own, and return what draws on it in pixels of the page. */
function sized(canvas, dots, like = canvas) {
  const width = Math.round(like.clientWidth * dots), height = Math.round(like.clientHeight * dots);
  if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
  const ctx = canvas.getContext("2d");
  ctx.setTransform(dots, 0, 0, dots, 0, 0);
  ctx.clearRect(0, 0, like.clientWidth, like.clientHeight);
  return ctx;
}

const page = new Page(fromPage("clip")), served = fromPage("served");
if (served) new (served.shot ? PathDesk : Desk)(page, served);
new Keys(page);
page.start();
