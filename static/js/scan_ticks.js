/** Pages that count: a scanned tag ticks the box that stands for it. */
import { paper, tag } from "./scan_forms.js";
import { say } from "./scan_says.js";

/** Ticks the box that stands for a scanned tag, on pages that count. @param {string} typed */
export function tick(typed) {
  const number = tag(typed);
  const named = paper(typed);
  const mark = named && `${named.code}-${named.part}`;
  for (const box of /** @type {NodeListOf<HTMLInputElement>} */ (
    document.querySelectorAll("input[data-tick]")
  )) {
    if ((number && box.dataset.tick === number) || (mark && box.dataset.tickPart === mark)) {
      box.checked = true;
      box.dispatchEvent(new Event("change", { bubbles: true }));
      box.closest("label")?.scrollIntoView({ block: "nearest" });
      say(box.closest("label")?.textContent?.trim().replace(/\s+/g, " ") ?? typed, "go");
      return true;
    }
  }
  return false;
}

/** Shows how many are ticked. */
export function count() {
  for (const place of /** @type {NodeListOf<HTMLElement>} */ (
    document.querySelectorAll("output[data-count]")
  )) {
    const boxes = /** @type {NodeListOf<HTMLInputElement>} */ (
      document.querySelectorAll(`input[type=checkbox][name="${place.dataset.count}"]`)
    );
    const ticked = [...boxes].filter((box) => box.checked).length;
    place.textContent = `${ticked}/${boxes.length}`;
  }
}
