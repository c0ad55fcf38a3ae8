// Uses the page of `flatspire serve` as a person would, in a headless Chromium: check_page.mjs PROGRAM FOLDER
//
// Loads the example, drags a point, sees outline and numbers change, finds what is out of reach on the curve, works by
// keyboard and by finger, takes hold of every point, drags off the axis, turns and presses the spring, undoes, reloads,
// searches, takes what is seen and compares it with the command line's. Prints the time from a drag to its drawn answer
// and the time that a frame of the pressed spring takes.

import assert from "node:assert/strict";
import { execFileSync, spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pause, start } from "./browser.mjs";
import { cards, median, numbers, outline, place, points, quiet, refined, serve } from "./page_steps.mjs";

const [program, folder] = process.argv.slice(2);

const spread = (times) => `median ${median(times).toFixed(0)} ms, 95 % within ${[...times].sort((a, b) => a - b)[Math.floor(times.length * 0.95)].toFixed(0)} ms, ${times.length} answers`;

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

/** Takes hold of every point at its own centre; a finger or a mouse, `by` px upwards. */
async function grabsAll(page, touch, by = 14) {
  const count = (await points(page)).length;
  for (let i = 0; i < count; i += 1) {
    const [x, y] = await place(page, i);
    const before = await points(page);
    // down where there is no room above
    const way = i === count - 1 ? 1 : -1;
    if (touch) {
      const send = (type, ...at) => page.call("Input.dispatchTouchEvent", { type, touchPoints: at.length ? [{ x: at[0], y: at[1] }] : [] });
      await send("touchStart", x, y);
      for (let k = 1; k <= 3; k += 1) await send("touchMove", x, y + (way * by * k) / 3);
      await send("touchEnd");
    } else {
      await page.mouse("mousePressed", x, y);
      await page.mouse("mouseMoved", x, y + way * by);
      await page.mouse("mouseReleased", x, y + way * by);
    }
    const after = await points(page);
    const moved = after.flatMap((text, k) => (text === before[k] ? [] : [k]));
    assert.deepEqual(moved, [i], `point ${i + 1} of ${count} is grabbed as ${moved.map((k) => k + 1)}`);
    await page.click("#undo");
  }
}

/** The last point far above the chart, in eight moves: it stays within what the axis showed. */
async function staysOnAxis(page) {
  const last = (await points(page)).length - 1;
  const force = async () => Number.parseFloat((await points(page))[last]);
  const before = await force();
  const [x, y] = await place(page, last);
  await page.mouse("mousePressed", x, y);
  for (let k = 1; k <= 8; k += 1) await page.mouse("mouseMoved", x, y - 50 * k);
  for (let k = 0; k < 20; k += 1) await page.mouse("mouseMoved", x, y - 400 + (k % 2) / 2);
  await page.mouse("mouseReleased", x, y - 400);
  const after = await force();
  assert.ok(after > before && after < 1.6 * before, `${before} N became ${after} N`);
  await page.click("#undo");
  assert.equal(await force(), before);
}

const pressed = (page) => page.run("document.querySelector('#travel-words').textContent");
const dots = (page) => page.run("document.querySelector('#formed').toDataURL()");

