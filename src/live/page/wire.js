// Talking with the program: one quick draft at a time, the newest only, and a fine one when the hand rests. A fine draft
// starts from the spring that was put in place last, not from the one drawn last: the same curve gives the same spring.

import { asked, start, state } from "./state.js";

const REST = 250; // ms after a drawn answer, without a change, until the fine draft

export class Refused extends Error {
  constructor(status, message) {
    super(message);
    this.status = status;
  }
}

/** This page's name among the pages that are open. */
export const tab = [...crypto.getRandomValues(new Uint8Array(9))].map((b) => b.toString(36)).join("");

async function send(path, options) {
  let answer;
  try {
    answer = await fetch(path, options);
  } catch {
    throw new Refused(0, "the program does not answer; is it still running? Start flatspire serve again and reload");
  }
  if (!answer.ok) {
    let message = answer.statusText;
    try {
      message = (await answer.json()).message;
    } catch {
      // no words came along
    }
    throw new Refused(answer.status, message);
  }
  return answer;
}

export async function get(path) {
  return (await send(path)).json();
}

export async function post(path, body) {
  const answer = await send(path, request(JSON.stringify(body), "application/json"));
  return answer.status === 204 ? null : answer.json();
}

export async function postForFile(path, body) {
  return (await send(path, request(JSON.stringify(body), "application/json"))).blob();
}

export async function postBytes(path, bytes) {
  return (await send(path, request(bytes, "application/octet-stream"))).json();
}

const request = (body, kind) => ({ method: "POST", headers: { "Content-Type": kind }, body });

let number = 0;
let drawn = 0;
let flying = false;
let fines = 0;
let waiting = null;
let rest = 0;
let handlers = { picture() {}, trouble() {}, busy() {} };

/** The number of what was asked last. */
export const latest = () => number;

export function onDraft(given) {
  handlers = given;
}

/** Asks for a draft of things as they are. `began` is the moment of what the hand did. */
export function ask(depth = "quick", began = performance.now()) {
  number += 1;
  const mine = { number, depth, began };
  clearTimeout(rest);
  if (depth !== "quick") {
    fly(mine);
    return;
  }
  if (flying) waiting = mine;
  else fly(mine);
}

/** Whether the program works on a draft. */
export const working = () => flying || fines > 0;

/** The spring that shaping starts from; the program chooses it where none was put in place. */
async function started() {
  const from = start();
  if (from.spring) return null;
  // asked under a name of its own, so that no newer draft overtakes it
  from.coming ??= post("/draft", { tab: `${tab}-start-${state.start}`, number: 1, asked: from.asked, spring: null, start: null, depth: "fine" });
  try {
    const picture = await from.coming;
    from.spring = picture.spring;
    return picture;
  } finally {
    delete from.coming;
  }
}

/** The draft of a hand that rests: the start itself where the question is the one that it answers. */
async function rested(mine) {
  const question = asked();
  const same = start().of === JSON.stringify(question);
  const chosen = await started();
  if (mine.number !== number) return null;
  if (same && chosen) return chosen;
  const spring = same ? start().spring : state.spring;
  return post("/draft", { tab, number: mine.number, asked: question, spring, start: start().spring, depth: same ? "as_is" : "fine" });
}

async function fly(mine) {
  const quick = mine.depth === "quick";
  if (quick) flying = true;
  else fines += 1;
  handlers.busy(mine.depth, true);
  let failed = false;
  try {
    const picture = mine.depth === "fine"
      ? await rested(mine)
      : await post("/draft", { tab, number: mine.number, asked: asked(), spring: state.spring, depth: mine.depth });
    // an answer to an older question than one already drawn is stale; so is a fine one once the hand moves again
    if (picture && mine.number > drawn && (quick || mine.number === number)) {
      drawn = mine.number;
      state.spring = picture.spring;
      handlers.picture(picture, mine);
    }
  } catch (error) {
    failed = true;
    if (mine.number === number) handlers.trouble(error.message);
  }
  if (!quick) {
    fines -= 1;
    handlers.busy(mine.depth, fines > 0);
    return;
  }
  flying = false;
  if (waiting) {
    const next = waiting;
    waiting = null;
    fly(next);
    return;
  }
  handlers.busy("quick", false);
  // the hand rests: nothing has been asked since
  if (mine.number === number && !failed) rest = setTimeout(() => ask("fine"), REST);
}
