// Digits: the pad for a thumb, calipers that type, goes and stops, several readings. Without this the page works by keyboard.
const touch = matchMedia("(pointer: coarse)").matches;

function single(text) {
  return text.split(/[;\n]/).map((one) => one.trim()).filter(Boolean);
}

export function pads(root) {
  for (const pad of root.querySelectorAll("[data-pad]")) {
    const field = root.querySelector(`#${pad.dataset.pad}`);
    if (!field) continue;
    pad.hidden = false;
    if (touch) field.inputMode = "none"; // the pad stands in for the keyboard of the phone
    pad.addEventListener("click", (event) => {
      const digit = event.target.closest("[data-digit]")?.dataset.digit;
      if (!digit) return;
      field.value = digit === "back" ? field.value.trimEnd().slice(0, -1) : field.value + (digit === ";" ? "; " : digit);
      field.dispatchEvent(new Event("input", { bubbles: true }));
      if (!touch) field.focus();
    });
    wedge(root, field);
    plugs(root, field);
    several(root, field);
  }
}

// Calipers type their digits and Enter wherever the page has the focus: they go into the reading. Where several readings are
// being taken, Enter ends one of them and Save saves all.
function wedge(root, field) {
  root.addEventListener("keydown", (event) => {
    const typing = event.target.closest?.("input, select, textarea");
    if (!typing && /^[-0-9.,]$/.test(event.key) && !event.ctrlKey && !event.metaKey && !event.altKey) {
      field.focus(); // the digit itself follows the focus
    }
    if (event.target === field && event.key === "Enter" && /;\s*\S+\s*$/.test(field.value)) {
      event.preventDefault();
      field.value = field.value.trimEnd() + "; ";
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
  });
  document.body.addEventListener("keydown", (event) => {
    if (event.target === document.body && /^[-0-9.,]$/.test(event.key) && field.isConnected) field.focus();
  });
}

function plugs(root, field) {
  const both = root.querySelector("[data-goes-stops]");
  if (!both) return;
  both.hidden = false;
  both.addEventListener("click", (event) => {
    const into = event.target.closest("[data-into]")?.dataset.into;
    const target = into && root.querySelector(`#${into}`);
    if (!target) return;
    if (field.value.trim()) { target.value = field.value.trim(); field.value = ""; field.dispatchEvent(new Event("input", { bubbles: true })); }
    else target.focus();
  });
}

// At one spot or at several is asked only once there are several.
function several(root, field) {
  const asked = root.querySelector("[data-several]");
  if (!asked) return;
  const legend = asked.querySelector("legend"), words = legend.textContent;
  const look = () => {
    const count = single(field.value).length;
    asked.hidden = count < 2;
    legend.textContent = count < 2 ? words : `${count} readings:`;
  };
  field.addEventListener("input", look);
  look();
}

// A bare decimal in mm as the browser itself can read it; null for anything that only the desk reads (fractions, thou, lists).
export function plain(text, unit) {
  if (!/^-?\d+([.]\d+)?$|^-?[.]\d+$/.test(text.trim())) return null;
  return Number(text) * (unit === "inch" ? 25.4 : 1);
}

export { single };
