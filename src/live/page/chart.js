// The chart: the wanted curve with its handles, what the spring gives, what can be followed at all.

import { addPoint, changed, handles, movePoint, remember, removePoint, state, thin } from "./state.js";
import { figure, shown, units, withUnit } from "./units.js";

const SVG = "http://www.w3.org/2000/svg";
const MARGIN = { left: 54, right: 14, top: 14, bottom: 42 };
const FINE = 0.01; // step of an arrow key, as a share of the axis
const COARSE = 0.1;
/** px from a point within which it is taken; of several the nearest */
const REACH = { mouse: 26, pen: 30, touch: 38 };
/** px from the mark of the travel, likewise */
const MARK = { mouse: 16, pen: 20, touch: 30 };

let host;
let svg;
let hooks;
let selected = -1;
let dragging = null;
let picture = null;
let travel = null;
let size = { width: 640, height: 400 };
let axis = { x: 1, y: 1 };
const layers = {};

const make = (name, attributes = {}, text) => {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== undefined) element.textContent = text;
  return element;
};

/** A round step that gives about `count` ticks. */
function stepOf(span, count) {
  const rough = span / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((k) => k * power).find((step) => step >= rough);
}

const toX = (mm) => MARGIN.left + (mm / axis.x) * (size.width - MARGIN.left - MARGIN.right);
const toY = (n) => size.height - MARGIN.bottom - (n / axis.y) * (size.height - MARGIN.top - MARGIN.bottom);
const fromX = (px) => ((px - MARGIN.left) / (size.width - MARGIN.left - MARGIN.right)) * axis.x;
const fromY = (py) => ((size.height - MARGIN.bottom - py) / (size.height - MARGIN.top - MARGIN.bottom)) * axis.y;

/** A value as finely as a hand can set it: a five-hundredth of the axis, in a round step of the shown unit. */
function snapped(value, span, quantity) {
  const k = units.factor(quantity);
  const step = stepOf(span * k, 1000);
  return Number(((Math.round((value * k) / step) * step) / k).toPrecision(9));
}

export function chart(element, given) {
  host = element;
  hooks = given;
  svg = make("svg", { role: "group", "aria-label": "Force over deflection; the points can be moved" });
  for (const name of ["grid", "band", "gap", "kept", "nearest", "given", "wanted", "travel", "hover", "points"]) {
    layers[name] = svg.appendChild(make("g", { class: name }));
  }
  host.append(svg);
  svg.addEventListener("dblclick", addHere);
  svg.addEventListener("pointerdown", take);
  // a finger that has taken a point does not scroll the page
  svg.addEventListener("touchstart", (event) => {
    if (event.touches.length === 1 && nearest(event.touches[0], "touch")) event.preventDefault();
  }, { passive: false });
  svg.addEventListener("pointermove", drag);
  svg.addEventListener("pointerleave", () => layers.hover.replaceChildren());
  svg.addEventListener("pointerup", drop);
  svg.addEventListener("pointercancel", drop);
  new ResizeObserver(() => {
    const box = host.getBoundingClientRect();
    size = { width: Math.max(280, box.width), height: Math.max(225, Math.min(460, box.width * 0.62)) };
    svg.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
    svg.setAttribute("height", size.height);
    drawChart();
  }).observe(host);
}

export function showPicture(found) {
  picture = found;
}

/** Deflection (as the curve counts it) and force of the spring as it is pressed now. */
export function showTravel(place) {
  travel = place;
  drawTravel();
}

export const selectedPoint = () => selected;

export function select(i, focus) {
  selected = i;
  hooks.selected(i);
  drawPoints();
  if (focus) layers.points.querySelector(`[data-point="${i}"]`)?.focus();
}

const polyline = (xs, fs) => xs.map((x, i) => `${toX(x).toFixed(1)},${toY(fs[i]).toFixed(1)}`).join(" ");

