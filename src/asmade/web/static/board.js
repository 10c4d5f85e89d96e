// The board: sliders and a run button for the drawing; a finding lights the piece it is about.
import { Moving, between } from "./motion.js";

const TURN_MS = 2600;
const STEP = 15;
const plate = document.querySelector("[data-moving]");
const form = document.querySelector("[data-moves]");

const words = (per) => {
  if (!per) return "mid gear";
  const way = per > 0 ? "forward" : "backward";
  return Math.abs(per) === 100 ? `full ${way}` : `${Math.abs(per)} % ${way}`;
};

if (plate && form) {
  const moving = new Moving(plate);
  const angle = form.elements.angle, reverser = form.elements.reverser;
  const outputs = [...form.querySelectorAll("output")];
  const told = [...document.querySelectorAll("[data-told]")];
  const run = form.querySelector("[data-run]");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let part = Number(angle.value) / 360, running = false, before = 0;

  const say = (field, output, text) => {
    if (output.textContent === text) return;
    output.textContent = text;
    field.setAttribute("aria-valuetext", text);
  };
  const show = () => {
    const position = reverser ? Number(reverser.value) / 100 : 1;
    const row = moving.at(part, position);
    say(angle, outputs[0], `${Math.round(part * 360)}°`);
    if (reverser) say(reverser, outputs[1], words(Number(reverser.value)));
    if (row === null) return;
    for (const each of told) {
      const value = between(moving.told.valve[each.dataset.told], row, part);
      const figure = value === null ? "" : (value + 0).toFixed(Number(each.dataset.places ?? 0)).replace(/^-(0(\.0+)?)$/, "$1");
      const text = value === null ? "–" : "open" in each.dataset ? (value > 0 ? `${figure} mm open` : "closed") : figure + each.dataset.after;
      if (each.textContent !== text) each.textContent = text;
    }
  };
  const frame = (now) => {
    if (!running) return;
    const way = reverser && Number(reverser.value) < 0 ? -1 : 1;
    part = (part + (way * Math.min(now - before, 100)) / TURN_MS + 1) % 1;
    before = now;
    angle.value = String(Math.round(part * 360));
    show();
    requestAnimationFrame(frame);
  };
  const stop = () => {
    running = false;
    run.textContent = calm.matches ? `Turn ${STEP}°` : "Run";
    keep();
  };
  const keep = () => {
    const asked = new URLSearchParams({ side: form.elements.side.value, angle: String(Math.round(part * 360)) });
    if (reverser) asked.set("reverser", reverser.value);
    history.replaceState(null, "", `?${asked}${location.hash}`);
  };

  moving.loaded.then(() => {
    form.querySelector("[data-draw]").hidden = true;
    run.hidden = false;
    stop();
    calm.addEventListener("change", stop);
    run.addEventListener("click", () => {
      if (calm.matches) {
        part = (part + STEP / 360) % 1;
        angle.value = String(Math.round(part * 360));
        show();
        keep();
      } else if (running) stop();
      else {
        running = true;
        run.textContent = "Stop";
        before = performance.now();
        requestAnimationFrame(frame);
      }
    });
    for (const field of [angle, reverser].filter(Boolean)) {
      field.addEventListener("input", () => {
        if (field === angle) {
          if (running) stop();
          part = Number(angle.value) / 360;
        }
        show();
      });
      field.addEventListener("change", keep);
    }
  }).catch(() => {}); // the form still asks for a drawing at another angle
}

for (const link of document.querySelectorAll("[data-lights]")) {
  const group = [...document.querySelectorAll("[data-body]")].find((g) => g.dataset.body === link.dataset.lights);
  if (!group) continue;
  const light = (on) => () => group.classList.toggle("lit", on);
  for (const [event, on] of [["mouseenter", true], ["focus", true], ["mouseleave", false], ["blur", false]]) link.addEventListener(event, light(on));
}
