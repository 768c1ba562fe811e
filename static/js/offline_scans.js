/**
 * Scans that a phone keeps while the network is gone: shown, and sent in order, each once.
 * Every scan carries an id of its own; the server counts an id once, however often it comes.
 */
import { pending } from "./refresh.js";

const KEY = "scans-kept";
const BY = "scans-by";
const AGAIN_MS = 4000;
const AT_ONCE = 200;
// whoever scans one tag after the other looks up now and then
const STAYS_MS = 8000;

/** @typedef {{scan_id: string, where: string, q: string, by: string, at?: number}} Scan */
/** @typedef {{scan_id: string, says: string, kind: string, moved: number[], way?: string, way_says?: string}} Result */
/** @typedef {{say: (text: string, kind: string, before?: string, way?: {href: string, says: string} | null) => void, refresh: (address: string) => Promise<void>}} Hands */

/** @returns {Scan[]} */
function read() {
  try {
    return JSON.parse(localStorage.getItem(KEY) ?? "[]");
  } catch {
    return [];
  }
}

/** @param {Scan[]} scans */
function write(scans) {
  localStorage.setItem(KEY, JSON.stringify(scans));
}

function freshId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Shows what is kept, by name. @param {HTMLFormElement} form @param {string} why */
function show(form, why) {
  const scans = read();
  let place = form.querySelector(".scan-kept");
  if (!scans.length) {
    place?.remove();
    return;
  }
  if (!place) {
    place = document.createElement("div");
    place.className = "scan-kept";
    place.setAttribute("role", "status");
    form.append(place);
  }
  const words = form.dataset[why] ?? "";
  const list = document.createElement("ul");
  for (const scan of scans) {
    const line = document.createElement("li");
    line.textContent = `${scan.q.trim()} · ${scan.where.replace(/^\w+:/, "")}`;
    list.append(line);
  }
  place.replaceChildren(words.replace("%", String(scans.length)), list);
}

/** How long it was kept, by the device's own clock; its time of day may be wrong. @param {Scan} scan */
function withAge({ at, ...scan }) {
  return { ...scan, kept_ms: at ? Math.max(0, Date.now() - at) : 0 };
}

let running = false;
let refused = { text: "", at: 0 };
let timer = 0;

/** Sends what is kept, in order; what could not be sent stays. @param {HTMLFormElement} form @param {Hands} hands */
async function flush(form, hands) {
  const scans = read().slice(0, AT_ONCE);
  if (running || !scans.length) return;
  running = true;
  clearTimeout(timer);
  timer = 0;
  try {
    // the page that is kept for the time without a network has no token: it only keeps
    const token = /** @type {HTMLInputElement} */ (form.elements.namedItem("csrf_token"));
    const answer = await fetch(form.dataset.scans ?? "", {
      method: "POST",
      headers: {
        "Content-Type": "application/json",
        Accept: "application/json",
        "X-CSRFToken": token.value,
      },
      body: JSON.stringify({ scans: scans.map(withAge) }),
    });
    if (answer.status === 401 || answer.status === 400 || answer.status === 403) {
      show(form, "keptSignIn");
      return;
    }
    if (!answer.ok) throw new TypeError(`answered ${answer.status}`);
    /** @type {{results: Result[], for_others: string[]}} */
    const { results, for_others } = await answer.json();
    const done = new Set(results.map((one) => one.scan_id));
    // what was scanned meanwhile has been added behind
    write(read().filter((scan) => !done.has(scan.scan_id)));
    show(form, "kept");
    await tell(hands, results, for_others);
  } catch {
    show(form, "kept");
    timer = window.setTimeout(() => flush(form, hands), AGAIN_MS);
  } finally {
    running = false;
  }
  if (read().length && !timer) await flush(form, hands);
}

/** @param {Hands} hands @param {Result[]} results @param {string[]} forOthers */
async function tell(hands, results, forOthers) {
  const wrong = results.filter((one) => one.kind === "stop");
  const last = results.at(-1);
  const says = wrong.length ? wrong.map((one) => one.says) : last ? [last.says] : [];
  const text = [...says, ...forOthers].join(" ");
  if (wrong.length) {
    refused = { text, at: Date.now() };
    const open = wrong.find((one) => one.way);
    const way = open ? { href: open.way ?? "", says: open.way_says ?? "" } : null;
    hands.say(text, "stop", "", way);
  } else {
    const stays = Date.now() - refused.at < STAYS_MS;
    hands.say(text, last?.kind ?? "tell", stays ? refused.text : "");
  }
  const address = new URL(location.href);
  const moved = results.flatMap((one) => one.moved ?? []);
  if (moved.length) address.searchParams.set("moved", moved.join(","));
  else address.searchParams.delete("moved");
  await hands.refresh(address.href).catch(() => {});
}

/** Takes one scan: kept first, then sent. @param {HTMLFormElement} form @param {string} typed @param {Hands} hands */
export function send(form, typed, hands) {
  const by = form.dataset.by ?? sessionStorage.getItem(BY) ?? "";
  const scan = { scan_id: freshId(), where: form.dataset.scan ?? "", q: typed, by, at: Date.now() };
  write([...read(), scan]);
  pending(flush(form, hands));
}

/** Picks up what an earlier page has kept. @param {HTMLFormElement} form @param {Hands} hands */
export function kept(form, hands) {
  if (form.dataset.by) sessionStorage.setItem(BY, form.dataset.by);
  addEventListener("online", () => flush(form, hands));
  addEventListener("offline", () => show(form, "kept"));
  if (read().length) {
    show(form, "kept");
    flush(form, hands);
  }
}
