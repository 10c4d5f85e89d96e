// The strip over every bench page: whether the desk is in reach, how much is unsent and what became of it; what the phone
// carries; the screen that stays awake.
import * as store from "./queue_store.js";
import { ask, changed, forget, inHand, send, sendAll } from "./queue.js";

const EVERY = 15_000;
const PAUSE = 60_000; // the desk works for some seconds on what is carried: not after each reading
const TRAVELS = matchMedia("(pointer: coarse)").matches || !["127.0.0.1", "localhost"].includes(location.hostname);
const strip = document.createElement("div");
strip.className = "strip";
strip.hidden = true;
strip.setAttribute("role", "status");
let reached = true, told = null, carrying = false, words = "", sure = null;

export const isReached = () => reached;

function element(name, text = "", more = {}) {
  const made = document.createElement(name);
  made.textContent = text;
  for (const [key, value] of Object.entries(more)) made.setAttribute(key, value);
  return made;
}

function button(text, act, plain = true) {
  const made = element("button", text, { type: "button", class: plain ? "btn plain" : "btn" });
  made.addEventListener("click", act);
  return made;
}

const said = (item) => item.kind === "done" ? `${item.address}: ${item.operation} done`
  : `${item.address}: ${item.reading || `goes ${item.goes}, stops ${item.stops}`}${item.instrument ? `, ${item.instrument}` : ""}`;

function stands(item) {
  const answer = item.answer ?? {};
  if (item.standing === "ask") return [...(answer.slips ?? []), answer.stages?.length ? "How far is it?" : "Is that right?"].join(" ");
  if (item.standing === "refused") return `Refused: ${answer.message ?? ""} ${answer.way_out ?? ""}`;
  if (item.standing === "meanwhile") return `Meanwhile ${answer.message}.`;
  if (item.standing === "saved") return `Saved as entry ${answer.entry}; ${answer.note}.`;
  return "waits for the desk";
}

async function again(item, more = {}) {
  const kept = { ...item, standing: "waits", ...more };
  await store.put(kept);
  const answer = await send(kept);
  if (answer.state === "saved") sendAll();
}

function row(item) {
  const made = element("li");
  made.append(element("b", said(item)), element("div", `${item.at.slice(0, 16).replace("T", " ")}; ${stands(item)}`));
  const answers = element("div", "", { class: "answers" });
  if (item.standing === "saved") answers.append(button("Seen", () => forget(item)));
  else {
    if (item.standing === "ask" && item.answer?.stages?.length) for (const [stage, text] of item.answer.stages) answers.append(button(text, () => again(item, { sure: true, stage })));
    else if (item.standing === "ask") answers.append(button("Yes, save it", () => again(item, { sure: true })));
    if (item.standing === "meanwhile") answers.append(button("Save mine too: it counts from now", () => again(item, { mine: true })));
    if (item.standing === "refused") answers.append(button("Send again", () => again(item)));
    if (item.kind === "reading") answers.append(element("a", "To its page", { class: "btn plain", href: item.path }));
    answers.append(sure === item.number
      ? button("Really throw it away", async () => { sure = null; await forget(item); }, false)
      : button("Throw it away", () => { sure = item.number; show(); }));
  }
  made.append(answers);
  return made;
}

let turn = 0;
async function show() {
  const mine = ++turn, items = (await store.items()).filter((item) => !inHand.has(item.number));
  if (mine !== turn) return; // a later one shows what is now
  const unsent = items.filter((item) => item.standing !== "saved");
  const open = strip.querySelector("details")?.open || items.some((item) => item.standing !== "waits");
  strip.replaceChildren();
  strip.classList.toggle("calm", reached && items.every((item) => item.standing === "waits" || item.standing === "saved"));
  if (!reached) strip.append(element("p", words || "No connection to the desk. Enter what you measure: it is kept on this phone."));
  else if (words) strip.append(element("p", words));
  if (items.length) {
    const details = element("details");
    const title = unsent.length ? `${unsent.length} unsent` : `${items.length} to look at`;
    details.append(element("summary", title, { "data-unsent": String(unsent.length) }));
    const list = element("ul", "", { class: "unsent" });
    list.append(...items.map(row));
    details.append(list);
    if (unsent.length) details.append(button("Send now", check));
    details.open = open;
    strip.append(details);
  }
  strip.hidden = reached && !items.length && !words;
  document.documentElement.dataset.reached = reached ? "yes" : "no";
  for (const form of document.querySelectorAll("form[data-online] button")) form.disabled = !reached;
}

// Is the desk there, and where does its book stand? Then what waits is sent, and what the phone carries is renewed.
export async function check() {
  let now = null;
  try {
    const response = await ask("/bench/state", { patience: 8000 });
    if (response.ok) now = await response.json();
    else if (response.status === 403) words = "This phone is not paired any more. What is unsent is kept; open /pair on it.";
  } catch { /* no network: said below */ }
  reached = now !== null;
  if (!reached) return show();
  words = "";
  if (told === null || told.book !== now.book) await store.keepOwn("book", now.book);
  told = now;
  const here = Number(document.querySelector("[data-state]")?.dataset.state ?? 0);
  const went = await sendAll();
  if (went.saved) words = went.saved === 1 ? "1 entry was sent." : `${went.saved} entries were sent.`;
  else if (here && here < now.state) words = "The book has moved on since this page was made.";
  await show();
  if (here && here < now.state && !went.saved) strip.append(Object.assign(element("a", "Load it again", { class: "btn plain" }), { href: location.href }));
  carry();
  return now;
}

// The pages of all that can be made now, whenever the book has moved on.
async function carry() {
  if (carrying || !TRAVELS || document.visibilityState === "hidden") return;
  const have = await store.own("carried");
  if (have && have.book === told.book && have.release === told.release && (have.state === told.state || Date.now() - have.at < PAUSE)) return;
  carrying = true;
  try {
    const response = await ask("/bench/pages", { patience: 120_000 });
    if (!response.ok) return;
    const load = await response.json();
    await store.keepPages(load.pages);
    await store.keepOwn("carried", { state: load.state, release: load.release, book: load.book, sizes: load.sizes, left_out: load.left_out, title: load.title, at: Date.now() });
    document.documentElement.dataset.carried = String(load.state);
    dispatchEvent(new Event("asmade-carried"));
  } catch { /* the next time */ } finally {
    carrying = false;
  }
}

// The screen stays awake where the browser allows it (https or this machine); where it does not, that is said once.
let lock = null;
async function stayAwake() {
  if (lock || document.visibilityState !== "visible") return;
  if (!("wakeLock" in navigator)) return sayAwake();
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => { lock = null; });
  } catch { /* the phone saves its battery */ }
}

export function sayAwake() {
  if ("wakeLock" in navigator || document.querySelector("[data-awake]")) return;
  const why = isSecureContext ? "This browser" : "Over plain http the browser";
  document.querySelector(".bench")?.append(element("p", `${why} cannot keep the screen awake: set the phone's own screen time longer.`, { class: "small soft", "data-awake": "no" }));
}

export function watch() {
  const main = document.getElementById("main");
  main.prepend(strip);
  addEventListener("asmade-queue", show);
  addEventListener("online", check);
  addEventListener("offline", check);
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") { check(); stayAwake(); } });
  setInterval(check, EVERY);
  if (TRAVELS && "serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => {});
  navigator.storage?.persist?.().catch(() => {});
  stayAwake();
  return check();
}
export { show, strip, changed };
