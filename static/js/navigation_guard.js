/**
 * A scan must not be cut by a page that turns: what a scanner types into the old page is gone with
 * it, and of tag 1012 the new page would hear "12", which hangs on another part. So an old page
 * takes no keys any more, and a number that began before the new page surely heard every key is
 * asked for again.
 *
 * This is no module: it stands before the form and must watch from the field's first moment on.
 */
{
  const LOST = "scan-lost";
  // no scanner leaves more between two keys: after so long a silence nothing came before
  const BETWEEN_KEYS_MS = 50;
  // a page that is still here was not turned after all: a file was fetched, or the way was barred
  const STILL_HERE_MS = 3000;
  const capture = { capture: true };

  const field = () => /** @type {HTMLInputElement} */ (document.querySelector("#scan"));
  const form = () => /** @type {HTMLFormElement} */ (document.querySelector("form[data-scan]"));
  let hears = false;
  let early = false;
  let looked = false;
  let leaving = 0;
  const ready = new Promise((go) => addEventListener("DOMContentLoaded", go));

  async function again() {
    await ready;
    const { say } = await import("./scan_says.js");
    say(form().dataset.again ?? "", "stop");
  }

  /** @param {Event} event */
  function stop(event) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }

  /** Whether this key may be a scanner's. @param {KeyboardEvent} event */
  function forField(event) {
    const target = /** @type {Element} */ (event.target);
    if (event.ctrlKey || event.altKey || event.metaKey) return false;
    if (event.key === "Enter") return target === field() || target === document.body;
    return event.key.length === 1 && (target === field() || !target.matches("input,textarea,select"));
  }

  /** @param {Event} event */
  function drop(event) {
    stop(event);
    // so that the Enter behind these keys presses no button
    field().focus();
    sessionStorage.setItem(LOST, "yes");
    again();
  }

  function turn() {
    clearTimeout(leaving);
    delete form()?.dataset.hears;
    leaving = window.setTimeout(stay, STILL_HERE_MS);
  }

  function stay() {
    clearTimeout(leaving);
    leaving = 0;
    form().dataset.hears = "";
    // what was sent stays to be read; the next scan takes its place
    if (document.activeElement === field()) field().select();
  }

  /** Looks at what began too early, and sends it on if nothing of it can be missing. */
  async function look() {
    const { mayBeCut } = await import("./scan_forms.js");
    await ready;
    looked = Boolean(field().value.trim()) && !mayBeCut(field().value);
    if (looked) {
      form().requestSubmit();
    } else {
      field().value = "";
      again();
    }
  }

  function listen() {
    hears = true;
    form().dataset.hears = "";
    if (!sessionStorage.getItem(LOST)) return;
    sessionStorage.removeItem(LOST);
    again();
  }

  addEventListener("keydown", (event) => leaving && forField(event) && drop(event), capture);
  addEventListener("input", ({ target }) => {
    if (target !== field()) return;
    // one key after the other; what is there at once was pasted, and is whole
    early = field().value !== "" && (early || (!hears && field().value.length === 1));
  });
  addEventListener(
    "submit",
    (event) => {
      if (event.target !== form()) return;
      if (leaving) drop(event);
      else if (!looked && (early || (!hears && !field().value))) {
        stop(event);
        early = false;
        look();
      }
      looked = false;
    },
    capture,
  );
  addEventListener("submit", (event) => event.defaultPrevented || turn());
  // the browser says so late; a script that turns the page itself says so at once
  addEventListener("beforeunload", turn);
  addEventListener("turn", turn);
  addEventListener("pageshow", () => leaving && stay());
  // keys that come before the first frame are not passed on by every browser
  const painted = () => setTimeout(listen, BETWEEN_KEYS_MS);
  ready.then(() => requestAnimationFrame(() => requestAnimationFrame(painted)));
}
