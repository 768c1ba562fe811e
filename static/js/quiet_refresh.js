/**
 * A page that is looked at for long shows what the server says now, once a minute, without turning.
 * It rests while the page is hidden, while somebody is in a field of it, and after an hour in which
 * nobody touched the device, so that a sign-in that nobody uses comes to its end.
 */
import { refresh } from "./refresh.js";

const EVERY = 60_000;
const UNTOUCHED = 60 * 60_000;

if (document.querySelector("[data-refreshes]")) {
  let touched = Date.now();
  let shown = Date.now();
  for (const kind of ["pointerdown", "keydown", "scroll"]) {
    addEventListener(kind, () => (touched = Date.now()), { passive: true, capture: true });
  }
  const look = async () => {
    const now = Date.now();
    // a question to a customer never changes between reading and answering
    if (!document.querySelector("#main [data-refreshes]")) return;
    const busy = document.activeElement?.closest("#main form, #main details[open]");
    if (document.hidden || busy || now - shown < EVERY || now - touched > UNTOUCHED) return;
    shown = now;
    await refresh(location.href, true).catch(() => {});
    dispatchEvent(new Event("refreshed"));
  };
  setInterval(look, 5_000);
  document.addEventListener("visibilitychange", look);
}
