// The page as a whole: who tells whom.

import { assembly, redrawAssembly, showAssembly } from "./assembly.js";
import { chart, drawChart, select, selectedPoint, showPicture, showTravel } from "./chart.js";
import { disc, drawDisc } from "./disc.js";
import { describeRibbon, drawPressed, formed, showForm } from "./formed.js";
import { addBeside, removeSelected, sketching, zoom } from "./hand.js";
import { filesOf, open } from "./open.js";
import { $, flash, give, say, tell, trouble } from "./say.js";
import { asFile, bringBack, fragment, leave, ofFragment } from "./saved.js";
import { search, searchRuns, staleSearch, stopSearch } from "./search.js";
import { drawSettings, settings } from "./settings.js";
import { asked, canRedo, canUndo, handles, onChange, redo, restore, setSpring, start, state, undo } from "./state.js";
import { drawTable, table } from "./table.js";
import { figure, units, withUnit } from "./units.js";
import { drawCautions, drawFacts, drawFindings, drawReach, drawReasons, drawVerdicts, inShort, spokenVerdict } from "./verdict.js";
import { drawTableOf, drawWall, keep, wall } from "./wall.js";
import { ask, get, latest, onDraft, post, postForFile, tab } from "./wire.js";

const START = 0.35; // of the travel, where a page begins
const BEHIND = "the spring on the page is not the one that was asked for last; correct the curve or the settings first";

let opening;
let picture = null;
let looked = null; // a spring to compare that is looked at instead of the page's own
let fresh = false; // a spring of another sheet was just put in place
let shownDepth = null; // how much work went into what is drawn
let deflection = null; // how far the spring on the page is pressed (mm)
let solid = null; // the formed spring
let chartParts = null;

// what the program answers

/** The spring that is seen: the page's own, or the one looked at. */
const seen = () => looked ?? picture;

/** Draws what the program answered; words that take reading wait until the hand rests. */
function drawAll(quick = looked === null && shownDepth === "quick") {
  const now = seen();
  if (!now) return;
  drawVerdicts($("verdicts"), $("failing"), now, quick);
  $("passing").textContent = inShort(now, quick);
  nameWhatIsTaken();
  drawReach($("reach"), now);
  drawDisc(now.outline, now.size, discWords(now));
  $("disc-words").textContent = now.outline.problem ?? discWords(now);
  if (!quick) {
    drawFacts($("facts"), now, false);
    drawReasons($("reasons"), now);
    drawFindings($("findings"), now);
    drawCautions($("cautions"), now);
    if ($("compared").open) drawTableOf($("kept"), picture);
  }
  drawChart();
  press(deflection ?? START * now.size.free_height_mm);
}

/** Shows a spring to compare on the whole page while it is looked at; none brings back the page's own. */
function look(other, title) {
  if (!picture || (looked === null && !other)) return;
  looked = other;
  document.body.classList.toggle("looks", Boolean(other));
  $("looked-at").hidden = !other;
  $("looked-at").textContent = other ? `${title}, looked at` : "";
  showPicture(seen());
  showForm(seen());
  drawAll();
}

function discWords({ size }) {
  const mass = size.mass_g === null ? "" : `, ${figure(size.mass_g, 3)} g`;
  return `Cut from flat sheet: Ø ${withUnit(size.outer_diameter_mm, "length", 3)}, ${size.arms} ${size.arms === 1 ? "arm" : "arms"} of ` +
    `${figure(size.turns, 2)} turns, slots ${withUnit(size.slot_mm, "length", 2)}${mass}`;
}

