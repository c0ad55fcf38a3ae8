// An assembly that was dropped: its verdicts, its section in four positions, its curve, as the commands have them.

import { $, give, trouble } from "./say.js";
import { told, units } from "./units.js";
import { post, postForFile } from "./wire.js";
import { drawReasons, drawVerdicts } from "./verdict.js";

let given = null;

/** A picture that the program drew. */
function svgOf(text) {
  const { documentElement } = new DOMParser().parseFromString(text, "image/svg+xml");
  return document.importNode(documentElement, true);
}

export function assembly(hooks) {
  $("assembly-away").addEventListener("click", () => {
    $("assembly").hidden = true;
    given = null;
    hooks.closed();
  });
  $("assembly-package").addEventListener("click", async () => {
    const button = $("assembly-package");
    button.disabled = true;
    try {
      give("assembly.zip", await postForFile("/assembly", { given, units: units.name, files: true }));
    } catch (error) {
      trouble(error.message);
    } finally {
      button.disabled = false;
    }
  });
}

/** Shows an assembly; what cannot be put together is thrown in words. */
export async function showAssembly(files) {
  const shown = await post("/assembly", { given: files, units: units.name });
  given = files;
  $("assembly-name").textContent = files.name;
  drawVerdicts($("assembly-verdicts"), $("assembly-failing"), shown, false);
  drawReasons($("assembly-reasons"), shown);
  $("assembly-sections").replaceChildren(svgOf(shown.sections));
  $("assembly-chart").replaceChildren(svgOf(shown.chart));
  $("assembly-cautions").replaceChildren(...shown.cautions.map((text) => Object.assign(document.createElement("li"), { textContent: told(text) })));
  $("assembly").hidden = false;
  $("assembly").scrollIntoView({ block: "start" });
  $("assembly-head").focus();
}

/** Draws it again, in other units. */
export async function redrawAssembly() {
  if (given) await showAssembly(given);
}
