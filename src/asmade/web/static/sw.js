// Answers for the desk while there is no network (over https, or on the desk's own machine). STATIC and POLICY stand above,
// put there by the desk. Readings are not its business: the page keeps and sends them itself.
const FILES = ["look.css", "bench.css", "mark.svg", "bench.js", "bench_carried.js", "bench_entry.js", "bench_timers.js", "numpad.js",
  "offline.js", "queue.js", "queue_store.js"].map((name) => `${STATIC}/${name}`);
const SHELL = `asmade ${STATIC}`;
const PATIENCE = 5000;

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const kept = await caches.open(SHELL);
    await kept.addAll([...FILES, "/bench/carried"]);
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("asmade ") && name !== SHELL) await caches.delete(name);
    await self.clients.claim();
  })());
});

function held(path) {
  return new Promise((done) => {
    const asked = indexedDB.open("asmade-bench");
    asked.onerror = () => done(null);
    asked.onsuccess = () => {
      const base = asked.result;
      if (!base.objectStoreNames.contains("pages")) { base.close(); return done(null); }
      const got = base.transaction("pages").objectStore("pages").get(path);
      got.onsuccess = () => { done(got.result ?? null); base.close(); };
      got.onerror = () => { done(null); base.close(); };
    };
    asked.onupgradeneeded = () => asked.transaction.abort();
  });
}

// The carried page in the frame of the kept one: head, menu and scripts are the release's own.
async function fromPhone(path) {
  const shell = await (await caches.open(SHELL)).match("/bench/carried");
  if (!shell) return null;
  const page = await held(path);
  if (!page) return path.startsWith("/bench") && path !== "/bench/carried" ? Response.redirect(`/bench/carried#${path}`, 302) : shell;
  const text = await shell.text();
  const [before, rest] = text.split('<main id="main">');
  const after = rest.slice(rest.lastIndexOf("</main>"));
  const title = before.replace(/<title>.*?<\/title>/s, () => `<title>${page.title}</title>`);
  const whole = `${title}<main id="main">${page.main}${after}`.replace("/bench_carried.js", "/bench.js");
  return new Response(whole, { headers: { "content-type": "text/html; charset=utf-8", "content-security-policy": POLICY, "x-content-type-options": "nosniff" } });
}

// The desk first. One that is slow to answer is not waited for where the phone carries the page; where it does not, it is.
async function page(request) {
  const path = new URL(request.url).pathname, bench = path === "/bench" || path.startsWith("/bench/");
  const asked = fetch(request);
  asked.catch(() => {});
  if (bench && (await Promise.race([asked.then(() => true, () => true), new Promise((done) => { setTimeout(done, PATIENCE, false); })])) === false && (await held(path))) {
    return (await fromPhone(path)) ?? asked;
  }
  try {
    return await asked;
  } catch (fault) {
    const answer = await fromPhone(path);
    if (answer) return answer;
    throw fault;
  }
}

async function file(request) {
  return (await (await caches.open(SHELL)).match(request, { ignoreSearch: true })) ?? fetch(request);
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith(`${STATIC}/`)) event.respondWith(file(event.request));
  else if (event.request.mode === "navigate") event.respondWith(page(event.request));
});
