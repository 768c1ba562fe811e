/**
 * New order by keyboard alone: Enter goes to the next field, a first letter picks, the arrows go
 * along answers that stand side by side, Ctrl and Enter take the order in. Without this script
 * every field is reached by the Tab key.
 */
const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form.new-order"));

const FIELDS = "input:not([type=hidden]), select, textarea, button:not([tabindex='-1'])";
const SETTLED_MS = 30;

/** @param {Element} one */
const isSeen = (one) => one.checkVisibility();

/** The answers of one question that can be seen. @param {Element} group */
function answersOf(group) {
  const found = /** @type {NodeListOf<HTMLInputElement>} */ (group.querySelectorAll("input"));
  return [...found].filter((one) => !one.disabled && isSeen(one));
}

/** @param {HTMLInputElement} one */
const labelOf = (one) => one.closest("label")?.textContent?.trim().toLowerCase() ?? "";

/** Puts one stop of the Tab key on a group of boxes. @param {Element} group @param {HTMLInputElement} at */
function stopAt(group, at) {
  for (const one of answersOf(group)) if (one.type === "checkbox") one.tabIndex = one === at ? 0 : -1;
}

/** Ticks or picks an answer, as a click would. @param {Element} group @param {HTMLInputElement} one */
function pick(group, one) {
  stopAt(group, one);
  one.focus();
  one.click();
}

/** @param {Element} group @param {KeyboardEvent} event */
function inGroup(group, event) {
  const at = /** @type {HTMLInputElement} */ (event.target);
  const all = answersOf(group);
  const here = all.indexOf(at);
  const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
  if (step && at.type === "checkbox") {
    const next = all[(here + step + all.length) % all.length];
    stopAt(group, next);
    next.focus();
    return true;
  }
  if (event.key.length !== 1 || event.key === " ") return false;
  const fits = all.filter((one) => labelOf(one).startsWith(event.key.toLowerCase()));
  // the same letter again goes on to the next answer that begins with it
  const chosen = fits.find((one) => all.indexOf(one) > here) ?? fits[0];
  if (chosen) pick(group, chosen);
  // a key that picks nothing here is no scan either
  return true;
}

/** Goes to the next field that can be seen. @param {HTMLFormElement} form @param {Element} at */
function goOn(form, at) {
  const group = at.closest("[data-letters]");
  const all = [.../** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll(FIELDS))].filter(isSeen);
  const rest = all.slice(all.indexOf(/** @type {HTMLElement} */ (at)) + 1);
  const next = rest.find((one) => {
    if (group?.contains(one) || one.matches("[tabindex='-1']")) return false;
    const radio = one instanceof HTMLInputElement && one.type === "radio";
    // of a question the chosen answer has the stop, else the first
    const others = radio ? answersOf(one.closest("fieldset") ?? one) : [];
    return !radio || one === (others.find((other) => other.checked) ?? others[0]);
  });
  next?.focus();
  if (next instanceof HTMLInputElement && next.type !== "radio") next.select();
}

/**
 * Waits until the price is that of what stands here, then presses the main button. What the
 * customer has to be told comes before it: the tick for it gets the focus first.
 * @param {HTMLFormElement} form
 */
async function takeIn(form) {
  const at = document.activeElement;
  if (at instanceof HTMLElement) at.blur();
  do await new Promise((wait) => setTimeout(wait, SETTLED_MS));
  while (document.documentElement.dataset.lives);
  const told = /** @type {HTMLInputElement | null} */ (form.querySelector("#confirmed"));
  if (told && !told.checked && at !== told) {
    told.focus();
    return;
  }
  const button = /** @type {HTMLButtonElement | null} */ (form.querySelector("button[value=take]"));
  if (button) form.requestSubmit(button);
}

if (form) {
  const help = /** @type {HTMLElement | null} */ (form.querySelector(".keys-help"));
  if (help) help.hidden = false;
  const ready = () => {
    for (const group of form.querySelectorAll("[data-letters]")) {
      const all = answersOf(group);
      const at = all.find((one) => one === document.activeElement) ?? all.find((one) => one.checked);
      if (all.length) stopAt(group, at ?? all[0]);
    }
  };
  ready();
  // an answer may bring others with it, and the server's answer brings new ones
  form.addEventListener("focusin", ready);
  form.addEventListener(
    "keydown",
    (event) => {
      const at = /** @type {HTMLElement} */ (event.target);
      const group = at.closest("[data-letters]");
      let done = false;
      if (event.altKey || event.metaKey) return;
      if (event.key === "Enter" && event.ctrlKey) {
        takeIn(form);
        done = true;
      } else if (event.ctrlKey) {
        return;
      } else if (event.key === "Enter" && at.matches("input, select")) {
        goOn(form, at);
        done = true;
      } else if (group && at instanceof HTMLInputElement && !at.matches("[type=text]")) {
        done = inGroup(group, event);
      }
      if (!done) return;
      event.preventDefault();
      event.stopPropagation();
    },
    true,
  );
}
