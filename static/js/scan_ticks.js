/** Pages that count: a scanned tag ticks the box that stands for it, a pickup code fills its field. */
import { bag, paper, tag } from "./scan_forms.js";
import { say } from "./scan_says.js";

/** Ticks the box that stands for what was scanned, on pages that count. @param {string} typed */
export function tick(typed) {
  const number = tag(typed);
  const named = paper(typed);
  const mark = named && `${named.code}-${named.part}`;
  const held = bag(typed);
  const label = held && `${held.code}-${held.bag}`;
  for (const box of /** @type {NodeListOf<HTMLInputElement>} */ (
    document.querySelectorAll("input[data-tick], input[data-tick-bag]")
  )) {
    const { tick: own, tickPart, tickBag } = box.dataset;
    const meant =
      (number && own === number) || (mark && tickPart === mark) || (label && tickBag === label);
    if (!meant) continue;
    box.checked = true;
    box.dispatchEvent(new Event("change", { bubbles: true }));
    box.closest("label")?.scrollIntoView({ block: "nearest" });
    say(box.closest("label")?.textContent?.trim().replace(/\s+/g, " ") ?? typed, "go");
    return true;
  }
  return fill(typed);
}

/** Puts a pickup code into its field; the server says whether it is the right one. @param {string} typed */
function fill(typed) {
  const field = /** @type {HTMLInputElement | null} */ (
    document.querySelector("input[data-takes-code]")
  );
  const digits = typed.replace(/\s/g, "");
  if (!field || !/^\d{4,8}$/.test(digits)) return false;
  field.value = digits;
  field.form?.querySelector("[name=do][value=look]")?.dispatchEvent(new MouseEvent("click"));
  return true;
}

/** Shows how many are ticked, and keeps it for who goes away and comes back. */
export function count() {
  for (const place of /** @type {NodeListOf<HTMLElement>} */ (
    document.querySelectorAll("[data-count]")
  )) {
    const boxes = /** @type {NodeListOf<HTMLInputElement>} */ (
      document.querySelectorAll(`input[type=checkbox][name="${place.dataset.count}"]`)
    );
    const ticked = [...boxes].filter((box) => box.checked).length;
    place.textContent = `${ticked}/${boxes.length}`;
  }
  for (const place of kept()) {
    const ticked = boxesIn(place).filter((box) => box.checked);
    sessionStorage.setItem(place.dataset.keeps ?? "", ticked.map((box) => box.value).join(" "));
  }
}

/** Ticks again what was counted on this page before somebody left it. */
export function restore() {
  for (const place of kept()) {
    const before = (sessionStorage.getItem(place.dataset.keeps ?? "") ?? "").split(" ");
    for (const box of boxesIn(place)) box.checked ||= before.includes(box.value);
  }
  count();
}

function kept() {
  return /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-keeps]"));
}

/** @param {HTMLElement} place */
function boxesIn(place) {
  return /** @type {HTMLInputElement[]} */ ([...place.querySelectorAll("input[type=checkbox]")]);
}
