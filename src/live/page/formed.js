// The formed spring as it is pressed, and its arm rolled out. Both are coloured by stress.

const SVG = "http://www.w3.org/2000/svg";
const TILT = (24 * Math.PI) / 180; // of the eye above the plane
const TALL = 2; // heights are drawn so much larger

let canvas;
let ribbonSvg;
let picture;

export function formed(element, ribbonHost) {
  canvas = element;
  ribbonSvg = document.createElementNS(SVG, "svg");
  ribbonSvg.setAttribute("role", "img");
  ribbonHost.append(ribbonSvg);
  new ResizeObserver(() => picture && drawPressed(last)).observe(canvas.parentElement);
}

let last = 0;

export function showForm(found) {
  picture = found;
}

const mix = (a, b, share) => a + (b - a) * share;

/** Everything at a deflection, between the positions that were computed. */
export function at(deflection) {
  const { motion } = picture;
  const xs = motion.deflection_mm;
  let after = xs.findIndex((x) => x >= deflection);
  if (after < 0) after = xs.length - 1;
  const before = Math.max(0, after - 1);
  const share = after === before ? 0 : (deflection - xs[before]) / (xs[after] - xs[before]);
  const list = (rows) => rows[before].map((value, i) => mix(value, rows[after][i], share));
  return {
    deflection,
    force: mix(motion.force_n[before], motion.force_n[after], share),
    seated: mix(motion.seated_share[before], motion.seated_share[after], share),
    height: list(motion.height_mm),
    stress: list(motion.stress_mpa),
    touches: motion.touches[share < 0.5 ? before : after],
  };
}

const STOPS = [
  [0, [176, 198, 196]],
  [0.5, [44, 128, 128]],
  [0.85, [214, 164, 46]],
  [1, [196, 66, 32]],
  [1.25, [120, 14, 20]],
];

/** Colour of a stress over the allowable. */
export function colour(share, shade = 1) {
  const x = Math.min(Math.max(share, 0), 1.25);
  const after = Math.max(1, STOPS.findIndex(([stop]) => stop >= x));
  const [[a, from], [b, to]] = [STOPS[after - 1], STOPS[after]];
  const k = (x - a) / (b - a);
  const part = (i) => Math.round(mix(from[i], to[i], k) * shade);
  return `rgb(${part(0)},${part(1)},${part(2)})`;
}

/** What full colour stands for (MPa). */
export const fullStress = () => picture.stress.allowable_mpa ?? Math.max(picture.stress.peak_mpa, 1);

export function drawPressed(deflection) {
  last = deflection;
  const state = at(deflection);
  drawForm(state);
  drawRibbon(state);
  return state;
}

