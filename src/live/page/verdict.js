// What is said of a spring: tiles, findings, cautions, reasons.

import { figure, shown, units, withUnit } from "./units.js";

const make = (name, properties = {}, ...children) => {
  const element = Object.assign(document.createElement(name), properties);
  element.append(...children);
  return element;
};

/** A tile: verdict in a word, the number that matters, and what it is held against. */
function tile(passed, name, value, against) {
  const sign = passed === null ? "·" : passed ? "✓" : "✗";
  const word = passed === null ? "" : passed ? "yes" : "no";
  const badge = make("span", { className: "sign", textContent: sign });
  badge.setAttribute("aria-hidden", "true");
  const element = make("div", { className: `tile ${passed === null ? "" : passed ? "good" : "bad"}` },
    make("p", { className: "what" }, badge, ` ${name}`, make("span", { className: "unseen", textContent: word ? `: ${word}` : "" })),
    make("p", { className: "much", textContent: value }),
    make("p", { className: "against", textContent: against }));
  return element;
}

export function drawVerdicts(host, picture) {
  const { fit, flat, stress, size } = picture;
  const met = fit.reachable && fit.rms_percent <= fit.tolerance_percent;
  host.replaceChildren(
    tile(met, "Curve met", `${figure(fit.rms_percent, 2)} % off`, `rms, ${figure(fit.tolerance_percent)} % allowed; worst point ${figure(fit.max_percent, 2)} %`),
    tile(flat.closes, "Closes flat", `to ${withUnit(flat.solid_height_mm, "length", 3)}`, `${withUnit(flat.closing_force_n, "force", 3)} close it to the last 1 %`),
    tile(stress.ok, "Stress held", withUnit(stress.peak_mpa, "stress", 3), stress.allowable_mpa === null ? "no strength known, not judged" : `largest stress; ${withUnit(stress.allowable_mpa, "stress", 3)} allowed`),
    tile(null, "Size", `Ø ${withUnit(size.outer_diameter_mm, "length", 3)}`, `sheet ${withUnit(size.thickness_mm, "length", 3)}, ${size.arms} ${size.arms === 1 ? "arm" : "arms"}, set to ${withUnit(size.free_height_mm, "length", 3)}`),
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
    return make("p", {}, where, `${finding.reason}. `, make("em", { textContent: `${sentence(finding.remedy)}` }));
  });
  if (reasons.length) {
    // who has opened it keeps it open while the curve moves
    const open = host.querySelector("details")?.open ?? false;
    parts.push(make("details", { open }, make("summary", { textContent: "Why, and what would help" }), ...reasons));
  }
  host.replaceChildren(...parts);
  host.hidden = false;
}

const sentence = (text) => `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? "" : "."}`;

export function drawFindings(host, picture) {
  const items = picture.findings.map((finding) => {
    const number = (value) => (value === null ? "" : `${figure(value)}${finding.unit ? ` ${finding.unit}` : ""}`);
    const value = finding.value === null ? "" : `: ${number(finding.value)}`;
    const limit = finding.limit === null ? "" : ` against ${number(finding.limit)}`;
    const words = { failed: "fails", warning: "mind", remark: "note" }[finding.severity];
    return make("li", { className: finding.severity },
      make("strong", { textContent: `${words}, ${finding.check}` }), ` ${finding.place}${value}${limit}. ${sentence(finding.rule)} `,
      make("em", { textContent: sentence(finding.remedy) }));
  });
  host.replaceChildren(...(items.length ? items : [make("li", { textContent: "Nothing: every check passed without a remark." })]));
}

export function drawCautions(host, picture) {
  host.replaceChildren(...picture.cautions.map((caution) => make("li", { textContent: caution })));
}

/** The spring in one sentence, for who listens. */
export function spokenVerdict(picture) {
  const { fit, flat, stress } = picture;
  const met = fit.reachable && fit.rms_percent <= fit.tolerance_percent;
  return `Curve ${met ? "met" : "not met"}, ${figure(fit.rms_percent, 2)} percent off. ${flat.closes ? "Closes flat" : "Does not close flat"}. ` +
    `Stress ${shown(stress.peak_mpa, "stress", 3)} ${units.unit("stress")}${stress.ok === false ? ", too high" : ""}.`;
}
