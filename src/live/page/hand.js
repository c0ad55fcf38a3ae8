// Actions of a hand on the chart: takes points, sketches, presses the spring along the curve, zooms; by pointer and by keys.

import { axis, field, fromX, fromY, isZoomed, pan, seeWhole, size, snapped, spanX, spanY, toX, toY, zoomAt } from "./axes.js";
import { forceAt } from "./chart.js";
import { evened, handlesOf } from "./smooth.js";
import { addPoint, changed, drawStretch, gap, handles, movePoint, remember, removePoint, state, thin } from "./state.js";
import { withUnit } from "./units.js";

const FINE = 0.01; // step of an arrow key, as a share of what is seen
const COARSE = 0.1;
/** px from a point within which it is taken; of several the nearest */
const REACH = { mouse: 26, pen: 30, touch: 38 };
/** px from the mark of the travel, likewise */
const MARK = { mouse: 16, pen: 20, touch: 30 };
/** of a sketch, px: the line that is no stroke, how near its handles keep to it, how far they stand apart, how far it is
    evened, how near an end lies to the curve that it joins */
const STROKE = { least: 14, near: 2.5, apart: 18, even: 7, join: 26 };
const MOST_DRAWN = 9;
const BEGINNING = 0.04; // of what is seen: a stroke that begins so near the curve's first point begins there
const ENDING = 0.06; // likewise, before the curve's last point: a stroke that ends there ends the curve
const ZOOM = 1.35; // a key or a button
const WHEEL = 0.0016; // a dot of the wheel

let svg;
let hooks;
let dragging = null;
let pinching = null;
let drawing = false;

export function hand(element, given) {
  svg = element;
  hooks = given;
  svg.addEventListener("dblclick", addHere);
  svg.addEventListener("pointerdown", take);
  // a finger that has taken a point or sketches does not scroll the page
  svg.addEventListener("touchstart", (event) => {
    if (event.touches.length === 2) pinch(event);
    if (event.touches.length === 2 || drawing || nearest(event.touches[0], "touch")) event.preventDefault();
  }, { passive: false });
  svg.addEventListener("touchmove", (event) => {
    if (!pinching || event.touches.length !== 2) return;
    event.preventDefault();
    pinched(event);
  }, { passive: false });
  svg.addEventListener("touchend", () => (pinching = null));
  svg.addEventListener("pointermove", drag);
  svg.addEventListener("pointerleave", () => hooks.hover(null));
  svg.addEventListener("pointerup", drop);
  svg.addEventListener("pointercancel", letGo);
  svg.addEventListener("wheel", wheel, { passive: false });
  svg.addEventListener("keydown", press);
}

/** Whether every stroke on the chart draws, beside points and by finger as well. */
export function sketching(on) {
  drawing = on;
  svg.classList.toggle("draws", on);
}

export function zoom(way) {
  const { left, right, top, bottom } = field();
  const i = hooks.selected();
  const [x, y] = i >= 0 ? [toX(state.curve.deflection_mm[i]), toY(state.curve.force_n[i])] : [(left + right) / 2, (top + bottom) / 2];
  if (way === 0) seeWhole();
  else zoomAt(Math.min(Math.max(x, left), right), Math.min(Math.max(y, top), bottom), ZOOM ** way);
  seen();
}

function seen() {
  hooks.draw();
  hooks.zoomed(isZoomed());
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
  if (!drawing) {
    for (const i of handles()) {
      const distance = Math.hypot(toX(xs[i]) - px, toY(fs[i]) - py);
      if (distance <= REACH[kind] && !(distance >= best?.distance)) best = { point: i, distance };
    }
  }
  const travel = hooks.travel();
  if (travel && travel.x >= axis.x0 && travel.x <= axis.x1) {
    const foot = Math.hypot(toX(travel.x) - px, field().bottom + 11 - py);
    const mark = travel.f <= axis.y1 && !drawing ? Math.hypot(toX(travel.x) - px, toY(travel.f) - py) : Infinity;
    const distance = Math.min(foot, mark);
    if (distance <= MARK[kind] && !(distance >= best?.distance)) best = { travel: true, distance };
  }
  return best;
}

