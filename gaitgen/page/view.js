// Where the animal is looked at from: an angle, a zoom, and the place that makes all of it fit.

const VIEWS = { side: [90, 0], front: [0, 0], three_quarter: [38, 12], top: [90, 90] };
// What one press of a key turns, zooms and shifts.
const TURN_DEG = 10, ZOOM_STEP = 1.2, SHIFT_PX = 40;
// Room around the animal, and for the letters of its feet under it, in pixels.
const MARGIN = { across: 48, down: 92, up: 14 };

class View {
  constructor(stage, picture, onChange) {
    this.stage = stage;
    this.picture = picture;
    this.onChange = onChange;
    this.azimuth = 90;
    this.elevation = 0;
    this.name = "side";
    this.zoom = 1;
    this.shifted = [0, 0];
    this.swing = () => 0; // degrees that the direction is turned beside, as the animal turns
    this.listen();
  }

  listen() {
    const { picture } = this;
    picture.addEventListener("pointerdown", (event) => picture.setPointerCapture(event.pointerId));
    picture.addEventListener("pointermove", (event) => {
      const { movementX: x, movementY: y } = event;
      if (event.buttons && event.shiftKey) this.shift(x, y);
      else if (event.buttons) this.turn(-0.4 * x, 0.3 * y);
    });
    picture.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoomBy(Math.exp(-0.0015 * event.deltaY), [event.offsetX, event.offsetY]);
    }, { passive: false });
    picture.addEventListener("dblclick", () => this.fitAgain());
  }

  /** Look at another figure from where it is. */
  take(figure) {
    this.figure = figure;
  }

  look(name) {
    [this.azimuth, this.elevation] = VIEWS[name];
    this.name = name;
    this.fitAgain();
  }

  turn(azimuth, elevation) {
    this.azimuth += azimuth;
    this.elevation = Math.min(Math.max(this.elevation + elevation, 0), 90);
    this.name = null;
    this.onChange();
  }

  /** Zoom; the place in the stage stays where it is, its middle if none is given. */
  zoomBy(factor, place = [this.stage.clientWidth / 2, this.stage.clientHeight / 2]) {
    const { middle, scale } = this.camera();
    this.zoom = Math.min(Math.max(this.zoom * factor, 0.3), 12);
    const now = this.camera(), by = now.scale / scale;
    this.shift(...place.map((at, axis) => at - (at - middle[axis]) * by - now.middle[axis]));
  }

  /** Shift the picture by some pixels. */
  shift(right, down) {
    this.shifted = [this.shifted[0] + right, this.shifted[1] + down];
    this.onChange();
  }

  fitAgain() {
    this.fit();
    this.onChange();
  }

  /** Place the whole stride in the stage. */
  fit() {
    this.zoom = 1;
    this.shifted = [0, 0];
    this.target = this.figure.middle;
    this.box = this.figure.extent({ ...lookFrom(this.azimuth, this.elevation), target: this.target });
    this.fill();
  }

  /** Scale what was placed to the room there is. */
  fill() {
    const { box, stage } = this;
    const across = stage.clientWidth - MARGIN.across, down = stage.clientHeight - MARGIN.down;
    this.fitted = Math.max(Math.min(across / (box.right - box.left), down / (box.bottom - box.top)), 20);
    this.aside = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  }

  camera() {
    const { stage, aside, shifted } = this, scale = this.fitted * this.zoom;
    const middle = [stage.clientWidth / 2, stage.clientHeight / 2 - MARGIN.up];
    return {
      ...lookFrom(this.azimuth + this.swing(), this.elevation),
      scale,
      target: this.target,
      middle: middle.map((at, axis) => at - scale * aside[axis] + shifted[axis]),
      dots: window.devicePixelRatio || 1,
    };
  }
}