/** Draws everything anew. */
export function drawChart() {
  if (!state.curve) return;
  const { deflection_mm: xs, force_n: fs } = state.curve;
  // the ground stays under the hand
  if (!dragging) axis = { x: (Math.max(...xs) || 1) * 1.1, y: (Math.max(...fs) || 1) * 1.25 };
  drawGrid();
  drawBand();
  layers.wanted.replaceChildren(make("polyline", { points: polyline(xs, fs) }));
  drawGiven();
  drawPoints();
  drawTravel();
}

function drawGrid() {
  const parts = [];
  const bottom = size.height - MARGIN.bottom;
  const kx = units.factor("length");
  const ky = units.factor("force");
  const stepX = stepOf(axis.x * kx, Math.max(4, size.width / 75));
  for (let tick = 0; tick <= axis.x * kx + 1e-9; tick += stepX) {
    const x = toX(tick / kx);
    parts.push(make("line", { x1: x, x2: x, y1: bottom, y2: bottom + 5 }));
    parts.push(make("text", { x, y: bottom + 18, "text-anchor": "middle" }, figure(tick)));
  }
  const stepY = stepOf(axis.y * ky, Math.max(5, size.height / 40));
  for (let tick = 0; tick <= axis.y * ky + 1e-9; tick += stepY) {
    const y = toY(tick / ky);
    parts.push(make("line", { class: "rule", x1: MARGIN.left, x2: size.width - MARGIN.right, y1: y, y2: y }));
    parts.push(make("text", { x: MARGIN.left - 8, y: y + 4, "text-anchor": "end" }, figure(tick)));
  }
  const names = { class: "axis" };
  parts.push(
    make("text", { ...names, x: size.width - MARGIN.right, y: size.height - 6, "text-anchor": "end" },
      `deflection (${units.unit("length")})`),
    make("text", { ...names, x: MARGIN.left + 6, y: MARGIN.top + 4 }, `force (${units.unit("force")})`),
  );
  layers.grid.replaceChildren(...parts);
}

function drawBand() {
  const { deflection_mm: xs, force_min_n: least, force_max_n: most } = state.curve;
  const parts = [];
  if (least && most) {
    const back = [...xs.keys()].reverse();
    const points = `${polyline(xs, most)} ${polyline(back.map((i) => xs[i]), back.map((i) => least[i]))}`;
    parts.push(make("polygon", { points }));
  }
  layers.band.replaceChildren(...parts);
}

function drawGiven() {
  const parts = { gap: [], nearest: [], given: [], kept: [] };
  for (const kept of state.kept) {
    const line = clipped(kept.curve);
    parts.kept.push(make("polyline", { points: polyline(line.x, line.f) }));
    const end = line.x.length - 1;
    if (end >= 0) {
      const y = Math.max(MARGIN.top + 10, toY(line.f[end]) - 6);
      parts.kept.push(make("text", { x: toX(line.x[end]) - 4, y, "text-anchor": "end" }, kept.name));
    }
  }
  let apart = false;
  if (picture) {
    const line = clipped(picture.drawn_curve);
    parts.given.push(make("polyline", { points: polyline(line.x, line.f) }));
    const { nearest, reachable, findings } = picture.reach;
    const { deflection_mm: xs, force_n: fs } = nearest;
    if (!reachable && xs.length) {
      apart = true;
      parts.nearest.push(make("polyline", { points: polyline(xs, fs) }));
      const wanted = xs.map((x) => forceAt(x));
      for (const finding of findings) {
        const inside = [...xs.keys()].filter(
          (i) => xs[i] >= finding.from_deflection - 1e-9 && xs[i] <= finding.to_deflection + 1e-9,
        );
        if (inside.length > 1) {
          const there = inside.map((i) => xs[i]);
          const back = [...inside].reverse();
          parts.gap.push(make("polygon", {
            points: `${polyline(there, inside.map((i) => wanted[i]))} ${polyline(back.map((i) => xs[i]), back.map((i) => fs[i]))}`,
          }));
        }
        const at = finding.at_deflection;
        if (finding.size_n !== 0 && at >= 0) {
          const y = Math.min(toY(forceAt(at)), toY(forceAt(at) - finding.size_n));
          const [x, end] = toX(at) > size.width / 3 ? [toX(at) - 16, "end"] : [toX(at) + 8, "start"];
          parts.gap.push(make("text", { x, y: Math.max(MARGIN.top + 24, y - 26), "text-anchor": end },
            `out of reach by ${withUnit(Math.abs(finding.size_n), "force", 2)}`));
        }
      }
    }
  }
  for (const [name, list] of Object.entries(parts)) layers[name].replaceChildren(...list);
  hooks.apart(apart);
}

