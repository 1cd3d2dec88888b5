// The axle drawn: links, wheels, halfshafts, springs, road, the points that can be picked and their room. Places come from the server.

import {
  AmbientLight, BoxGeometry, BufferGeometry, CylinderGeometry, DirectionalLight, DoubleSide, EdgesGeometry, Float32BufferAttribute,
  Group, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, MeshLambertMaterial, Scene, SphereGeometry, TorusGeometry, Vector3,
  WebGLRenderer,
} from "/three.js";
import { Camera } from "/camera.js";
import { REST_MS, atRest } from "/link.js";

const PICK_PX = 24;
// Without a graphics card a picture takes longer than a frame: then the curves go first, and it follows when the hand rests.
const QUICK_MS = 8;
// Where the file gives none.
const TYRE_MM_WIDE = 120;
// Radius, while the file gives no diameter.
const TUBE_MM = 3;
const MOST_MS = 1000;
const WITHOUT_CARD = /swiftshader|llvmpipe|software|basic render/i;
// A drag is told as the hand moves; a plain move waits for the next frame of the screen.
const AT_ONCE = "onpointerrawupdate" in window ? "pointerrawupdate" : "pointermove";
// Where a hand may go on is asked for ahead: the pixels nearest to where the pace of its last moves leads. A place is one of whole pixels, so
// that of the nearest alone few are hit.
const PACE_OF_MOVES = 3;
const MOST_AHEAD = 4;
const DARK = matchMedia("(prefers-color-scheme: dark)");

export class Axle {
  constructor(box, hand) {
    this.hand = hand;
    this.box = box;
    this.camera = new Camera(box);
    this.scene = new Scene();
    this.parts = new Group();
    this.marks = new Group();
    // The frame stands still: it is built once.
    this.frame = new Group();
    this.tubes = [];
    this.scene.add(this.frame, this.parts, this.marks, new AmbientLight(0xffffff, 1.6));
    const sun = new DirectionalLight(0xffffff, 1.8);
    sun.position.set(500, 900, 1400);
    this.scene.add(sun);
    this.points = [];
    // Words in the picture; the same stand in the list below it.
    this.labels = document.createElement("div");
    this.labels.setAttribute("aria-hidden", "true");
    this.labels.className = "labels";
    box.append(this.labels);
    try {
      this.renderer = new WebGLRenderer({ antialias: hasCard(), alpha: true });
      box.prepend(this.renderer.domElement);
      this.renderer.domElement.setAttribute("aria-hidden", "true");
    } catch {
      box.textContent = "This browser draws no 3-D. Points are moved in the list; arrow keys here move the picked one too.";
      box.classList.add("empty");
      document.getElementById("views").hidden = true;
    }
    this.later = atRest(REST_MS, MOST_MS, () => this.redraw(true));
    this.paint();
    DARK.addEventListener("change", () => { this.paint(); this.redraw(); });
    new ResizeObserver(() => this.size()).observe(box);
    this.hands();
  }

