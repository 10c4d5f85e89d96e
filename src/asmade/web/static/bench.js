// A page of the bench: its forms, the timers, the strip, and its links while there is no network and no worker.
import "./bench_timers.js";
import { enhance } from "./bench_entry.js";
import { isReached, watch } from "./offline.js";

enhance(document.getElementById("main"));
watch();
// Over plain http there is no worker to answer for the desk: without a network, links lead to the page the phone carries.
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[href^='/bench']");
  if (!link || isReached() || navigator.serviceWorker?.controller || event.defaultPrevented) return;
  event.preventDefault();
  location.assign(`/bench/carried#${link.getAttribute("href")}`);
});
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
