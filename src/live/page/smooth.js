// A smooth line through few handles: quadratic pieces that rise where the handles rise and bend where they bend.
//
// Schumaker, "On shape preserving quadratic spline interpolation", SIAM J. Numer. Anal. 20 (1983) 854-864; the choice of
// the extra knot and the limit on the slopes (no more than twice the flatter neighbour) are common practice.

export const between = (a, b, share) => (a === undefined || b === undefined ? undefined : a + (b - a) * share);

const fine = (value) => Number(value.toPrecision(9));

/** Slopes at the knots: between those of the neighbouring chords, so that no bend is added. */
function slopes(xs, fs) {
  const chord = xs.slice(1).map((x, i) => (fs[i + 1] - fs[i]) / (x - xs[i]));
  const last = chord.length - 1;
  const inner = chord.slice(1).map((after, k) => {
    const before = chord[k];
    if (before * after <= 0) return 0;
    const [h, g] = [xs[k + 1] - xs[k], xs[k + 2] - xs[k + 1]];
    const mean = (g * before + h * after) / (h + g);
    const most = 2 * Math.min(Math.abs(before), Math.abs(after));
    return Math.sign(mean) * Math.min(Math.abs(mean), most);
  });
  const end = (own, beside) => (own * (2 * own - beside) > 0 ? 2 * own - beside : 0);
  if (!inner.length) return [chord[0], chord[0]];
  return [end(chord[0], inner[0]), ...inner, end(chord[last], inner[inner.length - 1])];
}

/** The line through knots, as a function of the deflection between the first and the last. */
export function lineThrough(xs, fs) {
  const slope = slopes(xs, fs);
  return (x) => {
    let i = 0;
    while (i + 2 < xs.length && x > xs[i + 1]) i += 1;
    const [a, b, ma, mb] = [xs[i], xs[i + 1], slope[i], slope[i + 1]];
    const h = b - a;
    const chord = (fs[i + 1] - fs[i]) / h;
    // the extra knot, where both pieces meet with one slope
    let knot = a + h / 2;
    if ((ma - chord) * (mb - chord) < 0) {
      const [off, other] = [Math.abs(mb - chord), Math.abs(ma - chord)];
      if (off < other) knot = a + (h * (mb - chord)) / (mb - ma);
      else if (off > other) knot = b + (h * (ma - chord)) / (mb - ma);
    }
    const middle = (2 * chord * h - ma * (knot - a) - mb * (b - knot)) / h;
    if (x <= knot) {
      const t = x - a;
      return fs[i] + ma * t + ((middle - ma) * t * t) / (2 * (knot - a));
    }
    const t = x - knot;
    const there = fs[i] + ((ma + middle) / 2) * (knot - a);
    return there + middle * t + ((mb - middle) * t * t) / (2 * (b - knot));
  };
}

/** Sets the points that follow evenly between their handles, on the smooth line through all handles. */
export function follow(list) {
  const held = list.filter((p) => p.held);
  if (held.length === list.length) return;
  const xs = held.map((p) => p.x);
  const line = Object.fromEntries(["f", "least", "most"].flatMap((name) =>
    (held.every((p) => p[name] !== undefined) ? [[name, lineThrough(xs, held.map((p) => p[name]))]] : [])));
  let from = 0;
  list.forEach((point, i) => {
    if (!point.held || i === from) return;
    const [a, b] = [list[from].x, point.x];
    for (let k = from + 1; k < i; k += 1) {
      const x = fine(a + ((b - a) * (k - from)) / (i - from));
      list[k] = { x, held: false };
      for (const [name, at] of Object.entries(line)) list[k][name] = fine(Math.max(0, at(x)));
    }
    from = i;
  });
}

/**
 * Few handles for a stroke: samples in dots, in order of their deflection. Starts with its two ends and takes the sample
 * that is farthest off until none is farther than `near`, or there are `most`.
 */
export function handlesOf(samples, { near, apart, most }) {
  const chosen = [0, samples.length - 1];
  while (chosen.length < most) {
    const line = lineThrough(chosen.map((i) => samples[i][0]), chosen.map((i) => samples[i][1]));
    let worst = -1;
    let off = near;
    samples.forEach(([x, y], i) => {
      if (chosen.some((k) => Math.abs(samples[k][0] - x) < apart)) return;
      const distance = Math.abs(line(x) - y);
      if (distance > off) [worst, off] = [i, distance];
    });
    if (worst < 0) break;
    chosen.push(worst);
    chosen.sort((a, b) => a - b);
  }
  return chosen.map((i) => samples[i]);
}

/** A stroke as one height for each dot of its width, smoothed over `reach` dots to both sides; ends stay. */
export function evened(stroke, reach) {
  const sums = new Map();
  for (let k = 1; k < stroke.length; k += 1) {
    // a quick hand leaves gaps between its dots
    const [[ax, ay], [bx, by]] = [stroke[k - 1], stroke[k]];
    const steps = Math.max(1, Math.ceil(Math.abs(bx - ax)));
    for (let s = k === 1 ? 0 : 1; s <= steps; s += 1) {
      const x = Math.round(ax + ((bx - ax) * s) / steps);
      const at = sums.get(x) ?? [0, 0];
      sums.set(x, [at[0] + ay + ((by - ay) * s) / steps, at[1] + 1]);
    }
  }
  const heights = [...sums].map(([x, [sum, count]]) => [x, sum / count]).sort((a, b) => a[0] - b[0]);
  return heights.map(([x, y], i) => {
    const r = Math.min(reach, i, heights.length - 1 - i);
    if (r === 0) return [x, y];
    const near = heights.slice(i - r, i + r + 1);
    return [x, near.reduce((sum, other) => sum + other[1], 0) / near.length];
  });
}
