// Steps that the checks of the page share.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";

/** Starts the program's page; its process and address. */
export function serve(program, ...options) {
  return new Promise((resolve, reject) => {
    const child = spawn(program, ["serve", "--port", "0", "--json", ...options], { stdio: ["ignore", "pipe", "inherit"] });
    let said = "";
    child.stdout.on("data", (bytes) => {
      said += bytes;
      if (said.includes("\n")) resolve({ child, address: JSON.parse(said).address });
    });
    child.on("exit", (code) => reject(new Error(`serve ended with ${code}: ${said}`)));
  });
}

export const refined = (page) => page.until("['fine', 'as_is'].includes(document.body.dataset.drawn)", "a fine draft");
export const outline = (page) => page.run("document.querySelector('#disc path').getAttribute('d')");
export const numbers = (page) => page.run("document.querySelector('#verdicts').textContent");
export const points = (page) => page.run("[...document.querySelectorAll('[data-point]')].map((p) => p.getAttribute('aria-valuetext'))");
export const place = (page, i) => page.run(`(() => { const e = document.querySelector('[data-point="${i}"] .dot'); e.scrollIntoView({ block: 'center', behavior: 'instant' }); const b = e.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()`);
export const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
export const quiet = (page, name) => assert.deepEqual(page.complaints, [], `${name}: the console is not quiet`);
export const cards = (page) => page.run("[...document.querySelectorAll('#wall [data-card]')].map((c) => c.dataset.card)");
export const trouble = (page) => page.run("document.querySelector('#trouble').hidden ? '' : document.querySelector('#trouble-words').textContent");
/** Deflections and forces that the page asks for, as the program gets them. */
export const wanted = async (page) => (await points(page)).map((text) => text.match(/^([\d.]+) N at ([\d.]+) mm$/).slice(1).map(Number));

/** The field of the curve on the screen: left, top, width, height. */
export const field = (page) => page.run("(() => { const r = document.querySelector('#field rect'); const s = document.querySelector('#chart svg').getBoundingClientRect(); const at = (name) => Number(r.getAttribute(name)); return [s.x + at('x'), s.y + at('y'), at('width'), at('height')]; })()");

/** A stroke through shares of the field, from left below, by mouse, pen or finger. */
export async function stroke(page, shares, kind = "mouse") {
  await page.run("document.querySelector('#chart').scrollIntoView({ block: 'center', behavior: 'instant' })");
  const [left, top, width, height] = await field(page);
  const places = shares.map(([x, y]) => [left + x * width, top + (1 - y) * height]);
  if (kind === "touch") {
    const send = (type, at) => page.call("Input.dispatchTouchEvent", { type, touchPoints: at ? [{ x: at[0], y: at[1] }] : [] });
    await send("touchStart", places[0]);
    for (const at of places.slice(1)) await send("touchMove", at);
    await send("touchEnd");
    return;
  }
  const extra = { pointerType: kind };
  await page.mouse("mousePressed", ...places[0], extra);
  for (const at of places.slice(1)) await page.mouse("mouseMoved", ...at, extra);
  await page.mouse("mouseReleased", ...places[places.length - 1], extra);
}

/** Drops files or folders of the disk on the page, as a file manager does. */
export async function dropped(page, ...files) {
  const data = { items: [], files, dragOperationsMask: 1 };
  for (const type of ["dragEnter", "dragOver", "drop"]) await page.call("Input.dispatchDragEvent", { type, x: 200, y: 300, data });
}

/** Takes expected complaints of the console away: a refusal shows there by itself. */
export function refused(page, status) {
  const all = page.complaints.splice(0);
  page.complaints.push(...all.filter((text) => !text.includes(String(status))));
  return all.length - page.complaints.length;
}
