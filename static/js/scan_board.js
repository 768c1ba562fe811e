/** The floor: its stations, and the move that can still be undone. */
import { shelf, station } from "./scan_forms.js";

/** The station that was scanned comes into view; the focus stays with the scanner. */
export function come() {
  const current = document.querySelector(".stations [aria-current]");
  current?.scrollIntoView({ inline: "center", block: "nearest" });
  const head = document.querySelector("[data-at] > h2");
  const inSight = head && head.getBoundingClientRect().top < innerHeight / 2;
  head?.scrollIntoView({ inline: "nearest", block: inSight ? "nearest" : "start" });
}

/** The undo button counts its seconds down and goes. */
export function undo() {
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

/** Where a station or a place on the shelf leads, on pages that show the stations: there without asking, or a network. @param {string} typed */
export function stationsPage(typed) {
  const [name, place] = [station(typed), shelf(typed)];
  const any = name || place ? `a[data-station${name ? `="${name}"` : ""}]` : "";
  const link = /** @type {HTMLAnchorElement | null} */ (any ? document.querySelector(any) : null);
  if (!link || name) return link?.href.replace(/#.*/, "");
  return new URL(`?at=shelf-${place}`, link.href).href;
}
