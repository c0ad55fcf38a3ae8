// What is cut: the disc from above.

const SVG = "http://www.w3.org/2000/svg";

let svg;
let sheet;
let lines;

export function disc(host) {
  svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("role", "img");
  sheet = document.createElementNS(SVG, "path");
  sheet.setAttribute("fill-rule", "evenodd");
  sheet.setAttribute("class", "sheet");
  lines = document.createElementNS(SVG, "path");
  lines.setAttribute("class", "cut");
  svg.append(sheet, lines);
  host.append(svg);
}

export function drawDisc(drawing, size, words) {
  const half = size.outer_diameter_mm / 2 + 1;
  svg.setAttribute("viewBox", `${-half} ${-half} ${2 * half} ${2 * half}`);
  svg.setAttribute("aria-label", words);
  const open = drawing.parts.filter((part) => part.role === "cut_on_line");
  const closed = drawing.parts.filter((part) => part.role !== "cut_on_line");
  sheet.setAttribute("d", closed.map((part) => part.d).join(" "));
  lines.setAttribute("d", open.map((part) => part.d).join(" "));
}
