/**
 * A scan must not be cut by a page that turns: what a scanner types into the old page is gone with
 * it, and of tag 1012 the new page would hear "12", which hangs on another part. So an old page
 * takes no keys any more, and a number that began before the new page surely heard every key is
 * asked for again.
 */
import { tag, whole } from "./scan_forms.js";

const LOST = "scan-lost";
// no scanner leaves more between two keys: after so long a silence nothing came before
const BETWEEN_KEYS_MS = 100;
// a page that is still here was not turned after all: a file was fetched, or the way was barred
const STILL_HERE_MS = 3000;

/** @typedef {{form: HTMLFormElement, field: HTMLInputElement, typing: string, again: () => void}} Desk */

/**
 * Whether its beginning may be missing without anybody seeing it: a number, or a code that fails
 * its check. A station or a name stands for itself. @param {string} typed
 */
function mayBeCut(typed) {
  if (tag(typed)) return true;
  return /\d/.test(typed) && !whole(typed);
}

/** @param {Event} event */
function stop(event) {
  event.preventDefault();
  event.stopImmediatePropagation();
}

/** Whether this key may be a scanner's. @param {KeyboardEvent} event @param {Desk} desk */
function forField(event, { field, typing }) {
  const target = /** @type {Element} */ (event.target);
  if (event.ctrlKey || event.altKey || event.metaKey) return false;
  if (event.key === "Enter") return target === field || target === document.body;
  return event.key.length === 1 && (target === field || !target.matches(typing));
}

/** The old page: keys for the field go nowhere, and the next page says so. @param {Desk} desk @returns {() => void} */
function leave(desk) {
  const { form, field, again } = desk;
  let leaving = 0;
  const stay = () => {
    clearTimeout(leaving);
    leaving = 0;
    form.dataset.hears = "";
    // what was sent stays to be read; the next scan takes its place
    if (document.activeElement === field) field.select();
  };
  const drop = (/** @type {Event} */ event) => {
    stop(event);
    // so that the Enter behind these keys presses no button
    field.focus();
    sessionStorage.setItem(LOST, "yes");
    again();
  };
  const turn = () => {
    clearTimeout(leaving);
    delete form.dataset.hears;
    leaving = window.setTimeout(stay, STILL_HERE_MS);
  };
  // the browser says so late: keys may come between a form that was sent and this event
  addEventListener("beforeunload", turn);
  addEventListener("submit", (event) => event.defaultPrevented || turn());
  addEventListener("pageshow", () => leaving && stay());
  addEventListener("keydown", (event) => leaving && forField(event, desk) && drop(event), {
    capture: true,
  });
  // the camera sends without a key
  addEventListener("submit", (event) => leaving && event.target === form && drop(event), {
    capture: true,
  });
  return turn;
}

/** The new page: what began too early is asked for again. @param {Desk} desk */
function arrive({ form, field, again }) {
  let hears = false;
  let early = field.value !== "";
  const listen = () => {
    hears = true;
    form.dataset.hears = "";
    if (!sessionStorage.getItem(LOST)) return;
    sessionStorage.removeItem(LOST);
    again();
  };
  // keys that come before the first frame are not passed on by every browser
  const painted = () => setTimeout(listen, BETWEEN_KEYS_MS);
  requestAnimationFrame(() => requestAnimationFrame(painted));
  field.addEventListener("input", () => {
    early = field.value !== "" && (early || !hears);
  });
  addEventListener(
    "submit",
    (event) => {
      if (event.target !== form || !early) return;
      early = false;
      if (!mayBeCut(field.value)) return;
      stop(event);
      field.value = "";
      again();
    },
    { capture: true },
  );
}

/** Watches over the field while pages turn; returns what a script calls that turns one itself. @param {Desk} desk */
export function watchTurns(desk) {
  arrive(desk);
  return leave(desk);
}
