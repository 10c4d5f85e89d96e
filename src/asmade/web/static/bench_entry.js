// One reading or one done operation from a form of the bench: asked about at once, kept on the phone, sent, shown.
import { check, isReached } from "./offline.js";
import { pads, plain, single } from "./numpad.js";
import { ask, changed, forget, keep, letGo, send } from "./queue.js";

const INSTRUMENT = "asmade-instrument";
let go = (path) => { location.assign(path); };
export const goBy = (way) => { go = way; };

function element(name, text = "", more = {}) {
  const made = document.createElement(name);
  made.textContent = text;
  for (const [key, value] of Object.entries(more)) made.setAttribute(key, value);
  return made;
}

// A question in place of the form: its answers, the first one meant for "no".
function question(form, title, lines, answers) {
  form.parentElement.querySelector(".ask")?.remove();
  const box = element("div", "", { class: "ask", role: "alertdialog", "aria-label": title });
  box.append(element("h2", title), ...lines.map((line) => element("p", line)));
  const row = element("div", "", { class: "answers" });
  for (const [text, act, first] of answers) {
    const made = element("button", text, { type: "button", class: first ? "btn" : "btn plain" });
    made.addEventListener("click", () => { box.remove(); form.hidden = false; act(); });
    row.append(made);
  }
  box.append(row);
  form.before(box);
  form.hidden = true;
  box.querySelector("button").focus();
  box.scrollIntoView({ block: "nearest" });
}

function refuse(form, message, way = "") {
  form.querySelector(".refusal")?.remove();
  const box = element("p", "", { class: "refusal", role: "alert", id: "r-now" });
  box.append(element("b", message), element("span", way));
  (form.querySelector(".entry") ?? form.firstElementChild).before(box);
  box.scrollIntoView({ block: "nearest" });
}

const clean = (form) => { form.querySelector(".refusal")?.remove(); };

// What the browser can tell by itself: a bare figure far from what is expected. The desk looks at the rest.
function slip(form) {
  const { expectLow, expectHigh } = form.dataset;
  if (expectLow === undefined) return "";
  const unit = form.elements.instrument.selectedOptions[0]?.textContent.endsWith(", in inch") ? "inch" : "mm";
  for (const text of single(form.elements.reading.value)) {
    const value = plain(text, unit);
    if (value !== null && (value < Number(expectLow) || value > Number(expectHigh)))
      return `${text}${unit === "inch" ? " in" : " mm"} is far from what is expected here (${Number(expectLow).toFixed(2)} to ${Number(expectHigh).toFixed(2)} mm): a slip of the decimal point, or of the unit?`;
  }
  return "";
}

async function submit(form, how = {}) {
  clean(form);
  const kind = form.dataset.kind;
  if (kind === "reading") {
    if (!form.elements.reading.value.trim() && !form.elements.goes.value.trim() && !form.elements.stops.value.trim())
      return refuse(form, "There is no reading.", "Type what it measures.");
    localStorage.setItem(INSTRUMENT, form.elements.instrument.value);
    const far = !how.sure && !isReached() && slip(form);
    if (far) return question(form, "Is that right?", [far, "Nothing is kept yet."], [["No, measure again", () => form.elements.reading.select(), true], ["Yes, keep it", () => submit(form, { sure: true })]]);
  }
  const item = await keep(kind, form, how);
  const answer = await send(item);
  if (answer.state === "unreachable") {
    letGo(item);
    check();
    return keptHere(form, answer.message);
  }
  await settle(form, item, answer);
}

async function settle(form, item, answer) {
  if (answer.state === "saved") { letGo(item); return go(answer.page); }
  const reading = item.kind === "reading";
  if (answer.state === "ask") {
    const anew = async (stage) => {
      const kept = { ...item, sure: true, standing: "waits", ...(stage ? { stage } : {}) };
      await changed(kept, {});
      const next = await send(kept);
      if (next.state !== "unreachable") return settle(form, kept, next);
      letGo(kept);
      return keptHere(form);
    };
    const answers = answer.stages.length ? answer.stages.map(([stage, words]) => [words, () => anew(stage), false]) : [["Yes, save it", () => anew(), false]];
    return question(form, answer.slips.length ? "Is that right?" : "How far is it?", [...answer.slips, `Read as ${answer.read_as}. Nothing is saved yet.`],
      [["No, measure again", async () => { await forget(item); form.elements.reading?.select(); }, true], ...answers]);
  }
  if (answer.state === "meanwhile")
    return question(form, "Somebody entered it meanwhile", [`${answer.message}.`, "Yours is kept on this phone until you say."],
      [["Throw mine away", () => forget(item), true], ["Save mine too: it counts from now", async () => {
        const kept = { ...item, mine: true, standing: "waits" };
        await changed(kept, {});
        const next = await send(kept);
        if (next.state !== "unreachable") return settle(form, kept, next);
        letGo(kept);
        return keptHere(form);
      }]]);
  if (reading) await forget(item); // it still stands in the field
  refuse(form, answer.message ?? "It was refused.", answer.way_out ?? "");
  if (!reading) await forget(item);
}

