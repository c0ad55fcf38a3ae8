// More of the page of `flatspire serve` in a headless Chromium: check_desk.mjs PROGRAM FOLDER
//
// Sketches by mouse, pen and finger; keeps the rest of a curve of which a part is out of reach; finds that the path of a
// hand leaves no trace; zooms; drops files of many kinds; looks at and takes springs to compare, carries them in link and
// file; works by keyboard alone; sees whether the workspace fits the screen.

import assert from "node:assert/strict";
import { execFileSync, spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, readFileSync, readdirSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pause, start } from "./browser.mjs";
import { cards, dropped, field, outline, place, points, quiet, refined, refused, serve, stroke, trouble, wanted } from "./page_steps.mjs";

const [program, folder] = process.argv.slice(2);
const examples = join(import.meta.dirname, "..", "..", "examples");

const example = async (page) => {
  await page.click("#example");
  await refined(page);
};
const spring = (page) => page.run("document.querySelector('#disc path').getAttribute('d') + document.querySelector('#passing').textContent + document.querySelector('#verdicts').textContent");

/** A stroke over the whole chart becomes few handles; one over a part leaves the rest. */
async function sketches(page, kind) {
  await example(page);
  const before = await wanted(page);
  await page.click("#draw");
  const sweep = Array.from({ length: 50 }, (_, k) => k / 49);
  // a hand that trembles
  await stroke(page, sweep.map((s) => [0.01 + 0.89 * s, 0.2 * s + 0.55 * s * s + 0.004 * Math.sin(9 * s * s * 20)]), kind);
  await refined(page);
  const whole = await wanted(page);
  assert.ok(whole.length >= 3 && whole.length <= 9, `${whole.length} handles of a stroke`);
  assert.deepEqual(whole[0], [0, 0]);
  for (const [force, x] of whole) {
    const share = (x / 8.8 - 0.01) / 0.89;
    assert.ok(Math.abs(force - 136 * (0.2 * share + 0.55 * share * share)) < 5, `${force} N at ${x} mm is not what was drawn`);
  }
  await page.click("#undo");
  await refined(page);
  assert.deepEqual(await wanted(page), before, "undo brings the curve back");
  // a little less force between 3.5 and 6 mm, both ends on the curve
  const force = (x) => {
    const k = before.findIndex(([, other]) => other >= x);
    const [[fa, xa], [fb, xb]] = [before[k - 1], before[k]];
    return fa + ((fb - fa) * (x - xa)) / (xb - xa);
  };
  await stroke(page, sweep.map((s) => [(3.5 + 2.5 * s) / 8.8, (force(3.5 + 2.5 * s) - 3 * Math.sin(Math.PI * s)) / 136]), kind);
  await refined(page);
  const part = await wanted(page);
  const rest = ([, x]) => x < 3.4 || x > 6.1;
  assert.deepEqual(part.filter(rest), before.filter(rest), "the rest of the curve has moved");
  assert.ok(part.filter((p) => !rest(p)).length <= 9, "too many handles of a short stroke");
  // handles of a stroke bend the curve between them smoothly
  const line = await page.run("document.querySelector('#chart .wanted polyline').getAttribute('points').split(' ').length");
  assert.ok(line > part.length + 2, "no points follow the handles");
  await page.click("#undo");
  await page.click("#draw");
  await refined(page);
  console.log(`sketch by ${kind}: ${whole.length} handles for the whole curve, ${part.length - part.filter(rest).length} for a part`);
}

/** The last point at zero: the rest of the curve is followed, the nearest curve is seen. */
async function keepsTheRest(page) {
  await example(page);
  const last = (await points(page)).length - 1;
  const [x, y] = await place(page, last);
  await page.mouse("mousePressed", x, y);
  for (let k = 1; k <= 10; k += 1) await page.mouse("mouseMoved", x, y + 40 * k);
  await page.mouse("mouseReleased", x, y + 400);
  await refined(page);
  assert.match((await points(page))[last], /^0 N/);
  assert.ok(await page.run("!document.querySelector('#reach').hidden && document.querySelector('#chart .nearest polyline') !== null"));
  // the given line runs along the wanted one up to the fall
  const off = await page.run(`(() => {
    const line = (name) => document.querySelector('#chart .' + name + ' polyline').getAttribute('points').trim().split(/\\s+/).map((p) => p.split(',').map(Number));
    const [wanted, given] = [line('wanted'), line('given')];
    return Math.max(...wanted.slice(0, -1).map(([x, y]) => { const k = given.findIndex((p) => p[0] >= x); const [a, b] = [given[Math.max(0, k - 1)], given[k]]; return Math.abs(y - (b[0] === a[0] ? b[1] : a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0]))); }));
  })()`);
  assert.ok(off < 8, `${off.toFixed(1)} px off where the curve can be followed`);
  console.log(`last point at zero: the rest is followed within ${off.toFixed(1)} px`);
  await page.click("#undo");
  await refined(page);
}

