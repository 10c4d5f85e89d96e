// The pad of digits: for a thumb. Without this module the page works with the keyboard alone.
for (const pad of document.querySelectorAll("[data-pad]")) {
  const field = document.getElementById(pad.dataset.pad);
  if (!field) continue;
  pad.hidden = false;
  const touch = matchMedia("(pointer: coarse)").matches;
  if (touch) field.inputMode = "none"; // the pad stands in for the keyboard of the phone
  pad.addEventListener("click", (event) => {
    const digit = event.target.closest("[data-digit]")?.dataset.digit;
    if (!digit) return;
    field.value = digit === "back" ? field.value.trimEnd().slice(0, -1) : field.value + (digit === ";" ? "; " : digit);
    if (!touch) field.focus();
  });
}
// Sent once: a second press while the first is under way does nothing (its key would save it once only anyway).
for (const form of document.querySelectorAll("form[method=post]")) {
  let sent = false;
  form.addEventListener("submit", (event) => {
    if (sent) event.preventDefault();
    sent = true;
  });
}
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
