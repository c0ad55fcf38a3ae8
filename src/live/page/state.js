// What the page is about: the curve, the settings, the spring drawn last, the springs kept. With undo, link and file.

const MOST_STEPS = 200;
const LONGEST_LINK = 30000;
/** Points up to which every one of them is a handle. */
export const MOST_HANDLES = 40;
const THINNED = 20;

const listeners = [];
let past = [];
let future = [];

export const state = { curve: null, brief: null, spring: null, kept: [] };

/** Calls back after every change of curve or settings. */
export function onChange(listener) {
  listeners.push(listener);
}

const snapshot = () => JSON.stringify({ curve: state.curve, brief: state.brief });

export function asked() {
  return { curve: state.curve, brief: state.brief };
}

/** Remembers how things are, before a change; a drag is one change. */
export function remember() {
  const now = snapshot();
  if (past[past.length - 1] !== now) past.push(now);
  if (past.length > MOST_STEPS) past.shift();
  future = [];
}

export function changed(how) {
  for (const listener of listeners) listener(how);
}

function step(from, to) {
  const target = from.pop();
  if (target === undefined) return false;
  to.push(snapshot());
  Object.assign(state, JSON.parse(target));
  changed({ whole: true });
  return true;
}

export const undo = () => step(past, future);
export const redo = () => step(future, past);
export const canUndo = () => past.length > 0;
export const canRedo = () => future.length > 0;

/** Puts another curve in place. */
export function setCurve(curve) {
  remember();
  state.curve = curve;
  changed({ whole: true });
}

/** A curve by its points, in order; what belonged to its file is left behind. */
export function pointsOf(curve) {
  return curve.deflection_mm.map((x, i) => ({
    x,
    f: curve.force_n[i],
    least: curve.force_min_n?.[i],
    most: curve.force_max_n?.[i],
  }));
}

function curveOf(points, tolerance) {
  const curve = { deflection_mm: points.map((p) => p.x), force_n: points.map((p) => p.f) };
  if (points.every((p) => p.least !== undefined)) curve.force_min_n = points.map((p) => p.least);
  if (points.every((p) => p.most !== undefined)) curve.force_max_n = points.map((p) => p.most);
  if (tolerance != null) curve.tolerance_percent = tolerance;
  return curve;
}

function put(points) {
  state.curve = curveOf(points, state.curve.tolerance_percent);
}

const between = (a, b, share) => (a === undefined || b === undefined ? undefined : a + (b - a) * share);

/** Fewer points, so that each can be taken hold of. Says whether anything was done. */
export function thin() {
  const points = pointsOf(state.curve);
  if (points.length <= MOST_HANDLES) return false;
  const last = points.length - 1;
  const chosen = handles();
  put(chosen.map((i) => points[Math.min(i, last)]));
  return true;
}

/** Indices of the points that are handles. */
export function handles() {
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
  const points = pointsOf(state.curve);
  const point = points[i];
  const low = i > 0 ? points[i - 1].x + gap() : 0;
  const high = i + 1 < points.length ? points[i + 1].x - gap() : Infinity;
  const to = { x: Math.min(Math.max(x, low), Math.max(high, low)), f: Math.max(0, f) };
  for (const edge of ["least", "most"]) {
    if (point[edge] === undefined) continue;
    const off = point[edge] - point.f;
    to[edge] = Math.max(0, to.f + (point.f > 0 ? (off * to.f) / point.f : off));
  }
  points[i] = to;
  put(points);
}

/** Adds a point at a deflection; its index, or -1 where there is no room. */
export function addPoint(x, f) {
  const points = pointsOf(state.curve);
  let after = points.findIndex((p) => p.x > x);
  if (after < 0) after = points.length;
  const [a, b] = [points[after - 1], points[after]];
  if ((a && x - a.x < gap()) || (b && b.x - x < gap()) || x < 0) return -1;
  const share = a && b ? (x - a.x) / (b.x - a.x) : 0;
  points.splice(after, 0, {
    x,
    f: Math.max(0, f ?? between(a?.f, b?.f, share) ?? (a ?? b).f),
    least: a && b ? between(a.least, b.least, share) : undefined,
    most: a && b ? between(a.most, b.most, share) : undefined,
  });
  put(points);
  return after;
}

export function removePoint(i) {
  const points = pointsOf(state.curve);
  if (points.length <= 3) return false;
  points.splice(i, 1);
  put(points);
  return true;
}

// link and file

const toText = (bytes) => {
  let text = "";
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
};

const fromText = (text) => {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
};

/** What comes after `#` in a link to this state; none where it would be too long. */
export function fragment(units) {
  const whole = { curve: state.curve, brief: state.brief, spring: state.spring, units };
  const text = `#s=${toText(new TextEncoder().encode(JSON.stringify(whole)))}`;
  return text.length <= LONGEST_LINK ? text : null;
}

/** The state a link holds; none where it holds none that can be read. */
export function ofFragment(hash) {
  if (!hash.startsWith("#s=")) return null;
  try {
    return checked(JSON.parse(new TextDecoder().decode(fromText(hash.slice(3)))));
  } catch {
    return null;
  }
}

export function asFile(units) {
  return `${JSON.stringify({ flatspire_page: 1, ...state, units }, null, 1)}\n`;
}

/** The state a file holds; none where it is no such file. */
export function ofFile(text) {
  try {
    const whole = JSON.parse(text);
    return whole.flatspire_page === 1 ? checked(whole) : null;
  } catch {
    return null;
  }
}

function checked(whole) {
  const numbers = (list) => Array.isArray(list) && list.every(Number.isFinite);
  const { curve, brief } = whole;
  const sound =
    curve && numbers(curve.deflection_mm) && numbers(curve.force_n) && curve.deflection_mm.length >= 3 &&
    curve.deflection_mm.length === curve.force_n.length && brief && typeof brief === "object";
  return sound ? whole : null;
}

/** Puts a whole state in place. */
export function restore(whole) {
  if (state.curve) remember();
  state.curve = whole.curve;
  state.brief = whole.brief;
  state.spring = whole.spring ?? null;
  if (Array.isArray(whole.kept)) state.kept = whole.kept;
  changed({ whole: true, restored: true });
}
