// What the page is about: the curve, the settings, the spring drawn last, the springs kept. With undo, link and file.

const MOST_STEPS = 200;
const LONGEST_LINK = 30000;
/** Points up to which every one of them is a handle. */
export const MOST_HANDLES = 40;
const THINNED = 20;
const MOST_NUMBERS = 100000;
const MOST_CHOICES = 64;
const KEPT_STEPS = 40;
const ORIGINS = ["drawn", "found", "kept", "brought"];

const listeners = [];
let past = [];
let future = [];
let before = null; // how things were before what is being changed

/** `origin` says where the spring comes from: drawn, found, kept, brought (by a link or a file). */
export const state = { curve: null, brief: null, spring: null, origin: { kind: "drawn" }, kept: [] };

/** Calls back after every change of curve or settings. */
export function onChange(listener) {
  listeners.push(listener);
}

const snapshot = () => JSON.stringify({ curve: state.curve, brief: state.brief });

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
  const whole = { curve: state.curve, brief: state.brief, spring: state.spring, origin: state.origin, units };
  const text = `#s=${toText(new TextEncoder().encode(JSON.stringify(whole)))}`;
  return text.length <= LONGEST_LINK ? text : null;
}

/** The state a link holds; none where it is no such link. What cannot be meant is thrown in words. */
export function ofFragment(hash) {
  if (!hash.startsWith("#s=")) return null;
  return read("the link", () => new TextDecoder().decode(fromText(hash.slice(3))));
}

export function asFile(units) {
  return `${JSON.stringify({ flatspire_page: 1, ...state, units }, null, 1)}\n`;
}

/** The state a file holds; what cannot be meant is thrown in words. */
export function ofFile(text, name) {
  const whole = read(name, () => text);
  if (whole.flatspire_page !== 1) throw new Error(`${name}: flatspire_page: expected 1, as "Save this page" writes it`);
  return whole;
}

function read(name, text) {
  let whole;
  try {
    whole = JSON.parse(text());
  } catch {
    throw new Error(`${name}: is no saved page, or not all of it; expected one that was written by "Save this page" or "Copy a link"`);
  }
  const wrong = faults(whole);
  if (wrong) throw new Error(`${name}: ${wrong}; save the page again or open a curve file`);
  return whole;
}

const object = (value) => typeof value === "object" && value !== null && !Array.isArray(value);
const numbers = (list) => Array.isArray(list) && list.length <= MOST_NUMBERS && list.every(Number.isFinite);

/** The first place of a state that cannot be meant, in words. */
function faults(whole) {
  if (!object(whole)) return "expected curve and brief";
  const { kept = [], spring = null, origin = { kind: "drawn" }, units = "mm-n" } = whole;
  const wrong = faultsOfQuestion(whole, "");
  if (wrong) return wrong;
  if (spring !== null && !soundSpring(spring)) return "spring: expected a spring as in its file, or nothing";
  if (!object(origin) || !ORIGINS.includes(origin.kind) || !["string", "undefined"].includes(typeof origin.name)) return `origin: expected one of ${ORIGINS.join(", ")}`;
  if (!["mm-n", "in-lbf"].includes(units)) return "units: expected mm-n or in-lbf";
  if (!Array.isArray(kept) || kept.length > 26) return "kept: expected a list of at most 26 springs";
  for (const [k, one] of kept.entries()) {
    const place = `kept[${k}]`;
    if (!object(one) || !/^[A-Z]$/.test(one.name) || typeof one.title !== "string") return `${place}: expected a name of one letter and a title`;
    if (!soundSpring(one.spring)) return `${place}.spring: expected a spring as in its file`;
    if (!object(one.curve) || !numbers(one.curve.deflection_mm) || !numbers(one.curve.force_n) || one.curve.force_n.length !== one.curve.deflection_mm.length) return `${place}.curve: expected as many forces as deflections`;
    if (!object(one.numbers) || !numbers(one.numbers.width_mm) || one.numbers.width_mm.length !== 2) return `${place}.numbers: expected what it is compared by`;
    if (!object(one.asked)) return `${place}.asked: expected curve and brief`;
    const inside = faultsOfQuestion(one.asked, `${place}.asked.`);
    if (inside) return inside;
  }
  return "";
}

const soundSpring = (spring) => object(spring) && ["sheet", "disc", "arm", "former"].every((part) => object(spring[part]));

function faultsOfQuestion({ curve, brief }, place) {
  if (!object(curve) || !numbers(curve.deflection_mm) || !numbers(curve.force_n)) return `${place}curve: expected deflections and forces, at most ${MOST_NUMBERS} numbers each`;
  const count = curve.deflection_mm.length;
  if (count < 2 || curve.force_n.length !== count) return `${place}curve: expected two points or more, and as many forces as deflections`;
  for (const edge of ["force_min_n", "force_max_n"]) {
    if (curve[edge] !== undefined && !(numbers(curve[edge]) && curve[edge].length === count)) return `${place}curve.${edge}: expected a force for every point`;
  }
  if (curve.notes !== undefined && !(Array.isArray(curve.notes) && curve.notes.every((note) => typeof note === "string"))) return `${place}curve.notes: expected sentences`;
  if (!object(brief) || !Object.values(brief).every(object)) return `${place}brief: expected sections with keys`;
  for (const list of [brief.sheet?.thickness, brief.arms?.count]) {
    if (list !== undefined && !(Array.isArray(list) && list.length <= MOST_CHOICES)) return `${place}brief: a list to choose from may have at most ${MOST_CHOICES} numbers`;
  }
  return "";
}

/** Puts a whole state in place. */
export function restore(whole) {
  if (state.curve) remember();
  state.curve = whole.curve;
  state.brief = whole.brief;
  state.spring = whole.spring ?? null;
  state.origin = whole.origin ?? { kind: state.spring ? "brought" : "drawn" };
  if (whole.kept) state.kept = whole.kept;
  changed({ whole: true, restored: true });
}

// what a reload brings back, and what an earlier visit left

/** Everything, undo included, as text. */
export function everything(more) {
  return JSON.stringify({ ...state, past: past.slice(-KEPT_STEPS), future: future.slice(-KEPT_STEPS), ...more });
}

/** Puts it back; none where it is not whole. */
export function bringBack(text) {
  try {
    const whole = JSON.parse(text);
    if (faults(whole)) return null;
    const steps = (list) => (Array.isArray(list) ? list.filter((one) => typeof one === "string" && !faultsOfQuestion(JSON.parse(one), "")) : []);
    const [before_, after] = [steps(whole.past), steps(whole.future)];
    restore(whole);
    [past, future] = [before_, after];
    before = null;
    changed({ stepped: true, silent: true });
    return whole;
  } catch {
    return null;
  }
}
