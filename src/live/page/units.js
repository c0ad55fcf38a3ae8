// Units of what is shown. Everything the program sends and gets is in mm, N and MPa.

const INCH = 25.4; // mm, exact
const POUND = 4.4482216152605; // N, exact

const SHOWN = {
  "mm-n": { length: ["mm", 1], force: ["N", 1], stress: ["MPa", 1], rate: ["N/mm", 1] },
  "in-lbf": {
    length: ["in", 1 / INCH],
    force: ["lbf", 1 / POUND],
    stress: ["ksi", (INCH * INCH) / POUND / 1000],
    rate: ["lbf/in", INCH / POUND],
  },
};

let chosen = "mm-n";

export const units = {
  get name() {
    return chosen;
  },
  set name(name) {
    if (SHOWN[name]) chosen = name;
  },
  unit: (quantity) => SHOWN[chosen][quantity][0],
  factor: (quantity) => SHOWN[chosen][quantity][1],
};

/** A plain number with about four figures. */
export function figure(value, most = 4) {
  if (!Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const places = Math.max(0, Math.min(4, most - 1 - Math.floor(Math.log10(Math.abs(value)))));
  return String(Number(value.toFixed(places)));
}

/** A value of the program's in shown units, without the unit. */
export function shown(value, quantity, most = 4) {
  return figure(value * units.factor(quantity), most);
}

/** The same with the unit. */
export function withUnit(value, quantity, most = 4) {
  return `${shown(value, quantity, most)} ${units.unit(quantity)}`;
}

const WRITTEN = { mm: "length", N: "force", MPa: "stress", "N/mm": "rate" };

/** A sentence of the program, written in mm, N and MPa, in shown units. */
export function told(sentence) {
  if (chosen === "mm-n") return sentence;
  const pair = /(?<![\w./-])(-?\d+(?:\.\d+)?)(?: (to|and|±) (-?\d+(?:\.\d+)?))?[ \u00a0](N\/mm|MPa|mm|N)(?![\w/²³·])/g;
  return sentence.replace(pair, (_, from, word, to, unit) => {
    const quantity = WRITTEN[unit];
    const numbers = [from, to].filter(Boolean).map((number) => shown(Number(number), quantity, 3));
    return `${numbers.join(` ${word} `)} ${units.unit(quantity)}`;
  });
}

/** What was typed in shown units, as the program wants it; NaN where it is no number. A decimal comma is a comma. */
export function typed(text, quantity) {
  const plain = text.trim().replace(",", ".");
  if (plain === "") return NaN;
  const value = Number(plain);
  const found = quantity ? value / units.factor(quantity) : value;
  // shown figures come back without the dust of the conversion
  return Number(found.toPrecision(9));
}