/** Presses the spring that is seen to a deflection (mm), wherever the hand pulls. */
function press(to) {
  const now = seen();
  if (!now) return;
  const travel = now.size.free_height_mm;
  const by = Math.min(Math.max(to, 0), travel);
  if (looked === null) deflection = by;
  $("travel").value = Math.round((1000 * by) / travel);
  const arm = drawPressed(by);
  const seated = Math.round(100 * arm.seated);
  const force = `${arm.beyond ? "over " : ""}${withUnit(arm.force, "force", 3)}`;
  const words = by > 0.9995 * travel
    ? `flat, the disc as it is cut: ${force}`
    : `at ${withUnit(by, "length", 3)}: ${force}, ${seated} % of the arm seated`;
  $("travel-words").textContent = words;
  $("travel-words").dataset.seated = arm.seated.toFixed(4);
  $("travel").setAttribute("aria-valuetext", words);
  $("formed").setAttribute("aria-label", `The formed spring, pressed ${words}. Arrow keys turn it, page up and page down press it.`);
  const first = now.drawn_curve.deflection_mm[0];
  showTravel({ x: by + first, f: arm.force });
  const peak = Math.max(...arm.stress);
  describeRibbon(`Arm rolled out: ${withUnit(now.size.width_mm[0], "length", 3)} to ${withUnit(now.size.width_mm[1], "length", 3)} wide; ` +
    `largest stress now ${withUnit(peak, "stress", 3)}; ${seated} % of it seated`);
}

// which spring is on the page, and what is taken along

const NAMES = {
  drawn: () => ["the spring as drawn", "spring-as-drawn"],
  found: (name) => [`design ${name}`, `spring-design-${name}`],
  kept: (name) => [`kept spring ${name}`, `spring-kept-${name}`],
  brought: () => ["the spring that was opened", "spring-opened"],
};
const nameOfSpring = () => (NAMES[state.origin.kind] ?? NAMES.drawn)(state.origin.name ?? "");

function nameWhatIsTaken() {
  const [words] = nameOfSpring();
  for (const button of document.querySelectorAll("[data-take]")) {
    if (button.dataset.busy) continue;
    button.textContent = `${button.dataset.words} ${words}`;
    button.disabled = !picture || document.body.classList.contains("behind");
  }
  $("whose").textContent = words;
}

onDraft({
  picture(answer, mine) {
    picture = answer;
    shownDepth = mine.depth;
    // whatever the hand has shaped is drawn, wherever it came from; back at the start's own question it is the start
    if (mine.depth === "fine" && start().of === JSON.stringify(asked())) state.origin = start().origin;
    else if (mine.depth !== "as_is") state.origin = { kind: "drawn" };
    showPicture(seen());
    showForm(seen());
    $("trouble").hidden = true;
    document.body.classList.remove("behind");
    drawAll();
    // measured where the browser has put it on the screen
    requestAnimationFrame(() => {
      setTimeout(() => {
        performance.measure(`${mine.depth} draft`, { start: mine.began, end: performance.now() });
        if (mine.number === latest()) document.body.dataset.drawn = mine.depth;
      });
    });
    if (mine.depth !== "quick") {
      say(spokenVerdict(answer));
      linkSoon();
    }
    if (answer.chosen_anew && !fresh) say(`another sheet or size was chosen. ${spokenVerdict(answer)}`);
    fresh = false;
  },
  trouble(message) {
    trouble(message);
    document.body.classList.add("behind");
    nameWhatIsTaken();
  },
  busy(depth, busy) {
    if (busy) delete document.body.dataset.drawn;
    document.body.classList.toggle(`busy-${depth === "quick" ? "quick" : "fine"}`, busy);
  },
});

// what the hand does

onChange((how) => {
  $("undo").disabled = !canUndo();
  $("redo").disabled = !canRedo();
  if (how.silent) return;
  if (how.whole || how.settings) drawSettings();
  if (how.whole) {
    if (!handles().includes(selectedPoint())) select(-1);
    drawNotes();
    drawChart();
  }
  if (how.restored && state.spring) ask("as_is");
  else ask("quick", how.began);
  staleSearch();
});

function drawNotes() {
  const notes = state.curve.notes ?? [];
  $("curve-notes").hidden = notes.length === 0;
  $("curve-notes").replaceChildren(...notes.map((note) => Object.assign(document.createElement("p"), { textContent: note })));
}

async function openAll(files) {
  if (!files.length) return;
  try {
    await open(files, {
      state: takeState,
      spring({ spring, curve, brief }) {
        restore({ curve: curve ?? state.curve, smooth: curve ? null : state.smooth, brief, spring });
      },
      assembly: showAssembly,
    });
    say(`${files.map(({ path }) => path).join(", ")}: opened`);
  } catch (error) {
    trouble(error.message);
  }
}