/** Two ways of a hand to the same handles: the same spring, byte for byte. */
async function forgetsThePath(page, downloads) {
  const arrived = async (name) => {
    for (let k = 0; k < 600 && !readdirSync(downloads).includes(name); k += 1) await pause(100);
    const bytes = readFileSync(join(downloads, name));
    execFileSync("rm", [join(downloads, name)]);
    return bytes;
  };
  const take = async () => {
    await page.click("[data-file='outline_mm.dxf']");
    return arrived("spring-as-drawn.dxf");
  };
  await example(page);
  const unmoved = { spring: await spring(page), bytes: await take() };
  const drag = async (i, ways) => {
    const [x, y] = await place(page, i);
    await page.mouse("mousePressed", x, y);
    for (const way of ways) {
      await page.mouse("mouseMoved", x, y + way);
      await pause(30);
    }
    await page.mouse("mouseReleased", x, y + ways[ways.length - 1]);
  };
  // a point that is moved stands on a step of the axis, also where it came from
  await drag(6, [3, 0]);
  await drag(14, [-4, -8]);
  await refined(page);
  const straight = { points: await points(page), spring: await spring(page), bytes: await take() };
  await page.click("#undo");
  await page.click("#undo");
  await refined(page);
  assert.equal(await spring(page), unmoved.spring, "undo brings another spring");
  // far up and down, with rests between, and by way of another point
  await drag(14, [-30, 20, -25, 15]);
  await refined(page);
  await drag(6, [-6, 6, 0]);
  await drag(14, [-40, -60, -23]);
  await refined(page);
  const [x, y] = await place(page, 14);
  const goal = straight.points[14];
  await page.mouse("mousePressed", x, y);
  for (let by = -40; by <= 40 && (await points(page))[14] !== goal; by += 1) await page.mouse("mouseMoved", x, y + by);
  await page.mouse("mouseReleased", x, y);
  // released where it is: the last movement decides
  for (let by = -40; by <= 40 && (await points(page))[14] !== goal; by += 1) {
    const at = await place(page, 14);
    await page.mouse("mousePressed", ...at);
    await page.mouse("mouseMoved", at[0], at[1] + Math.sign(Number.parseFloat((await points(page))[14]) - Number.parseFloat(goal)));
    await page.mouse("mouseReleased", ...at);
  }
  assert.deepEqual(await points(page), straight.points, "the second way has not come to the same handles");
  await refined(page);
  assert.equal(await spring(page), straight.spring, "the path shows in the spring");
  assert.ok((await take()).equals(straight.bytes), "the path shows in the drawing's bytes");
  await example(page);
  assert.ok((await take()).equals(unmoved.bytes), "the example comes back as another spring");
  console.log(`two paths to the same handles: the same ${straight.bytes.length} bytes`);
}

