// How a drawn size is read, shown while it is typed. Without this module it is shown after saving.
for (const field of document.querySelectorAll("input[data-read]")) {
  const said = document.getElementById(field.getAttribute("aria-describedby"));
  let waiting = 0;
  let asked = 0;
  const show = (text, bad) => {
    said.textContent = text;
    said.classList.toggle("bad", bad);
    field.toggleAttribute("aria-invalid", bad);
    if (bad) field.setAttribute("aria-invalid", "true");
  };
  const read = async () => {
    const mine = ++asked;
    const query = new URLSearchParams({ address: field.dataset.read, text: field.value });
    try {
      const answer = await fetch(`/fill/read?${query}`);
      if (!answer.ok) return;
      const { how, fault } = await answer.json();
      if (mine === asked) show(fault || how, Boolean(fault));
    } catch {
      // no network: it is shown after saving
    }
  };
  field.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(read, 200);
  });
}
// Sent once.
for (const form of document.querySelectorAll("form[method=post]")) {
  let sent = false;
  form.addEventListener("submit", (event) => {
    if (sent) event.preventDefault();
    sent = true;
  });
}
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
