/**
 * The live price: when a choice is made the whole form is sent to the server, which answers with
 * the regions of the page that depend on it. Nothing is saved, and nothing is computed here.
 */
const bar = /** @type {HTMLElement | null} */ (document.querySelector("[data-live]"));
const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form#page"));

if (bar && form) {
  document.documentElement.dataset.lives = "";
  /** @type {AbortController | undefined} */
  let going;

  const ask = async () => {
    going?.abort();
    going = new AbortController();
    const sent = new FormData(form);
    // a photo is sent once, with the page itself
    for (const [name, value] of [...sent]) if (value instanceof File) sent.delete(name);
    try {
      const answer = await fetch(/** @type {string} */ (bar.dataset.live), {
        method: "POST",
        body: sent,
        signal: going.signal,
      });
      if (answer.ok) swap(await answer.text());
    } catch {
      // without a network the page still works: the button sends it
    }
  };

  /** @param {string} html */
  const swap = (html) => {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    for (const region of fresh.querySelectorAll("[data-region]")) {
      const name = /** @type {HTMLElement} */ (region).dataset.region;
      const here = name === "bar" ? bar : document.querySelector(`[data-region="${name}"]`);
      // what did not change is left alone: nothing is read out twice, nothing loses its place
      if (!here || squeezed(here) === squeezed(region)) continue;
      const held = here.contains(document.activeElement) ? document.activeElement?.id : "";
      const open = [...here.querySelectorAll("details[open] > summary")].map((s) => s.textContent);
      here.replaceChildren(...region.childNodes);
      for (const summary of here.querySelectorAll("details > summary")) {
        if (open.includes(summary.textContent)) summary.parentElement?.setAttribute("open", "");
      }
      if (held) document.getElementById(held)?.focus();
    }
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
