/**
 * A shared device locks its screen when nobody has touched it for five minutes.
 * The server locks its session by itself; this hides the page from whoever walks past.
 */
const QUIET = 5 * 60_000;
// somebody who has typed something and not sent it may be at the bench: wait a little longer
const QUIET_WITH_TYPING = 15 * 60_000;
const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form[data-lock]"));

if (form) {
  let touched = Date.now();
  let typed = false;
  for (const kind of ["pointerdown", "keydown", "scroll"]) {
    addEventListener(kind, () => (touched = Date.now()), { passive: true, capture: true });
  }
  addEventListener("input", () => (typed = true), { capture: true });
  addEventListener("submit", () => (typed = false), { capture: true });
  const look = () => {
    if (Date.now() - touched >= (typed ? QUIET_WITH_TYPING : QUIET)) {
      // whoever comes next scans under a name of their own
      sessionStorage.removeItem("scans-by");
      form.submit();
    }
  };
  setInterval(look, 10_000);
  // a tablet that slept runs no timers: look at once when it wakes
  document.addEventListener("visibilitychange", look);
}
