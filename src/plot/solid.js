// The formed spring in the hand: one joined solid, drawn with a depth buffer, turned and pressed without asking the
// program again. It knows nothing of the page round it.

const TOUCH = 30; // px round the knob that take hold of it
const LOW = (9 * Math.PI) / 180; // least and steepest view from above
const STEEP = (86 * Math.PI) / 180;
const MOST_PIXELS = 2.4e6; // of the picture at rest, edges smoothed
const MOVING_PIXELS = 3.5e5;
const SETTLE = 300; // ms without movement until edges are smoothed
const SUN = [-0.42, 0.5, 0.76]; // towards the light, in the viewer's axes: right, away, up
const FAR = 1e9;

const STOPS = [
  [0, [176, 198, 196]],
  [0.5, [44, 128, 128]],
  [0.85, [214, 164, 46]],
  [1, [196, 66, 32]],
  [1.25, [120, 14, 20]],
];

const mix = (a, b, share) => a + (b - a) * share;

/** Red, green and blue of a stress over the allowable. */
export function stressColour(share) {
  const x = Math.min(Math.max(share, 0), 1.25);
  const after = Math.max(1, STOPS.findIndex(([stop]) => stop >= x));
  const [[a, from], [b, to]] = [STOPS[after - 1], STOPS[after]];
  const k = (x - a) / (b - a);
  return [0, 1, 2].map((i) => mix(from[i], to[i], k));
}

/** Positions that were computed, and the disc laid flat as it was cut. */
function rowsOf(motion, travel) {
  const last = motion.deflection_mm.length - 1;
  const level = motion.height_mm[0].map(() => 0);
  const flat = travel > motion.deflection_mm[last] + 1e-9;
  const more = (list, value) => (flat ? [...list, value] : list);
  return {
    deflection: more(motion.deflection_mm, travel),
    force: more(motion.force_n, motion.force_n[last]),
    height: more(motion.height_mm, level),
    line: more(motion.line_mm ?? motion.height_mm, level),
    slope: more(motion.slope, level),
    stress: more(motion.stress_mpa, motion.stress_mpa[last]),
    computed: motion.deflection_mm[last],
  };
}

/** One arm at a deflection, between the positions that were computed. */
export function pressedArm({ motion, arm, size }, deflection) {
  const rows = rowsOf(motion, size.free_height_mm);
  const xs = rows.deflection;
  let after = xs.findIndex((x) => x >= deflection - 1e-12);
  if (after < 0) after = xs.length - 1;
  const before = Math.max(0, after - 1);
  const share = after === before ? 0 : (deflection - xs[before]) / (xs[after] - xs[before]);
  const list = (lists) => lists[before].map((value, i) => mix(value, lists[after][i], share));
  const height = list(rows.height);
  const top = height[height.length - 1];
  const gap = list(rows.line).map((h, i) => (i === 0 ? 0 : Math.max(0, Math.min(h, motion.upper ? top - h : FAR))));
  const rests = resting(gap, arm.arc_share, motion.touching_mm);
  return {
    deflection,
    force: mix(rows.force[before], rows.force[after], share),
    beyond: deflection > rows.computed + 1e-9,
    height,
    slope: list(rows.slope),
    stress: list(rows.stress),
    gap,
    rests,
    seated: rests.reduce((sum, [from, to]) => sum + to - from, 0),
  };
}

/** Stretches of the arm, as shares of its length, that touch a plate or as good as touch it. */
function resting(gap, arc, near) {
  const parts = [];
  for (let i = 0; i + 1 < gap.length; i += 1) {
    const [a, b] = [gap[i], gap[i + 1]];
    if (a >= near && b >= near) continue;
    const cross = (near - a) / (b - a);
    const from = a < near ? arc[i] : mix(arc[i], arc[i + 1], cross);
    const to = b < near ? arc[i + 1] : mix(arc[i], arc[i + 1], cross);
    const last = parts[parts.length - 1];
    if (last && from - last[1] < 1e-9) last[1] = to;
    else parts.push([from, to]);
  }
  return parts;
}

/** Edges that belong to one triangle alone, in the direction in which the triangle has them. */
function borders(triangles) {
  const found = new Map();
  const key = (a, b) => a * 1048576 + b;
  for (let t = 0; t < triangles.length; t += 3) {
    for (let k = 0; k < 3; k += 1) {
      const [a, b] = [triangles[t + k], triangles[t + ((k + 1) % 3)]];
      if (!found.delete(key(b, a))) found.set(key(a, b), [a, b]);
    }
  }
  return Int32Array.from([...found.values()].flat());
}