/** Puts a state in place that a link or a file holds. */
function takeState(whole) {
  if (whole.units) setUnits(whole.units);
  restore(whole);
  wallChanged();
}

function setUnits(name) {
  units.name = name;
  $("units").value = units.name;
}

function connect() {
  $("undo").addEventListener("click", () => undo() && say("undone"));
  $("redo").addEventListener("click", () => redo() && say("done again"));
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.target.matches("input[type=text]")) return;
    const key = event.key.toLowerCase();
    if (key === "z") {
      event.preventDefault();
      if (event.shiftKey) redo();
      else undo();
    } else if (key === "y") {
      event.preventDefault();
      redo();
    }
  });
  $("units").addEventListener("change", () => {
    setUnits($("units").value);
    drawSettings();
    drawTable();
    if (picture) showForm(seen());
    drawAll();
    drawWall();
    redrawAssembly().catch((error) => trouble(error.message));
  });
  $("add").addEventListener("click", addBeside);
  $("remove").addEventListener("click", removeSelected);
  $("choose").addEventListener("click", () => $("file").click());
  $("file").addEventListener("change", () => {
    openAll([...$("file").files].map((file) => ({ file, path: file.name }))).finally(() => ($("file").value = ""));
  });
  $("example").addEventListener("click", () => restore({ ...structuredClone(opening.asked), spring: null }));
  $("travel").addEventListener("input", () => press((Number($("travel").value) / 1000) * seen().size.free_height_mm));
  $("play").addEventListener("click", () => solid.play());
  $("trouble-away").addEventListener("click", () => ($("trouble").hidden = true));
  for (const name of ["dragover", "dragenter"]) {
    document.addEventListener(name, (event) => {
      event.preventDefault();
      $("drop").hidden = false;
    });
  }
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) $("drop").hidden = true;
  });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    $("drop").hidden = true;
    filesOf(event.dataTransfer).then(openAll, (error) => trouble(error.message));
  });
  connectChart();
  connectDrawer();
  for (const [button, details] of [["to-table", "compared"]]) {
    $(button).addEventListener("click", () => {
      $(details).open = true;
      $(details).scrollIntoView({ block: "center" });
      $(details).querySelector("summary").focus({ preventScroll: true });
    });
  }
  $("compared").addEventListener("toggle", () => $("compared").open && drawTableOf($("kept"), picture));
  $("search").addEventListener("click", () => search((found, same) => {
    wallChanged();
    if (same) show(found.designs[0].spring, 1);
    remain();
  }));
  $("stop").addEventListener("click", stopSearch);
  $("keep").addEventListener("click", () => keepThis());
  $("rivals").addEventListener("click", rivals);
  for (const button of document.querySelectorAll("[data-take]")) button.addEventListener("click", () => takeAlong(button));
  $("question").addEventListener("click", async () => {
    try {
      give("question.zip", await postForFile("/question", asked()));
    } catch (error) {
      say(error.message);
    }
  });
  $("save").addEventListener("click", () => {
    give("spring-page.json", new Blob([asFile(units.name)], { type: "application/json" }));
  });
  $("link").addEventListener("click", copyLink);
  window.addEventListener("hashchange", async () => {
    try {
      const whole = location.hash === written ? null : await ofFragment(location.hash);
      if (whole) takeState(whole);
    } catch (error) {
      trouble(error.message);
    }
  });
  window.addEventListener("pagehide", () => {
    remain();
    // a search ends with its page
    if (searchRuns()) navigator.sendBeacon("/search/stop", new Blob([JSON.stringify({ tab })], { type: "application/json" }));
  });
}

function toggle(button, on) {
  $(button).setAttribute("aria-pressed", String(on));
  return on;
}

const pressed = (button) => $(button).getAttribute("aria-pressed") === "true";