/** Wheel, keys and buttons; a drag keeps the axes. */
async function zooms(page, touch) {
  await example(page);
  const spanOf = () => page.run("[...document.querySelectorAll('#chart .grid text')].map((t) => t.textContent).join(' ')");
  const whole = await spanOf();
  const [left, top, width, height] = await field(page);
  const at = [left + width / 2, top + height / 2];
  if (touch) {
    const send = (type, apart) => page.call("Input.dispatchTouchEvent", { type, touchPoints: apart ? [{ x: at[0] - apart, y: at[1], id: 0 }, { x: at[0] + apart, y: at[1], id: 1 }] : [] });
    await send("touchStart", 30);
    for (const apart of [40, 50, 60, 80]) await send("touchMove", apart);
    await send("touchEnd");
  } else {
    await page.call("Input.dispatchMouseEvent", { type: "mouseWheel", x: at[0], y: at[1], deltaX: 0, deltaY: -400 });
  }
  await page.until("!document.querySelector('#zoom-all').disabled", "the chart to be zoomed");
  const near = await spanOf();
  assert.notEqual(near, whole);
  if (!touch) {
    // a drag within the section keeps it
    const middle = await page.run("(() => { const all = [...document.querySelectorAll('[data-point]:not(.outside)')]; return Number(all[Math.floor(all.length / 2)].dataset.point); })()");
    const [x, y] = await place(page, middle);
    const before = (await points(page))[middle];
    await page.mouse("mousePressed", x, y);
    await page.mouse("mouseMoved", x, y - 15);
    await page.mouse("mouseReleased", x, y - 15);
    assert.notEqual((await points(page))[middle], before);
    assert.equal(await spanOf(), near, "the axes have moved under the hand");
    await page.click("#undo");
    await page.run(`document.querySelector('[data-point="${middle}"]').focus()`);
    await page.call("Input.dispatchKeyEvent", { type: "keyDown", key: "+", text: "+" });
    assert.notEqual(await spanOf(), near, "the key + zooms");
    await page.call("Input.dispatchKeyEvent", { type: "keyDown", key: "0", text: "0" });
    assert.equal(await spanOf(), whole, "the key 0 shows the whole");
    await page.click("#zoom-in");
    assert.notEqual(await spanOf(), whole);
  }
  await page.click("#zoom-all");
  assert.equal(await spanOf(), whole);
  assert.ok(await page.run("document.querySelector('#zoom-all').disabled"));
}

/** Band, deviation and the values under a pointer. */
async function tells(page) {
  await example(page);
  assert.equal(await page.run("document.querySelectorAll('#chart .band polygon').length"), 1, "the tolerance");
  assert.equal(await page.run("document.querySelectorAll('#chart .off polyline').length"), 1, "the deviation");
  const [left, top, width, height] = await field(page);
  await page.mouse("mouseMoved", left + (4 / 8.8) * width, top + height / 3, { buttons: 0 });
  const said = await page.run("document.querySelector('#chart .hover text')?.textContent ?? ''");
  const [, x, want, given, off] = said.match(/^at ([\d.]+) mm: wanted ([\d.]+) N, given ([\d.]+) N, ([+−][\d.]+) %$/) ?? [];
  assert.ok(Math.abs(x - 4) < 0.05 && Math.abs(want - 25.6) < 0.6, said);
  assert.ok(Math.abs(100 * (given / want - 1) - Number(off.replace("−", "-"))) < 0.6, said);
  await page.click("#off");
  assert.equal(await page.run("document.querySelectorAll('#chart .off polyline').length"), 0, "the deviation goes");
  await page.click("#off");
}