  paint() {
    const lambert = (color, more) => new MeshLambertMaterial({ color, ...more });
    const dark = DARK.matches;
    this.look = {
      link: lambert(dark ? 0xb9c2c9 : 0x55606a),
      shaft: lambert(dark ? 0x8ab0c9 : 0x2d5f82),
      spring: lambert(dark ? 0x8f9a76 : 0x6e7a4f),
      wheel: lambert(dark ? 0x666d73 : 0x8d9499, { transparent: true, opacity: 0.35, side: DoubleSide }),
      boot: lambert(dark ? 0x8ab0c9 : 0x2d5f82, { transparent: true, opacity: 0.4 }),
      tube: new MeshBasicMaterial({ color: dark ? 0x566069 : 0xb9bfc4 }),
      bad: lambert(dark ? 0xff8d80 : 0xb3261e),
      point: lambert(dark ? 0xe9e7e2 : 0x1d2227),
      picked: lambert(dark ? 0xe0a25a : 0xc46a0a),
      // Seen through whatever stands before it.
      here: lambert(dark ? 0xe0a25a : 0xc46a0a, { transparent: true, depthTest: false }),
      before: new MeshBasicMaterial({ color: dark ? 0x5d666d : 0xb4bac0 }),
      road: new MeshBasicMaterial({ color: dark ? 0x3b4248 : 0xcfd3d6, transparent: true, opacity: 0.5, side: DoubleSide, depthWrite: false }),
      tight: new LineBasicMaterial({ color: dark ? 0xe0a25a : 0x8a4b08, depthTest: false }),
      touch: new LineBasicMaterial({ color: dark ? 0xff8d80 : 0xb3261e, depthTest: false }),
      room: new LineBasicMaterial({ color: dark ? 0xe0a25a : 0x8a4b08 }),
    };
    const away = new MeshBasicMaterial({ color: dark ? 0x8d9499 : 0x9aa1a6, transparent: true, opacity: 0.3, depthWrite: false });
    this.away = { link: away, shaft: away, spring: away, wheel: away, boot: away };
    this.stand();
  }

  // The tubes of the frame, when they are others than those that stand.
  stand(tubes = this.tubes) {
    if (tubes !== this.tubes && JSON.stringify(tubes) === JSON.stringify(this.tubes)) return;
    this.tubes = tubes;
    this.frame.children.forEach((part) => part.geometry.dispose());
    this.frame.clear();
    tubes.forEach(({ ends, radius_mm: radius }) => this.rod(...ends, radius ?? TUBE_MM, this.look.tube, this.frame));
  }

  size() {
    // Pixels are other millimetres now: a drag would make the point jump.
    this.letGo?.();
    this.camera.place();
    if (this.camera.whole) this.whole();
    this.renderer?.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer?.setSize(this.box.clientWidth, this.box.clientHeight);
    this.draw();
  }

  // Both wheels, with their tyres.
  whole() {
    const wheels = this.posture?.wheels ?? [];
    if (wheels.length) this.camera.fit(wheels.flatMap(tyre));
  }

  // `timed` waits until the picture is there, to know how long that takes.
  draw(timed = false) {
    const begun = performance.now();
    this.write();
    this.renderer?.render(this.scene, this.camera.eye);
    if (!timed || !this.renderer) return;
    const gl = this.renderer.getContext();
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    this.costMs = performance.now() - begun;
  }