/** The part of a line that lies within the chart. */
function clipped({ deflection_mm: xs, force_n: fs }) {
  const line = { x: [], f: [] };
  for (let i = 0; i < xs.length; i += 1) {
    if (xs[i] < -1e-9) continue;
    if (xs[i] > axis.x || fs[i] > axis.y) {
      if (i > 0 && fs[i] > fs[i - 1]) {
        const share = Math.min((axis.x - xs[i - 1]) / (xs[i] - xs[i - 1]), (axis.y - fs[i - 1]) / (fs[i] - fs[i - 1]));
        line.x.push(xs[i - 1] + share * (xs[i] - xs[i - 1]));
        line.f.push(fs[i - 1] + share * (fs[i] - fs[i - 1]));
      }
      break;
    }
    line.x.push(xs[i]);
    line.f.push(fs[i]);
  }
  return line;
}

/** The wanted force at a deflection. */
function forceAt(x) {
  const { deflection_mm: xs, force_n: fs } = state.curve;
  const after = xs.findIndex((other) => other >= x);
  if (after <= 0) return after === 0 ? fs[0] : fs[fs.length - 1];
  const share = (x - xs[after - 1]) / (xs[after] - xs[after - 1]);
  return fs[after - 1] + share * (fs[after] - fs[after - 1]);
}

function drawPoints() {
  if (!state.curve) return;
  const { deflection_mm: xs, force_n: fs } = state.curve;
  const chosen = handles();
  const old = layers.points.children;
  // dense points are drawn smaller, so that each is seen
  const apart = Math.min(...chosen.slice(1).map((i, k) => Math.hypot(toX(xs[i]) - toX(xs[chosen[k]]), toY(fs[i]) - toY(fs[chosen[k]]))));
  const dot = Math.min(6, Math.max(3.2, 0.4 * apart)).toFixed(1);
  while (old.length > chosen.length) old[old.length - 1].remove();
  chosen.forEach((i, place) => {
    let handle = old[place];
    if (!handle) {
      handle = make("g", { tabindex: 0, role: "slider", "aria-orientation": "vertical" });
      handle.append(make("circle", { class: "dot", r: 6 }));
      handle.addEventListener("keydown", press);
      handle.addEventListener("focus", (event) => {
        const point = Number(event.currentTarget.dataset.point);
        if (point !== selected) select(point);
      });
      layers.points.append(handle);
    }
    handle.dataset.point = i;
    handle.firstChild.setAttribute("r", dot);
    handle.setAttribute("transform", `translate(${toX(xs[i]).toFixed(2)} ${toY(fs[i]).toFixed(2)})`);
    handle.classList.toggle("selected", i === selected);
    handle.setAttribute("aria-label", `Point ${place + 1} of ${chosen.length}`);
    handle.setAttribute("aria-valuenow", shown(fs[i], "force"));
    handle.setAttribute("aria-valuemin", "0");
    handle.setAttribute("aria-valuemax", shown(axis.y, "force"));
    handle.setAttribute("aria-valuetext", `${withUnit(fs[i], "force")} at ${withUnit(xs[i], "length")}`);
  });
}

