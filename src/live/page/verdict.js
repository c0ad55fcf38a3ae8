// Verdict on a spring: tiles, findings, cautions, reasons.

import { minutes } from "./wall.js";
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
  value === null ? "–" : KINDS[unit] ? withUnit(value, KINDS[unit], 3) : `${figure(value, 3)}${unit ? ` ${unit}` : ""}`;

/** A verdict: sign, name, the number that counts. */
function chip(name, verdict, quick) {
  const state = verdict.state;
  // a draft under the hand is judged roughly: nothing is promised before it is judged like the command does
  const open = quick && state === "yes";
  const badge = make("span", { className: "sign", textContent: open ? "…" : SIGNS[state] ?? "·" });
  badge.setAttribute("aria-hidden", "true");
  const said = open ? "yes so far" : state;
  return make("li", { className: `chip ${open ? "open" : LOOKS[state] ?? ""}`, title: told(verdict.reason) },
    badge, " ", make("span", { className: "what", textContent: label(name) }), make("span", { className: "unseen", textContent: `: ${said} ` }),
    make("span", { className: "much", textContent: quantity(verdict.value, verdict.unit) }));
}

const asked = (picture) => Object.entries(picture.verdicts).filter(([, verdict]) => verdict.state !== "not asked");
const label = (name) => name.replaceAll("_", " ");

export function drawVerdicts(host, failing, picture, quick) {
  const rows = asked(picture);
  const outcome = quick ? "Following your hand; evaluated when it rests." : sentence(picture.outcome);
  const reasons = rows.filter(([, { state }]) => state !== "yes").map(([name, { state, reason, remedy }]) =>
    make("p", {}, make("strong", { textContent: `${label(name)} ${state}: ` }), sentence(reason), " ", make("em", { textContent: remedy ? sentence(remedy) : "" })));
  host.replaceChildren(
    make("p", { className: `outcome ${quick ? "open" : picture.passed ? "good" : "bad"}`, textContent: outcome }),
    make("ul", { className: "chips" }, ...rows.map(([name, verdict]) => chip(name, verdict, quick))),
  );
  // words that take reading stay until there are others
  if (quick) return;
  failing.replaceChildren(...reasons);
  failing.hidden = reasons.length === 0;
}

/** Every verdict asked for with its reason, as the commands say it. */
export function drawReasons(host, picture) {
  host.replaceChildren(...asked(picture).map(([name, { state, reason, remedy }]) => make("li", { className: state === "yes" ? "" : "failed" },
    make("strong", { textContent: `${label(name)} ${state}` }), `: ${sentence(reason)} `, make("em", { textContent: remedy ? sentence(remedy) : "" }))));
}

/** Size, cutting, parts and setting, each in a line. */
export function drawFacts(host, picture, quick) {
  host.replaceChildren(...factsOf(picture, quick).flatMap(([name, words]) => [make("dt", { textContent: name }), make("dd", { textContent: told(words) })]));
}

/** The same in one paragraph. */
export function inShort(picture, quick) {
  return factsOf(picture, quick).map(([name, words]) => `${name}: ${told(words)}.`).join(" ");
}

function factsOf({ size, drawing, parts, setting }, quick) {
  return [
    ["Size", `Ø ${withUnit(size.outer_diameter_mm, "length", 3)}, sheet ${withUnit(size.thickness_mm, "length", 3)} ${size.material ?? ""}, ${size.arms} ${size.arms === 1 ? "arm" : "arms"}, set to ${withUnit(size.free_height_mm, "length", 3)}`],
    ["Cutting", drawing ? `${minutes(drawing.cut.machine_seconds)} on the machine, ${withUnit(drawing.cut.cut_length_mm, "length", 3)} of cut in ${drawing.cut.pierces} pierces` : "no drawing"],
    ["Good parts", parts ? `${figure(parts.good_percent, 2)} % as bought, ${figure(parts.good_percent_sheet_measured, 2)} % with the sheet measured` : quick ? "counted when your hand rests" : "could not be counted"],
    ["Setting", setting ? `${setting.way}${setting.former_height_mm === null ? "" : `, on a former ${withUnit(setting.former_height_mm, "length", 3)} high`}` : "no strength of the sheet is known"],
  ];
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
    parts.push(make("details", { open }, make("summary", { textContent: "Reasons and remedies" }), ...reasons));
  }
  host.replaceChildren(...parts);
  host.hidden = false;
}

const sentence = (text) => {
  const said = told(text);
  // the name of a disc stays as it is written
  const first = /^[\w-]+: /.test(said) ? said.charAt(0) : said.charAt(0).toUpperCase();
  return `${first}${said.slice(1)}${/[.!?]$/.test(said) ? "" : "."}`;
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
  return `${sentence(picture.outcome)} Curve ${figure(fit.rms_percent, 2)} percent error. ` +
    `Stress ${shown(stress.peak_mpa, "stress", 3)} ${units.unit("stress")}.`;
}
