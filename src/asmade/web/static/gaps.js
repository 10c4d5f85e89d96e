// Gaps: one angle for the drawing and the plot of the pair that is looked at.
import { Drive } from "./drive.js";
import { Moving, between } from "./motion.js";
import { Plot } from "./plot.js";

const form = document.querySelector("[data-moves]");
const plate = document.querySelector("[data-moving]");

if (form && plate) {
  const moving = new Moving(plate);
  const told = document.querySelector("[data-told]");
  let gap = null;
  const show = (part) => {
    moving.at(part, 1);
    plot.at(part);
    told.textContent = `${between([gap], 0, part).toFixed(2)} mm`;
  };
  const drive = new Drive(form, show);
  const plot = new Plot(document, (part) => { if (gap && !drive.running) show(part ?? drive.part); }, (part) => { if (gap) drive.to(part); });
  Promise.all([fetch(form.dataset.rows).then((answer) => answer.json()), moving.loaded]).then(([turn]) => {
    gap = turn.rows.gap;
    drive.ready();
    const nearest = form.querySelector("[data-to]");
    nearest.hidden = false;
    nearest.addEventListener("click", () => drive.to(Number(nearest.dataset.to) / 360));
  }).catch(() => {}); // the form still asks for the page at another angle
}