function drawTravel() {
  const parts = [];
  if (travel && travel.x >= 0 && travel.x <= axis.x && travel.f <= axis.y) {
    const [x, y] = [toX(travel.x), toY(travel.f)];
    parts.push(make("line", { x1: x, x2: x, y1: y, y2: size.height - MARGIN.bottom }));
    parts.push(make("rect", { x: x - 6, y: y - 6, width: 12, height: 12, transform: `rotate(45 ${x} ${y})` }));
    const foot = size.height - MARGIN.bottom;
    parts.push(make("path", { class: "grip", d: `M${x} ${foot + 2} l8 8 v8 h-16 v-8 z` }));
  }
  layers.travel.replaceChildren(...parts);
}

function place(event) {
  const box = svg.getBoundingClientRect();
  const scale = size.width / box.width;
  return [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
}

/** Thins a dense curve before the first change; the index of the point at `x` afterwards. */
function editable(i) {
  const x = state.curve.deflection_mm[i];
  if (!thin()) return i;
  hooks.said("the curve was thinned so that its points can be moved");
  const xs = state.curve.deflection_mm;
  return xs.reduce((best, other, k) => (Math.abs(other - x) < Math.abs(xs[best] - x) ? k : best), 0);
}

/** What a pointer takes: the nearest point or the mark of the travel, where one is in reach. */
function nearest(event, kind) {
  if (!state.curve) return null;
  const [px, py] = place(event);
  const { deflection_mm: xs, force_n: fs } = state.curve;
  let best = null;
  for (const i of handles()) {
    const distance = Math.hypot(toX(xs[i]) - px, toY(fs[i]) - py);
    if (distance <= REACH[kind] && !(distance >= best?.distance)) best = { point: i, distance };
  }
  if (travel && travel.x >= 0 && travel.x <= axis.x) {
    const foot = Math.hypot(toX(travel.x) - px, size.height - MARGIN.bottom + 11 - py);
    const mark = travel.f <= axis.y ? Math.hypot(toX(travel.x) - px, toY(travel.f) - py) : Infinity;
    const distance = Math.min(foot, mark);
    if (distance <= MARK[kind] && !(distance >= best?.distance)) best = { travel: true, distance };
  }
  return best;
}

function take(event) {
  if (event.button !== 0) return;
  const found = nearest(event, REACH[event.pointerType] ? event.pointerType : "mouse");
  if (!found) return;
  event.preventDefault();
  svg.setPointerCapture(event.pointerId);
  const [px, py] = place(event);
  if (found.travel) {
    dragging = { travel: true, dx: px - toX(travel.x), moved: false };
    return;
  }
  remember();
  const i = editable(found.point);
  dragging = {
    point: i,
    dx: px - toX(state.curve.deflection_mm[i]),
    dy: py - toY(state.curve.force_n[i]),
    moved: false,
  };
  select(i, true);
}

/** Values where the pointer is: wanted, given, and how far apart. */
function hover(event) {
  if (event.pointerType === "touch" || !state.curve) return;
  const x = fromX(place(event)[0]);
  const xs = state.curve.deflection_mm;
  if (x < xs[0] || x > xs[xs.length - 1]) {
    layers.hover.replaceChildren();
    return;
  }
  const wanted = forceAt(x);
  const line = picture?.drawn_curve;
  const given = line ? between(line.deflection_mm, line.force_n, x) : NaN;
  const apart = wanted > 0 && Number.isFinite(given) ? `, ${given >= wanted ? "+" : "−"}${figure(Math.abs(100 * (given / wanted - 1)), 2)} %` : "";
  const words = `at ${withUnit(x, "length", 3)}: wanted ${withUnit(wanted, "force", 3)}${Number.isFinite(given) ? `, given ${withUnit(given, "force", 3)}${apart}` : ""}`;
  layers.hover.replaceChildren(
    make("line", { x1: toX(x), x2: toX(x), y1: MARGIN.top + 16, y2: size.height - MARGIN.bottom }),
    make("text", { x: size.width - MARGIN.right, y: MARGIN.top + 4, "text-anchor": "end" }, words),
  );
}

/** A force between the points of a line; none outside. */
function between(xs, fs, x) {
  const after = xs.findIndex((other) => other >= x);
  if (after <= 0) return after === 0 && xs[0] === x ? fs[0] : NaN;
  return fs[after - 1] + ((x - xs[after - 1]) / (xs[after] - xs[after - 1])) * (fs[after] - fs[after - 1]);
}

function drag(event) {
  hover(event);
  if (!dragging) return;
  const [px, py] = place(event);
  if (dragging.travel) {
    hooks.travelled(fromX(px - dragging.dx));
    return;
  }
  const within = (value, most) => Math.min(Math.max(value, 0), most);
  const x = snapped(within(fromX(px - dragging.dx), axis.x), axis.x, "length");
  const f = snapped(within(fromY(py - dragging.dy), axis.y), axis.y, "force");
  const i = dragging.point;
  if (x === state.curve.deflection_mm[i] && f === state.curve.force_n[i]) return;
  dragging.moved = true;
  // the first point of a curve from zero stays on its line
  movePoint(i, i === 0 && state.curve.deflection_mm[0] === 0 ? 0 : x, f);
  drawChart();
  changed({ began: event.timeStamp });
}

function drop() {
  if (!dragging) return;
  const { moved, point } = dragging;
  dragging = null;
  if (moved) {
    drawChart();
    hooks.said(spoken(point));
  }
}

const spoken = (i) =>
  `${withUnit(state.curve.force_n[i], "force")} at ${withUnit(state.curve.deflection_mm[i], "length")}`;

function press(event) {
  let i = Number(event.currentTarget.dataset.point);
  const share = event.shiftKey ? COARSE : FINE;
  const stepX = snapped(axis.x * share, axis.x, "length");
  const stepY = snapped(axis.y * share, axis.y, "force");
  const moves = {
    ArrowUp: [0, stepY], ArrowDown: [0, -stepY], ArrowRight: [stepX, 0], ArrowLeft: [-stepX, 0],
    PageUp: [0, 10 * stepY], PageDown: [0, -10 * stepY],
  };
  if (moves[event.key]) {
    event.preventDefault();
    remember();
    i = editable(i);
    const [dx, df] = moves[event.key];
    const { deflection_mm: xs, force_n: fs } = state.curve;
    movePoint(i, i === 0 && xs[0] === 0 ? 0 : xs[i] + dx, fs[i] + df);
    drawChart();
    changed({ began: event.timeStamp });
  } else if (event.key === "Home" || event.key === "End") {
    event.preventDefault();
    const all = handles();
    select(event.key === "Home" ? all[0] : all[all.length - 1], true);
  } else if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    removeSelected();
  } else if (event.key === "Insert") {
    event.preventDefault();
    addBeside();
  }
}

