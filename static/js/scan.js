/**
 * The counter's one field: always ready for a hand scanner, which is a keyboard.
 * Without this script the field is an ordinary form and everything still works.
 */
import { kept, send } from "./offline_scans.js";
import { refresh } from "./refresh.js";
import { namesAPart, paper, station, tag, whole } from "./scan_forms.js";

// no hand types like this: a scanner that sends no Enter is done when it falls silent
const FAST_MS = 35;
const SILENCE_MS = 200;
const TYPING = "input:not([type=radio],[type=checkbox]),textarea,select,[contenteditable]";

const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form[data-scan]"));
const field = /** @type {HTMLInputElement | null} */ (document.querySelector("#scan"));

/** Tells how a scan went; `before` is a refusal that must not be missed. @param {string} text @param {string} kind @param {string} before */
export function say(text, kind, before = "") {
  const earlier = document.querySelector("[data-scan-before]");
  if (earlier) earlier.textContent = before;
  const place = /** @type {HTMLElement | null} */ (document.querySelector("[data-scan-says]"));
  if (!place) return;
  place.textContent = text;
  place.dataset.kind = kind;
  // a page that nobody has touched yet may not shake the phone
  if (navigator.userActivation?.hasBeenActive) {
    navigator.vibrate?.(kind === "stop" ? [60, 60, 60] : 40);
  }
}

/** Ticks the box that stands for a scanned tag, on pages that count. @param {string} typed */
function tick(typed) {
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

function count() {
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
  form.addEventListener("submit", () => clearTimeout(timer));
  field.addEventListener("input", (event) => {
    clearTimeout(timer);
    const goesOn = field.value.length > 1 && event.timeStamp - last < FAST_MS;
    keys = goesOn ? keys + 1 : 1;
    last = event.timeStamp;
    // all of it at that pace, and nothing that somebody had begun to write
    if (keys < 3 || keys !== field.value.length || !whole(field.value)) return;
    timer = window.setTimeout(() => form.requestSubmit(), SILENCE_MS);
  });
}

/** The station that was scanned comes into view; the focus stays with the scanner. */
function come() {
  const current = document.querySelector(".stations [aria-current]");
  current?.scrollIntoView({ inline: "center", block: "nearest" });
  const head = document.querySelector("[data-at] > h2");
  const inSight = head && head.getBoundingClientRect().top < innerHeight / 2;
  head?.scrollIntoView({ inline: "nearest", block: inSight ? "nearest" : "start" });
}

/** The undo button counts its seconds down and goes. */
function undo() {
  const bar = /** @type {HTMLFormElement | null} */ (document.querySelector("form[data-undo]"));
  const button = bar?.querySelector("button");
  if (!bar || !button || bar.dataset.running) return;
  bar.dataset.running = "yes";
  const word = button.textContent ?? "";
  let left = Number(bar.dataset.undo);
  const clock = setInterval(() => {
    left -= 1;
    if (left <= 0 || !bar.isConnected) {
      clearInterval(clock);
      bar.remove();
    } else button.textContent = `${word} (${left})`;
  }, 1000);
}

/** Where a station leads, on pages that show the stations: there without asking, or a network. @param {string} typed */
function stationsPage(typed) {
  const name = station(typed);
  const link = name ? document.querySelector(`a[data-station="${name}"]`) : null;
  return /** @type {HTMLAnchorElement | null} */ (link)?.href.replace(/#.*/, "");
}

/** Whether a scan counts where it is made, without leaving the page. @param {string} typed */
function countsHere(typed) {
  const place = form?.dataset.scan ?? "";
  // at check-in a paper tag chooses its part by an address of its own, which takes one tag alone
  if (/^check-in:[^:]+$/.test(place)) return tag(typed) !== "";
  // a station that is chosen, or a run; inspection opens a page
  return /^(floor:(?!inspect).|run:)/.test(place) && namesAPart(typed);
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
        form.requestSubmit();
        return stays;
      }, say);
    });
  }
}
