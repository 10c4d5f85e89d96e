// What was entered goes into the phone's own store first and then to the desk, in order; what the desk asks about, refuses or
// was overtaken by stays in the list until somebody has answered. Each carries a key of its own: sent twice, saved once.
import * as store from "./queue_store.js";

const PATIENCE = 12_000;
const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
const random = (count) => Array.from(crypto.getRandomValues(new Uint8Array(count)), (n) => letters[n & 63]).join("");

export async function newKey() {
  let device = await store.own("device");
  if (!device) { device = random(8); await store.keepOwn("device", device); }
  return device + random(16);
}

export async function ask(path, init = {}) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), init.patience ?? PATIENCE);
  try {
    return await fetch(path, { credentials: "same-origin", cache: "no-store", ...init, signal: stop.signal });
  } finally {
    clearTimeout(timer);
  }
}

const FIELDS = ["address", "reading", "goes", "stops", "several", "instrument", "stage", "note", "operation", "aim", "seen"];

export async function keep(kind, form, how = {}) {
  const data = new FormData(form);
  const item = { kind, key: await newKey(), at: moment(), book: (await store.own("book")) ?? "", standing: "waits", path: location.pathname + location.hash, ...how };
  for (const name of FIELDS) item[name] = (data.get(name) ?? "").toString();
  item.number = await store.put(item);
  inHand.add(item.number);
  tell();
  return item;
}

// What a form of this page is still busy with is asked about there, and not in the list too.
export const inHand = new Set();
export function letGo(item) { inHand.delete(item.number); tell(); }

// The time of the phone with its offset, to the second.
function moment() {
  const now = new Date(), two = (n) => String(Math.trunc(Math.abs(n))).padStart(2, "0"), off = -now.getTimezoneOffset();
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}T${two(now.getHours())}:${two(now.getMinutes())}:${two(now.getSeconds())}` +
    `${off < 0 ? "-" : "+"}${two(off / 60)}:${two(off % 60)}`;
}

// Only what the desk does not know by itself: a time that lies in the past by more than a minute and not in the future.
function body(item) {
  const told = { kind: item.kind, key: item.key, book: item.book, sure: Boolean(item.sure), mine: Boolean(item.mine) };
  for (const name of FIELDS) if (item[name]) told[name] = item[name];
  const age = Date.now() - Date.parse(item.at);
  if (age > 60_000) told.at = item.at;
  return JSON.stringify(told);
}

// One item to the desk: {state: saved | ask | refused | meanwhile | unreachable}. What is saved leaves the phone; so it is done
// only when the desk has said so.
export async function send(item) {
  let answer;
  try {
    const response = await ask("/bench/sent", { method: "POST", headers: { "content-type": "application/json" }, body: body(item) });
    if (response.status >= 500) return { state: "unreachable" };
    const type = response.headers.get("content-type") ?? "";
    answer = type.includes("json") ? await response.json() : { state: "refused", message: (await response.text()).slice(0, 300) };
    if (response.status === 403) answer = { state: "unreachable", message: "this device is not paired any more: open /pair on it", stop: true };
    else if (answer.error) answer = { state: "refused", ...answer.error };
  } catch {
    return { state: "unreachable" };
  }
  if (answer.state === "saved" && !answer.note) await store.drop(item.number);
  else if (answer.state === "saved") await store.put({ ...item, standing: "saved", answer });
  else if (answer.state !== "unreachable") await store.put({ ...item, standing: answer.state, answer });
  tell();
  return answer;
}

let sending = null;
// All that waits, in order. One that is held back holds back only what was entered for the same size after it.
export function sendAll() {
  sending ??= (async () => {
    const held = new Set();
    let saved = 0;
    try {
      for (const item of await store.items()) {
        if (item.standing === "saved") continue;
        if (inHand.has(item.number)) { held.add(item.address); continue; }
        if (item.standing !== "waits" || held.has(item.address)) { held.add(item.address); continue; }
        const answer = await send(item);
        if (answer.state === "unreachable") return { reached: false, saved, message: answer.message };
        if (answer.state === "saved") saved += 1; else held.add(item.address);
      }
      return { reached: true, saved };
    } finally {
      sending = null;
    }
  })();
  return sending;
}

export async function changed(item, change) { await store.put({ ...item, ...change }); tell(); }
export async function forget(item) { await store.drop(item.number); tell(); }
const tell = () => dispatchEvent(new Event("asmade-queue"));
