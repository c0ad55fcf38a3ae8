// Springs kept to compare, and the designs of a search.

import { state } from "./state.js";
import { figure, shown, told, units, withUnit } from "./units.js";

const make = (name, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...children);
  return element;
};

const NAMES = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const MOST_KEPT = NAMES.length;

/** Time on the machine, from and to. */
export const minutes = (seconds) => (seconds ? `${figure(seconds[0] / 60, 2)} to ${figure(seconds[1] / 60, 2)} min` : "–");

/** What a kept spring is compared by. */
function numbersOf(picture) {
  const { fit, stress, size, flat } = picture;
  return {
    rms_percent: fit.rms_percent,
    peak_mpa: stress.peak_mpa,
    allowable_mpa: stress.allowable_mpa,
    closing_force_n: flat.closing_force_n,
    solid_height_mm: flat.solid_height_mm,
    outer_diameter_mm: size.outer_diameter_mm,
    thickness_mm: size.thickness_mm,
    passed: picture.passed,
    good_percent: picture.parts?.good_percent ?? null,
    machine_seconds: picture.drawing?.cut.machine_seconds ?? null,
    arms: size.arms,
    free_height_mm: size.free_height_mm,
    width_mm: size.width_mm,
  };
}

/** Keeps the spring of a picture; its name, or none where the shelf is full. */
export function keep(picture, title) {
  const taken = new Set(state.kept.map((kept) => kept.name));
  const name = [...NAMES].find((letter) => !taken.has(letter));
  if (!name || state.kept.length >= MOST_KEPT) return null;
  state.kept.push({
    name,
    title: title ?? "as drawn",
    spring: picture.spring,
    curve: picture.drawn_curve,
    numbers: numbersOf(picture),
    asked: { curve: state.curve, brief: state.brief },
  });
  return name;
}

const ROWS = [
  ["Verdicts", (n) => (n.passed === undefined ? "–" : n.passed ? "✓ all yes" : "✗ some are no")],
  ["Good parts as bought", (n) => (n.good_percent == null ? "–" : `${figure(n.good_percent, 2)} %`)],
  ["On the machine", (n) => minutes(n.machine_seconds)],
  ["Curve error (rms)", (n) => `${figure(n.rms_percent, 3)} %`],
  ["Largest stress", (n) => withUnit(n.peak_mpa, "stress", 3)],
  ["Arms", (n) => String(n.arms)],
  ["Sheet", (n) => withUnit(n.thickness_mm, "length", 3)],
  ["Outside diameter", (n) => withUnit(n.outer_diameter_mm, "length", 3)],
  ["Travel to flat", (n) => withUnit(n.free_height_mm, "length", 3)],
  ["Solid height", (n) => withUnit(n.solid_height_mm, "length", 3)],
  ["Closing force", (n) => withUnit(n.closing_force_n, "force", 3)],
  ["Arm width", (n) => (n.width_mm[1] - n.width_mm[0] < 0.01
    ? withUnit(n.width_mm[0], "length", 3)
    : `${shown(n.width_mm[0], "length", 3)}–${withUnit(n.width_mm[1], "length", 3)}`)],
];

/** The kept springs beside the one on the page. */
export function drawKept(host, picture, hooks) {
  if (state.kept.length === 0 || !picture) {
    host.replaceChildren();
    return;
  }
  const columns = [{ name: "now", title: "on the page", numbers: numbersOf(picture) }, ...state.kept];
  const head = columns.map((column) => {
    const cell = make("th", { scope: "col" }, make("strong", { textContent: column.name }), make("br"), column.title);
    if (column.spring) {
      const back = make("button", { type: "button", textContent: "Back to it" });
      back.addEventListener("click", () => hooks.back(column));
      const away = make("button", { type: "button", textContent: "×" });
      away.setAttribute("aria-label", `Take ${column.name} off`);
      away.addEventListener("click", () => hooks.away(column));
      cell.append(make("br"), back, " ", away);
    }
    return cell;
  });
  const body = ROWS.map(([words, value]) => make("tr", {}, make("th", { scope: "row", textContent: words }),
    ...columns.map((column) => make("td", { textContent: value(column.numbers) }))));
  const table = make("table", {}, make("thead", {}, make("tr", {}, make("td"), ...head)), make("tbody", {}, ...body));
  host.replaceChildren(make("div", { className: "scroll", tabIndex: 0 }, table));
}

/** The designs a search found, best first. */
export function drawDesigns(host, found, hooks) {
  if (!found) {
    host.replaceChildren();
    return;
  }
  const length = units.unit("length");
  const head = ["", "Arms", `Sheet (${length})`, `Outside (${length})`, `Travel (${length})`, "Verdicts", "Good parts", "Curve error", `Stress (${units.unit("stress")})`, ""];
  const rows = found.designs.map(({ merits, spring }, i) => {
    const show = make("button", { type: "button", textContent: "Show" });
    show.setAttribute("aria-label", `Show design ${i + 1}`);
    show.addEventListener("click", () => hooks.show(spring, i));
    const high = merits.allowable_mpa !== null && merits.peak_stress_mpa > merits.allowable_mpa;
    const cells = [String(merits.arms), shown(merits.thickness_mm, "length", 3), shown(merits.outer_diameter_mm, "length", 3),
      shown(merits.free_height_mm, "length", 3), merits.passed ? "✓ all yes" : `✗ ${merits.failing} not`, `${figure(merits.good_percent, 2)} %`, `${figure(merits.rms_percent, 3)} %`,
      `${shown(merits.peak_stress_mpa, "stress", 3)}${high ? " too high" : ""}`];
    return make("tr", {}, make("th", { scope: "row", textContent: i + 1 }), ...cells.map((text) => make("td", { textContent: text })), make("td", {}, show));
  });
  const table = make("table", {}, make("thead", {}, make("tr", {}, ...head.map((text) => (text ? make("th", { scope: "col", textContent: text }) : make("td"))))),
    make("tbody", {}, ...rows));
  const parts = [make("div", { className: "scroll", tabIndex: 0 }, table)];
  if (found.warnings.length) {
    const said = found.warnings.map((text) => make("li", { textContent: told(text) }));
    parts.push(make("details", {}, make("summary", { textContent: `What the search says of the first (${said.length})` }), make("ul", {}, ...said)));
  }
  host.replaceChildren(...parts);
}
