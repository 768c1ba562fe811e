/**
 * The live price: when a choice is made the whole form is sent to the server, which answers with
 * the regions of the page that depend on it, and keeps what stands in it. One request at a time,
 * so that the server never hears an older choice last. Nothing is computed here.
 */
const bar = /** @type {HTMLElement | null} */ (document.querySelector("[data-live]"));
const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form#page"));

const LONGEST_MS = 20_000;

if (bar && form) {
  const whole = document.documentElement;
  whole.dataset.lives = "";
  let asking = false;
  let again = false;
  let pressing = false;

  // a button that is replaced between the finger's way down and up is never pressed
  addEventListener("pointerdown", () => (pressing = true), true);
  for (const end of ["pointerup", "pointercancel"])
    addEventListener(end, () => setTimeout(() => (pressing = false)), true);
  const released = async () => {
    while (pressing) await new Promise((wait) => setTimeout(wait, 20));
  };

  const ask = async () => {
    again = asking;
    if (asking) return;
    asking = true;
    whole.dataset.lives = "asking";
    const sent = new FormData(form);
    // a photo is sent once, with the page itself
    for (const [name, value] of [...sent]) if (value instanceof File) sent.delete(name);
    try {
      const answer = await fetch(/** @type {string} */ (bar.dataset.live), {
        method: "POST",
        body: sent,
        signal: AbortSignal.timeout(LONGEST_MS),
      });
      const html = await answer.text();
      await released();
      // a newer choice is about to be asked for: this answer would only be replaced
      if (answer.ok && !again) swap(html, sent);
    } catch {
      // without a network the page still works: the button sends it
    }
    asking = false;
    whole.dataset.lives = "";
    if (again) ask();
  };

  /** @param {string} html @param {FormData} sent */
  const swap = (html, sent) => {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    for (const region of fresh.querySelectorAll("[data-region]")) {
      const name = /** @type {HTMLElement} */ (region).dataset.region;
      const here = name === "bar" ? bar : document.querySelector(`[data-region="${name}"]`);
      // what did not change is left alone: nothing is read out twice, nothing loses its place
      if (!here || squeezed(here) === squeezed(region)) continue;
      const held = here.contains(document.activeElement) ? document.activeElement?.id : "";
      const open = [...here.querySelectorAll("details[open] > summary")].map((s) => s.textContent);
      const typed = newer(here, sent);
      here.replaceChildren(...region.childNodes);
      for (const [id, value] of typed) {
        const field = document.getElementById(id);
        if (field instanceof HTMLInputElement) field.value = value;
      }
      for (const summary of here.querySelectorAll("details > summary")) {
        if (open.includes(summary.textContent)) summary.parentElement?.setAttribute("open", "");
      }
      if (held) document.getElementById(held)?.focus();
    }
  };

  /** What was typed in a region since it was sent. @param {Element} here @param {FormData} sent */
  const newer = (here, sent) => {
    const fields = /** @type {NodeListOf<HTMLInputElement>} */ (here.querySelectorAll("input[id]"));
    return [...fields]
      .filter((one) => !/radio|checkbox|hidden/.test(one.type) && one.value !== sent.get(one.name))
      .map((one) => /** @type {const} */ ([one.id, one.value]));
  };

  /** @param {Element} region */
  const squeezed = (region) => region.innerHTML.replace(/\s+/g, " ").trim();

  // `change` comes after a field is left or a choice is made, never while someone types
  form.addEventListener("change", ask);
  form.addEventListener("keydown", (event) => {
    const at = /** @type {HTMLElement} */ (event.target);
    // in a search the Enter key searches; it does not go on
    if (event.key !== "Enter" || !at.matches("[data-search]")) return;
    event.preventDefault();
    ask();
  });
}