function connectChart() {
  $("draw").addEventListener("click", () => {
    const on = toggle("draw", !pressed("draw"));
    sketching(on);
    say(on ? "every stroke on the chart draws the curve" : "points can be moved");
  });
  // a small screen begins with the curve alone
  if (window.matchMedia("(max-width: 640px)").matches) chartParts.deviations(toggle("off", false));
  $("off").addEventListener("click", () => chartParts.deviations(toggle("off", !pressed("off"))));
  for (const [button, way] of [["zoom-in", 1], ["zoom-out", -1], ["zoom-all", 0]]) $(button).addEventListener("click", () => zoom(way));
}

/** The settings come in from the side, where the curve is: the spring stays in view. */
function connectDrawer() {
  const drawer = (open) => {
    $("settings").hidden = !open;
    $("settings-open").setAttribute("aria-expanded", String(open));
    document.body.classList.toggle("drawn-out", open);
    (open ? $("settings-head") : $("settings-open")).focus();
  };
  $("settings-open").addEventListener("click", () => drawer($("settings").hidden));
  $("settings-away").addEventListener("click", () => drawer(false));
  $("settings").addEventListener("keydown", (event) => event.key === "Escape" && drawer(false));
}

// what a reload brings back; what an earlier visit left can be fetched

const KEY = "flatspire";

function remain() {
  if (!state.curve || !state.spring) return;
  const text = leave({ units: units.name, deflection, address: location.hash });
  for (const store of [() => sessionStorage, () => localStorage]) {
    try {
      store().setItem(KEY, text);
    } catch {
      // no room, or none allowed: the link in the address still holds curve and spring
    }
  }
}

function left(store) {
  try {
    return store().getItem(KEY);
  } catch {
    return null;
  }
}

function takeUp(text) {
  const whole = text && bringBack(text);
  if (!whole) return false;
  setUnits(whole.units);
  deflection = Number.isFinite(whole.deflection) ? whole.deflection : null;
  wallChanged();
  return true;
}

function offerEarlier(text) {
  // an example that nobody has touched is no work
  try {
    const { past, kept } = JSON.parse(text);
    if (!past.length && !kept.length) return;
  } catch {
    return;
  }
  $("earlier").hidden = false;
  $("earlier-back").addEventListener("click", () => {
    $("earlier").hidden = true;
    if (!takeUp(text)) trouble("what the earlier visit left cannot be read; it is left alone");
  });
  $("earlier-away").addEventListener("click", () => ($("earlier").hidden = true));
}

// the address keeps up, so that reloading loses nothing

let written = "";
let linking = 0;

function linkSoon() {
  clearTimeout(linking);
  linking = setTimeout(() => {
    const link = fragment(units.name);
    if (link) {
      written = link.text;
      history.replaceState(null, "", written);
    }
    remain();
  }, 400);
}

async function copyLink() {
  const link = fragment(units.name);
  if (!link) {
    tell("this curve has too many points for a link; save the page instead");
    return;
  }
  if (link.without) tell(`the link holds no more: ${link.without} are left out; save the page to take them along`);
  written = link.text;
  history.replaceState(null, "", written);
  try {
    await navigator.clipboard.writeText(location.href);
    flash($("link"), "Copied");
  } catch {
    flash($("link"), "It is in the address bar");
  }
}

/** Puts a design of the search in place. */
function show(spring, place) {
  fresh = true;
  setSpring(structuredClone(spring), { kind: "found", name: String(place) });
}

/** Takes a spring to compare: with its question, where that is another one. */
function takeCard({ one, kind, place }) {
  const origin = kind === "found" ? { kind, name: String(place) } : { kind, name: one.name };
  fresh = true;
  if (JSON.stringify(one.asked) === JSON.stringify(asked())) setSpring(structuredClone(one.spring), origin);
  else restore({ ...structuredClone(one.asked), spring: structuredClone(one.spring), origin });
}

/** Resolves when what is drawn is judged like the command judges it. */
async function judged() {
  while (document.body.classList.contains("busy-quick") || document.body.classList.contains("busy-fine") || shownDepth === "quick") {
    if (document.body.classList.contains("behind")) throw new Error(BEHIND);
    await new Promise((resolve) => setTimeout(resolve, 60));
  }
  if (document.body.classList.contains("behind")) throw new Error(BEHIND);
}

