// The axes of the chart: where a deflection and a force stand, ticks, zoom.

import { figure, units } from "./units.js";

const MARGIN = { left: 54, right: 14, top: 14, bottom: 40 };
const MOST_ZOOM = 40;

export const size = { width: 640, height: 400, strip: 0 };
/** What is seen: deflection (mm) and force (N), from and to. */
export const axis = { x0: 0, x1: 1, y0: 0, y1: 1 };
let whole = { x1: 1, y1: 1 };
let zoomed = false;

export const isZoomed = () => zoomed;

/** The field of the curve in dots. */
export const field = () => ({ left: MARGIN.left, right: size.width - MARGIN.right, top: MARGIN.top, bottom: size.height - MARGIN.bottom - size.strip });

export const toX = (mm) => MARGIN.left + ((mm - axis.x0) / (axis.x1 - axis.x0)) * (size.width - MARGIN.left - MARGIN.right);
export const toY = (n) => {
  const { top, bottom } = field();
  return bottom - ((n - axis.y0) / (axis.y1 - axis.y0)) * (bottom - top);
};
export const fromX = (px) => axis.x0 + ((px - MARGIN.left) / (size.width - MARGIN.left - MARGIN.right)) * (axis.x1 - axis.x0);
export const fromY = (py) => {
  const { top, bottom } = field();
  return axis.y0 + ((bottom - py) / (bottom - top)) * (axis.y1 - axis.y0);
};

/** Fits the axes to a curve; a chosen section stays. */
export function fitAxes(xs, fs) {
  whole = { x1: (Math.max(...xs) || 1) * 1.1, y1: (Math.max(...fs) || 1) * 1.25 };
  if (!zoomed) Object.assign(axis, { x0: 0, y0: 0, ...whole });
}

export function seeWhole() {
  zoomed = false;
  Object.assign(axis, { x0: 0, y0: 0, ...whole });
}

const clamp = (value, least, most) => Math.min(Math.max(value, least), Math.max(least, most));

/** A section of the whole, kept within it; near the whole it is the whole. */
function see(x0, wide, y0, high) {
  if (wide >= 0.98 * whole.x1 || high >= 0.98 * whole.y1) {
    seeWhole();
    return;
  }
  zoomed = true;
  axis.x0 = clamp(x0, 0, whole.x1 - wide);
  axis.x1 = axis.x0 + wide;
  axis.y0 = clamp(y0, 0, whole.y1 - high);
  axis.y1 = axis.y0 + high;
}

/** Zooms by a factor about a dot. */
export function zoomAt(px, py, factor) {
  const share = clamp((axis.x1 - axis.x0) / whole.x1 / factor, 1 / MOST_ZOOM, 1);
  const k = (share * whole.x1) / (axis.x1 - axis.x0);
  const [x, y] = [fromX(px), fromY(py)];
  see(x - k * (x - axis.x0), k * (axis.x1 - axis.x0), y - k * (y - axis.y0), k * (axis.y1 - axis.y0));
}

/** Moves the section by dots. */
export function pan(dx, dy) {
  if (!zoomed) return;
  const { left, right, top, bottom } = field();
  const [wide, high] = [axis.x1 - axis.x0, axis.y1 - axis.y0];
  see(axis.x0 - (dx / (right - left)) * wide, wide, axis.y0 + (dy / (bottom - top)) * high, high);
}

/** Brings a place into a chosen section. */
export function bringIntoView(x, f) {
  if (!zoomed) return;
  const [px, py] = [toX(x), toY(f)];
  const { left, right, top, bottom } = field();
  pan(clamp(px, left, right) - px, clamp(py, top, bottom) - py);
}

/** A round step that gives about `count` ticks. */
function stepOf(span, count) {
  const rough = span / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((k) => k * power).find((step) => step >= rough);
}

/** A value as finely as a hand can set it: a thousandth of what is seen, in a round step of the shown unit. */
export function snapped(value, span, quantity) {
  const k = units.factor(quantity);
  const step = stepOf(span * k, 1000);
  return Number(((Math.round((value * k) / step) * step) / k).toPrecision(9));
}

export const spanX = () => axis.x1 - axis.x0;
export const spanY = () => axis.y1 - axis.y0;

/** Ticks, rules and names, by `make`. */
export function grid(make) {
  const parts = [];
  const { left, right, top, bottom } = field();
  const kx = units.factor("length");
  const ky = units.factor("force");
  const each = (from, to, step, draw) => {
    for (let n = Math.ceil(from / step - 1e-9); n * step <= to + 1e-9 * step; n += 1) draw(Number((n * step).toPrecision(12)));
  };
  each(axis.x0 * kx, axis.x1 * kx, stepOf(spanX() * kx, Math.max(4, size.width / 75)), (tick) => {
    const x = toX(tick / kx);
    parts.push(make("line", { x1: x, x2: x, y1: bottom, y2: bottom + 5 }));
    parts.push(make("text", { x, y: bottom + 17, "text-anchor": "middle" }, figure(tick)));
  });
  each(axis.y0 * ky, axis.y1 * ky, stepOf(spanY() * ky, Math.max(5, (bottom - top) / 34)), (tick) => {
    const y = toY(tick / ky);
    parts.push(make("line", { class: "rule", x1: left, x2: right, y1: y, y2: y }));
    parts.push(make("text", { x: left - 8, y: y + 4, "text-anchor": "end" }, figure(tick)));
  });
  parts.push(
    make("text", { class: "axis", x: right, y: bottom + 33, "text-anchor": "end" }, `deflection (${units.unit("length")})`),
    make("text", { class: "axis", x: left + 6, y: top + 4 }, `force (${units.unit("force")})`),
  );
  return parts;
}