function take(event) {
  if (pinching || !state.curve) return;
  const kind = REACH[event.pointerType] ? event.pointerType : "mouse";
  const [px, py] = place(event);
  if (event.button === 1 || (event.button === 0 && event.shiftKey)) {
    if (!isZoomed()) return;
    event.preventDefault();
    svg.setPointerCapture(event.pointerId);
    dragging = { pan: true, px, py };
    return;
  }
  if (event.button !== 0) return;
  const found = event.altKey ? null : nearest(event, kind);
  if (!found && kind === "touch" && !drawing) {
    hooks.hover(px);
    return;
  }
  event.preventDefault();
  svg.setPointerCapture(event.pointerId);
  if (!found) {
    dragging = { stroke: [[px, py]] };
    return;
  }
  if (found.travel) {
    dragging = { travel: true, dx: px - toX(hooks.travel().x) };
    return;
  }
  remember();
  const i = editable(found.point);
  hooks.hold(true);
  dragging = {
    point: i,
    dx: px - toX(state.curve.deflection_mm[i]),
    dy: py - toY(state.curve.force_n[i]),
    moved: false,
  };
  hooks.select(i, true);
}

function drag(event) {
  const [px, py] = place(event);
  if (event.pointerType !== "touch" || dragging) hooks.hover(dragging?.stroke ? null : px);
  if (!dragging) return;
  if (dragging.pan) {
    pan(px - dragging.px, py - dragging.py);
    Object.assign(dragging, { px, py });
    seen();
    return;
  }
  if (dragging.travel) {
    hooks.travelled(fromX(px - dragging.dx));
    return;
  }
  if (dragging.stroke) {
    const { left, right, top, bottom } = field();
    const all = event.getCoalescedEvents?.() ?? [];
    for (const one of all.length ? all : [event]) {
      const [x, y] = place(one);
      dragging.stroke.push([Math.min(Math.max(x, left), right), Math.min(Math.max(y, top), bottom)]);
    }
    hooks.stroke(dragging.stroke);
    return;
  }
  const within = (value, least, most) => Math.min(Math.max(value, least), most);
  const x = snapped(within(fromX(px - dragging.dx), axis.x0, axis.x1), spanX(), "length");
  const f = snapped(within(fromY(py - dragging.dy), axis.y0, axis.y1), spanY(), "force");
  const i = dragging.point;
  if (x === state.curve.deflection_mm[i] && f === state.curve.force_n[i]) return;
  dragging.moved = true;
  // the first point of a curve from zero stays on its line
  movePoint(i, i === 0 && state.curve.deflection_mm[0] === 0 ? 0 : x, f);
  hooks.draw();
  changed({ began: event.timeStamp });
}

/** What was held is released; what it was is returned. */
function letGo() {
  const was = dragging;
  dragging = null;
  hooks.hold(false);
  if (was?.stroke) hooks.stroke([]);
  return was;
}

function drop() {
  const was = letGo();
  if (!was) return;
  if (was.stroke) sketched(was.stroke);
  if (was.moved) {
    hooks.draw();
    hooks.said(spoken(was.point));
  }
}

/** A stroke becomes few handles; where an end lies on the curve, the rest of the curve stays. */
function sketched(stroke) {
  const samples = evened(stroke, STROKE.even);
  const last = samples.length - 1;
  if (last < 1 || samples[last][0] - samples[0][0] < STROKE.least) return;
  remember();
  thin();
  const { deflection_mm: xs, force_n: fs } = state.curve;
  const end = xs[xs.length - 1];
  let knots = handlesOf(samples, { near: STROKE.near, apart: STROKE.apart, most: MOST_DRAWN })
    .map(([px, py]) => ({ x: Math.max(0, snapped(fromX(px), spanX(), "length")), f: Math.max(0, snapped(fromY(py), spanY(), "force")) }));
  if (knots[0].x < xs[0] + BEGINNING * spanX()) {
    const first = { x: xs[0], f: xs[0] === 0 ? fs[0] : knots[0].f };
    knots = [first, ...knots.slice(1)];
  }
  // followers stand between handles: these need room for them
  knots = knots.filter((knot, k) => k === 0 || knot.x - knots[k - 1].x > 6 * gap());
  if (knots.length < 2) return;
  const joins = (x, py) => Math.abs(toY(forceAt(x)) - py) <= STROKE.join;
  const [first, final] = [knots[0].x, knots[knots.length - 1].x];
  drawStretch(knots, {
    before: first > end || joins(first, samples[0][1]),
    after: final < end - ENDING * spanX() && joins(final, samples[last][1]),
  });
  hooks.select(-1);
  hooks.draw();
  changed({ whole: true });
  hooks.said(`drawn: the curve has ${handles().length} points to move`);
}