/** Files of many kinds: each taken, or refused in words that say what to do. */
async function opens(page) {
  const files = join(folder, "files");
  mkdirSync(join(files, "pair", "disc"), { recursive: true });
  const write = (name, bytes) => {
    writeFileSync(join(files, name), bytes);
    return join(files, name);
  };
  const count = () => page.run("document.querySelectorAll('[data-point]').length");
  const takes = async (name, bytes, handles) => {
    await dropped(page, write(name, bytes));
    await page.until(`document.querySelectorAll('[data-point]').length === ${handles}`, `${name} to be taken`);
    await refined(page);
    assert.equal(await trouble(page), "", name);
    quiet(page, name);
  };
  const refuses = async (name, bytes, words) => {
    const before = [await count(), await spring(page)];
    await page.run("document.querySelector('#trouble').hidden = true");
    await dropped(page, bytes === null ? join(files, name) : write(name, bytes));
    await page.until("!document.querySelector('#trouble').hidden", `${name} to be refused`);
    const said = await trouble(page);
    for (const word of [name.split("/").pop(), ...words]) assert.ok(said.includes(word), `${name}: ${said}`);
    refused(page, 422);
    assert.deepEqual([await count(), await spring(page)], before, `${name} has changed the page`);
    await page.click("#trouble-away");
  };
  await takes("plain.csv", "deflection_mm,force_n\n0,0\n2,10\n4,22\n6,36\n", 4);
  await takes("inch.csv", "\ufefftravel_in;force_lbf\r\n0;0\r\n0,1;4\r\n0,2;9\r\n0,25;12\r\n0,27;13,5\r\n", 5);
  await takes("weg.txt", "# Pruefstand\nWeg [mm]\tKraft [N]\n0\t0\n1,5\t8\n3\t18\n5\t33\n6\t41\n7\t50\n", 6);
  await takes("dense.csv", `x,f\n${Array.from({ length: 300 }, (_, k) => `${k / 40},${(k / 40) * 4 + (k / 40) ** 2}`).join("\n")}\n`, 20);
  await example(page);
  await refuses("bench.csv", "quantity,at_mm,branch,part 1\nthickness_mm,,,1.49\nforce_n,0.5,loading,3.1\n", ["bench sheet", "flatspire correct"]);
  await refuses("words.csv", "x,f\n0,0\n1,ten\n2,3\n", ["row 3, column 2"]);
  await refuses("outline_mm.dxf", "0\nSECTION\n2\nHEADER\n", ["a drawing (DXF)", "flatspire flat DRAWING.dxf --like"]);
  await refuses("photo.png", Buffer.from("89504e470d0a1a0a0000000d49484452", "hex"), ["a picture (PNG)", "sketch it"]);
  await refuses("empty.csv", "", ["an empty file"]);
  await refuses("huge.csv", `x,f\n${"1,2\n".repeat(2300000)}`, ["MB", "thin the table"]);
  await refuses("noise.csv", Buffer.from(Array.from({ length: 4000 }, (_, k) => (k * 7919 + 131) % 256)), ["UTF-8"]);
  await refuses("summary.json", "{\"passed\":true}", ["no saved page", "spring.toml"]);
  await refuses("half.json", "{\"flatspire_page\":1,\"curve\":", ["no saved page"]);
  await refuses("package.zip", Buffer.from("504b0304140000000000", "hex"), ["unpack it"]);
  await refuses("typo.toml", "[sheet]\nthicknes = 2\n", ["thicknes"]);
  // a brief changes the settings, a curve with a brief both
  await dropped(page, write("thin.toml", "[sheet]\nthickness = [1.2]\n[arms]\ncount = [2]\n"));
  await page.until("[...document.querySelectorAll('#brief input')].some((i) => i.value === '1.2')", "the brief");
  await refined(page);
  assert.match(await page.run("document.querySelector('#passing').textContent"), /sheet 1\.2 mm/);
  await dropped(page, join(files, "plain.csv"), join(examples, "pedal.toml"));
  await page.until("document.querySelectorAll('[data-point]').length === 4 && [...document.querySelectorAll('#brief input')].some((i) => i.value === '1; 1.2; 1.5; 2; 2.5')", "curve and brief");
  await refined(page);
  // a spring as it stands
  await dropped(page, join(examples, "brake_cut.toml"));
  await page.until("document.querySelector('#package').textContent === 'Download the spring that was opened'", "the spring file");
  await refined(page);
  const own = JSON.parse(spawnSync(program, ["flat", join(examples, "brake_cut.toml"), "--json"]).stdout);
  const chips = await page.run("[...document.querySelectorAll('#verdicts .chip')].map((c) => c.textContent)");
  for (const [name, { state }] of Object.entries(own.verdicts)) {
    if (state === "not asked") continue;
    assert.ok(chips.some((text) => text.includes(`${name.replaceAll("_", " ")}: ${state} `)), `${name} is ${state} by the command, on the page: ${chips}`);
  }
  // an assembly without its discs, then with its folder
  write("pair/assembly.toml", "format = 1\nkind = \"series\"\nheight = 19.16\n[[member]]\nfolder = \"disc\"\ncount = 2\nstacked = \"series\"\n");
  await refuses("pair/assembly.toml", null, ["disc/spring.toml did not come with it", "drop the whole folder"]);
  copyFileSync(join(examples, "brake_cut.toml"), join(files, "pair", "disc", "spring.toml"));
  await dropped(page, join(files, "pair"));
  await page.until("!document.querySelector('#assembly').hidden", "the assembly");
  const whole = JSON.parse(spawnSync(program, ["flat", join(files, "pair"), "--json"]).stdout);
  const reasons = await page.run("document.querySelector('#assembly-reasons').textContent");
  for (const [name, { state, reason }] of Object.entries(whole.verdicts)) {
    if (state === "not asked") continue;
    assert.ok(reasons.toLowerCase().includes(reason.toLowerCase().slice(0, 60)), `${name}: ${reason} is not on the page: ${reasons}`);
  }
  assert.equal(await page.run("document.querySelectorAll('#assembly-sections svg, #assembly-chart svg').length"), 2);
  await page.shot(join(folder, "assembly.png"));
  await page.click("#assembly-package");
  const downloads = join(folder, "desk-downloads");
  for (let k = 0; k < 600 && !readdirSync(downloads).includes("assembly.zip"); k += 1) await pause(100);
  execFileSync("python3", ["-c", "import sys,zipfile; zipfile.ZipFile(sys.argv[1]).extractall(sys.argv[2])", join(downloads, "assembly.zip"), folder]);
  const flat = spawnSync(program, ["flat", join(folder, "assembly", "disc", "spring.toml"), "--out", join(folder, "disc-again"), "--package"]);
  assert.ok([0, 3].includes(flat.status), String(flat.stderr));
  for (const file of readdirSync(join(folder, "disc-again"), { recursive: true })) {
    if (file.startsWith(".") || !statSync(join(folder, "disc-again", file)).isFile()) continue;
    assert.ok(readFileSync(join(folder, "disc-again", file)).equals(readFileSync(join(folder, "assembly", "disc", file))), `assembly: ${file} differs from the command line's`);
  }
  await page.click("#assembly-away");
  quiet(page, "files");
}

