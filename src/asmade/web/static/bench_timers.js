// What cures counts down; the time of day stands beside it from the desk, and alone where there are no scripts.
function words(seconds) {
  const minutes = Math.ceil(seconds / 60);
  if (minutes < 60) return `${minutes} min left`;
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? `${hours} h ${minutes % 60} min left` : `${Math.round(hours / 24)} days left`;
}

export function count(root = document) {
  for (const time of root.querySelectorAll("time[data-until]")) {
    const until = Date.parse(time.dateTime);
    if (Number.isNaN(until)) continue;
    let left = time.nextElementSibling;
    if (!left?.classList.contains("left")) {
      left = document.createElement("span");
      left.className = "left num";
      time.after(" ", left);
    }
    const seconds = (until - Date.now()) / 1000;
    left.textContent = seconds > 0 ? `(${words(seconds)})` : "(over)";
  }
}

count();
setInterval(count, 5000);
document.addEventListener("visibilitychange", () => count());
