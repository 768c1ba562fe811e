/**
 * A box that says everything there is to say, such as "Don't know", takes the ticks off the others
 * of its group; ticking another takes its own off. Without script the server understands it.
 */
for (const group of document.querySelectorAll("fieldset:has([data-alone])")) {
  group.addEventListener("change", (event) => {
    const ticked = /** @type {HTMLInputElement} */ (event.target);
    if (ticked.type !== "checkbox" || !ticked.checked) return;
    const whole = "alone" in ticked.dataset;
    for (const box of group.querySelectorAll('input[type="checkbox"]')) {
      const other = /** @type {HTMLInputElement} */ (box);
      if (other !== ticked && (whole || "alone" in other.dataset)) other.checked = false;
    }
  });
}