/** Springs to compare: seen by a look, taken by a click, carried by reload, link and file. */
async function compares(page, browser, address, downloads) {
  await example(page);
  await page.click("#keep");
  await page.run("document.querySelector('[data-point=\"12\"]').focus()");
  for (let k = 0; k < 3; k += 1) await page.key("ArrowUp");
  await refined(page);
  await page.click("#keep");
  assert.deepEqual(await cards(page), ["kept-A", "kept-B"]);
  const drawn = { spring: await spring(page), outline: await outline(page), points: await points(page) };
  // each card has disc and curve, and says good parts, stress, size, time
  const words = await page.run("document.querySelector('[data-card=kept-A]').textContent");
  assert.match(words, /% good, \d+ % stressØ [\d.]+ × [\d.]+ mm, [\d.]+ min/);
  assert.equal(await page.run("document.querySelectorAll('[data-card] .sheet').length"), 2);
  // a look shows the other one, the end of it brings the page's own back
  const [x, y] = await page.run("(() => { const b = document.querySelector('[data-card=kept-A]').getBoundingClientRect(); return [b.x + 60, b.y + 40]; })()");
  await page.mouse("mouseMoved", x, y, { buttons: 0 });
  await page.until("!document.querySelector('#looked-at').hidden", "a look");
  assert.notEqual(await outline(page), drawn.outline);
  await page.shot(join(folder, "look.png"), false);
  await page.mouse("mouseMoved", 30, 300, { buttons: 0 });
  await page.until("document.querySelector('#looked-at').hidden", "the look to end");
  assert.equal(await spring(page), drawn.spring);
  // a click takes it, with the curve it was made for
  await page.click("[data-card=kept-A]");
  await page.until("document.querySelector('#package').textContent === 'Download kept spring A'", "the kept spring");
  await refined(page);
  assert.notDeepEqual(await points(page), drawn.points);
  await page.click("#undo");
  await refined(page);
  assert.deepEqual(await points(page), drawn.points);
  // link
  await page.until("location.hash.startsWith('#s=')", "the link");
  await pause(700);
  const link = await page.run("location.href");
  const other = await browser.page({ width: 1280, height: 800 });
  await other.open(link);
  await refined(other);
  assert.deepEqual(await cards(other), ["kept-A", "kept-B"], "the link loses springs to compare");
  await other.until("document.querySelectorAll('[data-card] .sheet').length === 2", "the discs of a link to be drawn");
  assert.equal(await other.run("document.querySelector('[data-card=kept-A]').textContent"), words, "a spring says something else after its way through a link");
  quiet(other, "link");
  await other.close();
  // file
  await page.click("#save");
  for (let k = 0; k < 100 && !readdirSync(downloads).includes("spring-page.json"); k += 1) await pause(100);
  const saved = join(downloads, "spring-page.json");
  const third = await browser.page({ width: 1280, height: 800 });
  await third.open(address);
  await refined(third);
  await dropped(third, saved);
  await third.until("document.querySelectorAll('#wall [data-card]').length === 2", "the saved page");
  await refined(third);
  assert.deepEqual(await points(third), drawn.points);
  // states that is invalid are refused with their place
  const whole = JSON.parse(readFileSync(saved, "utf8"));
  const spoilt = (name, change, expected) => {
    const copy = structuredClone(whole);
    change(copy);
    writeFileSync(join(folder, name), JSON.stringify(copy));
    return [name, expected];
  };
  for (const [name, expected] of [
    spoilt("arms.json", (s) => (s.kept[1].spring.disc.arms = 1e9), "kept spring B"),
    spoilt("title.json", (s) => delete s.kept[0].title, "kept[0]"),
    spoilt("twice.json", (s) => (s.kept[1].name = "A"), "twice"),
    spoilt("negative.json", (s) => (s.curve.force_n[3] = -5), "the spring: "),
    spoilt("smooth.json", (s) => (s.smooth = [0, 3, 2]), "smooth"),
    spoilt("found.json", (s) => (s.found = { designs: [{}], considered: 1, passed: true, warnings: [] }), "found.designs[0]"),
  ]) {
    await dropped(third, join(folder, name));
    await third.until(`document.querySelector('#trouble-words').textContent.includes(${JSON.stringify(expected)})`, `${name}: ${expected}`);
    assert.ok((await trouble(third)).startsWith(name), await trouble(third));
    refused(third, 422);
    assert.deepEqual(await points(third), drawn.points, name);
  }
  quiet(third, "saved page");
  await third.close();
  // reload
  await page.open(address);
  await refined(page);
  assert.deepEqual(await cards(page), ["kept-A", "kept-B"], "a reload loses springs to compare");
  await page.click("#wall li:first-child .card-away");
  assert.deepEqual(await cards(page), ["kept-B"]);
}

