// Uses the page of `flatspire serve` as a person would, in a headless Chromium: check_page.mjs PROGRAM FOLDER
//
// Loads the example, drags a point, sees outline and numbers change, finds what is out of reach on the curve, works by
// keyboard and by finger, undoes, reloads, searches, downloads the package and compares it with the command line's. Prints
// the time from a drag to its drawn answer.

import assert from "node:assert/strict";
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pause, start } from "./browser.mjs";

const [program, folder] = process.argv.slice(2);

function serve(...options) {
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

const refined = (page) => page.until("['fine', 'as_is'].includes(document.body.dataset.drawn)", "a fine draft");
const outline = (page) => page.run("document.querySelector('#disc path').getAttribute('d')");
const numbers = (page) => page.run("document.querySelector('#verdicts').textContent");
const points = (page) => page.run("[...document.querySelectorAll('[data-point]')].map((p) => p.getAttribute('aria-valuetext'))");
const place = (page, i) => page.run(`(() => { const e = document.querySelector('[data-point="${i}"] .dot'); e.scrollIntoView({ block: 'center', behavior: 'instant' }); const b = e.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()`);
const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
const quiet = (page, name) => assert.deepEqual(page.complaints, [], `${name}: the console is not quiet`);

async function drags(page) {
  await page.run("performance.clearMeasures()");
  const [x, y] = await place(page, 12);
  const before = { outline: await outline(page), numbers: await numbers(page), points: await points(page) };
  await page.mouse("mousePressed", x, y);
  const answers = () => page.run("performance.getEntriesByName('quick draft').length");
  for (let k = 1; k <= 2000 && (await answers()) < 60; k += 1) {
    // up and down again, as a hand that looks for the right place
    await page.mouse("mouseMoved", x, y - 22 * Math.sin(k / 9));
    await pause(25);
  }
  await page.mouse("mouseMoved", x, y - 12);
  await page.mouse("mouseReleased", x, y - 12);
  const quick = await page.run("performance.getEntriesByName('quick draft').map((m) => m.duration)");
  await refined(page);
  const after = { outline: await outline(page), numbers: await numbers(page), points: await points(page) };
  assert.notEqual(after.points[12], before.points[12], "the point has not moved");
  assert.equal(after.points[5], before.points[5], "another point has moved");
  assert.ok(after.outline !== before.outline, "the outline has not changed");
  assert.notEqual(after.numbers, before.numbers, "the numbers have not changed");
  return quick;
}

async function main() {
  const page = { served: await serve() };
  const browser = await start();
  try {
    const { address } = page.served;
    const desktop = await browser.page({ width: 1360, height: 900 });
    await desktop.open(address);
    await refined(desktop);
    assert.match(await numbers(desktop), /curve: yes.*flat: .*strength: yes/s);
    assert.equal((await points(desktop)).length, 21);
    await desktop.shot(join(folder, "desktop.png"));

    const times = await drags(desktop);
    const middle = median(times);
    const worst = [...times].sort((a, b) => a - b)[Math.floor(times.length * 0.95)];
    console.log(`drag to drawn answer: median ${middle.toFixed(0)} ms, 95 % within ${worst.toFixed(0)} ms, ${times.length} answers`);

    // undo and redo
    const dragged = await points(desktop);
    await desktop.click("#undo");
    await desktop.until("!document.querySelector('#redo').disabled", "redo to be there");
    assert.notDeepEqual(await points(desktop), dragged);
    await desktop.click("#redo");
    assert.deepEqual(await points(desktop), dragged);
    await desktop.click("#undo");
    await refined(desktop);

    // by keyboard: a point down until the rate falls, which no such spring can follow
    await desktop.run("document.querySelector('[data-point=\"10\"]').focus()");
    for (let k = 0; k < 8; k += 1) await desktop.key("ArrowUp", 8);
    await desktop.until("!document.querySelector('#reach').hidden", "what is out of reach to be said");
    await refined(desktop);
    assert.ok(await desktop.run("document.querySelectorAll('#chart .nearest polyline').length === 1 && document.querySelectorAll('#chart .gap polygon').length > 0"));
    await desktop.shot(join(folder, "out-of-reach.png"));
    const many = (await points(desktop)).length;
    await desktop.key("Delete");
    assert.equal((await points(desktop)).length, many - 1);
    await desktop.click("#add");
    assert.equal((await points(desktop)).length, many);
    await desktop.click("#example");
    await refined(desktop);

    // numbers in the table
    await desktop.click("#numbers summary");
    await desktop.until("document.querySelector('#table tbody tr:nth-child(6) td:nth-child(3) input') !== null", "the table");
    await desktop.run("(() => { const f = document.querySelector('#table tbody tr:nth-child(6) td:nth-child(3) input'); f.value = '9,5'; f.dispatchEvent(new Event('change')); })()");
    await desktop.until("document.querySelector('[data-point=\"5\"]').getAttribute('aria-valuetext').startsWith('9.5 N')", "the typed force");
    await desktop.click("#undo");

    // a dropped file, read by the program's own reader
    const drop = (name, text) => desktop.run(`(() => { const t = new DataTransfer(); t.items.add(new File([${JSON.stringify(text)}], ${JSON.stringify(name)})); document.dispatchEvent(new DragEvent('drop', { dataTransfer: t, bubbles: true, cancelable: true })); })()`);
    await drop("bent.csv", "x;f\n0;0\n1;zehn\n2;3\n");
    await desktop.until("document.querySelector('#trouble').textContent.includes('bent.csv: row 3, column 2')", "the reader's words");
    const refusal = desktop.complaints.filter((text) => text.includes("422"));
    desktop.complaints.splice(0, desktop.complaints.length, ...desktop.complaints.filter((text) => !text.includes("422")));
    assert.equal(refusal.length, 1, "one refusal shows on the console, as the browser does by itself");
    await drop("inches.csv", "travel_in;force_lbf\n0;0\n0,1;4\n0,2;9\n0,25;12\n");
    await desktop.until("document.querySelectorAll('[data-point]').length === 4", "the dropped curve");
    await refined(desktop);

    // units, settings, a second page beside this one
    await desktop.run("(() => { const s = document.querySelector('#units'); s.value = 'in-lbf'; s.dispatchEvent(new Event('change')); })()");
    assert.match((await points(desktop))[1], /^4 lbf at 0\.1 in$/);
    await desktop.run("(() => { const s = document.querySelector('#units'); s.value = 'mm-n'; s.dispatchEvent(new Event('change')); })()");
    const phone = await browser.page({ width: 390, height: 844, touch: true });
    await phone.open(address);
    await refined(phone);
    assert.equal((await points(phone)).length, 21, "the other page has its own curve");
    assert.ok(await phone.run("document.documentElement.scrollWidth <= innerWidth"), "the page is wider than a phone");
    const [x, y] = await place(phone, 15);
    const touch = (type, ...at) => phone.call("Input.dispatchTouchEvent", { type, touchPoints: at.length ? [{ x: at[0], y: at[1] }] : [] });
    const still = (await points(phone))[15];
    await touch("touchStart", x, y);
    for (let k = 1; k <= 10; k += 1) await touch("touchMove", x, y - 2 * k);
    await touch("touchEnd");
    await refined(phone);
    assert.notEqual((await points(phone))[15], still, "a finger moves no point");
    await phone.shot(join(folder, "phone.png"));
    quiet(phone, "phone");
    await phone.close();

    // the link brings everything back
    await desktop.click("#example");
    await refined(desktop);
    const set = (label, value) => desktop.run(`(() => { const l = [...document.querySelectorAll('#brief label')].find((l) => l.textContent.startsWith(${JSON.stringify(label)})); const f = document.getElementById(l.htmlFor); f.value = ${JSON.stringify(value)}; f.dispatchEvent(new Event('change')); })()`);
    await set("Thicknesses", "1.5; 2");
    await refined(desktop);
    await desktop.until("location.hash.startsWith('#s=')", "the link");
    await pause(600);
    await refined(desktop);
    const here = { link: await desktop.run("location.href"), points: await points(desktop), outline: await outline(desktop) };
    const again = await browser.page({ width: 1360, height: 900 });
    await again.open(here.link);
    await refined(again);
    assert.deepEqual(await points(again), here.points);
    assert.ok((await outline(again)) === here.outline, "the link brings back another outline");
    quiet(again, "linked page");
    await again.close();

    // keep, compare
    await desktop.click("#keep");
    await desktop.click("#rivals");
    await desktop.until("document.querySelectorAll('#kept thead th').length === 4", "the rivals");
    await desktop.until("!document.querySelector('#rivals').disabled", "the comparison to end");

    // a search is stopped, then run to its end by the download
    await desktop.click("#search");
    await desktop.until("!document.querySelector('#stop').hidden", "the stop button");
    await desktop.click("#stop");
    await desktop.until("document.querySelector('#search-words').textContent.startsWith('Stopped')", "the search to stop", 120000);
    const downloads = join(folder, "downloads");
    mkdirSync(downloads, { recursive: true });
    await browser.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: downloads, eventsEnabled: true });
    await desktop.click("#package");
    for (let k = 0; k < 3000 && !readdirSync(downloads).includes("spring.zip"); k += 1) await pause(100);
    await desktop.until("document.querySelectorAll('#designs tbody tr').length > 0", "the designs");
    await desktop.click("#question");
    for (let k = 0; k < 300 && !readdirSync(downloads).includes("question.zip"); k += 1) await pause(100);
    await refined(desktop).catch(() => {});
    await desktop.shot(join(folder, "searched.png"));
    quiet(desktop, "desktop");

    const unpack = "import sys,zipfile; zipfile.ZipFile(sys.argv[1]).extractall(sys.argv[2])";
    for (const name of ["spring", "question"]) execFileSync("python3", ["-c", unpack, join(downloads, `${name}.zip`), folder]);
    const made = spawnSync(program, ["design", "curve.csv", "--brief", "brief.toml", "--out", "designed"], { cwd: join(folder, "question") });
    assert.ok([0, 3].includes(made.status), String(made.stderr));
    const own = join(folder, "question", "designed");
    const names = readdirSync(own).sort();
    assert.deepEqual(readdirSync(join(folder, "spring")).sort(), names);
    for (const name of names) {
      assert.ok(readFileSync(join(own, name)).equals(readFileSync(join(folder, "spring", name))), `${name} differs from the command line's`);
    }
    console.log(`package: ${names.length} files, the same as the command line's`);
    writeFileSync(join(folder, "latency.json"), `${JSON.stringify({ median_ms: middle, times_ms: times })}\n`);
  } finally {
    await browser.stop();
    page.served.child.removeAllListeners("exit");
    page.served.child.kill();
  }
}

await main();
