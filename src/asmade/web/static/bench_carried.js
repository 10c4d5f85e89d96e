// The page a phone starts from: it shows the desk's page where the desk is in reach and else the one it carries. The browser
// keeps this page and its scripts by themselves, so that it opens without a network, over plain http too.
import { count } from "./bench_timers.js";
import { enhance, goBy } from "./bench_entry.js";
import { check, sayAwake, show, strip, watch } from "./offline.js";
import { ask } from "./queue.js";
import * as store from "./queue_store.js";

const main = document.getElementById("main");
const release = document.getElementById("carried").dataset.release.split("/v-")[1];

async function fetched(path) {
  const patience = (await store.page(path.split("?")[0])) ? 6000 : 20_000; // what is carried need not be waited for
  try {
    const response = await ask(path, { patience, headers: { accept: "text/html" } });
    if (!response.ok || !new URL(response.url).pathname.startsWith("/bench")) return null;
    const read = new DOMParser().parseFromString(await response.text(), "text/html");
    return { title: read.title, nodes: [...read.getElementById("main").childNodes] };
  } catch { return null; }
}

async function carried(path) {
  const held = await store.page(path.split("?")[0]);
  if (!held) return null;
  const read = new DOMParser().parseFromString(`<main id="main">${held.main}</main>`, "text/html");
  return { title: read.title || held.title, nodes: [...read.getElementById("main").childNodes] };
}

function absent(path) {
  const box = document.createElement("div");
  box.className = "bench";
  const words = document.createElement("p");
  words.className = "note";
  words.textContent = "There is no connection to the desk, and this phone does not carry that page. It carries what could be made when it last saw the desk.";
  const back = Object.assign(document.createElement("a"), { href: "#/bench", textContent: "To the list", className: "btn full" });
  box.append(words, back);
  return { title: path, nodes: [box] };
}

let turn = 0;
async function open() {
  const path = decodeURI(location.hash.slice(1)) || "/bench";
  const mine = ++turn;
  const wanted = path.startsWith("/bench") ? path : "/bench";
  const page = (await fetched(encodeURI(wanted))) ?? (await carried(encodeURI(wanted))) ?? absent(wanted);
  if (mine !== turn) return;
  main.replaceChildren(strip, ...page.nodes);
  document.title = page.title;
  for (const link of main.querySelectorAll("a[href^='/bench']")) link.setAttribute("href", `#${link.getAttribute("href")}`);
  enhance(main);
  count(main);
  sayAwake();
  show();
  scrollTo(0, 0);
}

goBy((path) => { if (location.hash === `#${path}`) open(); else location.hash = path; });
addEventListener("hashchange", open);

const now = await watch();
if (now && now.release !== release && !sessionStorage.getItem("asmade-renewed")) {
  sessionStorage.setItem("asmade-renewed", "1"); // once: the desk has another release, and so must this page
  await fetch(location.pathname, { cache: "reload" }).catch(() => {});
  location.reload();
}
await open();
check();
