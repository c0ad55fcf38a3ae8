// The page's state as a link, as a file and as what a reload brings back: written, and checked whole before it is shown.

import { asked, everything, putBack, state } from "./state.js";
import { post } from "./wire.js";

const LONGEST_LINK = 30000;
const MOST_NUMBERS = 100000;
const MOST_CHOICES = 64;
const MOST_KEPT = 26;
const MOST_DESIGNS = 32;
const MOST_LETTERS = 200;
const ORIGINS = ["drawn", "found", "kept", "brought"];

const toText = (bytes) => {
  let text = "";
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
};

const fromText = (text) => {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
};

/** Kept springs and designs without what can be computed again; a question that is the page's is left out. */
function lean({ kept, found }) {
  const own = JSON.stringify(asked());
  const question = (one) => (JSON.stringify(one) === own ? {} : { asked: one });
  return {
    kept: kept.map(({ name, title, spring, asked: one }) => ({ name, title, spring, ...question(one) })),
    found: found && { designs: found.designs.map(({ merits, spring }) => ({ merits, spring })), considered: found.considered, passed: found.passed, warnings: [], ...question(found.asked) },
  };
}

/** What comes after `#` in a link to this state, and what had to be left out of it; none where even the curve is too long. */
export function fragment(units) {
  const { curve, smooth, brief, spring, origin, kept, found } = state;
  const whole = { curve, smooth, brief, spring, origin, units };
  const tries = [[{ kept, found }, ""], [{ kept, found: null }, found ? "the designs of the search" : ""], [{ kept: [], found: null }, "the kept springs"]];
  for (const [springs, without] of tries) {
    const text = `#s=${toText(new TextEncoder().encode(JSON.stringify({ ...whole, ...lean(springs) })))}`;
    if (text.length <= LONGEST_LINK) return { text, without };
  }
  return null;
}

/** The state a link holds; none where it is no such link. What is invalid is thrown in words. */
export async function ofFragment(hash) {
  if (!hash.startsWith("#s=")) return null;
  return read("the link", () => new TextDecoder().decode(fromText(hash.slice(3))));
}

export function asFile(units) {
  const { curve, smooth, brief, spring, origin } = state;
  return `${JSON.stringify({ flatspire_page: 1, curve, smooth, brief, spring, origin, ...lean(state), units }, null, 1)}\n`;
}

/** The state a file holds; what is invalid is thrown in words. */
export async function ofFile(text, name) {
  return read(name, () => text, (whole) => {
    if (whole?.flatspire_page !== 1) throw new Error(`${name}: flatspire_page: expected 1, as "Save this page" writes it`);
  });
}

async function read(name, text, first = () => {}) {
  let whole;
  try {
    whole = JSON.parse(text());
  } catch {
    throw new Error(`${name}: is no saved page, or not all of it; expected one that was written by "Save this page" or "Copy a link"`);
  }
  first(whole);
  const wrong = faults(whole);
  if (wrong) throw new Error(`${name}: ${wrong}; save the page again or open a curve file`);
  const own = { curve: whole.curve, brief: whole.brief };
  const kept = (whole.kept ?? []).map(({ name: letter, title, spring, asked: one }) => ({ name: letter, title, spring, asked: one ?? own }));
  const found = whole.found ? { ...whole.found, asked: whole.found.asked ?? own } : null;
  const parts = [{ place: "the spring", asked: own, spring: whole.spring ?? null },
    ...kept.map((one) => ({ place: `kept spring ${one.name}`, asked: one.asked, spring: one.spring })),
    ...(found?.designs ?? []).map(({ spring }, k) => ({ place: `design ${k + 1}`, asked: found.asked, spring }))];
  try {
    await post("/check", { parts });
  } catch (error) {
    throw new Error(`${name}: ${error.message}`);
  }
  return { ...whole, kept, found };
}

const object = (value) => typeof value === "object" && value !== null && !Array.isArray(value);
const numbers = (list) => Array.isArray(list) && list.length <= MOST_NUMBERS && list.every(Number.isFinite);
const words = (text) => typeof text === "string" && text.length <= MOST_LETTERS;
const soundSpring = (spring) => object(spring) && ["sheet", "disc", "arm", "former"].every((part) => object(spring[part]));