/** By keyboard alone: settings, a point, a kept spring. */
async function byKeys(page) {
  await example(page);
  const focused = () => page.run("document.activeElement.id || document.activeElement.dataset.point || document.activeElement.dataset.card || document.activeElement.textContent");
  const tabTo = async (wish, most = 80) => {
    for (let k = 0; k < most; k += 1) {
      if ((await focused()) === wish) return;
      await page.key("Tab");
    }
    throw new Error(`${wish} cannot be reached by the Tab key; it stands at ${await focused()}`);
  };
  const enter = async () => {
    await page.call("Input.dispatchKeyEvent", { type: "keyDown", key: "Enter", code: "Enter", windowsVirtualKeyCode: 13, text: "\r" });
    await page.call("Input.dispatchKeyEvent", { type: "keyUp", key: "Enter", code: "Enter", windowsVirtualKeyCode: 13 });
  };
  await page.run("document.activeElement.blur(); document.querySelector('.skip').focus()");
  await tabTo("settings-open");
  await enter();
  assert.ok(await page.run("!document.querySelector('#settings').hidden && document.activeElement.id === 'settings-head'"));
  await page.call("Input.dispatchKeyEvent", { type: "keyDown", key: "Escape", code: "Escape", windowsVirtualKeyCode: 27 });
  assert.ok(await page.run("document.querySelector('#settings').hidden && document.activeElement.id === 'settings-open'"), "Escape closes the settings");
  await tabTo("0");
  await page.key("End");
  const last = (await points(page)).length - 1;
  assert.equal(await focused(), String(last));
  const before = await points(page);
  await page.key("ArrowUp");
  assert.notEqual((await points(page))[last], before[last]);
  await refined(page);
  await tabTo("keep");
  await enter();
  const kept = (await cards(page)).at(-1);
  await tabTo(kept);
  await enter();
  await page.until("document.querySelector('#package').textContent.startsWith('Download kept spring')", "a kept spring by keys");
  await refined(page);
}

