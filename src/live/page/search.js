// The search of the stock: started, followed, stopped.

import { $, trouble } from "./say.js";
import { asked, state } from "./state.js";
import { post, tab } from "./wire.js";

const LOOK = 300; // ms between looks at a running search
const CHANGED = "Curve or settings have changed since this search.";

let running = null; // the question of the search that runs
let listed = ""; // result of the last search in words

export const searchRuns = () => running !== null;

function searching(on) {
  $("search").hidden = on;
  $("stop").hidden = !on;
  $("progress").hidden = !on;
}

/** Says where the question is no more the one of the last search. */
export function staleSearch() {
  if (!state.found || searchRuns()) return;
  const same = JSON.stringify(state.found.asked) === JSON.stringify(asked());
  if (!same) $("search-words").textContent = CHANGED;
  else if ($("search-words").textContent === CHANGED) $("search-words").textContent = listed;
}

export function stopSearch() {
  $("search-words").textContent = "Stopping; the steps that run end first…";
  post("/search/stop", { tab }).catch((error) => trouble(error.message));
}

/** Searches the stock; `ended` gets the result, and whether the question is still the same. */
export async function search(ended) {
  const what = structuredClone(asked());
  const text = JSON.stringify(what);
  if (running === text) return;
  running = text;
  searching(true);
  const said = $("search-words");
  said.textContent = "Rating sheets and sizes by the closed form…";
  try {
    let standing = await post("/search", { tab, asked: what });
    while (standing.state === "running") {
      $("progress").max = standing.of || 1;
      $("progress").value = standing.done;
      if (standing.done > 0) said.textContent = `Shaping candidates: ${standing.done} of ${standing.of} steps done.`;
      await new Promise((resolve) => setTimeout(resolve, LOOK));
      standing = await post("/search/look", { tab });
    }
    if (standing.state === "found") {
      const { found } = standing;
      state.found = { ...found, asked: what };
      listed = `${found.considered.toLocaleString("en")} combinations evaluated, the best ${found.designs.length} listed. ` +
        (found.passed ? "The first meets the curve and passes every check." : "The first is the nearest; it does not pass every check.");
      said.textContent = listed;
      running = null;
      ended(found, JSON.stringify(asked()) === text);
    } else {
      const words = { failed: standing.message, stopped: "Stopped. The spring on the page is as it was.", none: "The search is gone; start it again." };
      said.textContent = words[standing.state];
    }
  } catch (error) {
    said.textContent = error.message;
  } finally {
    searching(false);
    running = null;
  }
}