export class Solid {
  /** On a canvas; `hooks.pressed(deflection)` is told when the hand presses. */
  constructor(canvas, hooks) {
    this.canvas = canvas;
    this.hooks = hooks;
    this.turn = -1.9;
    this.tilt = (34 * Math.PI) / 180;
    this.deflection = 0;
    this.held = null;
    this.waiting = 0;
    this.frames = { count: 0, ms: 0 };
    this.layer = document.createElement("canvas");
    this.still = window.matchMedia("(prefers-reduced-motion: reduce)");
    this.listen();
  }

  listen() {
    const { canvas } = this;
    canvas.addEventListener("pointerdown", (event) => this.take(event));
    canvas.addEventListener("pointermove", (event) => this.move(event));
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) {
      canvas.addEventListener(name, () => {
        this.held = null;
        canvas.classList.remove("held");
      });
    }
    // a finger on the knob presses the spring, beside it a finger scrolls the page
    canvas.addEventListener("touchstart", (event) => {
      if (this.overKnob(event.touches[0])) event.preventDefault();
    }, { passive: false });
    canvas.addEventListener("keydown", (event) => this.key(event));
    new ResizeObserver(() => this.draw()).observe(canvas);
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
  }

  /** Puts a spring in place: numbers that the program sent once. */
  show(picture) {
    this.picture = picture;
    const { body } = picture;
    if (!body) return;
    if (this.body?.triangles.length !== body.triangles.length || this.body.place.length !== body.place.length) {
      this.walls = borders(body.triangles);
      const count = body.place.length;
      this.corner = Object.fromEntries(["x", "y", "z", "gap", "nx", "ny", "nz", "u", "v", "w", "r", "g", "b", "lit"].map((name) => [name, new Float32Array(count)]));
    }
    this.body = body;
    const arc = picture.arm.arc_share;
    // where along the arm a corner is: stripes of what rests are even in it
    const inner = picture.arm.radius_mm[0] * picture.size.turns * 2 * Math.PI;
    this.along = Float32Array.from(body.place, (place) => {
      const i = Math.min(Math.floor(place), arc.length - 2);
      return mix(arc[i], arc[i + 1], place - i) * inner;
    });
    this.deflection = Math.min(this.deflection, picture.size.free_height_mm);
  }

  press(deflection) {
    this.deflection = Math.min(Math.max(deflection, 0), this.picture?.size.free_height_mm ?? 0);
    this.draw();
  }

  /** Draws with the next frame of the screen. */
  draw() {
    this.waiting ||= requestAnimationFrame(() => {
      this.waiting = 0;
      this.paint(MOVING_PIXELS);
      clearTimeout(this.settling);
      this.settling = setTimeout(() => this.paint(MOST_PIXELS), SETTLE);
    });
  }

  colours() {
    const style = getComputedStyle(this.canvas);
    const name = (key, other) => style.getPropertyValue(key).trim() || other;
    return { plate: name("--plate", "#e3dccb"), rule: name("--rule", "#b9b09c"), give: name("--give", "#0d5c63"), card: name("--card", "#fff"), dark: name("--night", "0") === "1" };
  }

  paint(pixels) {
    if (!this.body || !this.canvas.clientWidth) return;
    const began = performance.now();
    const { canvas } = this;
    const ratio = Math.min(3, window.devicePixelRatio || 1);
    const [width, height] = [canvas.clientWidth, canvas.clientHeight];
    if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
      canvas.width = Math.round(width * ratio);
      canvas.height = Math.round(height * ratio);
    }
    const { size } = this.picture;
    const radius = size.outer_diameter_mm / 2;
    const [ct, st] = [Math.cos(this.tilt), Math.sin(this.tilt)];
    // as large as the card allows at every turn and tilt
    const rise = size.free_height_mm + size.thickness_mm;
    const knob = 34;
    const half = 1.06 * radius * st;
    const scale = Math.min((width - 24) / (2.12 * radius), (height - 20) / (2 * half), (height - 20 - knob) / (half + rise * ct));
    const used = scale * half + Math.max(scale * half, scale * rise * ct + knob);
    const middle = [width / 2, height - 10 - (height - 20 - used) / 2 - half * scale];
    this.view = { scale, middle, ct, st, radius };
    const state = pressedArm(this.picture, this.deflection);
    this.state = state;
    this.place(state);
    const factor = Math.min(2 * ratio, Math.sqrt(pixels / (width * height)));
    this.raster(width, height, factor);
    const pen = canvas.getContext("2d");
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, width, height);
    this.ground(pen);
    pen.imageSmoothingQuality = "high";
    pen.drawImage(this.layer, 0, 0, width, height);
    this.above(pen, state);
    this.frames.count += 1;
    this.frames.ms += performance.now() - began;
  }

  /** Corners of the pressed spring in the viewer's axes, with their light. */
  place(state) {
    const { body, corner, picture } = this;
    const { x, y, z, gap, nx, ny, nz } = corner;
    const [ca, sa] = [Math.cos(this.turn), Math.sin(this.turn)];
    const thick = picture.size.thickness_mm;
    const full = fullStress(picture);
    const last = state.height.length - 1;
    const hub = state.height[last];
    for (let c = 0; c < body.place.length; c += 1) {
      const place = body.place[c];
      const [px, py] = [body.points[2 * c], body.points[2 * c + 1]];
      x[c] = px * ca - py * sa;
      y[c] = px * sa + py * ca;
      const i = Math.min(Math.floor(place), last - 1);
      const s = place - i;
      let colour = [158, 176, 177];
      if (body.lever[c] === 0 && (place < 1e-6 || place > last - 1e-6)) {
        z[c] = (place < 1e-6 ? 0 : hub) + thick;
        gap[c] = FAR;
      } else {
        z[c] = mix(state.height[i], state.height[i + 1], s) + body.lever[c] * mix(state.slope[i], state.slope[i + 1], s) + thick;
        gap[c] = mix(state.gap[i], state.gap[i + 1], s);
        colour = stressColour(mix(state.stress[i], state.stress[i + 1], s) / full);
      }
      [corner.r[c], corner.g[c], corner.b[c]] = colour;
    }
    nx.fill(0);
    ny.fill(0);
    nz.fill(0);
    const { triangles } = body;
    for (let t = 0; t < triangles.length; t += 3) {
      const [a, b, c] = [triangles[t], triangles[t + 1], triangles[t + 2]];
      const [ux, uy, uz] = [x[b] - x[a], y[b] - y[a], z[b] - z[a]];
      const [vx, vy, vz] = [x[c] - x[a], y[c] - y[a], z[c] - z[a]];
      const [ax, ay, az] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
      for (const k of [a, b, c]) {
        nx[k] += ax;
        ny[k] += ay;
        nz[k] += az;
      }
    }
    // the eye looks from the front, above; light and glance are told by the slope of the sheet
    const { ct, st } = this.view;
    const half = [SUN[0], SUN[1] - ct, SUN[2] + st];
    const long = Math.hypot(...half);
    for (let c = 0; c < body.place.length; c += 1) {
      const length = Math.hypot(nx[c], ny[c], nz[c]) || 1;
      // slopes of a flat spring are small: the light exaggerates them
      const [sx, sy, sz] = [(3 * nx[c]) / length, (3 * ny[c]) / length, nz[c] / length];
      const norm = Math.hypot(sx, sy, sz);
      const soft = Math.max(0, (sx * SUN[0] + sy * SUN[1] + sz * SUN[2]) / norm);
      const glance = Math.max(0, (sx * half[0] + sy * half[1] + sz * half[2]) / norm / long);
      corner.lit[c] = 0.5 + 0.58 * soft;
      const shine = 62 * glance ** 24;
      corner.r[c] = Math.min(255, corner.r[c] * corner.lit[c] + shine);
      corner.g[c] = Math.min(255, corner.g[c] * corner.lit[c] + shine);
      corner.b[c] = Math.min(255, corner.b[c] * corner.lit[c] + shine);
    }
  }

  /** Shadow, upper side and walls into a picture of `factor` dots to a pixel of the page. */
  raster(width, height, factor) {
    const [w, h] = [Math.ceil(width * factor), Math.ceil(height * factor)];
    if (this.layer.width !== w || this.layer.height !== h) {
      this.layer.width = w;
      this.layer.height = h;
      this.image = new ImageData(w, h);
      this.dots = new Uint32Array(this.image.data.buffer);
      this.depth = new Float32Array(w * h);
    }
    const { dots, depth, corner, body, walls, along, view } = this;
    dots.fill(0);
    depth.fill(FAR);
    const { x, y, z, gap, r, g, b } = corner;
    const k = view.scale * factor;
    const [mx, my] = [view.middle[0] * factor, view.middle[1] * factor];
    const { ct, st } = view;
    const thick = this.picture.size.thickness_mm;
    const near = this.picture.motion.touching_mm;
    const stripe = view.scale / 8;
    // a triangle of corners (px, py, deep) with colours, and whether it rests
    const fill = (ax, ay, ad, bx, by, bd, cx, cy, cd, colours, rest) => {
      const area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay);
      if (Math.abs(area) < 1e-9) return;
      const x0 = Math.max(0, Math.ceil(Math.min(ax, bx, cx) - 0.5));
      const x1 = Math.min(w - 1, Math.floor(Math.max(ax, bx, cx) - 0.5));
      const y0 = Math.max(0, Math.ceil(Math.min(ay, by, cy) - 0.5));
      const y1 = Math.min(h - 1, Math.floor(Math.max(ay, by, cy) - 0.5));
      const over = 1 / area;
      const [ux, uy] = [(by - cy) * over, (cx - bx) * over];
      const [vx, vy] = [(cy - ay) * over, (ax - cx) * over];
      for (let py = y0; py <= y1; py += 1) {
        const dy = py + 0.5;
        let u = (x0 + 0.5 - cx) * ux + (dy - cy) * uy;
        let v = (x0 + 0.5 - cx) * vx + (dy - cy) * vy;
        for (let px = x0, at = py * w + x0; px <= x1; px += 1, at += 1, u += ux, v += vx) {
          const q = 1 - u - v;
          if (u < -1e-6 || v < -1e-6 || q < -1e-6) continue;
          const d = u * ad + v * bd + q * cd;
          if (d >= depth[at]) continue;
          depth[at] = d;
          let cr = u * colours[0] + v * colours[3] + q * colours[6];
          let cg = u * colours[1] + v * colours[4] + q * colours[7];
          let cb = u * colours[2] + v * colours[5] + q * colours[8];
          if (rest && u * rest[0] + v * rest[1] + q * rest[2] < near) {
            const s = (u * rest[3] + v * rest[4] + q * rest[5]) * stripe;
            if (s - Math.floor(s) < 0.3) {
              cr *= 0.55;
              cg *= 0.6;
              cb *= 0.62;
            }
          }
          dots[at] = (255 << 24) | (cb << 16) | (cg << 8) | cr;
        }
      }
    };
    const sx = (c) => mx + k * x[c];
    const sy = (c, up) => my - k * (y[c] * st + up * ct);
    const far = (c, up) => y[c] * ct - up * st;
    const { triangles } = body;
    this.shadow(triangles, corner, k, mx, my, w, h);
    const colours = new Float32Array(9);
    const rest = new Float32Array(6);
    for (let t = 0; t < triangles.length; t += 3) {
      const [p, q, o] = [triangles[t], triangles[t + 1], triangles[t + 2]];
      [p, q, o].forEach((c, n) => {
        colours[3 * n] = r[c];
        colours[3 * n + 1] = g[c];
        colours[3 * n + 2] = b[c];
        rest[n] = gap[c];
        rest[3 + n] = along[c];
      });
      fill(sx(p), sy(p, z[p]), far(p, z[p]), sx(q), sy(q, z[q]), far(q, z[q]), sx(o), sy(o, z[o]), far(o, z[o]), colours, rest);
    }
    const { dark } = this.colours();
    for (let e = 0; e < walls.length; e += 2) {
      const [p, q] = [walls[e], walls[e + 1]];
      // the part lies to the left of its border
      const [ex, ey] = [y[q] - y[p], x[p] - x[q]];
      if (ey >= 0) continue; // looks away from the eye
      const long = Math.hypot(ex, ey) || 1;
      const light = (dark ? 0.5 : 0.36) + 0.3 * Math.max(0, (ex * SUN[0] - ey * 0.35) / long);
      for (let n = 0; n < 3; n += 1) {
        const tone = [118, 130, 132][n] * light * 1.5;
        colours[n] = tone;
        colours[3 + n] = tone;
        colours[6 + n] = tone;
      }
      const [pl, ql] = [z[p] - thick, z[q] - thick];
      fill(sx(p), sy(p, z[p]), far(p, z[p]), sx(q), sy(q, z[q]), far(q, z[q]), sx(q), sy(q, ql), far(q, ql), colours);
      fill(sx(p), sy(p, z[p]), far(p, z[p]), sx(q), sy(q, ql), far(q, ql), sx(p), sy(p, pl), far(p, pl), colours);
    }
    this.layer.getContext("2d").putImageData(this.image, 0, 0);
  }

  /** The spring's shadow on the plate it stands on. */
  shadow(triangles, { x, y, z }, k, mx, my, w, h) {
    const { dots, view } = this;
    const thick = this.picture.size.thickness_mm;
    const [lx, ly] = [-SUN[0] / SUN[2], -SUN[1] / SUN[2]];
    const sx = (c) => mx + k * (x[c] + lx * (z[c] - thick));
    const sy = (c) => my - k * (y[c] + ly * (z[c] - thick)) * view.st;
    const tone = (72 << 24) | (24 << 16) | (20 << 8) | 14;
    for (let t = 0; t < triangles.length; t += 3) {
      const [p, q, o] = [triangles[t], triangles[t + 1], triangles[t + 2]];
      const [ax, ay, bx, by, cx, cy] = [sx(p), sy(p), sx(q), sy(q), sx(o), sy(o)];
      const area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay);
      if (Math.abs(area) < 1e-9) continue;
      const over = 1 / area;
      const y0 = Math.max(0, Math.ceil(Math.min(ay, by, cy) - 0.5));
      const y1 = Math.min(h - 1, Math.floor(Math.max(ay, by, cy) - 0.5));
      const x0 = Math.max(0, Math.ceil(Math.min(ax, bx, cx) - 0.5));
      const x1 = Math.min(w - 1, Math.floor(Math.max(ax, bx, cx) - 0.5));
      for (let py = y0; py <= y1; py += 1) {
        for (let px = x0; px <= x1; px += 1) {
          const u = ((px + 0.5 - cx) * (by - cy) + (py + 0.5 - cy) * (cx - bx)) * over;
          const v = ((px + 0.5 - cx) * (cy - ay) + (py + 0.5 - cy) * (ax - cx)) * over;
          if (u > -1e-6 && v > -1e-6 && u + v < 1 + 1e-6) dots[py * w + px] = tone;
        }
      }
    }
  }

  ellipse(pen, radius, up) {
    const { scale, middle, ct, st } = this.view;
    pen.beginPath();
    pen.ellipse(middle[0], middle[1] - scale * up * ct, radius * scale, radius * scale * st, 0, 0, 2 * Math.PI);
  }

  /** The plate that the spring stands on. */
  ground(pen) {
    const { plate, rule } = this.colours();
    this.ellipse(pen, 1.06 * this.view.radius, 0);
    pen.fillStyle = plate;
    pen.fill();
    pen.strokeStyle = rule;
    pen.lineWidth = 1;
    pen.stroke();
  }

  knob() {
    const { scale, middle, ct } = this.view;
    const up = this.state.height[this.state.height.length - 1] + this.picture.size.thickness_mm;
    const foot = [middle[0], middle[1] - scale * up * ct];
    return { foot, head: [foot[0], foot[1] - 22] };
  }

  /** The plate that presses, and the knob to pull. */
  above(pen, state) {
    const { give, card } = this.colours();
    if (this.picture.motion.upper) {
      this.ellipse(pen, 1.06 * this.view.radius, state.height[state.height.length - 1] + this.picture.size.thickness_mm);
      pen.strokeStyle = give;
      pen.lineWidth = 1.4;
      pen.setLineDash([6, 4]);
      pen.stroke();
      pen.setLineDash([]);
    }
    const { foot, head } = this.knob();
    pen.strokeStyle = give;
    pen.lineWidth = 4;
    pen.beginPath();
    pen.moveTo(...foot);
    pen.lineTo(...head);
    pen.stroke();
    pen.beginPath();
    pen.arc(head[0], head[1], 11, 0, 2 * Math.PI);
    pen.fillStyle = this.held?.presses ? give : card;
    pen.fill();
    pen.lineWidth = 2;
    pen.stroke();
    pen.strokeStyle = this.held?.presses ? card : give;
    pen.lineWidth = 1.8;
    pen.beginPath();
    for (const way of [-1, 1]) {
      pen.moveTo(head[0] - 3.2, head[1] + way * 3);
      pen.lineTo(head[0], head[1] + way * 6.4);
      pen.lineTo(head[0] + 3.2, head[1] + way * 3);
    }
    pen.stroke();
  }

  at(event) {
    const box = this.canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  overKnob(event) {
    if (!this.state) return false;
    const [x, y] = this.at(event);
    const { head, foot } = this.knob();
    return [head, foot].some((place) => Math.hypot(place[0] - x, place[1] - y) < TOUCH);
  }

  take(event) {
    if (event.button !== 0 || !this.state) return;
    this.held = { presses: this.overKnob(event), from: this.at(event), deflection: this.deflection, turn: this.turn, tilt: this.tilt };
    this.canvas.setPointerCapture(event.pointerId);
    this.canvas.classList.add("held");
    this.stop();
    this.draw();
  }

  move(event) {
    if (!this.held) {
      this.canvas.classList.toggle("presses", this.overKnob(event));
      return;
    }
    const [x, y] = this.at(event);
    const [dx, dy] = [x - this.held.from[0], y - this.held.from[1]];
    if (this.held.presses) {
      this.tell(this.held.deflection + dy / (this.view.scale * Math.max(this.view.ct, 0.3)));
    } else {
      this.turn = this.held.turn + dx * 0.011;
      if (event.pointerType !== "touch") this.tilt = Math.min(STEEP, Math.max(LOW, this.held.tilt + dy * 0.007));
      this.draw();
    }
  }

  tell(deflection) {
    this.press(deflection);
    this.hooks.pressed(this.deflection);
  }

  key(event) {
    const travel = this.picture?.size.free_height_mm ?? 0;
    const turns = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, 0.06], ArrowDown: [0, -0.06] };
    const presses = { PageDown: this.deflection + travel / 20, PageUp: this.deflection - travel / 20, Home: 0, End: travel };
    if (turns[event.key]) {
      this.turn += turns[event.key][0];
      this.tilt = Math.min(STEEP, Math.max(LOW, this.tilt + turns[event.key][1]));
      this.draw();
    } else if (event.key in presses) {
      this.tell(presses[event.key]);
    } else {
      return;
    }
    event.preventDefault();
  }

  /** Presses once down to the flat disc and lets go; where the reader wants no movement, only the one or the other. */
  play() {
    this.stop();
    const travel = this.picture?.size.free_height_mm ?? 0;
    if (this.still.matches) {
      this.tell(this.deflection < travel / 2 ? travel : 0);
      return;
    }
    const began = performance.now();
    const step = (now) => {
      const share = Math.min(1, (now - began) / 3200);
      this.tell(travel * (0.5 - 0.5 * Math.cos(2 * Math.PI * share)));
      if (share < 1) this.playing = requestAnimationFrame(step);
    };
    this.playing = requestAnimationFrame(step);
  }

  stop() {
    cancelAnimationFrame(this.playing);
  }
}

