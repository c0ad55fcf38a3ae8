// The points as numbers.

import { addPoint, changed, movePoint, onChange, remember, removePoint, state, thin } from "./state.js";
import { select } from "./chart.js";
import { shown, typed, units } from "./units.js";

const MOST_ROWS = 400;
let host;
let hooks;

export function table(element, given) {
  host = element;
  hooks = given;
  onChange(() => host.closest("details").open && drawTable());
  host.closest("details").addEventListener("toggle", drawTable);
}

const make = (name, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...children);
  return element;
};

/** Points that are listed: those that a hand can take. */
const listed = () => state.smooth ?? [...state.curve.deflection_mm.keys()];

export function drawTable() {
  if (!state.curve || host.contains(document.activeElement)) {
    // who types is not interrupted; values are set when the field is left
    if (host.contains(document.activeElement)) refresh();
    return;
  }
  const { deflection_mm: xs, force_n: fs } = state.curve;
  const all = listed();
  const rows = [];
  for (const [row, i] of all.slice(0, MOST_ROWS).entries()) {
    const cell = (value, quantity, name) => {
      const field = make("input", { type: "text", inputMode: "decimal", value: shown(value, quantity, 5) });
      field.setAttribute("aria-label", `${name} of point ${row + 1} in ${units.unit(quantity)}`);
      field.dataset.quantity = quantity;
      field.addEventListener("change", () => change(i, field));
      field.addEventListener("focus", () => select(i));
      return make("td", {}, field);
    };
    const away = make("button", { type: "button", textContent: "×" });
    away.setAttribute("aria-label", `Remove point ${row + 1}`);
    away.addEventListener("click", () => remove(i));
    rows.push(make("tr", {}, make("th", { scope: "row", textContent: row + 1 }),
      cell(xs[i], "length", "Deflection"), cell(fs[i], "force", "Force"), make("td", {}, away)));
  }
  const head = make("tr", {}, ...["Point", `Deflection (${units.unit("length")})`, `Force (${units.unit("force")})`].map(
    (text) => make("th", { scope: "col", textContent: text }),
  ), make("td"));
  const more = make("button", { type: "button", textContent: "Add a row at the end" });
  more.addEventListener("click", append);
  const parts = [make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows)), more];
  if (all.length > MOST_ROWS) parts.push(make("p", { className: "hint", textContent: `${all.length - MOST_ROWS} more points are not listed.` }));
  host.replaceChildren(...parts);
}

/** Values of the fields that nobody types in. */
function refresh() {
  const { deflection_mm: xs, force_n: fs } = state.curve;
  const all = listed();
  [...host.querySelectorAll("tbody tr")].forEach((row, place) => {
    const [x, f] = row.querySelectorAll("input");
    const i = all[place] ?? Infinity;
    if (x !== document.activeElement && i < xs.length) x.value = shown(xs[i], "length", 5);
    if (f !== document.activeElement && i < fs.length) f.value = shown(fs[i], "force", 5);
  });
}

function change(i, field) {
  const value = typed(field.value, field.dataset.quantity);
  const isForce = field.dataset.quantity === "force";
  const { deflection_mm: xs, force_n: fs } = state.curve;
  field.setAttribute("aria-invalid", String(!(value >= 0)));
  if (!(value >= 0)) {
    hooks.said(`${field.value || "nothing"} is not a number from zero up; the point stays as it was`);
    field.value = shown(isForce ? fs[i] : xs[i], field.dataset.quantity, 5);
    field.setAttribute("aria-invalid", "false");
    return;
  }
  remember();
  movePoint(i, isForce ? xs[i] : value, isForce ? value : fs[i]);
  const now = isForce ? state.curve.force_n[i] : state.curve.deflection_mm[i];
  if (Math.abs(now - value) > 1e-9) hooks.said("a point stays between its neighbours");
  field.value = shown(now, field.dataset.quantity, 5);
  changed({});
}

function remove(i) {
  remember();
  if (!removePoint(i)) {
    hooks.said("a curve needs at least three points");
    return;
  }
  host.replaceChildren();
  changed({});
  drawTable();
}

function append() {
  remember();
  thin();
  const { deflection_mm: xs, force_n: fs } = state.curve;
  const last = xs.length - 1;
  const i = addPoint(2 * xs[last] - xs[last - 1], Math.max(fs[last], 2 * fs[last] - fs[last - 1]));
  host.replaceChildren();
  changed({});
  drawTable();
  host.querySelectorAll("tbody tr")[listed().indexOf(i)]?.querySelector("input").focus();
}
