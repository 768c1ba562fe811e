/**
 * Brings the page up to what the server says now without turning it: no scan is cut, the place
 * on the page stays, and so does what is typed and not sent.
 */
/** Shows what the server says now, without leaving the page. @param {string} address */
export async function refresh(address) {
  const answer = await fetch(address, { headers: { Accept: "text/html" } });
  if (!answer.ok || answer.redirected) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const now = document.querySelector("#main");
  const then = fresh.querySelector("#main");
  if (now && then) {
    const putBack = unsent(now);
    now.replaceChildren(...then.childNodes);
    putBack();
  }
  means(fresh);
}

/** What a scan means now, as the server's page has it. @param {Document} fresh */
function means(fresh) {
  const there = /** @type {HTMLFormElement | null} */ (fresh.querySelector("form[data-scan]"));
  const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form[data-scan]"));
  if (!form || !there) return;
  form.dataset.scan = there.dataset.scan;
  for (const part of ["label", "input[name=where]"]) {
    const own = form.querySelector(part);
    const other = there.querySelector(part);
    if (own && other) own.replaceWith(other);
  }
}

/** Keeps what is typed, chosen or opened and not sent; returns what puts it back. @param {Element} place */
function unsent(place) {
  const fields = /** @type {NodeListOf<HTMLInputElement | HTMLSelectElement>} */ (
    place.querySelectorAll("input[id],textarea[id],select[id]")
  );
  const mine = [...fields].filter(changed);
  const opened = [...place.querySelectorAll("details[id][open]")];
  const focused = document.activeElement?.id;
  return () => {
    for (const one of mine) document.getElementById(one.id)?.replaceWith(one);
    for (const one of opened) document.getElementById(one.id)?.setAttribute("open", "");
    if (focused && document.activeElement === document.body) {
      document.getElementById(focused)?.focus({ preventScroll: true });
    }
  };
}

/** @param {HTMLInputElement | HTMLSelectElement} one */
function changed(one) {
  if (one instanceof HTMLSelectElement) {
    const told = [...one.options].findIndex((option) => option.defaultSelected);
    return one.selectedIndex !== Math.max(0, told);
  }
  // a tick chooses among what stands here now
  return !["checkbox", "radio"].includes(one.type) && one.value !== one.defaultValue;
}
