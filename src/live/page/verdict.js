// What is said of a spring: tiles, findings, cautions, reasons.

import { figure, shown, told, units, withUnit } from "./units.js";

const make = (name, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...children);
  return element;
};

const KINDS = { mm: "length", N: "force", MPa: "stress" };
const SIGNS = { yes: "✓", no: "✗", "not judged": "?" };
const LOOKS = { yes: "good", no: "bad", "not judged": "bad" };

const quantity = (value, unit) =>
  value === null ? "–" : KINDS[unit] ? withUnit(value, KINDS[unit], 3) : `${figure(value)}${unit ? ` ${unit}` : ""}`;

/** A tile: name and state, the number that counts, the reason. */
function tile(state, name, value, reason) {
  const badge = make("span", { className: "sign", textContent: SIGNS[state] ?? "·" });
  badge.setAttribute("aria-hidden", "true");
  return make("div", { className: `tile ${LOOKS[state] ?? ""}` },
    make("p", { className: "what" }, badge, ` ${name}`, make("span", { className: "unseen", textContent: state ? `: ${state}` : "" })),
    make("p", { className: "much", textContent: value }),
    make("p", { className: "against", textContent: told(reason) }));
}

const asked = (picture) => Object.entries(picture.verdicts).filter(([, verdict]) => verdict.state !== "not asked");
const label = (name) => name.replaceAll("_", " ");

export function drawVerdicts(host, picture) {
  const { size } = picture;
  host.replaceChildren(
    ...asked(picture).map(([name, { state, value, unit, reason }]) => tile(state, label(name), quantity(value, unit), reason)),
    tile("", "size", `Ø ${withUnit(size.outer_diameter_mm, "length", 3)}`, `sheet ${withUnit(size.thickness_mm, "length", 3)}, ${size.arms} ${size.arms === 1 ? "arm" : "arms"}, set to ${withUnit(size.free_height_mm, "length", 3)}`),
  );
}

export function drawReach(host, picture) {
  const { reachable, findings } = picture.reach;
  const { fit } = picture;
  if (reachable && fit.reason === "" && findings.length === 0) {
    host.hidden = true;
    return;
  }
  const parts = [];
  if (!reachable) {
    parts.push(make("p", {}, make("strong", { textContent: "No spring of this kind can follow this curve. " }),
      "The dashed line is the nearest one that can be followed; what is filled with amber is out of reach."));
  } else if (fit.reason) {
    parts.push(make("p", {}, make("strong", { textContent: "This spring does not get there. " }), `${sentence(fit.reason)}`));
  }
  const reasons = findings.map((finding) => {
    const where = `From ${shown(finding.from_deflection, "length", 3)} to ${withUnit(finding.to_deflection, "length", 3)}: `;
    return make("p", {}, where, `${told(finding.reason)}. `, make("em", { textContent: `${sentence(finding.remedy)}` }));
  });
  if (reasons.length) {
    // who has opened it keeps it open while the curve moves
    const open = host.querySelector("details")?.open ?? false;
    parts.push(make("details", { open }, make("summary", { textContent: "Why, and what would help" }), ...reasons));
  }
  host.replaceChildren(...parts);
  host.hidden = false;
}

const sentence = (text) => {
  const said = told(text);
  return `${said.charAt(0).toUpperCase()}${said.slice(1)}${/[.!?]$/.test(said) ? "" : "."}`;
};

export function drawFindings(host, picture) {
  const items = picture.findings.map((finding) => {
    const number = (value) => quantity(value, finding.unit);
    const value = finding.value === null ? "" : `: ${number(finding.value)}`;
    const limit = finding.limit === null ? "" : `, limit ${number(finding.limit)}`;
    const words = { failed: "fails", warning: "mind", remark: "note" }[finding.severity];
    return make("li", { className: finding.severity },
      make("strong", { textContent: `${words}, ${finding.check}` }), ` ${told(finding.place)}${value}${limit}. ${sentence(finding.rule)} `,
      make("em", { textContent: sentence(finding.remedy) }));
  });
  host.replaceChildren(...(items.length ? items : [make("li", { textContent: "No findings." })]));
}

export function drawCautions(host, picture) {
  host.replaceChildren(...picture.cautions.map((caution) => make("li", { textContent: told(caution) })));
}

/** The spring in one sentence, for who listens. */
export function spokenVerdict(picture) {
  const { fit, stress } = picture;
  return `${sentence(picture.outcome)} Curve ${figure(fit.rms_percent, 2)} percent off. ` +
    `Stress ${shown(stress.peak_mpa, "stress", 3)} ${units.unit("stress")}.`;
}
