// The page: playing, views, key poses.

const VIEWS = { side: [90, 0], front: [0, 0], three_quarter: [38, 12], top: [90, 90] };
const byId = (id) => document.getElementById(id);
const fromPage = (id) => JSON.parse(byId(id).textContent);

class Page {
  constructor(clip, served) {
    this.served = served;
    this.frame = 1;
    this.speed = 1;
    this.playing = false;
    this.ghosts = false;
    this.onion = false;
    this.view = { azimuth: 90, elevation: 0, name: "side" };
    this.zoom = 1;
    this.layer = document.createElement("canvas");
    this.bars = new Bars(byId("bars"), (frame) => this.goTo(frame));
    this.take(clip);
    this.listen();
    this.look("side");
    new ResizeObserver(() => {
      this.fill();
      this.draw();
    }).observe(byId("stage"));
    if (!window.matchMedia("(prefers-reduced-motion: reduce)").matches) this.play(true);
  }

  /** Show another clip; the view stays, and the frame, or the moment of the stride if its length changes. */
  take(clip) {
    if (this.clip && this.clip.frames !== clip.frames) {
      const moment = (this.frame - 1) / this.clip.frames;
      this.frame = Math.round(moment * clip.frames) + 1;
    }
    this.clip = clip;
    this.figure = new Figure(clip);
    this.belt = new Belt(this.figure);
    this.bars.clip = clip;
    byId("title").textContent = `${clip.title}, ${clip.gait}`;
    byId("subtitle").textContent =
      `${clip.frames} frames at ${clip.frame_rate_hz} fps, in place; frame ${clip.frames + 1} repeats frame 1`;
    document.title = `${clip.title}, ${clip.gait}, ${clip.frames} frames`;
    byId("bars").setAttribute("aria-valuemax", clip.frames + 1);
    this.list();
  }

  list() {
    const { clip } = this;
    byId("poses").replaceChildren(...clip.key_poses.map((pose) => {
      const item = document.createElement("li"), button = document.createElement("button");
      const number = document.createElement("b"), name = document.createElement("span");
      number.textContent = pose.frame;
      name.textContent = pose.name;
      button.type = "button";
      button.append(number, name);
      button.addEventListener("click", () => this.goTo(Math.round(pose.frame)));
      item.append(button);
      return item;
    }));
    byId("numbers").replaceChildren(...clip.numbers.flatMap(([label, text]) => {
      const term = document.createElement("dt"), value = document.createElement("dd");
      term.textContent = label;
      value.textContent = text;
      return [term, value];
    }));
    byId("noticed").hidden = clip.notices.length === 0;
    byId("notices").replaceChildren(...clip.notices.map((text) => {
      const item = document.createElement("li");
      item.textContent = text;
      return item;
    }));
  }

  listen() {
    const click = (id, act) => byId(id).addEventListener("click", act);
    click("play", () => this.play(!this.playing));
    click("back", () => this.step(-1));
    click("ahead", () => this.step(1));
    click("key_back", () => this.stepKey(-1));
    click("key_ahead", () => this.stepKey(1));
    click("ghosts", () => this.aid("ghosts"));
    click("onion", () => this.aid("onion"));
    document.querySelectorAll("[data-view]").forEach((button) => {
      button.addEventListener("click", () => this.look(button.dataset.view));
    });
    document.querySelectorAll("[data-speed]").forEach((button) => {
      button.addEventListener("click", () => this.setSpeed(Number(button.dataset.speed)));
    });
    this.setSpeed(1);
    this.listenToPicture();
    document.addEventListener("keydown", (event) => this.key(event));
  }

