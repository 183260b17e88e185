// What plays: the frame, the speed, and the frames that it goes round.

const SPEEDS = [0.25, 0.5, 1];

class Player {
  /** `onFrame` is called when the frame changes, `onState` when anything else does. */
  constructor(onFrame, onState) {
    this.onFrame = onFrame;
    this.onState = onState;
    this.frame = 1;
    this.speed = 1;
    this.isPlaying = false;
    this.chosen = null; // the loop as it was chosen: {ends, frames}
  }

  /** Play another clip; frame and loop stay, or their moments of the stride if its length changes. */
  take(frames, rate) {
    const before = this.frames;
    Object.assign(this, { frames, rate });
    if (!before || before === frames) return;
    this.frame = atMoment(this.frame, before, frames);
    this.started = null;
    this.onState();
  }

  /** First and last frame of the loop; null where all of the cycle is played. */
  get loop() {
    if (!this.chosen) return null;
    const [from, to] = this.chosen.ends.map((frame) => atMoment(frame, this.chosen.frames, this.frames));
    const first = Math.min(from, this.frames);
    return [first, Math.max(to, first + 1)];
  }

  get first() {
    return this.loop ? this.loop[0] : 1;
  }

  get last() {
    return this.loop ? this.loop[1] : this.frames;
  }

  /**
   * Play only some frames, both ends with them, of a stride of so many; one of another length plays those moments.
   * All of the cycle is no loop of its own.
   */
  setLoop(first, last, frames = this.frames) {
    const from = Math.min(Math.max(first, 1), frames), to = Math.min(Math.max(last, from + 1), frames + 1);
    this.chosen = from === 1 && to >= frames ? null : { ends: [from, to], frames };
    this.started = null;
    this.onState();
  }

  /** Begin the loop at a frame; if it would end before, it ends with the cycle. */
  beginAt(frame) {
    const last = this.loop ? this.loop[1] : this.frames + 1;
    this.setLoop(frame, last > frame ? last : this.frames + 1);
  }

  /** End the loop at a frame; if it would begin after, it begins with the cycle. */
  endAt(frame) {
    this.setLoop(this.first < frame ? this.first : 1, Math.max(frame, 2));
  }

  playAll() {
    this.chosen = null;
    this.started = null;
    this.onState();
  }

  goTo(frame) {
    this.play(false);
    this.frame = Math.min(Math.max(frame, 1), this.frames + 1);
    this.onFrame();
  }

  /** Step through the whole cycle, round its end. */
  step(by) {
    const { frames } = this;
    this.goTo(((((this.frame - 1 + by) % frames) + frames) % frames) + 1);
  }

  setSpeed(speed) {
    this.speed = speed;
    this.started = null;
    this.onState();
  }

  play(on) {
    const again = on && !this.isPlaying;
    this.isPlaying = on;
    this.started = null;
    this.onState();
    if (again) requestAnimationFrame((now) => this.tick(now));
  }

  tick(now) {
    if (!this.isPlaying) return;
    const { first, last } = this, count = last - first + 1;
    if (!this.started) {
      const inside = this.frame >= first && this.frame <= last;
      this.started = { now, row: inside ? this.frame - first : 0 };
    }
    const passed = Math.floor(((now - this.started.now) / 1000) * this.rate * this.speed);
    const frame = first + ((this.started.row + passed) % count);
    if (frame !== this.frame) {
      this.frame = frame;
      this.onFrame();
    }
    requestAnimationFrame((later) => this.tick(later));
  }
}

/** The frame of a stride that is at the moment of a frame of another. */
function atMoment(frame, frames, others) {
  return frames === others ? frame : Math.round(((frame - 1) / frames) * others) + 1;
}