function drawForm(state) {
  const { arm, size, spring } = picture;
  const ratio = Math.min(2, window.devicePixelRatio || 1);
  const width = canvas.clientWidth || 320;
  const height = Math.round(width * 0.78);
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
  }
  const pen = canvas.getContext("2d");
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.clearRect(0, 0, width, height);
  const outer = size.outer_diameter_mm / 2;
  const top = TALL * size.free_height_mm * Math.cos(TILT);
  const depth = 2 * outer * Math.sin(TILT);
  const scale = Math.min((width - 16) / (2 * outer), (height - 20) / (depth + top));
  const middle = [width / 2, height - 10 - (depth / 2) * scale];
  const project = (x, y, z) => [
    middle[0] + scale * x,
    middle[1] - scale * (y * Math.sin(TILT) + TALL * z * Math.cos(TILT)),
  ];
  const loop = (radius, z) => {
    for (let k = 0; k <= 72; k += 1) {
      const turn = (k / 72) * 2 * Math.PI;
      const [px, py] = project(radius * Math.cos(turn), radius * Math.sin(turn), z);
      if (k) pen.lineTo(px, py);
      else pen.moveTo(px, py);
    }
    pen.closePath();
  };
  const ring = (from, to, z, fill) => {
    pen.beginPath();
    loop(from, z);
    if (to > 0) loop(to, z);
    pen.fillStyle = fill;
    pen.fill("evenodd");
    pen.lineWidth = 0.8;
    pen.strokeStyle = "rgba(20,40,44,.55)";
    pen.stroke();
  };
  // the plate it stands on
  pen.beginPath();
  loop(outer * 1.02, 0);
  pen.fillStyle = "#e3dccb";
  pen.fill();
  ring(outer, spring.disc.arm_outer_diameter / 2 + spring.disc.slot / 2, 0, "#8fa5a6");
  const full = fullStress();
  const pieces = [];
  const nodes = arm.angle_rad.length;
  for (let k = 0; k < size.arms; k += 1) {
    const start = (2 * Math.PI * k) / size.arms;
    for (let i = 0; i + 1 < nodes; i += 1) {
      const corner = (node, side) => {
        const turn = start + arm.angle_rad[node];
        const r = arm.radius_mm[node] + (side * arm.width_mm[node]) / 2;
        return [r * Math.cos(turn), r * Math.sin(turn), state.height[node]];
      };
      const corners = [corner(i, -1), corner(i, 1), corner(i + 1, 1), corner(i + 1, -1)];
      const far = (corners[0][1] + corners[2][1]) / 2;
      const turn = start + arm.angle_rad[i];
      pieces.push({ corners, far, share: (state.stress[i] + state.stress[i + 1]) / 2 / full, shade: 0.93 + 0.07 * Math.sin(turn) });
    }
  }
  // what is far is drawn first
  pieces.sort((a, b) => b.far - a.far);
  for (const piece of pieces) {
    pen.beginPath();
    piece.corners.forEach((corner, k) => {
      const [px, py] = project(...corner);
      if (k) pen.lineTo(px, py);
      else pen.moveTo(px, py);
    });
    pen.closePath();
    pen.fillStyle = colour(piece.share, piece.shade);
    pen.fill();
    pen.lineWidth = 0.5;
    pen.strokeStyle = pen.fillStyle;
    pen.stroke();
  }
  const hub = state.height[nodes - 1];
  ring(spring.disc.arm_inner_diameter / 2 - spring.disc.slot / 2, size.bore_diameter_mm / 2, hub, "#6f8b8d");
}

function drawRibbon(state) {
  const { arm } = picture;
  const width = 640;
  const widest = Math.max(...arm.width_mm);
  const height = 86;
  const scale = 56 / widest;
  const x = (i) => 4 + arm.arc_share[i] * (width - 8);
  const parts = [];
  const full = fullStress();
  for (let i = 0; i + 1 < arm.arc_share.length; i += 1) {
    const [a, b] = [(arm.width_mm[i] * scale) / 2, (arm.width_mm[i + 1] * scale) / 2];
    const [l, r] = [x(i).toFixed(1), (x(i + 1) + 0.4).toFixed(1)];
    const box = `${l},${(height / 2 - a).toFixed(1)} ${r},${(height / 2 - b).toFixed(1)} ${r},${(height / 2 + b).toFixed(1)} ${l},${(height / 2 + a).toFixed(1)}`;
    const share = (state.stress[i] + state.stress[i + 1]) / 2 / full;
    parts.push(`<polygon points="${box}" fill="${colour(share)}"/>`);
    if (state.touches[i] !== "." && state.touches[i + 1] !== ".") {
      parts.push(`<polygon points="${box}" class="rests"/>`);
    }
  }
  ribbonSvg.setAttribute("viewBox", `0 0 ${width} ${height}`);
  ribbonSvg.innerHTML =
    `<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">` +
    `<rect width="1.6" height="6" fill="#1d2b2e"/></pattern></defs>${parts.join("")}`;
}

export function describeRibbon(words) {
  ribbonSvg.setAttribute("aria-label", words);
}
