// A view without perspective: a drawing that can be turned, moved and brought closer.

import { OrthographicCamera, Plane, Raycaster, Vector2, Vector3 } from "/three.js";

// Towards the eye, and what is up in the view; car axes: x forward, y left, z up.
const VIEWS = {
  front: [new Vector3(1, 0, 0), new Vector3(0, 0, 1)],
  side: [new Vector3(0, 1, 0), new Vector3(0, 0, 1)],
  plan: [new Vector3(0, 0, 1), new Vector3(1, 0, 0)],
  corner: [new Vector3(0.75, 0.9, 0.55).normalize(), new Vector3(0, 0, 1)],
};
const FAR_MM = 20000;
const STEEPEST = 1.55;
// Seen alone a wheel is here.
const WHEEL = [0, 480, 270], WHEEL_MM_WIDE = 1200;
// Of the picture that a whole axle fills.
const FILLED = 0.94;

export class Camera {
  constructor(box) {
    this.box = box;
    this.eye = new OrthographicCamera(-1, 1, 1, -1, 0, 2 * FAR_MM);
    this.target = new Vector3(...WHEEL);
    this.mmWide = WHEEL_MM_WIDE;
    this.side = "left";
    this.look("corner", "left");
  }

  look(name, side) {
    if (this.whole) {
      this.whole = false;
      this.target.set(...WHEEL);
      if (this.side === "right") this.target.y *= -1;
      this.mmWide = WHEEL_MM_WIDE;
    }
    [this.towards, this.up] = VIEWS[name].map((v) => v.clone());
    if (side === "right") this.towards.y *= -1;
    if (side !== this.side) this.target.y *= -1;
    this.side = side;
    this.place();
  }

  // The same view of the other side, as in a mirror.
  face(side) {
    if (side === this.side) return;
    this.side = side;
    this.towards.y *= -1;
    this.target.y *= -1;
    this.place();
  }

  // All of these points in the picture, until the hand moves it.
  fit(points) {
    const [right, up] = this.axes();
    const ends = [right, up].map((way) => {
      const along = points.map((at) => at.dot(way));
      return [Math.min(...along), Math.max(...along)];
    });
    const [wide, high] = ends.map(([low, most]) => (most - low) / FILLED);
    [right, up].forEach((way, k) => this.target.addScaledVector(way, (ends[k][0] + ends[k][1]) / 2 - this.target.dot(way)));
    this.mmWide = Math.max(wide, high * (this.box.clientWidth / Math.max(this.box.clientHeight, 1)));
    this.whole = true;
    this.place();
  }

  place() {
    const { clientWidth: wide, clientHeight: high } = this.box;
    const half = this.mmWide / 2;
    const tall = half * (high / Math.max(wide, 1));
    Object.assign(this.eye, { left: -half, right: half, top: tall, bottom: -tall });
    this.eye.position.copy(this.target).addScaledVector(this.towards, FAR_MM);
    this.eye.up.copy(this.up);
    this.eye.lookAt(this.target);
    this.eye.updateProjectionMatrix();
    this.eye.updateMatrixWorld();
  }

  turn(dx, dy) {
    const around = Math.atan2(this.towards.y, this.towards.x) - dx * 0.008;
    const over = Math.asin(Math.max(-1, Math.min(1, this.towards.z))) + dy * 0.008;
    const steep = Math.max(-STEEPEST, Math.min(STEEPEST, over));
    this.towards.set(Math.cos(steep) * Math.cos(around), Math.cos(steep) * Math.sin(around), Math.sin(steep));
    this.up.set(0, 0, 1);
    this.place();
  }

  shift(dx, dy) {
    this.whole = false;
    const mm = this.mmWide / this.box.clientWidth;
    const [right, up] = this.axes();
    this.target.addScaledVector(right, -dx * mm).addScaledVector(up, dy * mm);
    this.place();
  }

  // `about` stays where it is in the picture.
  closer(by, about = this.target) {
    const before = this.mmWide;
    this.mmWide = Math.max(60, Math.min(6000, before / by));
    this.target.lerp(about, 1 - this.mmWide / before);
    this.whole = false;
    this.place();
  }

  axes() {
    const right = new Vector3(), up = new Vector3(), out = new Vector3();
    this.eye.matrixWorld.extractBasis(right, up, out);
    return [right, up, out];
  }

  // The plane of two car axes that faces the eye most, and the car axes that lie right and up in the view.
  plane() {
    const [right, up, out] = this.axes();
    const most = (v, not = []) => [0, 1, 2].filter((k) => !not.includes(k))
      .reduce((a, b) => (Math.abs(v.getComponent(b)) > Math.abs(v.getComponent(a)) + 1e-9 ? b : a));
    const across = most(out);
    const level = most(right, [across]);
    const upright = [0, 1, 2].find((k) => k !== across && k !== level);
    const way = (v, k) => [k, Math.sign(v.getComponent(k)) || 1];
    return { right: way(right, level), up: way(up, upright), out: way(out, across) };
  }

  // Where a point of the view meets the plane through `at` across the car axis `across`, the box being at `area`.
  on(event, at, across, area) {
    const ray = new Raycaster();
    ray.setFromCamera(this.inView(event, area), this.eye);
    const normal = new Vector3().setComponent(across, 1);
    return ray.ray.intersectPlane(new Plane().setFromNormalAndCoplanarPoint(normal, at), new Vector3());
  }

  // Where an event is, in pixels of the box inside its border.
  spot(event, area = this.box.getBoundingClientRect()) {
    return new Vector2(event.clientX - area.left - this.box.clientLeft, event.clientY - area.top - this.box.clientTop);
  }

  inView(event, area) {
    const { x, y } = this.spot(event, area);
    return new Vector2((x / this.box.clientWidth) * 2 - 1, 1 - (y / this.box.clientHeight) * 2);
  }

  // Place of a point in the view, in pixels of the box.
  pixel(at) {
    const p = at.clone().project(this.eye);
    return new Vector2(((p.x + 1) / 2) * this.box.clientWidth, ((1 - p.y) / 2) * this.box.clientHeight);
  }
}
