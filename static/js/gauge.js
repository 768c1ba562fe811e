/**
 * A gauge that types, at an inspection: what is a film reading goes to the readings, wherever the
 * focus was, and a tag still opens its part. A number that may be either is asked about.
 * What is not sent yet survives a scan that leads away and back.
 */
import { say } from "./scan_says.js";
import { reading, tag } from "./scan_forms.js";

const KEPT_FOR_MS = 30 * 60_000;
const area = /** @type {HTMLTextAreaElement} */ (document.querySelector("textarea[data-gauge]"));
const form = /** @type {HTMLFormElement} */ (document.querySelector("form[data-scan]"));
const field = /** @type {HTMLInputElement} */ (document.querySelector("#scan"));
const question = /** @type {HTMLElement} */ (document.querySelector("[data-asked]"));
const [itIs, open] = /** @type {NodeListOf<HTMLAnchorElement>} */ (question.querySelectorAll("a"));
const shown = /** @type {HTMLElement} */ (document.querySelector("[data-readings]"));
const key = `readings:${area.dataset.gauge}`;
let asked = question.dataset.asked ?? "";

function count() {
  return area.value.split(/[\s;]+/).filter(Boolean).length;
}

/** @param {string} name @param {string} one */
function tell(name, one) {
  say((area.dataset[name] ?? "").replace("%1", one).replace("%2", String(count())), "go");
}

/** @param {string} one */
function note(one) {
  area.value = `${area.value.trimEnd()} ${one}`.trimStart();
  area.scrollTop = area.scrollHeight;
  keep();
  tell("noted", one);
}

function keep() {
  shown.textContent = String(count());
  sessionStorage.setItem(key, JSON.stringify({ text: area.value, at: Date.now() }));
}

/** @param {string} one */
function ask(one) {
  asked = one;
  const words = question.querySelector("p");
  if (words) words.textContent = (question.dataset.words ?? "").replace("%1", one);
  open.href = `${question.dataset.scan}?q=${encodeURIComponent(one)}`;
  question.hidden = false;
  question.scrollIntoView({ block: "nearest" });
  say(words?.textContent ?? "", "stop");
}

/** Whether this number hangs on a part that waits here. @param {string} typed */
function isTagHere(typed) {
  return (area.dataset.tags ?? "").split(" ").includes(tag(typed));
}

// before scan.js looks at it
document.addEventListener(
  "submit",
  (event) => {
    if (event.target !== form) return;
    const one = reading(field.value);
    if (!one) return;
    if (isTagHere(field.value)) {
      // nothing is measured yet: it is the next part's tag
      if (!area.value.trim()) return;
      ask(one);
    } else note(one);
    event.preventDefault();
    field.value = "";
  },
  { capture: true },
);
itIs.addEventListener("click", (event) => {
  event.preventDefault();
  question.hidden = true;
  note(asked);
  asked = "";
  field.focus();
});
area.addEventListener("input", keep);
area.form?.addEventListener(
  "submit",
  (event) => {
    if (!question.hidden) {
      event.preventDefault();
      event.stopImmediatePropagation();
      itIs.focus();
      return;
    }
    sessionStorage.removeItem(key);
  },
  { capture: true },
);

const before = JSON.parse(sessionStorage.getItem(key) ?? "null");
if (before?.text && !area.value.trim() && Date.now() - before.at < KEPT_FOR_MS) {
  area.value = before.text;
  shown.textContent = String(count());
  tell("back", "");
}
