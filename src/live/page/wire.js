// Talking with the program: one quick draft at a time, the newest only, and a fine one when the hand rests.

import { asked, state } from "./state.js";

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

async function fly(mine) {
  const quick = mine.depth === "quick";
  if (quick) flying = true;
  else fines += 1;
  handlers.busy(mine.depth, true);
  let failed = false;
  try {
    const picture = await post("/draft", {
      tab,
      number: mine.number,
      asked: asked(),
      spring: state.spring,
      depth: mine.depth,
    });
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