/** Turns and presses the spring, by mouse, keys and the mark on the curve; milliseconds of a frame. */
async function handles(page) {
  const box = await page.run("(() => { const e = document.querySelector('#formed'); e.scrollIntoView({ block: 'center', behavior: 'instant' }); const b = e.getBoundingClientRect(); return [b.x, b.y, b.width, b.height]; })()");
  await pause(400);
  const still = await dots(page);
  const at = [box[0] + box[2] * 0.2, box[1] + box[3] * 0.8];
  const words = await pressed(page);
  await page.mouse("mousePressed", ...at);
  await page.mouse("mouseMoved", at[0] + 60, at[1]);
  await page.mouse("mouseReleased", at[0] + 60, at[1]);
  await pause(400);
  assert.notEqual(await dots(page), still, "the spring does not turn");
  assert.equal(await pressed(page), words, "turning presses");
  await page.run("document.querySelector('#formed').focus()");
  await page.key("Home");
  assert.match(await pressed(page), /^at 0 mm/);
  await page.key("End");
  assert.match(await pressed(page), /^flat, the disc as it is cut: over /);
  await page.key("Home");
  // the knob stands on the axis: pull it down from where it is
  const knob = await page.run("(() => { const e = document.querySelector('#formed'); const b = e.getBoundingClientRect(); for (let y = 4; y < b.height; y += 3) { e.dispatchEvent(new PointerEvent('pointermove', { clientX: b.x + b.width / 2, clientY: b.y + y, bubbles: true })); if (e.classList.contains('presses')) return [b.x + b.width / 2, b.y + y + 12]; } return null; })()");
  assert.ok(knob, "no knob on the hub");
  await page.mouse("mousePressed", ...knob);
  for (let k = 1; k <= 10; k += 1) await page.mouse("mouseMoved", knob[0], knob[1] + 25 * k);
  await page.mouse("mouseReleased", knob[0], knob[1] + 250);
  assert.match(await pressed(page), /^flat/);
  // along the curve
  await page.run("document.querySelector('#chart').scrollIntoView({ block: 'center', behavior: 'instant' })");
  const [gx, gy] = await page.run("(() => { const b = document.querySelector('#chart .travel .grip').getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()");
  await page.mouse("mousePressed", gx, gy);
  await page.mouse("mouseMoved", gx - 120, gy);
  await page.mouse("mouseReleased", gx - 120, gy);
  assert.match(await pressed(page), /^at [\d.]+ mm: [\d.]+ N, \d+ % of the arm seated$/);
  // pressed once, as it plays
  await page.run("document.querySelector('#play').scrollIntoView({ block: 'center', behavior: 'instant' })");
  await page.run("(() => { window.gaps = []; let last = 0; const step = (t) => { if (last) gaps.push(t - last); last = t; if (gaps.length < 150) requestAnimationFrame(step); }; requestAnimationFrame(step); })()");
  await page.click("#play");
  await page.until("gaps.length >= 150", "frames of the play");
  return page.run("gaps");
}

