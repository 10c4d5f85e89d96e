// What the phone keeps: pages of the bench, what was entered and not sent yet, a few words of its own. IndexedDB works over
// plain http too, and outlives the browser's end.
const NAME = "asmade-bench";
let opening = null;

function open() {
  opening ??= new Promise((done, fail) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("pages");
      asked.result.createObjectStore("queue", { keyPath: "number", autoIncrement: true });
      asked.result.createObjectStore("own");
    };
    asked.onsuccess = () => { asked.result.onversionchange = () => { asked.result.close(); opening = null; }; done(asked.result); };
    asked.onerror = () => { opening = null; fail(asked.error); };
  });
  return opening;
}

async function work(store, mode, what) {
  const base = await open();
  return new Promise((done, fail) => {
    const doing = base.transaction(store, mode, mode === "readwrite" ? { durability: "strict" } : undefined);
    let answer;
    const asked = what(doing.objectStore(store));
    if (asked) asked.onsuccess = () => { answer = asked.result; };
    doing.oncomplete = () => done(answer); // only now is it kept
    doing.onerror = doing.onabort = () => fail(doing.error);
  });
}

export const page = (path) => work("pages", "readonly", (s) => s.get(path));
export const paths = () => work("pages", "readonly", (s) => s.getAllKeys());
export const own = (name) => work("own", "readonly", (s) => s.get(name));
export const keepOwn = (name, value) => work("own", "readwrite", (s) => s.put(value, name));
export const items = () => work("queue", "readonly", (s) => s.getAll());
export const put = (item) => work("queue", "readwrite", (s) => s.put(item));
export const drop = (number) => work("queue", "readwrite", (s) => s.delete(number));
export const keepPages = (pages) => work("pages", "readwrite", (s) => {
  s.clear();
  for (const [path, held] of Object.entries(pages)) s.put(held, path);
});
