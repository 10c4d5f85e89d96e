// Gaps: one angle for the drawing and the plot of the pair that is looked at.
import { Drive } from "./drive.js";
import { Moving, between } from "./motion.js";
import { Plot } from "./plot.js";

const form = document.querySelector("[data-moves]");
const plates = [...document.querySelectorAll("[data-moving]")];

if (form && plates.length) {
  const moved = plates.map((plate) => ({ moving: new Moving(plate), position: Number(plate.dataset.position) }));
  const told = document.querySelector("[data-told]");
  let gap = null;
  const show = (part, _position, quick) => {
    for (const each of moved) each.moving.at(part, each.position);
    plot.at(part);
    if (!quick) told.textContent = `${between([gap], 0, part).toFixed(2)} mm`;
  };
  const drive = new Drive(form, show);
  const plot = new Plot(document, (part) => { if (gap && !drive.running) show(part ?? drive.part); }, (part) => { if (gap) drive.to(part); });
  Promise.all([fetch(form.dataset.rows).then((answer) => answer.json()), ...moved.map((each) => each.moving.loaded)]).then(([turn]) => {
    gap = turn.rows.gap;
    drive.ready();
    const nearest = form.querySelector("[data-to]");
    nearest.hidden = false;
    nearest.addEventListener("click", () => drive.to(Number(nearest.dataset.to) / 360));
  }).catch(() => {}); // the form still asks for the page at another angle
}
