/** The line under the scan field: how the last scan went. */

/**
 * Tells how a scan went; `before` is a refusal that must not be missed, `way` leads to what is open.
 * @param {string} text @param {string} kind @param {string} before
 * @param {{href: string, says: string} | null} way
 */
export function say(text, kind, before = "", way = null) {
  const earlier = document.querySelector("[data-scan-before]");
  if (earlier) earlier.textContent = before;
  const place = /** @type {HTMLElement | null} */ (document.querySelector("[data-scan-says]"));
  if (!place) return;
  place.textContent = text;
  place.dataset.kind = kind;
  if (way) {
    const link = document.createElement("a");
    link.href = way.href;
    link.textContent = way.says;
    link.className = "alone";
    place.append(" ", link);
  }
  // a page that nobody has touched yet may not shake the phone
  if (navigator.userActivation?.hasBeenActive) {
    navigator.vibrate?.(kind === "stop" ? [60, 60, 60] : 40);
  }
}
