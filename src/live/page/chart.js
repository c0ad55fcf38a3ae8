// The chart: the wanted curve with its handles and its band, what the spring gives, what can be followed at all, and how
// far the spring is off.

import { axis, bringIntoView, field, fitAxes, fromX, grid, size, toX, toY } from "./axes.js";
import { hand } from "./hand.js";
import { handles, state } from "./state.js";
import { figure, shown, withUnit } from "./units.js";

const SVG = "http://www.w3.org/2000/svg";
const STRIP = 76; // px of the deviations
const LEAST = { width: 280, height: 225 };
/** Share of the largest force below which an error counts by that share: the base of the fit, as the commands have it. */
const BASE = 0.1;
/** Dashes by which kept curves are told apart. */
const DASHES = ["none", "8 3", "2 3", "9 3 2 3"];
const USUAL_TOLERANCE = 3; // percent, as the commands take it

let svg;
let hooks;
let selected = -1;
let held = false; // a hand holds a point: the axes stay
let picture = null;
let travel = null;
let deviations = true;
const layers = {};

export const make = (name, attributes = {}, text) => {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== undefined) element.textContent = text;
  return element;
};

export function chart(host, given) {
  hooks = given;
  svg = make("svg", { role: "group", "aria-label": "Force over deflection; the points can be moved" });
  const clip = make("clipPath", { id: "field" });
  const frame = clip.appendChild(make("rect"));
  svg.append(clip);
  for (const name of ["grid", "band", "gap", "kept", "given", "nearest", "wanted", "names", "off", "travel", "stroke", "hover", "points"]) {
    layers[name] = svg.appendChild(make("g", { class: name }));
    if (["band", "gap", "kept", "given", "nearest", "wanted"].includes(name)) layers[name].setAttribute("clip-path", "url(#field)");
  }
  host.append(svg);
  const shape = () => {
    const box = host.getBoundingClientRect();
    size.width = Math.max(LEAST.width, box.width);
    size.height = Math.max(LEAST.height, box.height);
    size.strip = deviations && size.height >= 300 ? STRIP : 0;
    const { left, right, top, bottom } = field();
    for (const [key, value] of Object.entries({ x: left, y: top, width: right - left, height: bottom - top })) frame.setAttribute(key, value);
    svg.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
    drawChart();
  };
  new ResizeObserver(shape).observe(host);
  hand(svg, {
    ...given,
    draw: drawChart,
    drawPoints,
    select,
    selected: () => selected,
    hold: (on) => (held = on),
    travel: () => travel,
    hover,
    stroke: (line) => layers.stroke.replaceChildren(...(line.length > 1 ? [make("polyline", { points: line.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ") })] : [])),
  });
  return {
    /** shows or hides how far the spring is off */
    deviations(on) {
      deviations = on;
      host.classList.toggle("deep", on);
      shape();
    },
  };
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
  if (i >= 0 && state.curve) {
    const before = axis.x0 + axis.y0;
    bringIntoView(state.curve.deflection_mm[i], state.curve.force_n[i]);
    if (axis.x0 + axis.y0 !== before) drawChart();
  }
  drawPoints();
  if (focus) layers.points.querySelector(`[data-point="${i}"]`)?.focus({ preventScroll: true });
}

const polyline = (xs, fs) => xs.map((x, i) => `${toX(x).toFixed(1)},${toY(fs[i]).toFixed(1)}`).join(" ");

/** Draws everything anew. */
export function drawChart() {
  if (!state.curve) return;
  const { deflection_mm: xs, force_n: fs } = state.curve;
  // the ground stays under the hand
  if (!held) fitAxes(xs, fs);
  layers.grid.replaceChildren(...grid(make));
  drawBand();
  layers.wanted.replaceChildren(make("polyline", { points: polyline(xs, fs) }));
  drawGiven();
  drawOff();
  drawPoints();
  drawTravel();
}

const tolerance = () => state.curve.tolerance_percent ?? state.brief?.fit?.tolerance_percent ?? USUAL_TOLERANCE;

/** The force that an error is relative to. */
const baseOf = (force) => Math.max(force, BASE * Math.max(...state.curve.force_n));

function drawBand() {
  const { deflection_mm: xs, force_n: fs, force_min_n: least, force_max_n: most } = state.curve;
  const parts = [];
  const ribbon = (low, high, name) => {
    const back = [...xs.keys()].reverse();
    parts.push(make("polygon", { class: name, points: `${polyline(xs, high)} ${polyline(back.map((i) => xs[i]), back.map((i) => low[i]))}` }));
  };
  if (least && most) ribbon(least, most, "asked");
  const off = fs.map((f) => (tolerance() / 100) * baseOf(f));
  ribbon(fs.map((f, i) => Math.max(0, f - off[i])), fs.map((f, i) => f + off[i]), "tolerance");
  hooks.banded(Boolean(least && most));
  layers.band.replaceChildren(...parts);
}

function drawGiven() {
  const parts = { gap: [], nearest: [], given: [], kept: [], names: [] };
  state.kept.filter((kept) => kept.curve).forEach((kept, place) => {
    const { deflection_mm: xs, force_n: fs } = kept.curve;
    parts.kept.push(make("polyline", { points: polyline(xs, fs), "stroke-dasharray": DASHES[place % DASHES.length] }));
    // names stand one beside the other, each on its own line
    const last = xs.findLastIndex((x, i) => x <= axis.x1 && fs[i] <= axis.y1);
    const at = xs[last] - (0.04 + 0.055 * (place % 12)) * (axis.x1 - axis.x0);
    const force = last > 0 ? between(xs, fs, at) : NaN;
    if (Number.isFinite(force)) parts.names.push(make("text", { x: toX(at) - 8, y: toY(force) - 9, "text-anchor": "end" }, kept.name));
  });
  let apart = false;
  if (picture) {
    parts.given.push(make("polyline", { points: polyline(picture.drawn_curve.deflection_mm, picture.drawn_curve.force_n) }));
    const { nearest, reachable, findings } = picture.reach;
    const { deflection_mm: xs, force_n: fs } = nearest;
    if (!reachable && xs.length) {
      apart = true;
      parts.nearest.push(make("polyline", { points: polyline(xs, fs) }));
      // the nearest curve may leave points of the wanted one out; beyond its end it goes on as it ends
      const last = xs.length - 1;
      const near = (x) => (x <= xs[last] || last === 0
        ? between(xs, fs, Math.max(x, xs[0]))
        : fs[last] + ((x - xs[last]) * (fs[last] - fs[last - 1])) / (xs[last] - xs[last - 1]));
      for (const finding of findings) {
        const [from, to] = [finding.from_deflection, finding.to_deflection];
        const there = [from, ...state.curve.deflection_mm.filter((x) => x > from && x < to), to];
        const back = [...there].reverse();
        parts.gap.push(make("polygon", { points: `${polyline(there, there.map(forceAt))} ${polyline(back, back.map(near))}` }));
        const at = finding.at_deflection;
        if (finding.size_n !== 0 && at >= 0) {
          const y = Math.min(toY(forceAt(at)), toY(forceAt(at) - finding.size_n));
          const [x, end] = toX(at) > size.width / 3 ? [toX(at) - 16, "end"] : [toX(at) + 8, "start"];
          parts.gap.push(make("text", { x, y: Math.max(field().top + 24, y - 26), "text-anchor": end },
            `out of reach by ${withUnit(Math.abs(finding.size_n), "force", 2)}`));
        }
      }
    }
  }
  for (const [name, list] of Object.entries(parts)) layers[name].replaceChildren(...list);
  hooks.apart(apart);
}

/** How far the spring is off the wanted curve (percent of the base of the fit), below the chart. */
function drawOff() {
  if (!size.strip || !picture) {
    layers.off.replaceChildren();
    return;
  }
  const { deflection_mm: xs } = state.curve;
  const { left, right } = field();
  const [top, bottom] = [size.height - size.strip + 12, size.height - 6];
  const middle = (top + bottom) / 2;
  const limit = tolerance();
  const line = picture.drawn_curve;
  const places = Array.from({ length: 121 }, (_, k) => xs[0] + ((xs[xs.length - 1] - xs[0]) * k) / 120).filter((x) => x >= axis.x0 && x <= axis.x1);
  const off = places.map((x) => {
    const wanted = forceAt(x);
    return (100 * (between(line.deflection_mm, line.force_n, x) - wanted)) / baseOf(wanted);
  });
  const worst = Math.max(...off.filter(Number.isFinite).map(Math.abs), 0);
  const full = Math.max(1.5 * limit, Math.min(1.1 * worst, 6 * limit));
  const y = (percent) => Math.min(Math.max(middle - (percent / full) * (bottom - top) / 2, top), bottom);
  const points = places.flatMap((x, i) => (Number.isFinite(off[i]) ? [`${toX(x).toFixed(1)},${y(off[i]).toFixed(1)}`] : [])).join(" ");
  layers.off.replaceChildren(
    make("rect", { class: "tolerance", x: left, width: right - left, y: y(limit), height: y(-limit) - y(limit) }),
    make("line", { x1: left, x2: right, y1: middle, y2: middle }),
    make("polyline", { points }),
    ...(y(-limit) - y(limit) < 14 ? [["±", middle]] : [["+", y(limit)], ["−", y(-limit)]])
      .map(([sign, at]) => make("text", { x: left - 8, y: at + 4, "text-anchor": "end" }, `${sign}${figure(limit, 2)} %`)),
    make("text", { class: "axis", x: left + 6, y: top + 2 }, "deviation of the spring"),
  );
}

/** The wanted force at a deflection. */
export function forceAt(x) {
  const { deflection_mm: xs, force_n: fs } = state.curve;
  const after = xs.findIndex((other) => other >= x);
  if (after <= 0) return after === 0 ? fs[0] : fs[fs.length - 1];
  const share = (x - xs[after - 1]) / (xs[after] - xs[after - 1]);
  return fs[after - 1] + share * (fs[after] - fs[after - 1]);
}

/** A force between the points of a line; none outside. */
function between(xs, fs, x) {
  const after = xs.findIndex((other) => other >= x);
  if (after <= 0) return after === 0 && xs[0] === x ? fs[0] : NaN;
  return fs[after - 1] + ((x - xs[after - 1]) / (xs[after] - xs[after - 1])) * (fs[after] - fs[after - 1]);
}

/** Values at a dot's deflection: wanted, given, and how far apart; none takes them away. */
function hover(px) {
  const x = px === null ? NaN : fromX(px);
  const xs = state.curve?.deflection_mm;
  if (!xs || !(x >= xs[0] && x <= xs[xs.length - 1])) {
    layers.hover.replaceChildren();
    return;
  }
  const wanted = forceAt(x);
  const line = picture?.drawn_curve;
  const given = line ? between(line.deflection_mm, line.force_n, x) : NaN;
  const apart = wanted > 0 && Number.isFinite(given) ? `, ${given >= wanted ? "+" : "−"}${figure(Math.abs(100 * (given / wanted - 1)), 2)} %` : "";
  const words = `at ${withUnit(x, "length", 3)}: wanted ${withUnit(wanted, "force", 3)}${Number.isFinite(given) ? `, given ${withUnit(given, "force", 3)}${apart}` : ""}`;
  const { right, top, bottom } = field();
  layers.hover.replaceChildren(
    make("line", { x1: toX(x), x2: toX(x), y1: top + 16, y2: size.strip ? size.height - 6 : bottom }),
    make("text", { x: right, y: top + 4, "text-anchor": "end" }, words),
  );
}

function drawPoints() {
  if (!state.curve) return;
  const { deflection_mm: xs, force_n: fs } = state.curve;
  const chosen = handles();
  const old = layers.points.children;
  // dense points are drawn smaller, so that each is seen
  const apart = Math.min(...chosen.slice(1).map((i, k) => Math.hypot(toX(xs[i]) - toX(xs[chosen[k]]), toY(fs[i]) - toY(fs[chosen[k]]))));
  const dot = Math.min(6, Math.max(3.2, 0.4 * apart)).toFixed(1);
  const { left, right, top, bottom } = field();
  while (old.length > chosen.length) old[old.length - 1].remove();
  chosen.forEach((i, place) => {
    let handle = old[place];
    if (!handle) {
      handle = make("g", { tabindex: 0, role: "slider", "aria-orientation": "vertical" });
      handle.append(make("circle", { class: "dot", r: 6 }));
      handle.addEventListener("focus", (event) => {
        const point = Number(event.currentTarget.dataset.point);
        if (point !== selected) select(point);
      });
      layers.points.append(handle);
    }
    const [x, y] = [toX(xs[i]), toY(fs[i])];
    handle.dataset.point = i;
    handle.firstChild.setAttribute("r", dot);
    handle.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)})`);
    handle.classList.toggle("selected", i === selected);
    handle.classList.toggle("outside", x < left - 1 || x > right + 1 || y < top - 1 || y > bottom + 1);
    handle.setAttribute("aria-label", `Point ${place + 1} of ${chosen.length}`);
    handle.setAttribute("aria-valuenow", shown(fs[i], "force"));
    handle.setAttribute("aria-valuemin", "0");
    handle.setAttribute("aria-valuemax", shown(Math.max(axis.y1, fs[i]), "force"));
    handle.setAttribute("aria-valuetext", `${withUnit(fs[i], "force")} at ${withUnit(xs[i], "length")}`);
  });
}

function drawTravel() {
  const parts = [];
  if (travel && travel.x >= axis.x0 && travel.x <= axis.x1) {
    const foot = field().bottom;
    const x = toX(travel.x);
    if (travel.f <= axis.y1 && travel.f >= axis.y0) {
      const y = toY(travel.f);
      parts.push(make("line", { x1: x, x2: x, y1: y, y2: foot }));
      parts.push(make("rect", { x: x - 6, y: y - 6, width: 12, height: 12, transform: `rotate(45 ${x} ${y})` }));
    }
    parts.push(make("path", { class: "grip", d: `M${x} ${foot + 2} l8 8 v8 h-16 v-8 z` }));
  }
  layers.travel.replaceChildren(...parts);
}
