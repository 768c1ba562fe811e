/**
 * A gauge that types, at an inspection: a number is a reading of the open part, wherever the focus
 * was, and never a tag. The readings fill one spot after the other, a line each.
 * What is not sent yet survives a scan that leads away and back.
 */
import { say } from "./scan_says.js";
import { reading, tag } from "./scan_forms.js";

const KEPT_FOR_MS = 30 * 60_000;
const FAST_MS = 50;
const area = /** @type {HTMLTextAreaElement} */ (document.querySelector("textarea[data-gauge]"));
const form = /** @type {HTMLFormElement} */ (document.querySelector("form[data-scan]"));
const field = /** @type {HTMLInputElement} */ (document.querySelector("#scan"));
const shown = /** @type {HTMLElement} */ (document.querySelector("[data-readings]"));
const means = /** @type {HTMLElement} */ (document.querySelector("[data-means]"));
const key = `readings:${area.dataset.gauge}`;
const each = Number(area.dataset.each);

/** @param {string} line */
function pieces(line) {
  const found = line.split(/[\s;]+/).filter(Boolean);
  const listed = found.length === 1 && found[0].split(",").length > 2;
  return listed ? found[0].split(",").filter(Boolean) : found;
}

/** The readings by spot: a line is one, and single readings in a row make one each three. */
function spots() {
  const used = area.value.split("\n").map(pieces).filter((line) => line.length);
  if (used.length > 1 && used.some((line) => line.length > 1)) return used;
  const row = used.flat();
  const found = [];
  for (let n = 0; n < row.length; n += each) found.push(row.slice(n, n + each));
  return found;
}

/** The mean as it is compared: in tenths, half up. @param {string[]} spot */
function mean(spot) {
  const tenths = spot.map((one) => Math.round(Number(one.replace(/[^\d.,]/g, "").replace(",", ".")) * 10));
  const sum = tenths.reduce((all, one) => all + one, 0);
  return Math.floor((2 * sum + spot.length) / (2 * spot.length)) / 10;
}

/** @param {string} name @param {string} one */
function tell(name, one) {
  const found = spots();
  const last = found.at(-1)?.length ?? 0;
  const count = name === "back" ? found.flat().length : last;
  const words = (area.dataset[name] ?? "").replace("%1", one).replace("%2", String(count));
  say(words.replace("%3", String(found.length)), "go");
}

/** @param {string} one */
function note(one) {
  const lines = area.value.trimEnd().split("\n");
  const full = (lines.at(-1) ?? "").split(/\s+/).filter(Boolean).length >= each;
  area.value = `${area.value.trimEnd()}${full ? "\n" : " "}${one}`.trimStart();
  area.scrollTop = area.scrollHeight;
  keep();
  tell("noted", one);
}

function keep() {
  const found = spots();
  shown.textContent = `${found.length}/${area.dataset.needed}`;
  means.textContent = found.map((spot, n) => `${n + 1}: ${mean(spot) || "?"}`).join(" · ") || "–";
  sessionStorage.setItem(key, JSON.stringify({ text: area.value, at: Date.now() }));
}

// before scan.js looks at it
document.addEventListener(
  "submit",
  (event) => {
    if (event.target !== form) return;
    const typed = field.value.trim();
    const film = reading(typed);
    // what the camera sees is no gauge
    if (film && form.dataset.camera === undefined) note(film);
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

/** Parts the reading that was typed last from the next one. @param {KeyboardEvent} event */
function part(event) {
  if (area.selectionStart !== area.value.length) return;
  event.preventDefault();
  const one = area.value.split(/[\s;]+/).filter(Boolean).at(-1) ?? "";
  area.value = area.value.trimEnd();
  const full = pieces(area.value.split("\n").at(-1) ?? "").length >= each;
  area.value += full ? "\n" : " ";
  area.scrollTop = area.scrollHeight;
  keep();
  if (one) tell("noted", one);
}

/** Takes a number that a gauge has typed out of a field that is not for it. @param {HTMLInputElement} input @param {string} typed */
function takeOut(input, typed) {
  const end = input.selectionStart ?? input.value.length;
  const begin = end - typed.length;
  if (input.value.slice(begin, end) === typed) {
    input.value = input.value.slice(0, begin) + input.value.slice(end);
  }
}

document.addEventListener(
  "keydown",
  (event) => {
    const target = /** @type {HTMLInputElement} */ (event.target);
    if (target.closest("form") !== area.form || !target.matches("input,textarea")) return;
    const fast = event.timeStamp - last < FAST_MS;
    last = event.timeStamp;
    if (event.key.length === 1) burst = fast ? burst + event.key : event.key;
    if (event.key !== "Enter") return;
    const typed = burst;
    burst = "";
    if (/** @type {Element} */ (target) === area) {
      part(event);
      return;
    }
    event.preventDefault();
    const film = fast && typed.length > 1 ? reading(typed) : "";
    if (!film) return;
    takeOut(target, typed);
    note(film);
  },
  { capture: true },
);
area.addEventListener("input", keep);
area.form?.addEventListener("submit", () => sessionStorage.removeItem(key), { capture: true });

const before = JSON.parse(sessionStorage.getItem(key) ?? "null");
if (before?.text && !area.value.trim() && Date.now() - before.at < KEPT_FOR_MS) {
  area.value = before.text;
  keep();
  tell("back", "");
}
