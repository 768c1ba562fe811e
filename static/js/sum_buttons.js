/**
 * Buttons that record a sum say the one that stands in its field, while somebody types; Enter in
 * the field goes to the first of them. Without this script the server says it on the next page.
 */
for (const row of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-sum-of]"))) {
  const form = row.closest("form");
  const field = form?.elements.namedItem(row.dataset.sumOf ?? "");
  if (!(field instanceof HTMLInputElement)) continue;
  const buttons = [.../** @type {NodeListOf<HTMLButtonElement>} */ (row.querySelectorAll("button"))];
  const first = { value: field.value.trim(), buttons: buttons.map((one) => [one.value, one.textContent ?? ""]) };
  const digits = (first.value.split(".")[1] ?? "").length;

  const style = /** @type {const} */ ({ style: "currency", currency: row.dataset.currency });
  /** A round sum is told without decimals, as the server tells it. @param {number} minor */
  const shown = (minor) => {
    const fine = { ...style, minimumFractionDigits: minor % 10 ** digits ? digits : 0 };
    return new Intl.NumberFormat(document.documentElement.lang, fine).format(minor / 10 ** digits);
  };

  const follow = () => {
    const typed = field.value.trim().replace(",", ".");
    const [whole, small = ""] = typed.split(".");
    const fits = /^\d{1,9}(\.\d*)?$/.test(typed) && small.length <= digits;
    for (const [n, one] of buttons.entries()) {
      const [value, label] = first.buttons[n];
      const same = typed === first.value;
      const minor = fits ? Number(whole + small.padEnd(digits, "0")) : 0;
      one.value = same ? value : minor ? `${value.split(":")[0]}:${minor}` : "";
      one.textContent = same ? label : (one.dataset.says ?? "").replace("\uFFFC", fits ? shown(minor) : "…");
    }
  };
  field.addEventListener("input", follow);
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    buttons[0]?.focus();
  });
}