  // Labels at their places, the gravest first: one that would lie on another is left out, for the list has them all.
  write() {
    const taken = [];
    for (const label of this.labels.children) {
      const { x, y } = this.camera.pixel(label.at);
      const isFree = taken.every((of) => Math.abs(of.x - x) > (of.x < x ? of.wide : label.wide) || Math.abs(of.y - y) > label.high);
      if (isFree) taken.push({ x, y, wide: label.wide });
      label.style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`;
      label.style.visibility = isFree ? "" : "hidden";
    }
  }

  // The car as it stands; `points` are the drawn ones, that is at design height.
  show(posture, points, picked, soon = false) {
    const first = !this.posture;
    this.posture = posture;
    this.points = points ?? this.points;
    this.picked = picked;
    if (first) this.whole();
    if (soon && this.costMs > QUICK_MS) return this.later();
    // The first picture has the shaders to build.
    this.redraw(!first && this.costMs === undefined);
  }

  redraw(timed = false) {
    if (!this.posture) return;
    for (const group of [this.parts, this.marks]) {
      group.children.forEach((part) => part.geometry.dispose());
      group.clear();
    }
    this.told = [];
    for (const wheel of this.posture.wheels) this.wheel(wheel);
    this.told.sort((a, b) => a.rank - b.rank);
    this.labels.replaceChildren(...this.told);
    for (const label of this.told) Object.assign(label, { wide: label.offsetWidth, high: label.offsetHeight });
    this.road(this.posture.road);
    this.places = new Map();
    for (const point of this.points) this.mark(point);
    this.draw(timed);
  }

  rod(from, to, radius, look, group = this.parts) {
    const [a, b] = [new Vector3(...from), new Vector3(...to)];
    const along = b.clone().sub(a);
    const rod = new Mesh(new CylinderGeometry(radius, radius, along.length(), 12), look);
    rod.position.copy(a).addScaledVector(along, 0.5);
    rod.quaternion.setFromUnitVectors(new Vector3(0, 1, 0), along.normalize());
    group.add(rod);
  }

  ball(at, radius, look, group = this.parts) {
    const ball = new Mesh(new SphereGeometry(radius, 16, 12), look);
    ball.position.set(...at);
    group.add(ball);
  }

  cube(at, size, look) {
    const cube = new Mesh(new BoxGeometry(size, size, size), look);
    cube.position.set(...at);
    this.marks.add(cube);
  }

  wheel(wheel) {
    // One that does not stand on the road is a shadow of itself, and says why.
    const looks = wheel.held_back ? this.away : this.look;
    if (wheel.held_back) this.label(wheel.held_back, new Vector3(...wheel.centre), true, -Infinity);
    wheel.links.forEach(([chassis, upright]) => this.rod(chassis, upright, 9, looks.link));
    for (let k = 0; k < 5; k++) this.rod(wheel.links[k][1], wheel.centre, 3, looks.wheel);
    if (wheel.halfshaft) {
      const look = wheel.joint_wrong ? this.look.bad : looks.shaft;
      this.rod(...wheel.halfshaft, 12, look);
      wheel.halfshaft.forEach((joint) => this.ball(joint, 26, look));
      wheel.boots.forEach((ends) => this.rod(...ends, wheel.boot_radius_mm, looks.boot));
    }
    wheel.tight.forEach((gap, k) => this.gap(gap, wheel.gaps[k]));
    if (wheel.spring) this.rod(...wheel.spring, 20, looks.spring);
    const half = (wheel.width_mm ?? TYRE_MM_WIDE) / 2;
    const tyre = new Mesh(new TorusGeometry(wheel.radius_mm - half / 2, half / 2, 12, 48), looks.wheel);
    tyre.position.set(...wheel.centre);
    tyre.quaternion.setFromUnitVectors(new Vector3(0, 0, 1), new Vector3(...wheel.spin_axis));
    this.parts.add(tyre);
  }

  // A line between the nearest points of two parts, seen through everything, with what is between them.
  gap({ between: [from, to], state, gap_mm: mm }, words) {
    const ends = new BufferGeometry();
    ends.setAttribute("position", new Float32BufferAttribute([...from, ...to], 3));
    const line = new LineSegments(ends, state === "fail" ? this.look.touch : this.look.tight);
    line.renderOrder = 1;
    this.parts.add(line);
    for (const at of [from, to]) this.ball(at, 3, state === "fail" ? this.look.bad : this.look.picked);
    // One that is too small is the smaller of two.
    this.label(words, new Vector3(...from).add(new Vector3(...to)).multiplyScalar(0.5), state === "fail", mm);
  }

  // What has the lower rank keeps its place.
  label(words, at, bad, rank) {
    const label = document.createElement("span");
    label.textContent = words;
    label.classList.toggle("fail", bad);
    Object.assign(label, { at, rank });
    this.told.push(label);
  }

  road(corners) {
    if (corners.length !== 4) return;
    const plane = new BufferGeometry();
    plane.setAttribute("position", new Float32BufferAttribute(corners.flat(), 3));
    plane.setIndex([0, 1, 2, 1, 3, 2]);
    this.parts.add(new Mesh(plane, this.look.road));
  }

  // Where a point is in the posture that is shown.
  placeOf(point) {
    const wheel = this.posture.wheels.find((of) => of.side === point.side);
    if (!wheel) return point.at_mm;
    const { part } = point;
    if (part.pickup) return wheel.links[part.pickup[0]][part.pickup[1]];
    if (part.halfshaft !== undefined) return wheel.halfshaft[part.halfshaft];
    if (part.spring !== undefined) return wheel.spring[part.spring];
    return wheel.centre;
  }

  mark(point) {
    const at = this.placeOf(point);
    this.places.set(point, new Vector3(...at));
    const isPicked = point === this.picked;
    const size = isPicked ? 16 : 12;
    // What is wrong is told by its shape as well as by its colour.
    if (point.wrong) this.cube(at, 2 * size, this.look.bad);
    else this.ball(at, size, isPicked ? this.look.here : this.look.point, this.marks);
    if (point.beside_mm.some((mm, k) => mm !== point.at_mm[k])) this.ball(point.beside_mm, 7, this.look.before, this.marks);
    if (isPicked && point.room_mm.some(Boolean)) {
      const ends = point.room_mm.map((room, k) => room ?? [point.at_mm[k] - 1, point.at_mm[k] + 1]);
      const box = new EdgesGeometry(new BoxGeometry(...ends.map(([low, high]) => high - low)));
      const room = new LineSegments(box, this.look.room);
      room.position.set(...ends.map(([low, high]) => (low + high) / 2));
      this.marks.add(room);
    }
  }

  near(event) {
    const { towards } = this.camera;
    const spot = this.camera.spot(event);
    let best, least = Infinity;
    for (const [point, at] of this.places ?? []) {
      const pixel = this.camera.pixel(at);
      const px = pixel.distanceTo(spot);
      // From the side the points of both wheels lie over each other: the nearer wheel is meant.
      const behind = at.y * towards.y < 0 ? Math.abs(towards.y) * PICK_PX : 0;
      if (px < PICK_PX && px + behind < least) [best, least] = [point, px + behind];
    }
    return best;
  }

  // Where an event takes a dragged point.
  dragged({ at, across, area, from, start }, event) {
    const to = this.camera.on(event, at, across, area);
    return start.map((mm, k) => (k === across ? mm : round(mm + to.getComponent(k) - from.getComponent(k), this.hand.grid())));
  }

  hands() {
    const box = this.box, fingers = new Map();
    let drag, spread;
    this.letGo = () => {
      if (drag?.from) drag = { isGivenUp: true };
    };
    box.addEventListener("pointerdown", (event) => {
      box.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, event);
      if (fingers.size > 1) { drag = undefined; return; }
      const point = this.near(event);
      if (point) {
        this.hand.pick(point);
        this.hand.hold(true);
        const across = this.camera.plane().out[0];
        const at = this.places.get(point);
        // What is told of the point can push the box aside under the hand, which is no drag.
        const area = box.getBoundingClientRect();
        drag = { point, across, area, from: this.camera.on(event, at, across, area), at, start: [...point.at_mm], gesture: Date.now(), way: [event] };
      }
    });
    box.addEventListener("pointermove", (event) => {
      const last = fingers.get(event.pointerId);
      if (!last) return;
      fingers.set(event.pointerId, event);
      if (fingers.size === 2) {
        const [a, b] = [...fingers.values()];
        const apart = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
        if (spread) this.camera.closer(apart / spread);
        spread = apart;
        this.camera.shift((event.clientX - last.clientX) / 2, (event.clientY - last.clientY) / 2);
      } else if (drag?.from || drag?.isGivenUp) {
        return;
      } else if (event.shiftKey || event.buttons === 4 || event.buttons === 2) {
        this.camera.shift(event.clientX - last.clientX, event.clientY - last.clientY);
      } else {
        this.camera.turn(event.clientX - last.clientX, event.clientY - last.clientY);
      }
      this.draw();
    });
    box.addEventListener(AT_ONCE, (event) => {
      if (!drag?.from || !fingers.has(event.pointerId)) return;
      const place = this.dragged(drag, event);
      if (place.join() === drag.place?.join()) return;
      const { way } = drag;
      way.push(event);
      if (way.length > PACE_OF_MOVES + 1) way.shift();
      const next = onwards(way).map((spot) => this.dragged(drag, spot));
      drag.place = place;
      const moves = [...event.getCoalescedEvents(), event].map((of) => of.timeStamp);
      this.hand.move(drag.point, place, drag.gesture, [...new Set(moves)], () => next);
    });
    // The point goes back to where the hand took it.
    addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || !drag?.from) return;
      const { point, start, place, gesture } = drag;
      drag = { isGivenUp: true };
      if (place) this.hand.move(point, start, gesture, [event.timeStamp]);
    });
    for (const end of ["pointerup", "pointercancel"]) {
      box.addEventListener(end, (event) => {
        fingers.delete(event.pointerId);
        drag = spread = undefined;
        this.hand.hold(false);
      });
    }
    box.addEventListener("contextmenu", (event) => event.preventDefault());
    box.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.closer(event.deltaY < 0 ? 1.1 : 1 / 1.1);
    }, { passive: false });
    box.addEventListener("keydown", (event) => {
      const ways = {
        ArrowRight: ["right", 1], ArrowLeft: ["right", -1], ArrowUp: ["up", 1], ArrowDown: ["up", -1], PageUp: ["out", 1], PageDown: ["out", -1],
      };
      if (event.key === "+" || event.key === "-") return this.closer(event.key === "+" ? 1.2 : 1 / 1.2);
      const way = ways[event.key];
      if (!way || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      const [name, by] = way;
      const [axis, sign] = this.camera.plane()[name];
      const [right, up, out] = this.camera.axes();
      this.hand.step(axis, sign * by, event, { right, up, out }[name].multiplyScalar(by).toArray());
    });
  }

  // The corner view is that of the whole axle, in which the page begins.
  view(name, side) {
    this.camera.look(name, side);
    if (name === "corner") this.whole();
    this.draw();
  }

  face(side) {
    this.camera.face(side);
    this.draw();
  }

  closer(by) {
    this.camera.closer(by, this.places?.get(this.picked));
    this.draw();
  }
}

// Pixels to which a hand may go next, the nearest to where its pace leads first.
function onwards(way) {
  const [first, last] = [way[0], way.at(-1)];
  const pace = ["clientX", "clientY"].map((of) => (last[of] - first[of]) / (way.length - 1));
  const [x, y] = pace.map(Math.floor), near = [-1, 0, 1, 2];
  const moves = near.flatMap((right) => near.map((down) => [x + right, y + down])).filter((move) => move.some(Boolean));
  const off = (move) => Math.hypot(move[0] - pace[0], move[1] - pace[1]);
  moves.sort((a, b) => off(a) - off(b));
  return moves.slice(0, MOST_AHEAD).map(([right, down]) => ({ clientX: last.clientX + right, clientY: last.clientY + down }));
}

// Round a tyre, in and out.
export function tyre({ centre: [x, y, z], radius_mm: radius, width_mm: width }) {
  const half = (width ?? TYRE_MM_WIDE) / 2;
  return [...Array(16).keys()].flatMap((k) => [-half, half].map((by) =>
    new Vector3(x + radius * Math.cos((k * Math.PI) / 8), y + by, z + radius * Math.sin((k * Math.PI) / 8))));
}

// Without the digits that dividing and multiplying leave.
const round = (mm, step) => Number((Math.round(mm / step) * step).toFixed(6));

function hasCard() {
  const gl = document.createElement("canvas").getContext("webgl2");
  const told = gl?.getExtension("WEBGL_debug_renderer_info");
  const name = told ? gl.getParameter(told.UNMASKED_RENDERER_WEBGL) : "";
  gl?.getExtension("WEBGL_lose_context")?.loseContext();
  return !WITHOUT_CARD.test(name);
}