function keptHere(form, message = "") {
  if (form.dataset.kind === "done") {
    form.replaceWith(element("p", "Done: kept on this phone, not sent yet.", { class: "note", role: "status" }));
    return;
  }
  form.elements.reading.value = form.elements.goes.value = form.elements.stops.value = "";
  form.querySelector(".kept")?.remove();
  form.querySelector(".entry").after(element("p", message || "Kept on this phone; it is sent when the desk is back.", { class: "note kept", role: "status" }));
}

// The reading shown back while it is typed: by the desk, which does the sums; without it nothing is claimed.
function readBack(form) {
  const field = form.elements.reading, out = form.querySelector("[data-readback]");
  if (!field || !out) return;
  let timer = 0, turn = 0;
  const look = async () => {
    const mine = ++turn, texts = single(field.value);
    if (!texts.length || !isReached()) { out.textContent = texts.length ? `${texts.length > 1 ? `${texts.length} readings; ` : ""}read back when the desk is there` : ""; return; }
    const query = new URLSearchParams({ address: form.dataset.back, reading: field.value, instrument: form.elements.instrument.value, several: form.elements.several?.value ?? "" });
    let back;
    try {
      const response = await ask(`/bench/back?${query}`, { patience: 20_000 });
      back = response.ok ? await response.json() : null;
    } catch { back = null; }
    if (mine !== turn) return;
    out.replaceChildren();
    if (!back?.read) return;
    out.append(`= ${back.read}`);
    if (back.count > 1) out.append(element("span", `${back.count} readings, spread ${back.spread}`, { class: "spread" }));
    if (back.slips.length) out.append(element("span", back.slips[0], { class: "off" }));
    else if (back.off) {
      out.append(element("span", `${back.off} still to come off`, { class: "off" }));
      const first = back.cuts[0];
      if (first) out.append(element("span", `next: ${first.words}, dial from zero ${first.dial || "not entered in the shop"}, then it is ${first.size}`, { class: "spread" }));
    } else if (back.words) out.append(element("span", back.words, { class: "off" }));
  };
  const later = () => { clearTimeout(timer); timer = setTimeout(look, 250); };
  field.addEventListener("input", later);
  form.elements.instrument.addEventListener("change", later);
  for (const one of form.querySelectorAll("[name=several]")) one.addEventListener("change", later);
}

export function enhance(root) {
  pads(root);
  for (const form of root.querySelectorAll("form[data-kind]")) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (form.dataset.busy) return; // a second press while the first is under way
      form.dataset.busy = "1";
      submit(form).catch((fault) => refuse(form, "This browser could not keep it. Write it down on paper.", String(fault))).finally(() => { delete form.dataset.busy; });
    });
    const held = localStorage.getItem(INSTRUMENT), pick = form.elements.instrument;
    if (held !== null && pick && !pick.value && [...pick.options].some((one) => one.value === held)) pick.value = held;
    readBack(form);
  }
  steps(root);
  if (!matchMedia("(pointer: coarse)").matches) root.querySelector("[autofocus]")?.focus();
}

// One operation at a time, without asking the desk for each.
function steps(root) {
  const work = root.querySelector("[data-steps]");
  if (!work) return;
  const every = [...work.querySelectorAll("[data-step]")];
  const show = (number) => {
    for (const one of every) one.hidden = one.dataset.step !== String(number);
    scrollTo(0, 0);
  };
  work.addEventListener("click", (event) => {
    const to = event.target.closest("[data-to]")?.dataset.to;
    if (!to) return;
    event.preventDefault();
    show(to);
    if (!location.pathname.startsWith("/bench/carried")) history.replaceState(null, "", `?step=${to}`);
    work.querySelector(`[data-step="${to}"] h2`)?.scrollIntoView({ block: "center" });
  });
}
