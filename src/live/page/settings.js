// The brief as a form. What is left empty the program chooses.

import { changed, remember, state } from "./state.js";
import { shown, typed, units } from "./units.js";

// where in the brief, how it is typed, and in what words
const FIELDS = [
  {
    legend: "Sheet",
    rows: [
      { key: "sheet.material", kind: "sheet", label: "Sheet" },
      { key: "sheet.thickness", kind: "list", label: "Thicknesses to choose from", quantity: "length", empty: "all the stock offers" },
    ],
  },
  {
    legend: "Space",
    rows: [
      { key: "envelope.outer_diameter_max", kind: "number", label: "Largest outside diameter", quantity: "length", empty: "chosen" },
      { key: "envelope.bore_diameter_min", kind: "number", label: "Smallest bore", quantity: "length", empty: "no bore needed" },
      { key: "envelope.free_height_max", kind: "number", label: "Largest height above the sheet", quantity: "length", empty: "free" },
    ],
  },
  {
    legend: "Arms",
    rows: [
      { key: "arms.count", kind: "counts", label: "Arms to choose from" },
      { key: "arms.width_min", kind: "number", label: "Narrowest arm", quantity: "length", empty: "what cutting allows" },
    ],
  },
  {
    legend: "Cutting",
    rows: [
      { key: "process.kind", kind: "process", label: "Process" },
      { key: "process.kerf", kind: "number", label: "Kerf: width the cut takes away", quantity: "length", empty: "of the process" },
      { key: "process.slot", kind: "number", label: "Slot width", quantity: "length", empty: "of the process" },
      { key: "process.ends", kind: "choice", label: "Slot ends", options: [["round", "round"], ["keyhole", "keyhole"]], otherwise: "round" },
    ],
  },
  {
    legend: "Seat",
    rows: [
      { key: "seat.pressing", kind: "choice", label: "Pressed by", options: [["hub", "a pin on the hub"], ["plates", "a plate over the arms"]] },
      { key: "seat.hub", kind: "choice", label: "Hub", options: [["guided", "guided, stays level"], ["tilting", "free to tilt"]] },
      { key: "seat.rim", kind: "choice", label: "Rim", options: [["resting", "rests loose on the base"], ["held", "clamped flat"]] },
    ],
  },
  {
    legend: "More",
    folded: true,
    rows: [
      { key: "duty.installed", kind: "number", label: "Installed deflection, where the curve begins", quantity: "length", empty: "0" },
      { key: "duty.cycles", kind: "number", label: "Load cycles wanted", empty: "0: static", otherwise: 0 },
      { key: "duty.stroke_start", kind: "number", label: "Lower end of the working stroke", quantity: "length", empty: "0" },
      { key: "former.law", kind: "choice", label: "Set on", options: [["cone", "a straight cone"], ["profile", "a shaped profile"]] },
      { key: "former.ease", kind: "number", label: "Easing at the roots (arm widths)", empty: "chosen" },
      { key: "fit.tolerance_percent", kind: "number", label: "Curve counts as met within (% rms)", empty: "3" },
    ],
  },
];

let form;
let opening;
let said;
let number = 0;

export function settings(element, given, say) {
  form = element;
  opening = given;
  said = say;
  form.addEventListener("submit", (event) => event.preventDefault());
}

const make = (name, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...children);
  return element;
};

function read(key) {
  return key.split(".").reduce((place, part) => place?.[part], state.brief);
}

function write(key, value) {
  const [section, name] = key.split(".");
  const brief = structuredClone(state.brief);
  brief[section] ??= {};
  if (value === undefined) delete brief[section][name];
  else brief[section][name] = value;
  if (JSON.stringify(brief) === JSON.stringify(state.brief)) return;
  remember();
  state.brief = brief;
  changed({ settings: true });
}

