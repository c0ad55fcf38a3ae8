// State of the page: the curve, the settings, the spring drawn last, the springs to compare. With undo.

import { between, follow } from "./smooth.js";

const MOST_STEPS = 200;
/** Points up to which every one of them is a handle. */
export const MOST_HANDLES = 40;
const THINNED = 20;
const KEPT_STEPS = 40;

const listeners = [];
let past = [];
let future = [];
let before = null; // how things were before what is being changed

/**
 * `smooth` are the points that are handles where others follow them; none where every point is a handle. `origin` says
 * where the spring comes from: drawn, found, kept, brought (by a link or a file). `found` is the result of the last
 * search with its question. `start` is the number, in `starts`, of the spring that shaping starts from.
 */
export const state = { curve: null, smooth: null, brief: null, spring: null, origin: { kind: "drawn" }, kept: [], found: null, start: 0 };

/** Springs that were put in place, not shaped by hand: `of` is the question that the spring answers as it is. */
let starts = {};
let newest = 0;

/** A start from a spring that answers the question as it is, or from what the program chooses for it. */
function startFrom(spring) {
  newest += 1;
  state.start = newest;
  const question = structuredClone(asked());
  starts[newest] = { asked: question, of: JSON.stringify(question), spring, origin: state.origin };
}

export const start = () => starts[state.start];

/** Calls back after every change of curve or settings. */
export function onChange(listener) {
  listeners.push(listener);
}

const snapshot = () => JSON.stringify({ curve: state.curve, smooth: state.smooth, brief: state.brief, start: state.start });

export function asked() {
  return { curve: state.curve, brief: state.brief };
}

/** Remembers how things are, before a change; a drag is one change. What turns out to be none is no step of undo. */
export function remember() {
  before = snapshot();
}

export function changed(how) {
  if (before !== null && !how.stepped) {
    const now = snapshot();
    if (before !== now) {
      past.push(before);
      if (past.length > MOST_STEPS) past.shift();
      future = [];
      before = null;
    }
  }
  for (const listener of listeners) listener(how);
}

function step(from, to) {
  const target = from.pop();
  if (target === undefined) return false;
  to.push(snapshot());
  before = null;
  Object.assign(state, JSON.parse(target));
  changed({ whole: true, stepped: true });
  return true;
}

export const undo = () => step(past, future);
export const redo = () => step(future, past);
export const canUndo = () => past.length > 0;
export const canRedo = () => future.length > 0;

/** Puts another curve in place, and another brief where one came along; sheet and size are chosen anew. */
export function setQuestion(curve, brief) {
  restore({ curve: curve ?? state.curve, brief: brief ?? state.brief, smooth: curve ? null : state.smooth, spring: null });
}

/** Puts a spring of another make in place; the question stays. */
export function setSpring(spring, origin) {
  remember();
  state.spring = spring;
  state.origin = origin;
  startFrom(spring);
  changed({ restored: true });
}

/** A curve by its points, in order; `held` are those that a hand can take, the others follow them. */
function points() {
  const { deflection_mm: xs, force_n: fs, force_min_n: least, force_max_n: most } = state.curve;
  const held = state.smooth && new Set(state.smooth);
  return xs.map((x, i) => ({ x, f: fs[i], least: least?.[i], most: most?.[i], held: held ? held.has(i) : true }));
}

function put(list) {
  follow(list);
  const curve = { deflection_mm: list.map((p) => p.x), force_n: list.map((p) => p.f) };
  if (list.every((p) => p.least !== undefined)) curve.force_min_n = list.map((p) => p.least);
  if (list.every((p) => p.most !== undefined)) curve.force_max_n = list.map((p) => p.most);
  if (state.curve.tolerance_percent != null) curve.tolerance_percent = state.curve.tolerance_percent;
  state.curve = curve;
  const held = list.flatMap((p, i) => (p.held ? [i] : []));
  state.smooth = held.length < list.length ? held : null;
}

const EDGES = ["least", "most"];

/** Fewer points, so that each can be taken hold of. Says whether anything was done. */
export function thin() {
  if (state.smooth || state.curve.deflection_mm.length <= MOST_HANDLES) return false;
  const list = points();
  put(handles().map((i) => list[i]));
  return true;
}

/** Indices of the points that are handles. */
export function handles() {
  if (state.smooth) return state.smooth;
  const count = state.curve.deflection_mm.length;
  if (count <= MOST_HANDLES) return [...Array(count).keys()];
  const xs = state.curve.deflection_mm;
  const [from, to] = [xs[0], xs[count - 1]];
  const chosen = new Set();
  for (let k = 0; k < THINNED; k += 1) {
    const wanted = from + ((to - from) * k) / (THINNED - 1);
    let best = 0;
    for (let i = 1; i < count; i += 1) if (Math.abs(xs[i] - wanted) < Math.abs(xs[best] - wanted)) best = i;
    chosen.add(best);
  }
  return [...chosen].sort((a, b) => a - b);
}

/** Least distance between neighbouring points (mm). */
export function gap() {
  const xs = state.curve.deflection_mm;
  return Math.max(1e-4, xs[xs.length - 1] * 0.002);
}

