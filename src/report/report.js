"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const byId = (id) => document.getElementById(id);
  const SVG = "http://www.w3.org/2000/svg";
  const BLUE = "#005296";

  // ---- numbers
  const figures = (value) => {
    const size = Math.abs(value);
    const decimals = size >= 999.95 ? 0 : size >= 99.995 ? 1 : size >= 9.9995 ? 2 : 3;
    return value.toFixed(decimals).replace("-", "−");
  };
  const withUnit = (value, unit) => (unit ? figures(value) + "\u00a0" + unit : figures(value));
  // place of a value in an increasing list, with the share of the way to the next
  const place = (list, value) => {
    let low = 0;
    let high = list.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (list[middle] <= value) low = middle;
      else high = middle;
    }
    const span = list[high] - list[low];
    return [low, span > 0 ? Math.min(1, Math.max(0, (value - list[low]) / span)) : 0];
  };
  const along = (list, [i, share]) => list[i] + share * ((list[i + 1] ?? list[i]) - list[i]);
  const value = (x, y, at) => along(y, place(x, at));
  const mixed = (a, b, share) => a.map((v, i) => v + share * (b[i] - v));
  const at = (list, node) => {
    const i = Math.min(Math.max(Math.floor(node), 0), list.length - 2);
    return list[i] + (node - i) * (list[i + 1] - list[i]);
  };

  // ---- the arm's shape at a deflection
  const shapeAt = (x) => {
    const [i, share] = place(data.shapes.map((shape) => shape.x), x);
    const [a, b] = [data.shapes[i], data.shapes[i + 1] ?? data.shapes[i]];
    return {
      height: mixed(a.height, b.height, share),
      slope: mixed(a.slope, b.slope, share),
      stress: mixed(a.stress, b.stress, share),
      seated: share < 0.5 ? a.seated : b.seated,
    };
  };
  const lies = (shape, node) => shape.seated[Math.round(node)] === "1";

  // ---- pictures made of elements
  const element = (name, attributes, parent) => {
    const made = document.createElementNS(SVG, name);
    for (const [key, worth] of Object.entries(attributes)) made.setAttribute(key, worth);
    if (parent) parent.append(made);
    return made;
  };

  // ---- charts: readings under the pointer, the travel as a mark
  const charts = [];
  for (const figure of document.querySelectorAll("figure[data-chart]")) {
    const chart = data.charts[figure.dataset.chart];
    const svg = figure.querySelector("svg");
    if (!chart || !svg) continue;
    const [left, top, right, bottom] = chart.field;
    const toPage = (x, y) => [
      left + ((x - chart.x[0]) / (chart.x[1] - chart.x[0])) * (right - left),
      bottom - ((y - chart.y[0]) / (chart.y[1] - chart.y[0])) * (bottom - top),
    ];
    const now = element("g", { class: "now", "pointer-events": "none" }, svg);
    const cross = element("line", { stroke: "#1d2026", "stroke-width": 1, "stroke-dasharray": "2 3", visibility: "hidden" }, svg);
    const dots = chart.lines.map(() => element("circle", { r: 3.6, fill: "#fff", stroke: "#1d2026", "stroke-width": 1.6, visibility: "hidden" }, svg));
    const tip = document.createElement("div");
    tip.className = "tip";
    tip.hidden = true;
    figure.append(tip);
    const show = (event) => {
      const box = svg.getBoundingClientRect();
      const scale = svg.viewBox.baseVal.width / box.width;
      const px = (event.clientX - box.left) * scale;
      const x = chart.x[0] + ((px - left) / (right - left)) * (chart.x[1] - chart.x[0]);
      const known = chart.lines.flatMap((line) => [line.x[0], line.x[line.x.length - 1]]);
      if (px < left - 8 || px > right + 8 || known.length === 0) return hide();
      const held = Math.min(Math.max(x, Math.min(...known)), Math.max(...known));
      const rows = [withUnit(held, chart.unit_x)];
      chart.lines.forEach((line, k) => {
        const reaches = held >= line.x[0] - 1e-9 && held <= line.x[line.x.length - 1] + 1e-9;
        dots[k].setAttribute("visibility", reaches ? "visible" : "hidden");
        if (!reaches) return;
        const y = value(line.x, line.y, held);
        const [cx, cy] = toPage(held, y);
        dots[k].setAttribute("cx", cx);
        dots[k].setAttribute("cy", cy);
        rows.push((line.name ? line.name + ": " : "") + withUnit(y, chart.unit_y));
      });
      const [cx] = toPage(held, chart.y[0]);
      for (const [key, worth] of Object.entries({ x1: cx, x2: cx, y1: top, y2: bottom, visibility: "visible" })) cross.setAttribute(key, worth);
      tip.replaceChildren(...rows.map((row) => {
        const line = document.createElement("p");
        line.textContent = row;
        return line;
      }));
      tip.hidden = false;
      const frame = figure.getBoundingClientRect();
      const x0 = box.left - frame.left + cx / scale;
      const wide = tip.offsetWidth;
      const free = x0 + 12 + wide < frame.width ? x0 + 12 : Math.max(0, x0 - 12 - wide);
      tip.style.left = free + "px";
      tip.style.top = box.top - frame.top + top / scale + 4 + "px";
    };
    const hide = () => {
      tip.hidden = true;
      for (const part of [cross, ...dots]) part.setAttribute("visibility", "hidden");
    };
    svg.addEventListener("pointermove", show);
    svg.addEventListener("pointerdown", show);
    svg.addEventListener("pointerleave", hide);
    charts.push({ name: figure.dataset.chart, chart, now, toPage, field: chart.field });
  }
  const markTravel = ({ chart, now, toPage, field: [left, top, right, bottom] }, x) => {
    const held = x;
    now.replaceChildren();
    if (held < chart.x[0] - 1e-9 || held > chart.x[1] + 1e-9) return;
    const [cx] = toPage(held, chart.y[0]);
    element("line", { x1: cx, x2: cx, y1: top, y2: bottom, stroke: BLUE, "stroke-width": 1.2, opacity: 0.7 }, now);
    const line = chart.lines[0];
    if (line && held <= line.x[line.x.length - 1] + 1e-9 && held >= line.x[0] - 1e-9) {
      const [, cy] = toPage(held, value(line.x, line.y, held));
      element("circle", { cx, cy, r: 5, fill: BLUE, stroke: "#fff", "stroke-width": 1.5 }, now);
    }
  };
  const markArm = ({ name, chart, now, toPage, field: [, top] }, shape) => {
    const list = { stress_along: shape.stress, height: shape.height.map((v) => v * data.shown_length) }[name];
    now.replaceChildren();
    if (!list) return;
    const path = data.arm.arc.map((arc, i) => toPage(arc, list[i]));
    const d = path.map(([x, y], i) => (i ? "L" : "M") + x.toFixed(1) + " " + Math.max(y, top).toFixed(1)).join("");
    element("path", { d, fill: "none", stroke: "#7a1fa2", "stroke-width": 1.8, "stroke-dasharray": "1 4" }, now);
    const text = element("text", { x: path[path.length >> 1][0], y: Math.max(path[path.length >> 1][1] - 7, top + 10), "font-size": 12, fill: "#7a1fa2", "text-anchor": "middle" }, now);
    text.textContent = "as pressed";
  };

  // ---- the blank: what lies on a plate
  const planSvg = document.querySelector("figure[data-chart=plan] svg");
  const planMarks = planSvg && data.plan ? element("g", { fill: "none", stroke: BLUE, "stroke-width": 3, opacity: 0.75 }, planSvg) : null;
  const markPlan = (shape) => {
    if (!planMarks) return;
    planMarks.replaceChildren();
    const { angle, radius, arms } = data.arm;
    for (let arm = 0; arm < arms; arm += 1) {
      let d = "";
      let pen = false;
      angle.forEach((turn, i) => {
        const lying = lies(shape, i) && (lies(shape, Math.max(i - 1, 0)) || lies(shape, Math.min(i + 1, angle.length - 1)));
        if (lying) {
          const azimuth = turn + (2 * Math.PI * arm) / arms;
          const x = data.plan.x + data.plan.scale * radius[i] * Math.cos(azimuth);
          const y = data.plan.y - data.plan.scale * radius[i] * Math.sin(azimuth);
          d += (pen ? "L" : "M") + x.toFixed(1) + " " + y.toFixed(1);
        }
        pen = lying;
      });
      if (d) element("path", { d }, planMarks);
    }
  };

  // ---- the section
  const sectionSvg = byId("section");
  const drawSection = (shape) => {
    const { radius, thickness, height, pieces, upper } = data.section;
    const [width, edge, deep] = [520, 12, 5];
    const scale = (width - 2 * edge) / (2 * radius);
    const base = edge + 14 + scale * (height + thickness);
    const [axis, half] = [0.5 * width, 0.5 * thickness];
    sectionSvg.setAttribute("viewBox", `0 0 ${width} ${(base + deep + edge).toFixed(1)}`);
    sectionSvg.replaceChildren();
    const plate = (y) => {
      element("rect", { x: edge, y: y - deep, width: width - 2 * edge, height: deep, fill: "#e2e0da" }, sectionSvg);
    };
    plate(base + deep);
    element("line", { x1: edge, x2: width - edge, y1: base, y2: base, stroke: "#282b32", "stroke-width": 0.8 }, sectionSvg);
    const top = base - scale * (shape.height[shape.height.length - 1] + thickness);
    if (upper) {
      plate(top);
      element("line", { x1: edge, x2: width - edge, y1: top, y2: top, stroke: "#282b32", "stroke-width": 0.8 }, sectionSvg);
    }
    for (const [centre, wide, node, isArm] of pieces) {
      const z = at(shape.height, node);
      const slope = isArm ? Math.sign(centre) * at(shape.slope, node) : 0;
      const corner = (u, v) => [axis + scale * (centre + u - v * slope), base - scale * (z + half + slope * u + v)];
      const points = [corner(-wide / 2, -half), corner(wide / 2, -half), corner(wide / 2, half), corner(-wide / 2, half)];
      const fill = isArm && lies(shape, node) ? "#6098ce" : "#b2bac4";
      element("polygon", { points: points.map((p) => p.map((v) => v.toFixed(1)).join(",")).join(" "), fill, stroke: "#282b32", "stroke-width": 0.8 }, sectionSvg);
    }
  };

  // ---- the body: cells are stored back to front, so painting them in order hides what is hidden
  const BODY = data.body;
  const colour = (base, brightness) => {
    const step = Math.round(Math.min(1.08, Math.max(0.2, brightness)) * 40) / 40;
    return "rgb(" + base.map((part) => Math.min(255, Math.round(part * step))).join(",") + ")";
  };
  const STEEL = [226, 229, 233];
  const SEATED = [132, 178, 222];
  const LIGHT = [-0.5, -0.22, 0.84];
  const drawBody = (canvas, shape) => {
    const ratio = 1.8;
    const [width, height] = [Math.round(BODY.width * ratio), Math.round(BODY.height * ratio)];
    if (canvas.width !== width) {
      canvas.width = width;
      canvas.height = height;
    }
    const pen = canvas.getContext("2d");
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, BODY.width, BODY.height);
    pen.lineJoin = "round";
    const [sine, cosine] = BODY.elevation;
    const { points, corners, triangles, borders, half, scale, origin } = BODY;
    const count = points.length / 2;
    const z = new Float64Array(count);
    const seated = new Uint8Array(count);
    for (let i = 0; i < count; i += 1) {
      const [node, lever] = [corners[2 * i], corners[2 * i + 1]];
      z[i] = at(shape.height, node) + lever * at(shape.slope, node);
      seated[i] = lever !== 0 && lies(shape, node) ? 1 : 0;
    }
    // upward normals at the corners, those of the faces about each of them together
    const normals = new Float64Array(3 * count);
    for (let t = 0; t < triangles.length; t += 3) {
      const [a, b, c] = [0, 1, 2].map((k) => triangles[t + k]);
      const [u, v] = [b, c].map((i) => [points[2 * i] - points[2 * a], points[2 * i + 1] - points[2 * a + 1], z[i] - z[a]]);
      const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
      for (const i of [a, b, c]) for (let k = 0; k < 3; k += 1) normals[3 * i + k] += n[k];
    }
    for (let i = 0; i < count; i += 1) {
      const length = Math.max(Math.hypot(normals[3 * i], normals[3 * i + 1], normals[3 * i + 2]), 1e-12);
      for (let k = 0; k < 3; k += 1) normals[3 * i + k] /= length;
    }
    const X = (i) => origin[0] + scale * points[2 * i];
    const Y = (i, up) => origin[1] - scale * (points[2 * i + 1] * sine + up * cosine);
    const area = (p) => p.reduce((sum, [x, y], k) => {
      const [nx, ny] = p[(k + 1) % p.length];
      return sum + nx * y - x * ny;
    }, 0);
    const trace = (p) => {
      pen.beginPath();
      p.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    };
    const cell = (p, fill) => {
      trace(p);
      pen.closePath();
      pen.fillStyle = fill;
      pen.fill();
      pen.strokeStyle = fill;
      pen.lineWidth = 0.5;
      pen.stroke();
    };
    const line = (a, b) => {
      trace([a, b]);
      pen.strokeStyle = "#3a3e46";
      pen.lineWidth = 0.6;
      pen.stroke();
    };
    pen.beginPath();
    for (let t = 0; t < triangles.length; t += 3) {
      const [a, b, c] = [triangles[t], triangles[t + 1], triangles[t + 2]];
      pen.moveTo(X(a), Y(a, -half));
      pen.lineTo(X(b), Y(b, -half));
      pen.lineTo(X(c), Y(c, -half));
      pen.closePath();
    }
    pen.fillStyle = "#dededc";
    pen.fill();
    for (let t = 0; t < triangles.length; t += 3) {
      const corner = [triangles[t], triangles[t + 1], triangles[t + 2]];
      const base = corner.every((i) => seated[i]) ? SEATED : STEEL;
      const upper = corner.map((i) => [X(i), Y(i, z[i] + half)]);
      const lower = corner.map((i) => [X(i), Y(i, z[i] - half)]);
      const edges = borders[t / 3];
      for (let k = 0; k < 3; k += 1) {
        if (!(edges & (1 << k))) continue;
        const next = (k + 1) % 3;
        const wall = [lower[k], lower[next], upper[next], upper[k]];
        if (area(wall) <= 0) continue;
        const dx = points[2 * corner[next]] - points[2 * corner[k]];
        const dy = points[2 * corner[next] + 1] - points[2 * corner[k] + 1];
        cell(wall, colour(base, 0.56 - (0.14 * dy) / Math.max(Math.hypot(dx, dy), 1e-12)));
        line(lower[k], lower[next]);
      }
      let face = upper;
      let brightness = 0.45;
      if (area(upper) > 0) {
        const n = [0, 1, 2].map((k) => corner.reduce((sum, i) => sum + normals[3 * i + k], 0));
        const light = n.reduce((sum, w, i) => sum + w * LIGHT[i], 0) / Math.max(Math.hypot(...n), 1e-12);
        brightness = 0.86 + 1.5 * (light - LIGHT[2]);
      } else {
        face = [lower[2], lower[1], lower[0]];
      }
      cell(face, colour(base, brightness));
      for (let k = 0; k < 3; k += 1) if (edges & (1 << k)) line(face[k], face[(k + 1) % 3]);
    }
  };

  const slider = byId("pressed");
  const last = data.travel.x[data.travel.x.length - 1];

  // ---- the spring in the hand
  let solid = null;
  if (BODY) {
    const mm = (shown) => shown / data.shown_length;
    const [outer, height] = [data.section.radius, data.section.height];
    const length = data.arm.arc[data.arm.arc.length - 1];
    solid = new Solid(byId("body"), {
      pressed(deflection) {
        slider.value = (slider.max * deflection * data.shown_length) / last;
        moved();
      },
    });
    solid.show({
      body: {
        points: BODY.points,
        place: BODY.corners.filter((_, k) => k % 2 === 0),
        lever: BODY.corners.filter((_, k) => k % 2 === 1),
        triangles: BODY.triangles,
      },
      arm: { arc_share: data.arm.arc.map((arc) => arc / length), radius_mm: data.arm.radius },
      motion: {
        deflection_mm: data.shapes.map((shape) => mm(shape.x)),
        force_n: data.shapes.map(() => 0),
        height_mm: data.shapes.map((shape) => shape.height),
        slope: data.shapes.map((shape) => shape.slope),
        stress_mpa: data.shapes.map((shape) => shape.stress),
        touching_mm: data.touching,
        upper: data.section.upper,
      },
      size: {
        outer_diameter_mm: 2 * outer,
        free_height_mm: height,
        thickness_mm: data.section.thickness,
        turns: (data.arm.angle[data.arm.angle.length - 1] - data.arm.angle[0]) / (2 * Math.PI),
      },
      stress: { allowable_mpa: data.allowable, peak_mpa: Math.max(...data.travel.stress) },
    });
    byId("play").addEventListener("click", () => solid.play());
  }
  if (BODY) drawStressScale(byId("stress-scale"), data.allowable ?? Math.max(...data.travel.stress), (value) => String(value >= 1000 ? Math.round(value) : Number(value.toPrecision(3))), `${data.units.stress} ${data.allowable ? "allowed" : "peak"}`);

  // ---- the slider moves everything
  const update = () => {
    const x = (last * slider.value) / slider.max;
    const spot = place(data.travel.x, x);
    const shape = shapeAt(x);
    byId("reading-x").textContent = withUnit(x, data.units.length);
    byId("reading-force").textContent = withUnit(along(data.travel.force, spot), data.units.force);
    byId("reading-rate").textContent = withUnit(along(data.travel.rate, spot), data.units.rate);
    byId("reading-seated").textContent = (100 * along(data.travel.seated, spot)).toFixed(0) + "\u00a0%";
    byId("reading-stress").textContent = withUnit(along(data.travel.stress, spot), data.units.stress);
    for (const drawn of charts) {
      if (drawn.chart.along === "travel") markTravel(drawn, x);
      else markArm(drawn, shape);
    }
    markPlan(shape);
    drawSection(shape);
    if (solid) solid.press(x / data.shown_length);
  };
  for (const part of document.querySelectorAll(".live, #travel")) part.hidden = false;
  if (BODY) {
    for (const canvas of document.querySelectorAll("canvas.position")) drawBody(canvas, shapeAt((last * canvas.dataset.share) / 2));
  }
  let waiting = false;
  const moved = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      update();
    });
  };
  slider.addEventListener("input", moved);
  slider.value = 500;
  update();

  // ---- the spring file, to copy
  const button = byId("copy");
  button.hidden = false;
  button.addEventListener("click", async () => {
    const text = byId("spring-file").textContent;
    let done = false;
    try {
      await navigator.clipboard.writeText(text);
      done = true;
    } catch {
      const range = document.createRange();
      range.selectNodeContents(byId("spring-file"));
      const selection = getSelection();
      selection.removeAllRanges();
      selection.addRange(range);
      done = document.execCommand("copy");
    }
    byId("copied").textContent = done ? "copied" : "marked: copy it with your keys";
  });
})();
