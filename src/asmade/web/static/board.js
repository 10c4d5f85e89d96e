// The board: sliders and a run button for the drawing; a finding lights the piece it is about.
import { Drive } from "./drive.js";
import { Moving, between } from "./motion.js";

const plate = document.querySelector("[data-moving]");
const form = document.querySelector("[data-moves]");

if (plate && form) {
  const moving = new Moving(plate);
  const told = [...document.querySelectorAll("[data-told]")];
  const words = (each, value) => {
    if (value === null) return "–";
    const figure = value.toFixed(Number(each.dataset.places ?? 0)).replace(/^-(0(\.0+)?)$/, "$1");
    if ("open" in each.dataset) return value > 0 ? `${figure} mm open` : "closed";
    return figure + each.dataset.after;
  };
  const drive = new Drive(form, (part, position, quick) => {
    const row = moving.at(part, position);
    if (quick) return;
    for (const each of told) {
      const text = words(each, between(moving.told.valve[each.dataset.told], row, part));
      if (each.textContent !== text) each.textContent = text;
    }
  });
  moving.loaded.then(() => drive.ready()).catch(() => {}); // the form still asks for a drawing at another angle
}

for (const link of document.querySelectorAll("[data-lights]")) {
  const group = [...document.querySelectorAll("[data-body]")].find((g) => g.dataset.body === link.dataset.lights);
  if (!group) continue;
  const light = (on) => () => group.classList.toggle("lit", on);
  for (const [event, on] of [["mouseenter", true], ["focus", true], ["mouseleave", false], ["blur", false]]) link.addEventListener(event, light(on));
}

const into = document.querySelector("[data-into]");
if (into) {
  into.setAttribute("aria-busy", "true");
  fetch(into.dataset.into).then((answer) => answer.text()).then((text) => {
    const page = new DOMParser().parseFromString(text, "text/html");
    into.replaceChildren(...page.body.childNodes);
  }).catch(() => {}).finally(() => into.removeAttribute("aria-busy")); // the link still leads there
}