  listenToPicture() {
    const picture = byId("picture");
    picture.addEventListener("pointerdown", (event) => picture.setPointerCapture(event.pointerId));
    picture.addEventListener("pointermove", (event) => {
      if (!event.buttons) return;
      const { view } = this;
      view.azimuth -= 0.4 * event.movementX;
      view.elevation = Math.min(Math.max(view.elevation + 0.3 * event.movementY, 0), 90);
      view.name = null;
      this.showView();
      this.draw();
    });
    picture.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoom = Math.min(Math.max(this.zoom * Math.exp(-0.0015 * event.deltaY), 0.3), 12);
      this.draw();
    }, { passive: false });
    picture.addEventListener("dblclick", () => {
      this.fit();
      this.draw();
    });
  }

  key(event) {
    const at = event.target, name = event.key;
    if (event.ctrlKey || event.altKey || event.metaKey || /^(INPUT|SELECT|TEXTAREA)$/.test(at.tagName)) return;
    const acts = {
      ArrowLeft: () => (event.shiftKey ? this.stepKey(-1) : this.step(-1)),
      ArrowRight: () => (event.shiftKey ? this.stepKey(1) : this.step(1)),
      Home: () => this.goTo(1),
      End: () => this.goTo(this.clip.frames + 1),
      " ": () => this.play(!this.playing),
      g: () => this.aid("ghosts"),
      o: () => this.aid("onion"),
    };
    Object.keys(VIEWS).forEach((view, k) => {
      acts[String(k + 1)] = () => this.look(view);
    });
    if (name === " " && at.tagName === "BUTTON") return;
    const act = acts[name.length === 1 ? name.toLowerCase() : name];
    if (!act) return;
    event.preventDefault();
    act();
  }

  play(on) {
    this.playing = on;
    byId("play").textContent = on ? "Pause" : "Play";
    this.started = null;
    if (on) requestAnimationFrame((now) => this.tick(now));
  }

  tick(now) {
    if (!this.playing) return;
    const { frames, frame_rate_hz: rate } = this.clip;
    if (this.started === null) this.started = { now, frame: (this.frame - 1) % frames };
    const passed = Math.floor(((now - this.started.now) / 1000) * rate * this.speed);
    const frame = ((this.started.frame + passed) % frames) + 1;
    if (frame !== this.frame) {
      this.frame = frame;
      this.draw();
    }
    requestAnimationFrame((later) => this.tick(later));
  }

  setSpeed(speed) {
    this.speed = speed;
    this.started = null;
    document.querySelectorAll("[data-speed]").forEach((button) => {
      button.setAttribute("aria-pressed", Number(button.dataset.speed) === speed);
    });
  }

  goTo(frame) {
    this.play(false);
    this.frame = Math.min(Math.max(frame, 1), this.clip.frames + 1);
    this.draw();
  }

  step(by) {
    const { frames } = this.clip;
    this.goTo(((((this.frame - 1 + by) % frames) + frames) % frames) + 1);
  }

  stepKey(by) {
    const { before, after } = this.neighbours();
    this.goTo(by < 0 ? before.at : after.at);
  }

  aid(name) {
    this[name] = !this[name];
    byId(name).setAttribute("aria-pressed", this[name]);
    const lines = [];
    if (this.ghosts) lines.push("Key ghosts: key pose before in a solid line, after in a broken one");
    if (this.onion) lines.push("Onion skin: three frames before filled, three after in lines");
    byId("legend").hidden = lines.length === 0;
    byId("legend").textContent = lines.join("\n");
    this.draw();
  }

  look(name) {
    const [azimuth, elevation] = VIEWS[name];
    this.view = { azimuth, elevation, name };
    this.fit();
    this.showView();
    this.draw();
  }

  showView() {
    document.querySelectorAll("[data-view]").forEach((button) => {
      button.setAttribute("aria-pressed", button.dataset.view === this.view.name);
    });
  }

  /** Place the whole stride in the stage. */
  fit() {
    this.zoom = 1;
    this.target = this.figure.middle;
    this.box = this.figure.extent({ ...lookFrom(this.view.azimuth, this.view.elevation), target: this.target });
    this.fill();
  }

  /** Scale what was placed to the room there is. */
  fill() {
    const { box } = this, stage = byId("stage");
    const [across, down] = [stage.clientWidth - 60, stage.clientHeight - 122];
    this.fitted = Math.max(Math.min(across / (box.right - box.left), down / (box.bottom - box.top)), 20);
    this.aside = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  }

  camera() {
    const stage = byId("stage"), dots = window.devicePixelRatio || 1, scale = this.fitted * this.zoom;
    return {
      ...lookFrom(this.view.azimuth, this.view.elevation),
      scale,
      target: this.target,
      middle: [stage.clientWidth / 2 - scale * this.aside[0], stage.clientHeight / 2 - scale * this.aside[1]],
      dots,
    };
  }

  /** Key poses before and after the frame, going round: {at, name, frame}. */
  neighbours() {
    const { frames, key_poses: poses } = this.clip;
    const inside = poses.map((pose) => ({ ...pose, at: Math.round(pose.frame) })).filter((pose) => pose.at <= frames);
    const here = ((this.frame - 1) % frames) + 1;
    const earlier = inside.filter((pose) => pose.at < here), later = inside.filter((pose) => pose.at > here);
    return {
      before: earlier[earlier.length - 1] || inside[inside.length - 1],
      on: inside.find((pose) => pose.at === here),
      after: later[0] || inside[0],
    };
  }

  draw() {
    if (!this.fitted) return;
    const picture = byId("picture"), camera = this.camera(), row = this.frame - 1;
    const width = Math.round(picture.clientWidth * camera.dots), height = Math.round(picture.clientHeight * camera.dots);
    if (picture.width !== width || picture.height !== height) Object.assign(picture, { width, height });
    if (this.layer.width !== width || this.layer.height !== height) Object.assign(this.layer, { width, height });
    const ctx = picture.getContext("2d");
    ctx.setTransform(camera.dots, 0, 0, camera.dots, 0, 0);
    ctx.clearRect(0, 0, picture.clientWidth, picture.clientHeight);
    this.belt.paint(ctx, row, camera);
    this.belt.letters(ctx, row, camera, true);
    if (this.onion) this.drawOnion(ctx, camera);
    this.figure.paint(ctx, row, camera);
    if (this.ghosts) this.drawGhosts(ctx, camera);
    this.belt.letters(ctx, row, camera, false);
    this.bars.paint(this.frame);
    this.tell();
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
    const { frames } = this.clip, row = (by) => ((((this.frame - 1 + by) % frames) + frames) % frames);
    for (const by of [3, 2, 1]) {
      this.stamp(ctx, row(-by), camera, 0.08, { tint: true });
      this.stamp(ctx, row(by), camera, 0.62 - 0.14 * by, {});
    }
  }

  drawGhosts(ctx, camera) {
    const { before, after } = this.neighbours();
    this.stamp(ctx, before.at - 1, camera, 0.6, {});
    this.stamp(ctx, after.at - 1, camera, 0.85, { broken: true });
  }

  /** Say in words what is to be seen. */
  tell() {
    const { clip, frame } = this, { before, on, after } = this.neighbours();
    const down = clip.feet.map((foot) => foot.foot).filter((foot) => clip.planted[frame - 1][clip.limbs.indexOf(foot)]);
    const words = on ? on.name : `from ${before.name} to ${after.name}`;
    byId("frame").textContent = `${frame}`;
    byId("moment").textContent = `${words}; down: ${down.join(" ") || "none"}`;
    byId("picture").setAttribute("aria-label", `Frame ${frame}: ${words}`);
    byId("bars").setAttribute("aria-valuenow", frame);
    byId("bars").setAttribute("aria-valuetext", `${frame}, ${words}`);
    byId("poses").querySelectorAll("button").forEach((button, k) => {
      const current = Math.round(clip.key_poses[k].frame) === frame;
      if ((button.getAttribute("aria-current") === "true") !== current) button.setAttribute("aria-current", current);
    });
  }
}

const served = fromPage("served");
const page = new Page(fromPage("clip"), served);
if (served) new Controls(page, served);
