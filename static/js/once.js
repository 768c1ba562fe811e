/**
 * A courtesy: a form that is on its way is not sent a second time.
 * The truth is the server's once token; this only spares the customer the doubt.
 */
addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  if (event.defaultPrevented || !form.matches("form[data-once]")) return;
  // after this turn, so that the pressed button's own name and value still travel
  setTimeout(() => {
    // its buttons may stand outside it, at the side
    for (const button of form.elements) {
      if (button instanceof HTMLButtonElement && button.type === "submit") button.disabled = true;
    }
  });
});
// the browser's Back brings the page back as it was left: with dead buttons
addEventListener("pageshow", () => {
  for (const button of /** @type {NodeListOf<HTMLButtonElement>} */ (
    document.querySelectorAll("button:disabled")
  )) {
    if (button.form?.matches("[data-once]")) button.disabled = false;
  }
});
