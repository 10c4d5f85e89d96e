// Valves: what takes a few seconds is asked for once the page stands; port openings under the pointer.
import { between } from "./motion.js";
import { Plot } from "./plot.js";

const more = document.querySelector("[data-more]");
if (more) {
  const waiting = [...document.querySelectorAll("[data-into]")];
  for (const each of waiting) each.setAttribute("aria-busy", "true");
  fetch(more.dataset.more).then((answer) => answer.text()).then((text) => {
    const page = new DOMParser().parseFromString(text, "text/html");
    for (const into of waiting) {
      const part = page.querySelector(`[data-part="${into.dataset.into}"]`);
      if (part) into.replaceChildren(part);
      into.removeAttribute("aria-busy");
    }
  }).catch(() => { for (const each of waiting) each.removeAttribute("aria-busy"); }); // the links still lead there
}

const root = document.querySelector("[data-rows]");
if (root) {
  let rows = null;
  for (const figure of root.querySelectorAll("figure")) {
    const readout = figure.querySelector("[data-end]");
    if (!readout) continue;
    const stroke = readout.querySelector("[data-stroke]");
    const told = [...readout.querySelectorAll("[data-told]")];
    let kept = 0;
    const show = (part) => {
      if (!rows) return;
      plot.at(part);
      stroke.textContent = `${Math.round(part * 100)} %`;
      for (const each of told) {
        const value = between([rows[each.dataset.told]], 0, part);
        each.textContent = value === null ? "–" : `${value.toFixed(2)} mm`;
      }
    };
    const plot = new Plot(figure, (part) => show(part ?? kept), (part) => { kept = part; show(part); });
  }
  fetch(root.dataset.rows).then((answer) => answer.json()).then((told) => { rows = told.rows; }).catch(() => {});
}