/** Stress that full colour stands for (MPa). */
export const fullStress = (picture) => picture.stress.allowable_mpa ?? Math.max(picture.stress.peak_mpa, 1);

/** Colours over stress with numbers, into an element. `full` is what full colour stands for, `words` follow its number. */
export function drawStressScale(host, full, number, words) {
  const svg = host.firstChild ?? host.appendChild(document.createElementNS("http://www.w3.org/2000/svg", "svg"));
  const [width, margin] = [420, 4];
  const x = (share) => margin + (share / 1.25) * (width - 2 * margin);
  const parts = [];
  for (let k = 0; k < 50; k += 1) {
    const share = (k / 50) * 1.25;
    const fill = stressColour(share + 0.0125).map(Math.round).join(",");
    parts.push(`<rect x="${x(share).toFixed(1)}" y="2" width="${(x(1.25 / 50) - margin + 0.6).toFixed(1)}" height="11" fill="rgb(${fill})"/>`);
  }
  for (const share of [0, 0.25, 0.5, 0.75, 1]) {
    const last = share === 1;
    parts.push(`<line x1="${x(share)}" x2="${x(share)}" y1="2" y2="${last ? 17 : 15}" class="tick"/>` +
      `<text x="${x(share)}" y="27" text-anchor="${share ? "middle" : "start"}">${number(share * full)}${last ? ` ${words}` : ""}</text>`);
  }
  svg.setAttribute("viewBox", `0 0 ${width} 30`);
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", `Colour of stress, from 0 to ${number(full)} ${words}, and above`);
  svg.innerHTML = parts.join("");
}
