// The browser's own print dialogue behind a button; without scripts the menu does the same.
const show = () => {
  const button = /** @type {HTMLButtonElement | null} */ (document.querySelector("[data-print]"));
  if (button) button.hidden = false;
};
addEventListener("click", (event) => {
  if (/** @type {Element} */ (event.target).closest?.("[data-print]")) window.print();
});
addEventListener("refreshed", show);
show();
