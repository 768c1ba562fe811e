/**
 * Brings the page up to what the server says now without turning it: no scan is cut, the place
 * on the page stays, and so does what is typed and not sent.
 */

const EXPECTED = "expected_event_id";
const CHANGES_BY_ITSELF = ["csrf_token", "once", EXPECTED];
/** @type {Promise<unknown> | null} */
let goesOn = null;
let shown = document.querySelector("#main")?.innerHTML;
let pressed = false;

/**
 * Register work that goes on beside the page. A press that says which event of the job it knows waits
 * for it: else it would hear of our own scan as of somebody else's. @param {Promise<unknown>} work
 */
export function pending(work) {
  const all = Promise.allSettled([goesOn, work]).then(() => {
    if (goesOn === all) goesOn = null;
  });
  goesOn = all;
}

addEventListener(
  "submit",
  async (event) => {
    const form = /** @type {HTMLFormElement} */ (event.target);
    if (!goesOn || !form.closest("#main") || !form.elements.namedItem(EXPECTED)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const wanted = meaning(form);
    while (goesOn) await goesOn;
    const forms = /** @type {NodeListOf<HTMLFormElement>} */ (
      document.querySelectorAll("#main form")
    );
    [...forms].find((one) => meaning(one) === wanted)?.requestSubmit();
  },
  { capture: true },
);

/** What a form is about, whatever the state of the job. @param {HTMLFormElement} form */
function meaning(form) {
  const values = [...new FormData(form)].filter(([name]) => !CHANGES_BY_ITSELF.includes(name));
  return JSON.stringify([form.getAttribute("action"), values]);
}

addEventListener("pointerdown", () => (pressed = true), { capture: true });
for (const kind of ["pointerup", "pointercancel"]) {
  addEventListener(kind, () => (pressed = false), { capture: true });
}

/** Waits until no finger is on the page: a button that is swapped under it would not be pressed. */
async function untouched() {
  for (let n = 0; pressed && n < 100; n++) await new Promise((go) => setTimeout(go, 20));
}

/**
 * Shows what the server says now, without leaving the page.
 * @param {string} address
 * @param {boolean} onlyChanged leave a page alone that says the same as before: who reads it by ear
 * or by keyboard keeps the place
 */
export async function refresh(address, onlyChanged = false) {
  const answer = await fetch(address, { headers: { Accept: "text/html" } });
  if (!answer.ok || answer.redirected) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  await untouched();
  const now = document.querySelector("#main");
  const then = fresh.querySelector("#main");
  const same = then?.innerHTML === shown;
  shown = then?.innerHTML;
  if (now && then && !(onlyChanged && same)) {
    const putBack = unsent(now);
    now.replaceChildren(...then.childNodes);
    document.title = fresh.title;
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
  const active = document.activeElement;
  const focused = active?.id || active?.getAttribute("href");
  return () => {
    for (const one of mine) document.getElementById(one.id)?.replaceWith(one);
    for (const one of opened) document.getElementById(one.id)?.setAttribute("open", "");
    if (focused && document.activeElement === document.body) {
      const link = `a[href="${CSS.escape(focused)}"]`;
      const again = document.getElementById(focused) ?? place.querySelector(link);
      /** @type {HTMLElement | null} */ (again)?.focus({ preventScroll: true });
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
