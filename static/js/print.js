// The browser's own print dialogue behind a button; without scripts the menu does the same.
const button = /** @type {HTMLButtonElement | null} */ (document.querySelector("[data-print]"));
if (button) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
