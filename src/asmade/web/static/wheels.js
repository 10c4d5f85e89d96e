// Wheels and rods: one angle for the plot, the figures under it and both sides' pictures; rods that hold light up.
import { Drive } from "./drive.js";
import { Moving, between } from "./motion.js";
import { Plot } from "./plot.js";

const form = document.querySelector("[data-moves]");
const sides = [...document.querySelectorAll("[data-moving]")].map((plate) => ({
  plate, moving: new Moving(plate), ahead: Number(plate.dataset.ahead) / 360, side: plate.dataset.side,
  rods: [...plate.querySelectorAll("[data-body^='coupling rod']")],
}));
const told = [...document.querySelectorAll("[data-told]")];

if (form) {
  let turn = null;
  const holds = (part, section, side) => {
    const at = part * 360;
    return turn.held.some((h) => h.section === section && h.side === side
      && ((h.from <= at && at <= h.to) || (h.from < 0 && at >= h.from + 360)));
  };
  const show = (part, _position, quick) => {
    plot.at(part);
    if (!quick) for (const each of told) {
      const row = turn.rows[each.dataset.told];
      const value = row ? between([row], 0, part) : null;
      const text = value === null ? "not known" : `${value.toFixed(3)} mm`;
      if (each.textContent !== text) each.textContent = text;
    }
    for (const each of sides) {
      each.moving.at((part + each.ahead + 1) % 1, 1);
      for (const rod of each.rods) rod.classList.toggle("tight", holds(part, rod.dataset.body.split(" ").pop(), each.side));
    }
  };
  const drive = new Drive(form, show);
  const plot = new Plot(document, (part) => { if (turn && !drive.running) show(part ?? drive.part); }, (part) => { if (turn) drive.to(part); });
  fetch(form.dataset.rows).then((answer) => answer.json()).then((rows) => {
    turn = rows;
    return Promise.all(sides.map((each) => each.moving.loaded));
  }).then(() => drive.ready()).catch(() => {}); // the form still asks for the page at another angle
}
