// What drives a moving picture: an angle slider, a reverser if there is one, a run button that is calm where asked.
const TURN_MS = 2600;
const STEP = 15;
const WORDS_MS = 80; // figures that change faster than this cannot be read; a frame without them is cheaper

export const reverserWords = (per) => {
  if (!per) return "mid gear";
  const way = per > 0 ? "forward" : "backward";
  return Math.abs(per) === 100 ? `full ${way}` : `${Math.abs(per)} % ${way}`;
};

const say = (field, text) => {
  const output = field.form.querySelector(`output[for="${field.id}"]`);
  if (output && output.textContent !== text) {
    output.textContent = text;
    field.setAttribute("aria-valuetext", text);
  }
};

export class Drive {
  // show(part, position, quick): part of a turn, 0 to 1; the reverser, -1 to 1; quick: without the figures.
  constructor(form, show) {
    this.form = form;
    this.show = show;
    this.angle = form.elements.angle;
    this.reverser = form.elements.reverser;
    this.run = form.querySelector("[data-run]");
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    this.part = Number(this.angle.value) / 360;
    this.running = false;
    this.next = (now) => this.frame(now);
  }

  // Once what moves is there: the button that asks the server for a drawing gives way to one that runs it.
  ready() {
    const draw = this.form.querySelector("[data-draw]");
    if (draw) draw.hidden = true;
    if (this.run) {
      this.run.hidden = false;
      this.run.addEventListener("click", () => this.pressed());
    }
    this.stop();
    this.calm.addEventListener("change", () => this.stop());
    this.form.addEventListener("submit", (event) => event.preventDefault());
    for (const field of [this.angle, this.reverser].filter(Boolean)) {
      field.addEventListener("input", () => {
        if (field === this.angle) {
          if (this.running) this.stop();
          this.part = Number(this.angle.value) / 360;
        }
        this.all();
      });
      field.addEventListener("change", () => this.keep());
    }
    this.all();
  }

  get position() {
    return this.reverser ? Number(this.reverser.value) / 100 : 1;
  }

  to(part) {
    if (this.running) this.stop();
    this.part = part;
    this.angle.value = String(Math.round(part * 360));
    this.all();
  }

  all() {
    say(this.angle, `${Math.round(this.part * 360)}°`);
    if (this.reverser) say(this.reverser, reverserWords(Number(this.reverser.value)));
    this.show(this.part, this.position, false);
  }

  pressed() {
    if (this.calm.matches) {
      this.to((this.part + STEP / 360) % 1);
      this.keep();
    } else if (this.running) this.stop();
    else {
      this.running = true;
      this.run.textContent = "Stop";
      this.before = performance.now();
      this.said = 0;
      requestAnimationFrame(this.next);
    }
  }

  frame(now) {
    if (!this.running) return;
    const way = this.position < 0 ? -1 : 1;
    this.part = (this.part + (way * Math.max(0, Math.min(now - this.before, 100))) / TURN_MS + 1) % 1;
    this.before = now;
    const quick = now - this.said < WORDS_MS;
    if (quick) this.show(this.part, this.position, true);
    else {
      this.said = now;
      this.angle.value = String(Math.round(this.part * 360));
      this.all();
    }
    requestAnimationFrame(this.next);
  }

  stop() {
    if (this.running) {
      this.running = false;
      this.angle.value = String(Math.round(this.part * 360));
      this.all();
    }
    if (this.run) this.run.textContent = this.calm.matches ? `Turn ${STEP}°` : "Run";
    this.keep();
  }

  // The place stands in the address, so that the page comes back as it was.
  keep() {
    const asked = new URLSearchParams(new FormData(this.form));
    asked.set("angle", String(Math.round(this.part * 360)));
    if (location.pathname === new URL(this.form.action).pathname) history.replaceState(null, "", `?${asked}${location.hash}`);
  }
}