function addHere(event) {
  if (event.target.closest?.("[data-point]")) return;
  const [px, py] = place(event);
  remember();
  thin();
  const i = addPoint(snapped(fromX(px), axis.x, "length"), snapped(fromY(py), axis.y, "force"));
  if (i >= 0) added(i);
}

/** Adds a point after the selected one, or in the widest gap. */
export function addBeside() {
  remember();
  thin();
  const xs = state.curve.deflection_mm;
  let after = selected;
  if (after < 0 || after >= xs.length - 1) {
    after = 0;
    for (let k = 0; k + 1 < xs.length; k += 1) if (xs[k + 1] - xs[k] > xs[after + 1] - xs[after]) after = k;
  }
  const i = addPoint(snapped((xs[after] + xs[after + 1]) / 2, axis.x, "length"));
  if (i >= 0) added(i);
  else hooks.told("there is no room for another point here");
}

function added(i) {
  drawChart();
  select(i, true);
  changed({});
  hooks.said(`point added: ${spoken(i)}`);
}

export function removeSelected() {
  if (selected < 0) return;
  remember();
  const i = editable(selected);
  if (!removePoint(i)) {
    hooks.told("a curve needs at least three points");
    return;
  }
  selected = Math.min(i, state.curve.deflection_mm.length - 1);
  drawChart();
  select(selected, true);
  changed({});
  hooks.said("point removed");
}
