/**
 * A gauge that types, at an inspection: a number is a reading of the open part, wherever the focus
 * was, and never a tag. The readings fill one spot after the other, a line each; where a whole set
 * is measured they go on to the next part by themselves.
 * What is not sent yet survives a scan that leads away and back.
 */
import { mean, pieces, spotsOf, takeOut } from "./gauge_spots.js";
import { reading, tag } from "./scan_forms.js";
import { say } from "./scan_says.js";

const KEPT_FOR_MS = 30 * 60_000;
const FAST_MS = 50;
/** @typedef {HTMLTextAreaElement} Area */
const areas = /** @type {Area[]} */ ([...document.querySelectorAll("textarea[data-gauge]")]);
const form = /** @type {HTMLFormElement} */ (document.querySelector("form[data-scan]"));
const field = /** @type {HTMLInputElement} */ (document.querySelector("#scan"));

const key = (/** @type {Area} */ area) => `readings:${area.dataset.gauge}`;
const each = (/** @type {Area} */ area) => Number(area.dataset.each);
const spots = (/** @type {Area} */ area) => spotsOf(area.value, each(area));

/** What is said beside an area: its own place, or the only one. @param {string} what @param {Area} area */
function beside(what, area) {
  const all = document.querySelectorAll(`[data-${what}]`);
  return [...all].find((one) => one.getAttribute(`data-${what}`) === area.dataset.gauge) ?? all[0];
}

/** Whether a part has all of its spots. @param {Area} area */
function full(area) {
  const found = spots(area);
  const enough = found.length >= Number(area.dataset.needed);
  return enough && (found.at(-1)?.length ?? 0) >= each(area);
}

/** The part that is measured now: the first that lacks a spot, else the last one. */
function open() {
  return areas.find((area) => !full(area)) ?? /** @type {Area} */ (areas.at(-1));
}

/** @param {Area} area @param {string} name @param {string} one */
function tell(area, name, one) {
  const found = spots(area);
  const last = found.at(-1)?.length ?? 0;
  const count = name === "back" ? found.flat().length : last;
  const words = (area.dataset[name] ?? "").replace("%1", one).replace("%2", String(count));
  const whose = area.dataset.name ? `${area.dataset.name}: ` : "";
  say(whose + words.replace("%3", String(found.length)), "go");
}

/** @param {Area} area @param {string} one */
function note(area, one) {
  const lines = area.value.trimEnd().split("\n");
  const whole = (lines.at(-1) ?? "").split(/\s+/).filter(Boolean).length >= each(area);
  area.value = `${area.value.trimEnd()}${whole ? "\n" : " "}${one}`.trimStart();
  area.scrollTop = area.scrollHeight;
  keep(area);
  tell(area, "noted", one);
  follow(area);
}

/** The next part comes into view when one has all of its spots. @param {Area} area */
function follow(area) {
  const next = open();
  for (const one of areas) one.toggleAttribute("data-now", areas.length > 1 && one === next);
  if (next === area || !full(area)) return;
  next.scrollIntoView({ block: "center" });
  if (document.activeElement === area) next.focus({ preventScroll: true });
}

/** @param {Area} area */
function keep(area) {
  const found = spots(area);
  beside("readings", area).textContent = `${found.length}/${area.dataset.needed}`;
  const means = found.map((spot, n) => `${n + 1}: ${mean(spot) || "?"}`).join(" · ") || "–";
  beside("means", area).textContent = means;
  sessionStorage.setItem(key(area), JSON.stringify({ text: area.value, at: Date.now() }));
}

// before scan.js looks at it
document.addEventListener(
  "submit",
  (event) => {
    if (event.target !== form) return;
    const typed = field.value.trim();
    const film = reading(typed);
    // what the camera sees is no gauge
    if (film && form.dataset.camera === undefined) note(open(), film);
    else if (film || tag(typed)) say((form.dataset.notUsed ?? "").replace("%1", typed), "stop");
    else return;
    event.preventDefault();
    field.value = "";
  },
  { capture: true },
);

// a gauge types into whatever has the focus: among the readings its Enter parts them, three on a
// line; elsewhere none behind a number may send the verdict, and what came at a gauge's pace was
// no gloss
let burst = "";
let last = 0;

/** Parts the reading that was typed last from the next one. @param {KeyboardEvent} event @param {Area} area */
function part(event, area) {
  if (area.selectionStart !== area.value.length) return;
  event.preventDefault();
  const one = area.value.split(/[\s;]+/).filter(Boolean).at(-1) ?? "";
  area.value = area.value.trimEnd();
  const whole = pieces(area.value.split("\n").at(-1) ?? "").length >= each(area);
  area.value += whole ? "\n" : " ";
  area.scrollTop = area.scrollHeight;
  keep(area);
  if (one) tell(area, "noted", one);
  follow(area);
}

document.addEventListener(
  "keydown",
  (event) => {
    const target = /** @type {HTMLInputElement} */ (event.target);
    if (target.closest("form") !== areas[0].form || !target.matches("input,textarea")) return;
    const fast = event.timeStamp - last < FAST_MS;
    last = event.timeStamp;
    if (event.key.length === 1) burst = fast ? burst + event.key : event.key;
    if (event.key !== "Enter") return;
    const typed = burst;
    burst = "";
    const own = areas.find((area) => area === /** @type {Element} */ (target));
    if (own) {
      part(event, own);
      return;
    }
    event.preventDefault();
    const film = fast && typed.length > 1 ? reading(typed) : "";
    if (!film) return;
    takeOut(target, typed);
    note(open(), film);
  },
  { capture: true },
);

for (const area of areas) {
  area.addEventListener("input", () => keep(area));
  area.form?.addEventListener("submit", () => sessionStorage.removeItem(key(area)), { capture: true });
  const before = JSON.parse(sessionStorage.getItem(key(area)) ?? "null");
  if (!before?.text || area.value.trim() || Date.now() - before.at >= KEPT_FOR_MS) continue;
  area.value = before.text;
  keep(area);
  tell(area, "back", "");
}
if (areas.length > 1) follow(open());
