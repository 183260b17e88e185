// Ends on the time line that can be dragged, or moved by keys while they have the focus.

/**
 * One end. `grab()` returns what is moved, `move(grabbed, frames)` moves it by some frames from there, `done()` ends
 * the gesture, and `back()` gives back what was there at first.
 */
class Handle {
  constructor(parent, kind, { bars, grab, move, done, back }) {
    Object.assign(this, { bars, grab, move, done, back });
    this.node = document.createElement("span");
    this.node.className = `handle ${kind}`;
    this.node.tabIndex = 0;
    this.node.setAttribute("role", "slider");
    this.node.setAttribute("aria-valuemin", 1);
    parent.append(this.node);
    this.listenToPointer();
    this.listenToKeys();
  }

  listenToPointer() {
    const { node } = this;
    let held = null;
    const end = () => {
      if (held) this.done();
      held = null;
    };
    node.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      node.setPointerCapture(event.pointerId);
      held = { x: event.clientX, what: this.grab(), by: 0 };
    });
    node.addEventListener("pointermove", (event) => {
      const by = held && Math.round(((event.clientX - held.x) / this.bars.wide) * this.bars.clip.frames);
      if (!held || by === held.by) return;
      held.by = by;
      this.move(held.what, by);
    });
    node.addEventListener("pointerup", end);
    node.addEventListener("pointercancel", end);
    node.addEventListener("dblclick", () => this.back());
  }

  listenToKeys() {
    const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 };
    this.node.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
      if (event.key in step) this.move(this.grab(), step[event.key]);
      else if (event.key === "Delete" || event.key === "Backspace") this.back();
      else return;
      event.preventDefault();
      event.stopPropagation();
    });
    this.node.addEventListener("keyup", (event) => {
      if (event.key in step) this.done();
    });
  }

  /** Put it on a frame, in a row of the time line; its words are for those who hear the page. */
  place(frame, top, label) {
    const { node, bars } = this, left = bars.x(frame), said = [left, top, label, frame, bars.clip.frames].join();
    if (said === this.said) return;
    this.said = said;
    node.style.left = `${left}px`;
    node.style.top = `${top}px`;
    node.title = `${label}: ${frame}`;
    node.setAttribute("aria-label", label);
    node.setAttribute("aria-valuenow", frame);
    node.setAttribute("aria-valuemax", bars.clip.frames + 1);
  }
}

/** Both ends of the frames that are played. */
class LoopEnds {
  constructor(parent, bars, player) {
    this.bars = bars;
    this.player = player;
    const ends = { from: (frame) => player.beginAt(frame), to: (frame) => player.endAt(frame) };
    this.handles = Object.keys(ends).map((end) => new Handle(parent, `loop ${end}`, {
      bars,
      grab: () => this.ends[end === "from" ? 0 : 1],
      move: (frame, by) => this.moveTo(end, frame + by, ends[end]),
      done: () => {},
      back: () => player.playAll(),
    }));
    this.handles[0].node.textContent = "A";
    this.handles[1].node.textContent = "B";
  }

  get ends() {
    return this.player.loop || [1, this.player.frames + 1];
  }

  /** Move one end, which stops beside the other. */
  moveTo(end, frame, set) {
    const [from, to] = this.ends;
    set(end === "from" ? Math.min(frame, to - 1) : Math.max(frame, from + 1));
  }

  show() {
    const [from, to] = this.ends;
    this.bars.loop = this.player.loop;
    this.handles[0].place(from, 0, "Loop from frame");
    this.handles[1].place(to, 0, "Loop to frame");
  }
}

/** Contact and lift-off of each foot, whose stance may go on into the next stride. */
class BarEnds {
  /** `onMove` takes the stances with one end moved, `onDone` ends the gesture, `onBack` gives the gait its own. */
  constructor(parent, bars, { onMove, onDone, onBack }) {
    this.bars = bars;
    this.handles = [0, 1, 2, 3].map((row) => ["contact", "lift-off"].map((end) => new Handle(parent, "end", {
      bars,
      grab: () => bars.feet,
      move: (feet, by) => {
        const moved = movedStance(feet[row], end, by, bars.clip.frames);
        onMove(feet.map((foot, k) => (k === row ? moved : foot)));
      },
      done: onDone,
      back: onBack,
    })));
  }

  show() {
    const { frames } = this.bars.clip;
    this.bars.feet.forEach((foot, row) => {
      const up = foot.contact_frame + foot.frames_down, top = this.bars.rowTop(row);
      this.handles[row][0].place(foot.contact_frame, top, `${foot.foot} contact`);
      this.handles[row][1].place(up > frames + 1 ? up - frames : up, top, `${foot.foot} lift-off`);
    });
  }

  focus() {
    this.handles[0][0].node.focus();
  }
}