/** Draws the form anew, from the brief. */
export function drawSettings() {
  if (form.contains(document.activeElement) && document.activeElement.matches("input[type=text]")) return;
  const focused = document.activeElement?.id;
  const folded = form.querySelector("details")?.open ?? false;
  number = 0;
  form.replaceChildren(...FIELDS.map(({ legend, rows, folded: fold }) => {
    const body = rows.map(row);
    if (fold) {
      const details = make("details", { open: folded }, make("summary", { textContent: legend }), ...body);
      return make("div", { className: "group" }, details);
    }
    return make("fieldset", { className: "group" }, make("legend", { textContent: legend }), ...body);
  }));
  if (focused) document.getElementById(focused)?.focus();
}

function row(field) {
  number += 1;
  const id = `setting-${number}`;
  if (field.kind === "counts") return counts(field, id);
  const unit = field.quantity ? units.unit(field.quantity) : "";
  const label = make("label", { htmlFor: id, textContent: unit ? `${field.label} (${unit})` : field.label });
  const input = field.kind === "number" || field.kind === "list" ? text(field, id) : select(field, id);
  const parts = [label, input];
  if (field.kind === "sheet") {
    const sheet = opening.sheets.find((other) => other.name === input.value);
    if (sheet) parts.push(make("p", { className: "hint", textContent: sheet.description }));
  }
  return make("div", { className: "field" }, ...parts);
}

function text(field, id) {
  const value = read(field.key);
  const list = value === undefined || value === field.otherwise ? [] : [value].flat();
  const input = make("input", {
    id,
    type: "text",
    inputMode: field.kind === "list" ? "text" : "decimal",
    value: list.map((one) => (field.quantity ? shown(one, field.quantity, 5) : String(one))).join("; "),
    placeholder: field.empty,
  });
  input.addEventListener("change", () => {
    const cells = field.kind === "list" ? input.value.split(/[;\s]+/).filter(Boolean) : [input.value.trim()].filter(Boolean);
    const values = cells.map((cell) => typed(cell, field.quantity));
    if (values.some((one) => !(one >= 0))) {
      input.setAttribute("aria-invalid", "true");
      said(field.kind === "list" ? "give numbers with a space or ; between them" : "give a number from zero up, or nothing");
      return;
    }
    input.removeAttribute("aria-invalid");
    if (values.length === 0) write(field.key, field.otherwise);
    else write(field.key, field.kind === "list" ? values : values[0]);
  });
  return input;
}

function select(field, id) {
  let options = field.options;
  let value = read(field.key) ?? field.otherwise;
  if (field.kind === "sheet") {
    options = opening.sheets.map((sheet) => [sheet.name, sheet.name]);
    value ??= "1.4310+C1300";
  }
  if (field.kind === "process") {
    options = [...opening.processes.map((process) => [process.name, process.description]), ["custom", "another one: give kerf and slot"]];
  }
  const input = make("select", { id }, ...options.map(([name, words]) => make("option", { value: name, textContent: words })));
  input.value = value;
  input.addEventListener("change", () => write(field.key, input.value));
  return input;
}

function counts(field, id) {
  const chosen = read(field.key) ?? [1, 2, 3, 4];
  const set = make("div", { className: "field" }, make("span", { id, textContent: field.label }));
  const group = make("div", { className: "choices" });
  group.setAttribute("role", "group");
  group.setAttribute("aria-labelledby", id);
  for (let count = 1; count <= 6; count += 1) {
    const box = make("input", { type: "checkbox", id: `${id}-${count}`, checked: chosen.includes(count) });
    box.addEventListener("change", () => {
      const now = new Set(read(field.key) ?? [1, 2, 3, 4]);
      if (box.checked) now.add(count);
      else now.delete(count);
      if (now.size === 0) {
        box.checked = true;
        said("at least one number of arms has to be allowed");
        return;
      }
      write(field.key, [...now].sort((a, b) => a - b));
    });
    group.append(make("label", {}, box, ` ${count}`));
  }
  set.append(group);
  return set;
}
