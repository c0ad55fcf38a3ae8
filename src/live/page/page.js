// The page as a whole: who tells whom.

import { addBeside, chart, drawChart, removeSelected, select, selectedPoint, showPicture, showTravel } from "./chart.js";
import { disc, drawDisc } from "./disc.js";
import { describeRibbon, drawPressed, formed, showForm } from "./formed.js";
import { drawSettings, settings } from "./settings.js";
import { drawDesigns, drawKept, keep } from "./shelf.js";
import { asFile, asked, bringBack, canRedo, canUndo, everything, fragment, ofFile, ofFragment, onChange, redo, restore, setCurve, state, undo } from "./state.js";
import { drawTable, table } from "./table.js";
import { figure, units, withUnit } from "./units.js";
import { drawCautions, drawFacts, drawFindings, drawReach, drawReasons, drawVerdicts, spokenVerdict } from "./verdict.js";
import { ask, get, latest, onDraft, post, postBytes, postForFile, tab } from "./wire.js";

const $ = (id) => document.getElementById(id);
const START = 0.35; // of the travel, where a page begins
const BEHIND = "the spring on the page is not the one that was asked for last; correct the curve or the settings first";
const LOOK = 300; // ms between looks at a running search

let opening;
let picture = null;
let found = null; // of the last search
let foundFor = null; // what was asked then
let fresh = false; // a spring of another sheet was just put in place
let shownDepth = null; // how much work went into what is drawn
let deflection = null; // how far the spring on the page is pressed (mm)
let hand = null; // the formed spring

function say(text) {
  $("live").textContent = text;
}

/** Says what could not be done where it is seen as well. */
function tell(text) {
  say(text);
  trouble(text);
}

// what the program answers

/** Draws what the program answered; words that take reading wait until the hand rests. */
function drawAll(quick = shownDepth === "quick") {
  if (!picture) return;
  drawVerdicts($("verdicts"), $("failing"), picture, quick);
  drawFacts($("facts"), picture, quick);
  nameWhatIsTaken();
  drawReach($("reach"), picture);
  drawDisc(picture.outline, picture.size, discWords());
  $("disc-words").textContent = picture.outline.problem ?? discWords();
  if (!quick) {
    drawReasons($("reasons"), picture);
    drawFindings($("findings"), picture);
    drawCautions($("cautions"), picture);
    drawKept($("kept"), picture, { back, away });
  }
  drawChart();
  press(deflection ?? START * picture.size.free_height_mm);
}

function discWords() {
  const { size } = picture;
  const mass = size.mass_g === null ? "" : `, ${figure(size.mass_g, 3)} g`;
  return `Cut from flat sheet: Ø ${withUnit(size.outer_diameter_mm, "length", 3)}, ${size.arms} ${size.arms === 1 ? "arm" : "arms"} of ` +
    `${figure(size.turns, 2)} turns, slots ${withUnit(size.slot_mm, "length", 2)}${mass}`;
}

