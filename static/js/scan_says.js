/** The line under the scan field: how the last scan went. */

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
