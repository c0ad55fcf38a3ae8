// The formed spring, its scale of stress, and one arm rolled out.

import { Solid, drawStressScale, fullStress, pressedArm, stressColour } from "./solid.js";
import { shown, units } from "./units.js";

const SVG = "http://www.w3.org/2000/svg";

let solid;
let ribbonSvg;
let scaleHost;
let picture;

function drawing(host) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("role", "img");
  host.append(svg);
  return svg;
}

export function formed(canvas, ribbonHost, scale, hooks) {
  solid = new Solid(canvas, hooks);
  ribbonSvg = drawing(ribbonHost);
  scaleHost = scale;
  return solid;
}

export function showForm(found) {
  picture = found;
  solid.show(found);
  const known = found.stress.allowable_mpa !== null;
  drawStressScale(scaleHost, fullStress(found), (value) => shown(value, "stress", 3), `${units.unit("stress")} ${known ? "allowed" : "peak"}`);
}

const colour = (share) => `rgb(${stressColour(share).map(Math.round).join(",")})`;

/** Presses to a deflection; everything that is so there. */
export function drawPressed(deflection) {
  solid.press(deflection);
  const state = pressedArm(picture, deflection);
  drawRibbon(state);
  return state;
}

function drawRibbon(state) {
  const { arm } = picture;
  const width = 640;
  const widest = Math.max(...arm.width_mm);
  const height = 64;
  const scale = 48 / widest;
  const x = (share) => 4 + share * (width - 8);
  const last = arm.arc_share.length - 1;
  const half = (share) => {
    let i = arm.arc_share.findIndex((arc) => arc > share);
    if (i < 0) i = last;
    const k = (share - arm.arc_share[i - 1]) / (arm.arc_share[i] - arm.arc_share[i - 1]);
    return (scale / 2) * (arm.width_mm[i - 1] + k * (arm.width_mm[i] - arm.width_mm[i - 1]));
  };
  const parts = [];
  const full = fullStress(picture);
  for (let i = 0; i < last; i += 1) {
    const [a, b] = [(arm.width_mm[i] * scale) / 2, (arm.width_mm[i + 1] * scale) / 2];
    const [l, r] = [x(arm.arc_share[i]).toFixed(1), (x(arm.arc_share[i + 1]) + 0.9).toFixed(1)];
    const box = `${l},${(height / 2 - a).toFixed(1)} ${r},${(height / 2 - b).toFixed(1)} ${r},${(height / 2 + b).toFixed(1)} ${l},${(height / 2 + a).toFixed(1)}`;
    parts.push(`<polygon points="${box}" fill="${colour((state.stress[i] + state.stress[i + 1]) / 2 / full)}"/>`);
  }
  for (const [from, to] of state.rests) {
    const knots = [from, ...arm.arc_share.filter((arc) => arc > from && arc < to), to];
    const edge = (side) => knots.map((share) => `${x(share).toFixed(1)},${(height / 2 + side * half(Math.min(share, 1 - 1e-9))).toFixed(1)}`);
    parts.push(`<polygon points="${edge(-1).join(" ")} ${edge(1).reverse().join(" ")}" class="rests"/>`);
  }
  ribbonSvg.setAttribute("viewBox", `0 0 ${width} ${height}`);
  ribbonSvg.innerHTML =
    `<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">` +
    `<rect width="2" height="6" class="ink"/></pattern></defs>${parts.join("")}`;
}

export function describeRibbon(words) {
  ribbonSvg.setAttribute("aria-label", words);
}