/** Presses the spring on the page to a deflection (mm), wherever the hand pulls. */
function press(to) {
  if (!picture) return;
  const travel = picture.size.free_height_mm;
  deflection = Math.min(Math.max(to, 0), travel);
  $("travel").value = Math.round((1000 * deflection) / travel);
  const now = drawPressed(deflection);
  const seated = Math.round(100 * now.seated);
  const force = `${now.beyond ? "over " : ""}${withUnit(now.force, "force", 3)}`;
  const words = deflection > 0.9995 * travel
    ? `flat, the disc as it is cut: ${force}`
    : `by ${withUnit(deflection, "length", 3)}: ${force}, ${seated} % of the arm seated`;
  $("travel-words").textContent = words;
  $("travel-words").dataset.seated = now.seated.toFixed(4);
  $("travel").setAttribute("aria-valuetext", words);
  $("formed").setAttribute("aria-label", `The formed spring, pressed ${words}. Arrow keys turn it, page up and page down press it.`);
  const first = picture.drawn_curve.deflection_mm[0];
  showTravel({ x: deflection + first, f: now.force });
  const peak = Math.max(...now.stress);
  describeRibbon(`Arm rolled out: ${withUnit(picture.size.width_mm[0], "length", 3)} to ${withUnit(picture.size.width_mm[1], "length", 3)} wide; ` +
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

function trouble(message) {
  $("trouble-words").textContent = message;
  $("trouble").hidden = false;
}

onDraft({
  picture(answer, mine) {
    picture = answer;
    shownDepth = mine.depth;
    // whatever the hand has shaped is drawn, wherever it came from
    if (mine.depth !== "as_is") state.origin = { kind: "drawn" };
    showPicture(answer);
    showForm(answer);
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
    if (selectedPoint() >= state.curve.deflection_mm.length) select(-1);
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

async function open(file) {
  const name = file.name || "curve.csv";
  try {
    if (/\.json$/i.test(name)) {
      const whole = ofFile(await file.text(), name);
      if (whole.units) setUnits(whole.units);
      restore(whole);
    } else {
      setCurve(await postBytes(`/curve?name=${encodeURIComponent(name)}`, file));
    }
    say(`${name} opened`);
  } catch (error) {
    trouble(error.message);
  }
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
    drawAll();
    drawFound();
  });
  $("add").addEventListener("click", addBeside);
  $("remove").addEventListener("click", removeSelected);
  $("choose").addEventListener("click", () => $("file").click());
  $("file").addEventListener("change", () => {
    if ($("file").files[0]) open($("file").files[0]);
    $("file").value = "";
  });
  $("example").addEventListener("click", () => restore({ ...structuredClone(opening.asked), spring: null }));
  $("travel").addEventListener("input", () => press((Number($("travel").value) / 1000) * picture.size.free_height_mm));
  $("play").addEventListener("click", () => hand.play());
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
    if (event.dataTransfer.files[0]) open(event.dataTransfer.files[0]);
  });
  $("search").addEventListener("click", () => search().catch(() => {}));
  $("stop").addEventListener("click", () => {
    $("search-words").textContent = "Stopping; the steps that run end first…";
    post("/search/stop", { tab }).catch((error) => trouble(error.message));
  });
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
  window.addEventListener("hashchange", () => {
    try {
      const whole = location.hash === written ? null : ofFragment(location.hash);
      if (whole) {
        if (whole.units) setUnits(whole.units);
        restore(whole);
      }
    } catch (error) {
      trouble(error.message);
    }
  });
  window.addEventListener("pagehide", () => {
    remain();
    // a search ends with its page
    if (looking) navigator.sendBeacon("/search/stop", new Blob([JSON.stringify({ tab })], { type: "application/json" }));
  });
}

// what a reload brings back; what an earlier visit left can be fetched

const KEY = "flatspire";

function remain() {
  if (!state.curve || !state.spring) return;
  const text = everything({ units: units.name, found, foundFor, deflection, address: location.hash });
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
  if (Array.isArray(whole.found?.designs) && Array.isArray(whole.found.warnings) && typeof whole.foundFor === "string") {
    [found, foundFor] = [whole.found, whole.foundFor];
    drawFound();
  }
  keptChanged();
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

/** Hands a file to the user. */
function give(name, blob) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}

// the address keeps up, so that reloading loses nothing

let written = "";
let linking = 0;

function linkSoon() {
  clearTimeout(linking);
  linking = setTimeout(() => {
    const text = fragment(units.name);
    if (text) {
      written = text;
      history.replaceState(null, "", text);
    }
    remain();
  }, 400);
}

async function copyLink() {
  const text = fragment(units.name);
  if (!text) {
    say("this curve has too many points for a link; save the page instead");
    $("search-words").textContent = "";
    return;
  }
  written = text;
  history.replaceState(null, "", text);
  try {
    await navigator.clipboard.writeText(location.href);
    flash($("link"), "Copied");
  } catch {
    flash($("link"), "It is in the address bar");
  }
}

function flash(button, words) {
  const before = button.dataset.words ?? button.textContent;
  button.dataset.words = before;
  button.textContent = words;
  say(words);
  setTimeout(() => {
    button.textContent = before;
  }, 2000);
}

// the search of the stock

let looking = null; // resolves when the search is over

function searching(on) {
  $("search").hidden = on;
  $("stop").hidden = !on;
  $("progress").hidden = !on;
}

function staleSearch() {
  if (!found) return;
  const same = foundFor === JSON.stringify(asked());
  $("designs").classList.toggle("behind", !same);
  if (!same) $("search-words").textContent = "Curve or settings have changed since this search.";
}

/** Searches the stock and shows the best; what was found, once it is. */
function search() {
  const what = asked();
  const text = JSON.stringify(what);
  if (looking?.text === text) return looking.over;
  const over = (async () => {
    searching(true);
    $("search-words").textContent = "Rating sheets and sizes by the closed form…";
    try {
      let standing = await post("/search", { tab, asked: what });
      while (standing.state === "running") {
        $("progress").max = standing.of || 1;
        $("progress").value = standing.done;
        if (standing.done > 0) $("search-words").textContent = `Shaping candidates: ${standing.done} of ${standing.of} steps done.`;
        await new Promise((resolve) => setTimeout(resolve, LOOK));
        standing = await post("/search/look", { tab });
      }
      if (standing.state === "found") {
        found = standing.found;
        foundFor = text;
        const count = found.considered.toLocaleString("en");
        $("search-words").textContent = `${count} combinations evaluated, the best ${found.designs.length} listed. ` +
          (found.passed ? "The first meets the curve and passes every check." : "The first is the nearest; it does not pass every check.");
        drawFound();
        if (JSON.stringify(asked()) === text) show(found.designs[0].spring);
        return found;
      }
      const words = { failed: standing.message, stopped: "Stopped. The spring on the page is as it was.", none: "The search is gone; start it again." };
      $("search-words").textContent = words[standing.state];
      throw new Error(words[standing.state]);
    } catch (error) {
      $("search-words").textContent = error.message;
      throw error;
    } finally {
      searching(false);
      looking = null;
    }
  })();
  looking = { text, over };
  return over;
}

function drawFound() {
  drawDesigns($("designs"), found, { show });
  staleSearch();
}

function show(spring, i = 0) {
  state.spring = spring;
  state.origin = { kind: "found", name: String(i + 1) };
  fresh = true;
  ask("as_is");
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
  const name = keep(picture, title);
  say(name ? `kept as ${name}` : "the shelf is full; take one off first");
  keptChanged();
  remain();
}

function keptChanged() {
  $("key-kept").hidden = state.kept.length === 0;
  drawKept($("kept"), picture, { back, away });
  drawChart();
}

function back(kept) {
  restore({ ...structuredClone(kept.asked), spring: structuredClone(kept.spring), origin: { kind: "kept", name: kept.name } });
}

function away(kept) {
  state.kept = state.kept.filter((other) => other !== kept);
  keptChanged();
  remain();
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
    keptChanged();
    say("the rivals are on the shelf");
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
  chart($("chart"), {
    selected(i) {
      $("remove").disabled = i < 0;
    },
    apart(apart) {
      $("key-nearest").hidden = !apart;
    },
    said: say,
    told: tell,
    // the mark is drawn where the curve counts from, the spring is pressed from its free height
    travelled: (x) => picture && press(x - picture.drawn_curve.deflection_mm[0]),
  });
  disc($("disc"));
  hand = formed($("formed"), $("ribbon"), $("scale"), { pressed: press });
  table($("table"), { said: tell });
  settings($("brief"), opening, tell);
  connect();
  if (opening.example) $("example").hidden = false;
  // another link than the page's own was meant
  const own = left(() => sessionStorage);
  const same = () => location.hash === "" || own.includes(JSON.stringify(location.hash));
  if (own && same() && takeUp(own)) return;
  let whole = null;
  try {
    whole = ofFragment(location.hash);
  } catch (error) {
    setTimeout(() => trouble(`${error.message}. The page begins with ${opening.example ? "the example" : "the curve it was started with"}.`), 300);
  }
  const earlier = left(() => localStorage);
  if (whole?.units) setUnits(whole.units);
  restore(whole ?? { ...structuredClone(opening.asked), spring: null });
  keptChanged();
  if (!whole) offerEarlier(earlier);
}

begin().catch((error) => trouble(error.message));
