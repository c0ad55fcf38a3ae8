// Drives a headless Chromium over the DevTools protocol by pipe: no package needed.
//
//   const browser = await start();
//   const page = await browser.page({ width: 1280, height: 900 });
//   await page.open(address); await page.run("document.title"); await page.shot("page.png"); await browser.stop();

import { spawn, execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const NAMES = ["chromium", "chromium-browser", "google-chrome"];
const PATIENCE = 60000; // ms

function program() {
  const found = NAMES.find((name) => {
    try {
      execFileSync("sh", ["-c", `command -v ${name}`]);
      return true;
    } catch {
      return false;
    }
  });
  if (!found) throw new Error(`none of ${NAMES.join(", ")} is installed`);
  return found;
}

export const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

/** Starts a browser with a profile of its own. */
export async function start() {
  const profile = mkdtempSync(join(tmpdir(), "browser-"));
  const child = spawn(program(), [
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--mute-audio",
    "--disable-background-networking", "--disable-component-update", "--hide-scrollbars",
    `--user-data-dir=${profile}`, "--remote-debugging-pipe",
  ], { stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"] });
  const [to, from] = [child.stdio[3], child.stdio[4]];
  let number = 0;
  const open = new Map();
  const listeners = new Set();
  let rest = Buffer.alloc(0);
  from.on("data", (bytes) => {
    rest = Buffer.concat([rest, bytes]);
    for (let end = rest.indexOf(0); end >= 0; end = rest.indexOf(0)) {
      const message = JSON.parse(rest.subarray(0, end).toString());
      rest = rest.subarray(end + 1);
      if (message.id !== undefined) {
        const { resolve, reject } = open.get(message.id) ?? {};
        open.delete(message.id);
        if (message.error) reject?.(new Error(message.error.message));
        else resolve?.(message.result);
      } else {
        for (const listener of listeners) listener(message);
      }
    }
  });
  const failed = (error) => {
    for (const { reject } of open.values()) reject(error);
    open.clear();
  };
  child.on("error", failed);
  child.on("exit", () => failed(new Error("the browser ended")));
  const send = (method, params = {}, sessionId) => {
    number += 1;
    const id = number;
    return new Promise((resolve, reject) => {
      const late = setTimeout(() => {
        open.delete(id);
        reject(new Error(`${method}: no answer within ${PATIENCE / 1000} s`));
      }, PATIENCE);
      const settle = (how) => (value) => {
        clearTimeout(late);
        how(value);
      };
      open.set(id, { resolve: settle(resolve), reject: settle(reject) });
      to.write(`${JSON.stringify({ id, method, params, sessionId })}\0`);
    });
  };
  return {
    send,
    page: (shape) => newPage(send, listeners, shape),
    async stop() {
      await send("Browser.close").catch(() => {});
      await pause(300);
      child.kill();
      rmSync(profile, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
    },
  };
}

async function newPage(send, listeners, { width = 1280, height = 900, touch = false } = {}) {
  const { targetId } = await send("Target.createTarget", { url: "about:blank" });
  const { sessionId } = await send("Target.attachToTarget", { targetId, flatten: true });
  const call = (method, params) => send(method, params, sessionId);
  const complaints = [];
  const waiting = [];
  listeners.add((message) => {
    if (message.sessionId !== sessionId) return;
    const { method, params } = message;
    if (method === "Runtime.exceptionThrown") complaints.push(params.exceptionDetails.exception?.description ?? params.exceptionDetails.text);
    if (method === "Runtime.consoleAPICalled" && ["error", "warning", "assert"].includes(params.type)) {
      complaints.push(params.args.map((arg) => arg.value ?? arg.description).join(" "));
    }
    if (method === "Log.entryAdded" && ["error", "warning"].includes(params.entry.level)) {
      complaints.push(`${params.entry.text} ${params.entry.url ?? ""}`);
    }
    for (const waiter of [...waiting]) {
      if (waiter.method === method) {
        waiting.splice(waiting.indexOf(waiter), 1);
        waiter.resolve(params);
      }
    }
  });
  await Promise.all(["Page", "Runtime", "Log", "Network"].map((domain) => call(`${domain}.enable`)));
  await call("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: touch ? 2 : 1, mobile: touch });
  if (touch) await call("Emulation.setTouchEmulationEnabled", { enabled: true });
  const page = {
    call,
    /** errors and warnings of the console so far */
    complaints,
    event: (method) => new Promise((resolve) => waiting.push({ method, resolve })),
    async open(address) {
      const loaded = page.event("Page.loadEventFired");
      await call("Page.navigate", { url: address });
      await loaded;
    },
    /** the value of an expression in the page */
    async run(expression) {
      const { result, exceptionDetails } = await call("Runtime.evaluate", { expression, awaitPromise: true, returnByValue: true });
      if (exceptionDetails) throw new Error(exceptionDetails.exception?.description ?? exceptionDetails.text);
      return result.value;
    },
    /** waits until an expression is true in the page */
    async until(expression, words = expression, patience = PATIENCE) {
      const end = Date.now() + patience;
      while (Date.now() < end) {
        const value = await page.run(expression);
        if (value) return value;
        await pause(50);
      }
      throw new Error(`waited ${patience / 1000} s for: ${words}`);
    },
    mouse: (type, x, y, extra = {}) => call("Input.dispatchMouseEvent", { type, x, y, button: "left", buttons: type === "mouseReleased" ? 0 : 1, clickCount: 1, ...extra }),
    async click(selector) {
      const place = await page.run(`(() => { const e = document.querySelector(${JSON.stringify(selector)}); e.scrollIntoView({ block: "center", behavior: "instant" }); const b = e.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()`);
      await page.mouse("mousePressed", ...place);
      await page.mouse("mouseReleased", ...place);
    },
    async key(key, modifiers = 0) {
      const codes = { ArrowUp: 38, ArrowDown: 40, ArrowLeft: 37, ArrowRight: 39, Delete: 46, Tab: 9, Enter: 13, Home: 36, End: 35, PageUp: 33, PageDown: 34 };
      const event = { key, code: key, windowsVirtualKeyCode: codes[key], modifiers };
      await call("Input.dispatchKeyEvent", { type: "keyDown", ...event });
      await call("Input.dispatchKeyEvent", { type: "keyUp", ...event });
    },
    /** a picture of the whole page as PNG */
    async shot(path, whole = true) {
      const { cssContentSize: size } = await call("Page.getLayoutMetrics");
      const clip = whole ? { x: 0, y: 0, width: size.width, height: size.height, scale: 1 } : undefined;
      const { data } = await call("Page.captureScreenshot", { format: "png", captureBeyondViewport: whole, clip });
      writeFileSync(path, Buffer.from(data, "base64"));
    },
    close: () => send("Target.closeTarget", { targetId }),
  };
  return page;
}
