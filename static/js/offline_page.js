/**
 * The page that a device keeps for the time without a network: the station comes from the
 * address or a tap, tags are kept, and the real page comes back with the network.
 */
import { say } from "./scan_says.js";

const AGAIN_MS = 4000;
const form = /** @type {HTMLFormElement} */ (document.querySelector("form[data-scan]"));
const field = /** @type {HTMLInputElement} */ (document.querySelector("#scan"));
const address = new URL(location.href);
const onFloor = address.pathname === form.getAttribute("action");
const at = onFloor && address.searchParams.get("at");

for (const link of /** @type {NodeListOf<HTMLElement>} */ (
  document.querySelectorAll("a[data-station]")
)) {
  if (!at || link.dataset.station !== at) continue;
  form.dataset.scan = `floor:${at}`;
  link.setAttribute("aria-current", "true");
  const label = form.querySelector("label");
  if (label) label.textContent = (form.dataset.goesTo ?? "").replace("%", link.textContent ?? "");
}

const place = at && /^shelf-(\w+)$/.exec(at)?.[1];
if (place) {
  form.dataset.scan = `shelf:${place}`;
  const label = form.querySelector("label");
  if (label) label.textContent = (form.dataset.goesTo ?? "").replace("%", place);
}

// what does not count here must not leave this page
form.addEventListener("submit", (event) => {
  if (event.defaultPrevented) return;
  event.preventDefault();
  say((at ? form.dataset.only : form.dataset.first) ?? "", "stop");
  field.value = "";
});

const note = /** @type {HTMLElement | null} */ (document.querySelector("[data-not-sent]"));
if (note) note.hidden = onFloor;

async function back() {
  const answer = await fetch(form.dataset.ready ?? "", { cache: "no-store" }).catch(() => null);
  if (answer?.ok) location.replace(onFloor ? location.href : form.action);
}
addEventListener("online", back);
setInterval(back, AGAIN_MS);
