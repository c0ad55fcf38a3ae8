// The page as a whole: who tells whom.

import { addBeside, chart, drawChart, removeSelected, select, selectedPoint, showPicture, showTravel } from "./chart.js";
import { disc, drawDisc } from "./disc.js";
import { describeRibbon, drawPressed, formed, fullStress, showForm } from "./formed.js";
import { drawSettings, settings } from "./settings.js";
import { drawDesigns, drawKept, keep } from "./shelf.js";
import { asFile, asked, canRedo, canUndo, fragment, ofFile, ofFragment, onChange, redo, restore, setCurve, state, undo } from "./state.js";
import { drawTable, table } from "./table.js";
import { figure, units, withUnit } from "./units.js";
import { drawCautions, drawFindings, drawReach, drawVerdicts, spokenVerdict } from "./verdict.js";
import { ask, get, latest, onDraft, post, postBytes, postForFile, tab } from "./wire.js";

const $ = (id) => document.getElementById(id);
const LOOK = 300; // ms between looks at a running search

let opening;
let picture = null;
let found = null; // of the last search
let foundFor = null; // what was asked then
let fresh = false; // a spring of another sheet was just put in place

function say(text) {
  $("live").textContent = text;
}

// what the program answers

/** Draws what the program answered; words that take reading wait until the hand rests. */
function drawAll(quick) {
  if (!picture) return;
  drawVerdicts($("verdicts"), picture);
  drawReach($("reach"), picture);
  drawDisc(picture.outline, picture.size, discWords());
  $("disc-words").textContent = picture.outline.problem ?? discWords();
  if (!quick) {
    drawFindings($("findings"), picture);
    drawCautions($("cautions"), picture);
    drawKept($("kept"), picture, { back, away });
  }
  $("scale").textContent = `, full at ${withUnit(fullStress(), "stress", 3)}`;
  drawChart();
  press();
}

function discWords() {
  const { size } = picture;
  const mass = size.mass_g === null ? "" : `, ${figure(size.mass_g, 3)} g`;
  return `Cut from flat sheet: Ø ${withUnit(size.outer_diameter_mm, "length", 3)}, ${size.arms} ${size.arms === 1 ? "arm" : "arms"} of ` +
    `${figure(size.turns, 2)} turns, slots ${withUnit(size.slot_mm, "length", 2)}${mass}`;
}

function press() {
  if (!picture) return;
  const travel = picture.motion.deflection_mm;
  const deflection = (Number($("travel").value) / 1000) * travel[travel.length - 1];
  const now = drawPressed(deflection);
  const seated = Math.round(100 * now.seated);
  const words = `by ${withUnit(deflection, "length", 3)}: ${withUnit(now.force, "force", 3)}, ${seated} % of the arm rests`;
  $("travel-words").textContent = words;
  $("travel").setAttribute("aria-valuetext", words);
  $("formed-words").textContent = `Set to ${withUnit(picture.size.free_height_mm, "length", 3)}, pressed ${words.split(":")[0]} (heights drawn double)`;
  const first = picture.drawn_curve.deflection_mm[0];
  showTravel({ x: deflection + first, f: now.force });
  const peak = Math.max(...now.stress);
  describeRibbon(`Arm rolled out: ${withUnit(picture.size.width_mm[0], "length", 3)} to ${withUnit(picture.size.width_mm[1], "length", 3)} wide; ` +
    `largest stress now ${withUnit(peak, "stress", 3)}`);
}

onDraft({
  picture(answer, mine) {
    picture = answer;
    showPicture(answer);
    showForm(answer);
    $("trouble").hidden = true;
    document.body.classList.remove("behind");
    drawAll(mine.depth === "quick");
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
    $("trouble").textContent = message;
    $("trouble").hidden = false;
    document.body.classList.add("behind");
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
      const whole = ofFile(await file.text());
      if (!whole) throw new Error(`${name}: is no saved page; expected one that was written by "Save this page"`);
      if (whole.units) setUnits(whole.units);
      restore(whole);
    } else {
      setCurve(await postBytes(`/curve?name=${encodeURIComponent(name)}`, file));
    }
    say(`${name} opened`);
  } catch (error) {
    $("trouble").textContent = error.message;
    $("trouble").hidden = false;
    $("trouble").scrollIntoView({ block: "nearest" });
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
  $("travel").addEventListener("input", press);
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
  $("stop").addEventListener("click", () => post("/search/stop", { tab }));
  $("keep").addEventListener("click", () => keepThis());
  $("rivals").addEventListener("click", rivals);
  $("package").addEventListener("click", downloadPackage);
  $("question").addEventListener("click", async () => {
    try {
      hand("question.zip", await postForFile("/question", asked()));
    } catch (error) {
      say(error.message);
    }
  });
  $("save").addEventListener("click", () => {
    hand("spring-page.json", new Blob([asFile(units.name)], { type: "application/json" }));
  });
  $("link").addEventListener("click", copyLink);
  window.addEventListener("hashchange", () => {
    const whole = location.hash === written ? null : ofFragment(location.hash);
    if (whole) {
      if (whole.units) setUnits(whole.units);
      restore(whole);
    }
  });
}

/** Hands a file to the user. */
function hand(name, blob) {
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
    $("search-words").textContent = "Judging sheets and sizes by the closed form…";
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

function show(spring) {
  state.spring = spring;
  fresh = true;
  ask("as_is");
}

async function downloadPackage() {
  const button = $("package");
  button.disabled = true;
  try {
    if (foundFor !== JSON.stringify(asked())) {
      $("stock").scrollIntoView({ block: "nearest" });
      await search();
    }
    const what = JSON.parse(foundFor);
    hand("spring.zip", await postForFile("/package", { asked: what, units: units.name }));
    say("package downloaded");
  } catch (error) {
    say(error.message);
    $("search-words").textContent = error.message;
  } finally {
    button.disabled = false;
  }
}

// keeping and comparing

function keepThis(title) {
  if (!picture) return;
  const name = keep(picture, title);
  say(name ? `kept as ${name}` : "the shelf is full; take one off first");
  keptChanged();
}

function keptChanged() {
  $("key-kept").hidden = state.kept.length === 0;
  drawKept($("kept"), picture, { back, away });
  drawChart();
}

function back(kept) {
  restore({ ...structuredClone(kept.asked), spring: structuredClone(kept.spring) });
}

function away(kept) {
  state.kept = state.kept.filter((other) => other !== kept);
  keptChanged();
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
    say(error.message);
    $("trouble").textContent = error.message;
    $("trouble").hidden = false;
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
  });
  disc($("disc"));
  formed($("formed"), $("ribbon"));
  table($("table"), { said: say });
  settings($("brief"), opening, say);
  connect();
  if (opening.example) $("example").hidden = false;
  const whole = ofFragment(location.hash);
  if (whole?.units) setUnits(whole.units);
  restore(whole ?? { ...structuredClone(opening.asked), spring: null });
  keptChanged();
}

begin().catch((error) => {
  $("trouble").textContent = error.message;
  $("trouble").hidden = false;
});