/** Moves point `i`; it stays between its neighbours and not below zero. Bands keep their share. */
export function movePoint(i, x, f) {
  const list = points();
  const point = list[i];
  let [before, after] = [i - 1, i + 1];
  while (before >= 0 && !list[before].held) before -= 1;
  while (after < list.length && !list[after].held) after += 1;
  const low = before >= 0 ? list[before].x + (i - before) * gap() : 0;
  const high = after < list.length ? list[after].x - (after - i) * gap() : Infinity;
  const to = { x: Math.min(Math.max(x, low), Math.max(high, low)), f: Math.max(0, f), held: true };
  for (const edge of EDGES) {
    if (point[edge] === undefined) continue;
    const off = point[edge] - point.f;
    to[edge] = Math.max(0, to.f + (point.f > 0 ? (off * to.f) / point.f : off));
  }
  list[i] = to;
  put(list);
}

/** Adds a point at a deflection; its index, or -1 where there is no room. */
export function addPoint(x, f) {
  const list = points();
  const beside = list.findIndex((p) => !p.held && Math.abs(p.x - x) < gap());
  if (beside >= 0) list.splice(beside, 1);
  let after = list.findIndex((p) => p.x > x);
  if (after < 0) after = list.length;
  const [a, b] = [list[after - 1], list[after]];
  if ((a && x - a.x < gap()) || (b && b.x - x < gap()) || x < 0) return -1;
  const share = a && b ? (x - a.x) / (b.x - a.x) : 0;
  list.splice(after, 0, {
    x,
    f: Math.max(0, f ?? between(a?.f, b?.f, share) ?? (a ?? b).f),
    least: a && b ? between(a.least, b.least, share) : undefined,
    most: a && b ? between(a.most, b.most, share) : undefined,
    held: true,
  });
  put(list);
  return after;
}

export function removePoint(i) {
  const list = points();
  if (handles().length <= 3) return false;
  list.splice(i, 1);
  // a curve ends at handles
  list[0].held = true;
  list[list.length - 1].held = true;
  put(list);
  return true;
}

/**
 * Puts a drawn stretch in place: knots with deflection and force, in order. `before` and `after` say whether the rest of
 * the curve on that side stays. Bands keep their share of the force.
 */
export function drawStretch(knots, { before, after }) {
  thin();
  const list = points();
  const [from, to] = [knots[0].x, knots[knots.length - 1].x];
  const room = 2 * gap();
  const left = list.filter((p, i) => p.x < from - room && (before || i === 0));
  const right = after ? list.filter((p) => p.x > to + room) : [];
  for (const rest of [left[left.length - 1], right[0]]) if (rest) rest.held = true;
  const drawn = knots.flatMap((knot, k) => {
    const point = { ...knot, held: true };
    for (const edge of EDGES) {
      if (list[0][edge] === undefined) continue;
      const share = (at) => (at.f > 0 ? at[edge] / at.f : 1);
      const next = list.findIndex((p) => p.x >= knot.x);
      const there = next < 0 ? list[list.length - 1] : list[next];
      point[edge] = share(there) * knot.f;
    }
    // three points between two handles follow them
    const behind = k + 1 < knots.length ? [1, 2, 3].map(() => ({ x: knot.x, f: knot.f, held: false })) : [];
    return [point, ...behind];
  });
  put([...left, ...drawn, ...right]);
}

/** Puts a whole state in place; what it does not say stays. */
export function restore(whole) {
  if (state.curve) remember();
  state.curve = whole.curve;
  state.smooth = whole.smooth ?? null;
  state.brief = whole.brief;
  state.spring = whole.spring ?? null;
  state.origin = whole.origin ?? { kind: state.spring ? "brought" : "drawn" };
  if (whole.kept) state.kept = whole.kept;
  if (whole.found !== undefined) state.found = whole.found;
  startFrom(state.spring);
  changed({ whole: true, restored: true });
}

// what a reload brings back, and what an earlier visit left

/** Everything, undo included, as text. */
export function everything(more) {
  const steps = { past: past.slice(-KEPT_STEPS), future: future.slice(-KEPT_STEPS) };
  const used = new Set([state.start, ...[...steps.past, ...steps.future].map((step) => JSON.parse(step).start)]);
  const kept = Object.fromEntries([...used].filter((number) => starts[number]).map((number) => {
    const { asked: question, spring, origin } = starts[number];
    return [number, { asked: question, spring, origin }];
  }));
  return JSON.stringify({ ...state, ...steps, starts: kept, newest, ...more });
}

/** Puts back what `everything` wrote, once it was found whole; `steps` are its undo and redo. */
export function putBack(whole, steps) {
  restore(whole);
  [past, future] = steps;
  before = null;
  if (whole.starts[whole.start]) {
    starts = whole.starts;
    for (const one of Object.values(starts)) one.of = JSON.stringify(one.asked);
    newest = whole.newest;
    state.start = whole.start;
  }
  changed({ stepped: true, silent: true });
}