/** Hands over the spring on the page: all of its package, or one file of it. */
async function takeAlong(button) {
  const { file } = button.dataset;
  button.disabled = true;
  button.dataset.busy = "1";
  try {
    button.textContent = "Evaluating it first…";
    await judged();
    const [words, name] = nameOfSpring();
    button.textContent = file ? "Making it…" : "Making the package…";
    const request = { asked: asked(), spring: state.spring, units: units.name, name, ...(file ? { file } : {}) };
    const end = file ? file.slice(file.lastIndexOf(".")) : ".zip";
    give(`${name}${end}`, await postForFile("/package", request));
    say(`${file ? button.dataset.words : "package of"} ${words}: handed over`);
  } catch (error) {
    trouble(error.message);
  } finally {
    delete button.dataset.busy;
    nameWhatIsTaken();
  }
}

// keeping and comparing

function keepThis(title) {
  if (!picture) return;
  const name = keep(picture, title, shownDepth === "quick");
  if (name) say(`kept as ${name}`);
  else tell("there is no room for another spring; take one off first");
  wallChanged();
  linkSoon();
}

function wallChanged() {
  $("key-kept").hidden = state.kept.length === 0;
  drawWall();
  drawChart();
  if ($("compared").open) drawTableOf($("kept"), picture);
  staleSearch();
}

function away(kept) {
  state.kept = state.kept.filter((other) => other !== kept);
  wallChanged();
  linkSoon();
}

async function rivals() {
  const button = $("rivals");
  const words = button.textContent;
  button.disabled = true;
  button.textContent = "Comparing, a few seconds…";
  try {
    const { springs } = await post("/compare", { asked: asked(), spring: state.spring });
    const titles = springs.map(({ title }) => title);
    state.kept = state.kept.filter((kept) => !titles.includes(kept.title));
    for (const { title, picture: other } of springs) keep(other, title);
    wallChanged();
    linkSoon();
    say("the springs of constant width and of linear taper are among those to compare");
  } catch (error) {
    trouble(error.message);
  } finally {
    button.disabled = false;
    button.textContent = words;
  }
}

async function begin() {
  opening = await get("/opening");
  setUnits(opening.units);
  chartParts = chart($("chart"), {
    banded: (on) => ($("key-band").hidden = !on),
    zoomed: (on) => ($("zoom-all").disabled = !on),
    selected(i) {
      $("remove").disabled = i < 0;
    },
    apart(apart) {
      $("key-nearest").hidden = !apart;
    },
    said: say,
    told: tell,
    // the mark is drawn where the curve counts from, the spring is pressed from its free height
    travelled: (x) => seen() && press(x - seen().drawn_curve.deflection_mm[0]),
  });
  disc($("disc"));
  solid = formed($("formed"), $("ribbon"), $("scale"), { pressed: press });
  wall($("wall"), { look, take: takeCard, away, filled: () => { drawChart(); if ($("compared").open) drawTableOf($("kept"), picture); remain(); } });
  assembly({ closed: () => $("curve").focus() });
  table($("table"), { said: tell });
  settings($("brief"), opening, tell);
  connect();
  await beginWith();
  if (opening.assembly) await showAssembly(opening.assembly);
}

/** Puts in place what the session left, what the link holds, or the opening. */
async function beginWith() {
  // another link than the page's own was meant
  const own = left(() => sessionStorage);
  const same = () => location.hash === "" || own.includes(JSON.stringify(location.hash));
  if (own && same() && takeUp(own)) return;
  let whole = null;
  try {
    whole = await ofFragment(location.hash);
  } catch (error) {
    setTimeout(() => trouble(`${error.message}. The page begins with ${opening.example ? "the example" : "the curve it was started with"}.`), 300);
  }
  const earlier = left(() => localStorage);
  if (whole?.units) setUnits(whole.units);
  restore(whole ?? { ...structuredClone(opening.asked), spring: null });
  wallChanged();
  if (!whole) offerEarlier(earlier);
}

begin().catch((error) => trouble(error.message));
