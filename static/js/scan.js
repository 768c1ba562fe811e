/**
 * The counter's one field: always ready for a hand scanner, which is a keyboard.
 * Without this script the field is an ordinary form and everything still works.
 */
import { kept, send } from "./offline_scans.js";
import { refresh } from "./refresh.js";
import { come, stationsPage, undo } from "./scan_board.js";
import { bag, namesAJob, namesAPart, reading, tag, whole } from "./scan_forms.js";
import { say } from "./scan_says.js";
import { count, restore, tick } from "./scan_ticks.js";

// no hand types like this: a scanner that sends no Enter is done when it falls silent
const FAST_MS = 35;
const SILENCE_MS = 200;
const TYPING = "input:not([type=radio],[type=checkbox]),textarea,select,[contenteditable]";

const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form[data-scan]"));
const field = /** @type {HTMLInputElement | null} */ (document.querySelector("#scan"));

/** Shows what the server says now, without leaving the page. @param {string} address */
async function show(address) {
  await refresh(address);
  undo();
}

/** Sends what a scanner without an Enter has typed. @param {HTMLFormElement} form @param {HTMLInputElement} field */
function sendAfterBurst(form, field) {
  let keys = 0;
  let last = 0;
  let timer = 0;
  const gauged = document.querySelector("[data-gauge]");
  form.addEventListener("submit", () => clearTimeout(timer));
  field.addEventListener("input", (event) => {
    clearTimeout(timer);
    const goesOn = field.value.length > 1 && event.timeStamp - last < FAST_MS;
    keys = goesOn ? keys + 1 : 1;
    last = event.timeStamp;
    // all of it at that pace, and nothing that somebody had begun to write
    if (keys < 3 || keys !== field.value.length) return;
    if (!whole(field.value) && !(gauged && reading(field.value))) return;
    timer = window.setTimeout(() => form.requestSubmit(), SILENCE_MS);
  });
}

/** Whether a scan counts where it is made, without leaving the page. @param {string} typed */
function countsHere(typed) {
  const place = form?.dataset.scan ?? "";
  // at check-in a paper tag chooses its part by an address of its own, which takes one tag alone
  if (/^check-in:[^:]+$/.test(place)) return tag(typed) !== "";
  if (form?.dataset.looksOnly?.split(" ").includes(place)) return false;
  // whatever names a job lies at the place on the shelf
  if (/^shelf:/.test(place)) return namesAJob(typed) || namesAPart(typed) || bag(typed) !== null;
  // a station that is chosen, or a run
  return /^(floor|run):/.test(place) && namesAPart(typed);
}

if (form && field) {
  form.addEventListener("submit", (event) => {
    // a page may have a use of its own for what was typed
    if (event.defaultPrevented) return;
    const typed = field.value;
    if (!typed.trim()) {
      event.preventDefault();
      return;
    }
    const goes = stationsPage(typed);
    if (goes) {
      event.preventDefault();
      dispatchEvent(new Event("turn"));
      location.assign(goes);
    } else if (tick(typed)) {
      event.preventDefault();
      field.value = "";
    } else if (countsHere(typed)) {
      event.preventDefault();
      field.value = "";
      send(form, typed, { say, refresh: show });
    }
  });
  // a scanner types wherever the focus is: on a button or a link its keys belong to the field
  document.addEventListener("keydown", (event) => {
    const target = /** @type {Element} */ (event.target);
    if (event.key.length !== 1 || event.ctrlKey || event.altKey || event.metaKey) return;
    if (target.matches(TYPING) || (event.key === " " && target !== document.body)) return;
    field.focus();
  });
  // a tap on the paper, not on a field, gives the focus back
  document.addEventListener("click", (event) => {
    const target = /** @type {Element} */ (event.target);
    if (!target.closest(`${TYPING},a,button,label,summary,video`)) {
      field.focus({ preventScroll: true });
    }
  });
  document.addEventListener("change", count);
  restore();
  // also where the browser brings a page back as it was
  addEventListener("pageshow", restore);
  sendAfterBurst(form, field);
  kept(form, { say, refresh: show });
  undo();
  come();
  // a page of the counter can then be opened without a network: one that keeps scans
  if (form.dataset.worker) navigator.serviceWorker?.register(form.dataset.worker).catch(() => {});

  const eye = /** @type {HTMLButtonElement | null} */ (form.querySelector("[data-camera]"));
  if (eye) {
    eye.hidden = false;
    eye.addEventListener("click", async () => {
      const camera = await import("./camera.js");
      camera.toggle((/** @type {string} */ text) => {
        // where it counts the camera stays for the next one
        const stays = countsHere(text) || document.querySelector("input[data-tick]") !== null;
        field.value = text;
        form.dataset.camera = "";
        form.requestSubmit();
        delete form.dataset.camera;
        return stays;
      }, say);
    });
  }
}
