// Springs to compare: designs of the last search and kept springs as small discs. A look shows one on the whole page, a
// click takes it.

import { asked, state } from "./state.js";
import { figure, shown, told, units, withUnit } from "./units.js";
import { post, working } from "./wire.js";

const make = (name, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...children);
  return element;
};

const SVG = "http://www.w3.org/2000/svg";
const NAMES = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const MOST_KEPT = NAMES.length;
const MOST_PICTURES = 40; // whole pictures at hand
const REST = 120; // ms between two looks at what is still to be computed
const DWELL = 90; // ms that a pointer stays on a card before its spring is shown

let host;
let hooks;
let looked = null; // the card that is looked at
let dwelling = 0;
let filling = 0;
/** Whole pictures by spring and question. */
const pictures = new Map();

export function wall(element, given) {
  host = element;
  hooks = given;
  host.addEventListener("pointerleave", leave);
  host.addEventListener("focusout", (event) => !host.contains(event.relatedTarget) && leave());
}

/** Time on the machine, from and to. */
export const minutes = (seconds) => (seconds ? `${figure(seconds[0] / 60, 2)} to ${figure(seconds[1] / 60, 2)} min` : "–");

/** Numbers by which a spring is compared. */
export function numbersOf(picture) {
  const { fit, stress, size, flat } = picture;
  const strength = picture.verdicts.strength;
  return {
    rms_percent: fit.rms_percent,
    peak_mpa: stress.peak_mpa,
    allowable_mpa: stress.allowable_mpa,
    // slot ends and rings are part of it, as in the search
    stress_use: strength?.limit ? strength.value / strength.limit : null,
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

/** The same of a design, as far as its search tells. */
function numbersOfMerits(merits) {
  const { cut_seconds_least: least, cut_seconds: most } = merits;
  return { ...merits, peak_mpa: merits.peak_stress_mpa, machine_seconds: least && most ? [least, most] : null };
}

const key = (one) => JSON.stringify([one.spring, one.asked]);

/** Takes the numbers of a picture over; a draft's stand until the spring is judged as the commands judge it. */
function remember(one, picture, draft = false) {
  if (!draft) {
    pictures.set(key(one), picture);
    if (pictures.size > MOST_PICTURES) pictures.delete(pictures.keys().next().value);
  }
  one.draft = draft;
  one.small = picture.small;
  one.curve = picture.drawn_curve;
  one.numbers = numbersOf(picture);
}

/** Keeps the spring of a picture, a draft or one that is judged; its name, or none where there is no room. */
export function keep(picture, title, draft = false) {
  const taken = new Set(state.kept.map((kept) => kept.name));
  const name = [...NAMES].find((letter) => !taken.has(letter));
  if (!name || state.kept.length >= MOST_KEPT) return null;
  const one = { name, title: title ?? "as drawn", spring: picture.spring, asked: structuredClone(asked()) };
  remember(one, picture, draft);
  state.kept.push(one);
  return name;
}

/** All cards: designs first. */
function cards() {
  const found = (state.found?.designs ?? []).map((design, k) => {
    design.asked ??= state.found.asked;
    design.numbers ??= numbersOfMerits(design.merits);
    return { one: design, id: `design-${k + 1}`, title: `Design ${k + 1}`, place: k + 1, kind: "found" };
  });
  return [...found, ...state.kept.map((one) => ({ one, id: `kept-${one.name}`, title: `${one.name}, ${one.title}`, kind: "kept" }))];
}

function drawn(name, attributes) {
  const element = document.createElementNS(SVG, name);
  for (const [attribute, value] of Object.entries(attributes)) element.setAttribute(attribute, value);
  return element;
}

/** Disc and curve of a card. */
function pictureOf({ small, curve, numbers, asked: question }) {
  const svg = drawn("svg", { viewBox: "0 0 132 64", "aria-hidden": "true" });
  if (small) {
    const half = numbers.outer_diameter_mm / 2 + 1;
    const disc = svg.appendChild(drawn("svg", { x: 0, y: 0, width: 64, height: 64, viewBox: `${-half} ${-half} ${2 * half} ${2 * half}` }));
    disc.append(drawn("path", { class: "sheet", "fill-rule": "evenodd", d: small }));
  } else {
    svg.append(drawn("circle", { class: "coming", cx: 32, cy: 32, r: 28 }));
  }
  const { deflection_mm: xs, force_n: fs } = question.curve;
  const [wide, high] = [Math.max(...xs), 1.1 * Math.max(...fs)];
  const points = (list) => list.deflection_mm.map((x, i) => [72 + (58 * x) / wide, 58 - (54 * list.force_n[i]) / high])
    .filter(([x, y]) => x >= 71 && x <= 132 && y >= 2).map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
  svg.append(drawn("path", { class: "axes", d: "M72 4V58H131" }), drawn("polyline", { class: "wanted", points: points(question.curve) }));
  if (curve) svg.append(drawn("polyline", { class: "given", points: points(curve) }));
  return svg;
}

function linesOf({ numbers: n, fault, draft }) {
  if (fault) return ["cannot be shown", ""];
  if (!n) return ["computed when your hand rests", ""];
  const use = n.stress_use ?? (n.allowable_mpa ? n.peak_mpa / n.allowable_mpa : null);
  const time = n.machine_seconds ? `${figure(n.machine_seconds[1] / 60, 2)} min` : "–";
  // stress and verdicts of a draft are rough: they are shown once the spring is judged
  if (draft) return ["a draft, judged when your hand rests", `Ø ${shown(n.outer_diameter_mm, "length", 3)} × ${withUnit(n.thickness_mm, "length", 3)}`];
  return [
    `${n.good_percent === null ? "–" : `${figure(n.good_percent, 2)} %`} good, ${use === null ? "stress –" : `${figure(100 * use, 2)} % stress`}`,
    `Ø ${shown(n.outer_diameter_mm, "length", 3)} × ${withUnit(n.thickness_mm, "length", 3)}, ${time}`,
  ];
}

/** Draws the wall anew. */
export function drawWall() {
  const all = cards();
  const focused = document.activeElement?.closest?.("[data-card]")?.dataset.card;
  host.replaceChildren(...all.map((card) => {
    const { one, id, title } = card;
    const lines = linesOf(one);
    const sign = one.draft || one.numbers?.passed === undefined ? "" : one.numbers.passed ? "✓" : "✗";
    const mark = make("span", { className: `sign ${sign === "✓" ? "yes" : "no"}`, textContent: sign });
    mark.setAttribute("aria-hidden", "true");
    const judged = sign === "✓" ? ": every verdict is yes. " : sign ? ": not every verdict is yes. " : ": not judged yet. ";
    const take = make("button", { type: "button", className: "card-take" },
      make("span", { className: "card-name" }, mark, make("span", { className: "unseen", textContent: "Take " }), ` ${title}`, make("span", { className: "unseen", textContent: judged })),
      pictureOf({ ...one, numbers: one.numbers ?? { outer_diameter_mm: 1 } }), ...lines.map((text) => make("span", { className: "card-line", textContent: text })));
    take.dataset.card = id;
    if (one.fault) take.title = one.fault;
    take.addEventListener("click", () => {
      leave();
      hooks.take(card);
    });
    take.addEventListener("pointerenter", (event) => event.pointerType !== "touch" && dwell(card));
    take.addEventListener("focus", () => take.matches(":focus-visible") && dwell(card));
    const item = make("li", {}, take);
    if (card.kind === "kept") {
      const away = make("button", { type: "button", className: "card-away", textContent: "×" });
      away.setAttribute("aria-label", `Take ${one.name} off`);
      away.addEventListener("click", () => {
        leave();
        hooks.away(one);
      });
      item.append(away);
    }
    return item;
  }));
  if (focused) host.querySelector(`[data-card="${focused}"]`)?.focus({ preventScroll: true });
  host.parentElement.classList.toggle("bare", all.length === 0);
  fillSoon();
}

/** Looks at a card after a moment: its spring is shown on the whole page. */
function dwell(card) {
  clearTimeout(dwelling);
  dwelling = setTimeout(async () => {
    looked = card.id;
    const picture = await pictureFor(card.one);
    if (picture && looked === card.id) hooks.look(picture, card.title);
  }, DWELL);
}

function leave() {
  clearTimeout(dwelling);
  if (looked === null) return;
  looked = null;
  hooks.look(null);
}

/** The whole picture of a spring, as the commands judge it; none where it has none. */
async function pictureFor(one) {
  const known = pictures.get(key(one));
  if (known) return known;
  try {
    one.coming ??= post("/look", { asked: one.asked, spring: one.spring });
    const picture = await one.coming;
    remember(one, picture);
    return picture;
  } catch (error) {
    one.fault = error.message;
    return null;
  } finally {
    delete one.coming;
  }
}

/** Computes what cards still lack, one after the other, while nothing else is asked. */
function fillSoon() {
  clearTimeout(filling);
  const next = cards().find(({ one }) => (!one.small || !one.curve || one.draft) && !one.fault);
  if (!next) return;
  filling = setTimeout(async () => {
    if (working()) {
      fillSoon();
      return;
    }
    await pictureFor(next.one);
    drawWall();
    hooks.filled();
  }, REST);
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
  ["Solid height", (n) => (n.solid_height_mm === undefined ? "–" : withUnit(n.solid_height_mm, "length", 3))],
  ["Closing force", (n) => withUnit(n.closing_force_n, "force", 3)],
  ["Arm width", (n) => (!n.width_mm ? "–" : n.width_mm[1] - n.width_mm[0] < 0.01
    ? withUnit(n.width_mm[0], "length", 3)
    : `${shown(n.width_mm[0], "length", 3)}–${withUnit(n.width_mm[1], "length", 3)}`)],
];

/** Everything on the wall beside the spring on the page, in numbers. */
export function drawTableOf(element, picture) {
  const columns = [...(picture ? [{ title: "on the page", one: { numbers: numbersOf(picture) } }] : []), ...cards().filter(({ one }) => one.numbers && !one.draft)];
  const head = columns.map(({ title }) => make("th", { scope: "col", textContent: title }));
  const body = ROWS.map(([words, value]) => make("tr", {}, make("th", { scope: "row", textContent: words }),
    ...columns.map(({ one }) => make("td", { textContent: value(one.numbers) }))));
  const scroll = make("div", { className: "scroll", tabIndex: 0 }, make("table", {}, make("thead", {}, make("tr", {}, make("td"), ...head)), make("tbody", {}, ...body)));
  scroll.setAttribute("role", "region");
  scroll.setAttribute("aria-label", "Springs in numbers");
  const warnings = state.found?.warnings ?? [];
  const said = warnings.length ? [make("h3", { textContent: "From the search, of design 1" }), make("ul", {}, ...warnings.map((text) => make("li", { textContent: told(text) })))] : [];
  element.replaceChildren(scroll, ...said);
  element.dataset.units = units.name;
}