function pinch(event) {
  const was = letGo();
  if (was?.moved) changed({});
  const [a, b] = [...event.touches].map(place);
  pinching = { apart: Math.hypot(a[0] - b[0], a[1] - b[1]), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
}

function pinched(event) {
  const [a, b] = [...event.touches].map(place);
  const apart = Math.max(1, Math.hypot(a[0] - b[0], a[1] - b[1]));
  const middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  pan(middle[0] - pinching.middle[0], middle[1] - pinching.middle[1]);
  zoomAt(...middle, apart / pinching.apart);
  pinching = { apart, middle };
  seen();
}

function wheel(event) {
  // outwards from the whole curve the wheel scrolls the page
  if (event.deltaY >= 0 && !isZoomed() && !event.ctrlKey) return;
  event.preventDefault();
  if (event.shiftKey) pan(-event.deltaY - event.deltaX, 0);
  else zoomAt(...place(event), Math.exp(-WHEEL * event.deltaY * (event.deltaMode === 1 ? 30 : 1)));
  seen();
}

const spoken = (i) =>
  `${withUnit(state.curve.force_n[i], "force")} at ${withUnit(state.curve.deflection_mm[i], "length")}`;

function press(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const ways = { "+": 1, "=": 1, "-": -1, 0: 0 };
  if (event.key in ways) {
    event.preventDefault();
    zoom(ways[event.key]);
    return;
  }
  const handle = event.target.closest("[data-point]");
  if (!handle) return;
  let i = Number(handle.dataset.point);
  const share = event.shiftKey ? COARSE : FINE;
  const stepX = snapped(spanX() * share, spanX(), "length");
  const stepY = snapped(spanY() * share, spanY(), "force");
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
    movePoint(i, i === 0 && xs[0] === 0 ? 0 : Number((xs[i] + dx).toPrecision(9)), Number((fs[i] + df).toPrecision(9)));
    hooks.draw();
    changed({ began: event.timeStamp });
  } else if (event.key === "Home" || event.key === "End") {
    event.preventDefault();
    const all = handles();
    hooks.select(event.key === "Home" ? all[0] : all[all.length - 1], true);
  } else if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    removeSelected();
  } else if (event.key === "Insert") {
    event.preventDefault();
    addBeside();
  }
}

function addHere(event) {
  if (event.target.closest?.("[data-point]") || drawing) return;
  const [px, py] = place(event);
  remember();
  thin();
  const i = addPoint(snapped(fromX(px), spanX(), "length"), snapped(fromY(py), spanY(), "force"));
  if (i >= 0) added(i);
}

/** Adds a point after the selected one, or in the widest gap. */
export function addBeside() {
  remember();
  thin();
  const xs = state.curve.deflection_mm;
  const all = handles();
  let k = all.indexOf(hooks.selected());
  if (k < 0 || k >= all.length - 1) {
    k = 0;
    for (let j = 0; j + 1 < all.length; j += 1) if (xs[all[j + 1]] - xs[all[j]] > xs[all[k + 1]] - xs[all[k]]) k = j;
  }
  const i = addPoint(snapped((xs[all[k]] + xs[all[k + 1]]) / 2, spanX(), "length"));
  if (i >= 0) added(i);
  else hooks.told("there is no room for another point here");
}

function added(i) {
  hooks.draw();
  hooks.select(i, true);
  changed({});
  hooks.said(`point added: ${spoken(i)}`);
}

export function removeSelected() {
  if (hooks.selected() < 0) return;
  remember();
  const place = handles().indexOf(hooks.selected());
  const i = editable(hooks.selected());
  if (!removePoint(i)) {
    hooks.told("a curve needs at least three points");
    return;
  }
  const all = handles();
  hooks.draw();
  hooks.select(all[Math.min(Math.max(place, 0), all.length - 1)], true);
  changed({});
  hooks.said("point removed");
}
