/**
 * A courtesy: a form that is on its way is not sent a second time.
 * The truth is the server's once token; this only spares the customer the doubt.
 */
{
  for (const form of document.querySelectorAll("form[data-once]")) {
    form.addEventListener("submit", () => {
      // after this turn, so that the pressed button's own name and value still travel
      setTimeout(() => {
        for (const button of form.querySelectorAll("button[type=submit]")) button.disabled = true;
      });
    });
  }
  // the browser's Back brings the page back as it was left: with dead buttons
  addEventListener("pageshow", () => {
    for (const button of document.querySelectorAll("form[data-once] button:disabled")) {
      button.disabled = false;
    }
  });
}