async function main() {
  const page = { served: await serve(program) };
  const browser = await start();
  try {
    const { address } = page.served;
    const desktop = await browser.page({ width: 1360, height: 900 });
    await desktop.open(address);
    await refined(desktop);
    assert.match(await numbers(desktop), /curve: yes.*flat: .*strength: yes/s);
    assert.equal((await points(desktop)).length, 21);
    await desktop.shot(join(folder, "desktop.png"));

    await grabsAll(desktop, false);
    await staysOnAxis(desktop);
    await refined(desktop);
    const frames = await handles(desktop);
    console.log(`frame of the pressed spring: median ${median(frames).toFixed(1)} ms`);

    const times = await drags(desktop);
    console.log(`drag to drawn answer: ${spread(times)} (wanted on two free cores: 33 ms and 60 ms)`);

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
    await desktop.until("document.querySelector('#trouble-words').textContent.includes('bent.csv: row 3, column 2')", "the reader's words");
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
    await grabsAll(phone, true);
    await refined(phone);
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
    await desktop.until("document.querySelectorAll('#wall [data-card]').length === 3", "the rivals");
    await desktop.until("!document.querySelector('#rivals').disabled", "the comparison to end");

    // a reload keeps the work: curve, spring, kept springs, undo
    const work = { points: await points(desktop), outline: await outline(desktop), undo: await desktop.run("document.querySelector('#undo').disabled") };
    await desktop.open(address);
    await refined(desktop);
    assert.deepEqual(await points(desktop), work.points, "a reload loses the curve");
    assert.ok((await outline(desktop)) === work.outline, "a reload loses the spring");
    assert.equal((await cards(desktop)).length, 3, "a reload loses the kept springs");
    assert.equal(await desktop.run("document.querySelector('#undo').disabled"), work.undo, "a reload loses the undo");

    // links that hold nothing sound are refused in words, and the page works on
    const packed = (value) => `#s=${Buffer.from(JSON.stringify(value)).toString("base64url")}`;
    const curve = { deflection_mm: [0, 1, 2], force_n: [0, 1, 3] };
    for (const [hash, words] of [
      ["#s=%%%", "is no saved page"],
      [packed({ curve, brief: {}, kept: [{ name: "A" }] }), "kept[0]"],
      [packed({ curve: { ...curve, notes: 5 }, brief: {} }), "notes"],
      [packed({ curve, brief: { sheet: { thickness: Array.from({ length: 300 }, (_, k) => 1 + k / 100) } } }), "at most 64"],
    ]) {
      const other = await browser.page({ width: 1024, height: 768 });
      await other.open(`${address}${hash}`);
      await other.until(`document.querySelector('#trouble-words').textContent.includes(${JSON.stringify(words)})`, words);
      await refined(other);
      assert.equal((await points(other)).length, 21);
      await other.close();
    }

    // a search is stopped, then run to its end
    await desktop.click("#search");
    await desktop.until("!document.querySelector('#stop').hidden", "the stop button");
    await desktop.click("#stop");
    await desktop.until("document.querySelector('#search-words').textContent.startsWith('Stopped')", "the search to stop", 120000);
    const downloads = join(folder, "downloads");
    mkdirSync(downloads, { recursive: true });
    await browser.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: downloads, eventsEnabled: true });
    await desktop.click("#search");
    await desktop.until("!document.querySelector('#stop').hidden", "the search to run");
    const beside = await drags(desktop);
    console.log(`drag to drawn answer beside a search: ${spread(beside)}`);
    await desktop.click("#undo");
    await refined(desktop);
    await desktop.until("document.querySelectorAll('#wall [data-card^=design]').length > 1", "the designs", 240000);
    // the question of the search is the page's again: its first design is what a click takes
    await desktop.click("#wall [data-card=design-1]");
    await refined(desktop);
    // the designs survive a reload and travel in the link
    const designs = await cards(desktop);
    await desktop.until("document.querySelectorAll('#wall .sheet').length === document.querySelectorAll('#wall [data-card]').length", "the discs of the designs");
    await pause(700);
    const withDesigns = await desktop.run("location.href");
    await desktop.open(address);
    await refined(desktop);
    assert.deepEqual(await cards(desktop), designs, "a reload loses the designs");
    const linked = await browser.page({ width: 1280, height: 800 });
    await linked.open(withDesigns);
    await refined(linked);
    assert.deepEqual(await cards(linked), designs, "the link loses the designs");
    assert.equal(await linked.run("document.querySelector('#package').textContent"), "Download design 1");
    quiet(linked, "link with designs");
    await linked.close();

    const arrives = async (name) => {
      for (let k = 0; k < 1200 && !readdirSync(downloads).includes(name); k += 1) await pause(100);
      assert.ok(readdirSync(downloads).includes(name), `${name} does not arrive: ${readdirSync(downloads)}`);
    };
    const unpack = "import sys,zipfile; zipfile.ZipFile(sys.argv[1]).extractall(sys.argv[2])";
    const compare = (made, own, name) => {
      const files = (folder) => readdirSync(folder, { recursive: true })
        .filter((file) => !file.startsWith(".") && statSync(join(folder, file)).isFile()).sort();
      const names = files(own);
      assert.deepEqual(files(made), names);
      for (const file of names) {
        assert.ok(readFileSync(join(own, file)).equals(readFileSync(join(made, file))), `${name}: ${file} differs from the command line's`);
      }
      console.log(`${name}: ${names.length} files, the same as the command line's`);
    };
    const command = (cwd, ...options) => {
      const made = spawnSync(program, options, { cwd });
      assert.ok([0, 3].includes(made.status), String(made.stderr));
    };

    // the second of the list is shown, so the second is taken
    await desktop.click("#wall [data-card=design-2]");
    await desktop.until("document.querySelector('#package').textContent === 'Download design 2'", "the button to name the design");
    await refined(desktop);
    await desktop.click("#package");
    await arrives("spring-design-2.zip");
    await desktop.click("#question");
    await arrives("question.zip");
    for (const name of ["spring-design-2", "question"]) execFileSync("python3", ["-c", unpack, join(downloads, `${name}.zip`), folder]);
    command(join(folder, "question"), "design", "curve.csv", "--brief", "brief.toml", "--take", "2", "--out", "designed");
    compare(join(folder, "spring-design-2"), join(folder, "question", "designed"), "design 2");

    // drawn on from there, so what is drawn is taken
    await desktop.run("document.querySelector('[data-point=\"10\"]').focus()");
    await desktop.key("ArrowUp");
    await desktop.until("document.querySelector('#package').textContent === 'Download the spring as drawn'", "the button to name the spring");
    await refined(desktop);
    const seen = { chips: await desktop.run("[...document.querySelectorAll('.chip')].map((c) => c.textContent)"), arm: await desktop.run("document.querySelector('#passing').textContent") };
    await desktop.click("#package");
    await arrives("spring-as-drawn.zip");
    execFileSync("python3", ["-c", unpack, join(downloads, "spring-as-drawn.zip"), folder]);
    const drawn = join(folder, "spring-as-drawn");
    command(folder, "flat", join(drawn, "spring.toml"), "--out", join(folder, "again"), "--package");
    compare(drawn, join(folder, "again"), "as drawn");
    const summary = JSON.parse(readFileSync(join(drawn, "summary.json"), "utf8"));
    for (const [name, { state }] of Object.entries(summary.verdicts)) {
      const chip = seen.chips.find((text) => text.includes(` ${name.replaceAll("_", " ")}: `));
      if (state === "not asked") assert.equal(chip, undefined);
      else assert.ok(chip.includes(`: ${state} `), `${name} is ${state} in the package, on the page: ${chip}`);
    }

    // what rests agrees with the command's number all the way
    for (const share of [150, 400, 650, 850, 950]) {
      await desktop.run(`(() => { const t = document.querySelector("#travel"); t.value = ${share}; t.dispatchEvent(new Event("input")); })()`);
      const [, x, , percent] = (await pressed(desktop)).match(/^at ([\d.]+) mm: ([\d.]+) N, (\d+) % of the arm seated$/);
      writeFileSync(join(folder, "at.csv"), `deflection_mm\n${x}\n`);
      const table = execFileSync(program, ["predict", join(drawn, "spring.toml"), "--at", join(folder, "at.csv")]).toString().trim().split("\n");
      const row = Object.fromEntries(table[0].split(",").map((name, k) => [name, Number(table[table.length - 1].split(",")[k])]));
      assert.ok(Math.abs(100 * row.seated_share - percent) < 3, `at ${x} mm the page says ${percent} % rests, the command ${(100 * row.seated_share).toFixed(1)} %`);
      const [hatched, arc] = await desktop.run("[...document.querySelectorAll('#ribbon .rests')].reduce((sum, p) => { const xs = p.getAttribute('points').trim().split(/\\s+/).map((q) => Number(q.split(',')[0])); return [sum[0] + Math.max(...xs) - Math.min(...xs), 632]; }, [0, 632])");
      assert.ok(Math.abs((100 * hatched) / arc - percent) < 1, `${percent} % rests, ${((100 * hatched) / arc).toFixed(1)} % is striped`);
      console.log(`at ${x} mm ${percent} % rests, by the command ${(100 * row.seated_share).toFixed(1)} %`);
    }
    await desktop.shot(join(folder, "searched.png"));
    quiet(desktop, "desktop");
    writeFileSync(join(folder, "latency.json"), `${JSON.stringify({ median_ms: median(times), times_ms: times, beside_a_search_ms: beside })}\n`);
  } finally {
    await browser.stop();
    page.served.child.removeAllListeners("exit");
    page.served.child.kill();
  }
}

await main();