/** A spring kept under a moving hand says nothing of its stress before it is judged as the commands judge it. */
async function keepsDrafts(page) {
  await example(page);
  await page.run("document.querySelector('[data-point=\"9\"]').focus()");
  await page.key("ArrowUp");
  await page.until("document.body.dataset.drawn === 'quick'", "a draft");
  await page.run("document.querySelector('#keep').click()");
  const card = (await cards(page)).at(-1);
  const words = () => page.run(`document.querySelector('[data-card=${card}]').textContent`);
  assert.match(await words(), /not judged yet.*a draft, judged when your hand rests/);
  await page.until(`/% good, \\d+ % stress/.test(document.querySelector('[data-card=${card}]').textContent)`, "the kept draft to be judged");
  assert.doesNotMatch(await words(), /draft/);
  await page.run(`document.querySelector('[data-card=${card}]').parentElement.querySelector('.card-away').click()`);
  await refined(page);
}

/** Curve, spring, verdicts, what is compared and the main actions on one screen. */
async function fits(browser, address) {
  for (const [width, height] of [[1280, 800], [1024, 768]]) {
    const page = await browser.page({ width, height });
    await page.open(address);
    await refined(page);
    await page.click("#keep");
    await page.run("window.scrollTo({ top: 0, behavior: 'instant' })");
    await pause(300);
    for (const id of ["chart", "formed", "verdicts", "travel", "search", "keep", "package", "settings-open", "wall"]) {
      const box = await page.run(`(() => { const b = document.getElementById('${id}').getBoundingClientRect(); return [b.left, b.top, b.right, b.bottom]; })()`);
      assert.ok(box[0] >= 0 && box[1] >= 0 && box[2] <= width + 0.5 && box[3] <= height + 0.5, `${id} at ${box.map(Math.round)} is not on the screen of ${width} × ${height}`);
    }
    const cut = await page.run("[...document.querySelectorAll('#spring .told, #wall .card-line')].filter((e) => e.scrollHeight > e.clientHeight || e.scrollWidth > e.clientWidth).map((e) => e.textContent)");
    assert.deepEqual(cut, [], `cut off on the screen of ${width} × ${height}`);
    const [, , w, h] = await field(page);
    assert.ok(w > 300 && h > 130, `the chart is ${w} × ${h}`);
    await page.shot(join(folder, `desk-${width}.png`), false);
    await page.close();
  }
  const phone = await browser.page({ width: 390, height: 844, touch: true });
  await phone.open(address);
  await refined(phone);
  const seen = await phone.run("['chart', 'formed'].map((id) => document.getElementById(id).getBoundingClientRect().bottom)");
  assert.ok(seen.every((bottom) => bottom < 844), `curve and spring end at ${seen}`);
  assert.ok(await phone.run("document.querySelector('.near button').getBoundingClientRect().bottom < 844"), "the main action is below the first screen of a phone");
  assert.ok(await phone.run("document.documentElement.scrollWidth <= innerWidth"), "the page is wider than a phone");
  await sketches(phone, "touch");
  await zooms(phone, true);
  quiet(phone, "phone");
  await phone.close();
}

async function main() {
  const served = await serve(program);
  const browser = await start();
  try {
    const { address } = served;
    const downloads = join(folder, "desk-downloads");
    mkdirSync(downloads, { recursive: true });
    await browser.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: downloads, eventsEnabled: true });
    const page = await browser.page({ width: 1360, height: 900 });
    await page.open(address);
    await refined(page);
    const parts = { sketches: () => sketches(page, "mouse"), pen: () => sketches(page, "pen"), keepsTheRest: () => keepsTheRest(page), forgetsThePath: () => forgetsThePath(page, downloads),
      zooms: () => zooms(page, false), tells: () => tells(page), compares: () => compares(page, browser, address, downloads), keepsDrafts: () => keepsDrafts(page), byKeys: () => byKeys(page), opens: () => opens(page), fits: () => fits(browser, address) };
    const chosen = process.env.PARTS?.split(",") ?? Object.keys(parts);
    for (const name of chosen) {
      const began = Date.now();
      try {
        await parts[name]();
      } catch (error) {
        await page.shot(join(folder, "failed.png"), false);
        throw error;
      }
      console.log(`${name}: ${((Date.now() - began) / 1000).toFixed(0)} s`);
      quiet(page, name);
    }
  } finally {
    await browser.stop();
    served.child.removeAllListeners("exit");
    served.child.kill();
  }
}

await main();
