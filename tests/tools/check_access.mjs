// What axe-core finds on the page of `flatspire serve` and on a report, dark and light, at a desk and on a phone:
// check_access.mjs PROGRAM PACKAGE AXE

import assert from "node:assert/strict";
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pause, start } from "./browser.mjs";
import { dropped, refined, serve } from "./page_steps.mjs";

const [program, folder, checker] = process.argv.slice(2);
const source = readFileSync(checker, "utf8");
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

const findings = [];

async function look(page, name) {
  await page.run(source);
  const found = await page.run(`axe.run(document, { runOnly: ${JSON.stringify(RULES)} }).then(({ violations, passes }) => ({ passes: passes.length, violations: violations.map((v) => ({ id: v.id, help: v.help, nodes: v.nodes.map((n) => n.target.join(' ') + ' | ' + n.any.concat(n.all, n.none).map((c) => c.message).join('; ')) })) }))`);
  console.log(`${name}: ${found.passes} rules kept, ${found.violations.length} broken`);
  for (const { id, help, nodes } of found.violations) findings.push(`${name}: ${id}, ${help}: ${nodes.slice(0, 4).join(" // ")}`);
}

// two discs of the package in series
const pair = mkdtempSync(join(tmpdir(), "pair-"));
mkdirSync(join(pair, "disc"));
copyFileSync(join(folder, "spring.toml"), join(pair, "disc", "spring.toml"));
writeFileSync(join(pair, "assembly.toml"), "format = 1\nkind = \"series\"\nheight = 20\n[[member]]\nfolder = \"disc\"\ncount = 2\nstacked = \"series\"\n");

const served = await serve(program);
const browser = await start();
try {
  for (const scheme of ["light", "dark"]) {
    for (const [width, height] of [[1280, 800], [390, 844]]) {
      const shape = `${scheme}, ${width} px`;
      const page = await browser.page({ width, height });
      await page.call("Emulation.setEmulatedMedia", { features: [{ name: "prefers-color-scheme", value: scheme }] });
      await page.open(served.address);
      await refined(page);
      await look(page, `page, ${shape}`);
      if (width > 1000) {
        // a curve out of reach, a spring to compare, settings, all numbers
        await page.run("document.querySelector('[data-point=\"10\"]').focus()");
        for (let k = 0; k < 6; k += 1) await page.key("ArrowUp", 8);
        await page.until("!document.querySelector('#reach').hidden", "what is out of reach");
        await refined(page);
        await page.click("#keep");
        await page.click("#to-table");
        await page.click("#numbers summary");
        await page.click("#settings-open");
        await pause(300);
        await look(page, `page at work, ${shape}`);
        await page.click("#settings-away");
        await dropped(page, pair);
        await page.until("!document.querySelector('#assembly').hidden", "the assembly");
        await look(page, `page with an assembly, ${shape}`);
      }
      await page.close();
      const report = await browser.page({ width, height });
      await report.call("Emulation.setEmulatedMedia", { features: [{ name: "prefers-color-scheme", value: scheme }] });
      await report.open(`file://${resolve(join(folder, "report.html"))}`);
      await look(report, `report, ${shape}`);
      await report.close();
    }
  }
} finally {
  await browser.stop();
  served.child.removeAllListeners("exit");
  served.child.kill();
  rmSync(pair, { recursive: true });
}
assert.deepEqual(findings, []);