/** The first place of a state that is invalid, in words. */
function faults(whole) {
  if (!object(whole)) return "expected curve and brief";
  const { kept = [], found = null, spring = null, origin = { kind: "drawn" }, units = "mm-n" } = whole;
  const wrong = faultsOfQuestion(whole, "") || faultsOfSmooth(whole);
  if (wrong) return wrong;
  if (spring !== null && !soundSpring(spring)) return "spring: expected a spring as in its file, or nothing";
  if (!object(origin) || !ORIGINS.includes(origin.kind) || !(origin.name === undefined || words(origin.name))) return `origin: expected one of ${ORIGINS.join(", ")}`;
  if (!["mm-n", "in-lbf"].includes(units)) return "units: expected mm-n or in-lbf";
  if (!Array.isArray(kept) || kept.length > MOST_KEPT) return `kept: expected a list of at most ${MOST_KEPT} springs`;
  for (const [k, one] of kept.entries()) {
    const place = `kept[${k}]`;
    if (!object(one) || !/^[A-Z]$/.test(one.name) || !words(one.title)) return `${place}: expected a name of one letter and a title`;
    if (kept.some((other, j) => j < k && other.name === one.name)) return `${place}.name: ${one.name} is there twice`;
    if (!soundSpring(one.spring)) return `${place}.spring: expected a spring as in its file`;
    const inside = one.asked === undefined ? "" : object(one.asked) ? faultsOfQuestion(one.asked, `${place}.asked.`) : `${place}.asked: expected curve and brief`;
    if (inside) return inside;
  }
  return found === null ? "" : faultsOfFound(found);
}

function faultsOfFound(found) {
  if (!object(found) || !Array.isArray(found.designs) || found.designs.length === 0 || found.designs.length > MOST_DESIGNS) return `found.designs: expected a list of 1 to ${MOST_DESIGNS} designs`;
  if (!Number.isFinite(found.considered) || typeof found.passed !== "boolean") return "found: expected how many were evaluated, and whether the first passed";
  if (!Array.isArray(found.warnings) || !found.warnings.every((text) => typeof text === "string")) return "found.warnings: expected sentences";
  for (const [k, design] of found.designs.entries()) {
    if (!object(design) || !soundSpring(design.spring)) return `found.designs[${k}].spring: expected a spring as in its file`;
    if (!object(design.merits) || !["good_percent", "outer_diameter_mm", "thickness_mm", "arms"].every((key) => Number.isFinite(design.merits[key]))) return `found.designs[${k}].merits: expected what it is compared by`;
  }
  if (found.asked === undefined) return "";
  return object(found.asked) ? faultsOfQuestion(found.asked, "found.asked.") : "found.asked: expected curve and brief";
}

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

function faultsOfSmooth({ smooth = null, curve }) {
  if (smooth === null) return "";
  const last = curve.deflection_mm.length - 1;
  const rising = Array.isArray(smooth) && smooth.every((i, k) => Number.isInteger(i) && i >= 0 && i <= last && (k === 0 || i > smooth[k - 1]));
  return rising && smooth.length > 1 && smooth[0] === 0 && smooth[smooth.length - 1] === last ? "" : "smooth: expected rising numbers of points, the first and the last among them";
}

/** Puts back what a reload or an earlier visit left; none where it is not whole. */
export function bringBack(text) {
  try {
    const whole = JSON.parse(text);
    if (faults(whole)) return null;
    if (!object(whole.starts) || !Number.isInteger(whole.newest)) return null;
    for (const one of Object.values(whole.starts)) {
      if (!object(one) || !object(one.asked) || faultsOfQuestion(one.asked, "") || !object(one.origin) || !(one.spring === null || soundSpring(one.spring))) return null;
    }
    const steps = (list) => (Array.isArray(list) ? list.filter((one) => typeof one === "string" && sound(JSON.parse(one))) : []);
    const own = { curve: whole.curve, brief: whole.brief };
    whole.kept = whole.kept.map(({ name, title, ...one }) => ({ name, title, ...card(one, own) }));
    if (whole.found) {
      const question = whole.found.asked ?? own;
      whole.found = { ...whole.found, asked: question, designs: whole.found.designs.map(({ merits, ...one }) => ({ merits, ...card(one, question) })) };
    }
    putBack(whole, [steps(whole.past), steps(whole.future)]);
    return whole;
  } catch {
    return null;
  }
}

/** A spring to compare; of what was computed only what is whole. */
function card({ spring, asked: one, small, curve, numbers: compared }, own) {
  const drawn = typeof small === "string" && /^[-MLZ\d. ]*$/.test(small) && object(curve) && numbers(curve.deflection_mm) && numbers(curve.force_n) && curve.force_n.length === curve.deflection_mm.length;
  const told = object(compared) && Array.isArray(compared.width_mm) && ["rms_percent", "peak_mpa", "outer_diameter_mm", "thickness_mm", "arms"].every((key) => Number.isFinite(compared[key]));
  return { spring, asked: one ?? own, ...(drawn && told ? { small, curve, numbers: compared } : {}) };
}

const sound = (step) => object(step) && !faultsOfQuestion(step, "") && !faultsOfSmooth(step) && Number.isInteger(step.start);

/** Everything as text, for a reload. */
export const leave = (more) => everything(more);
