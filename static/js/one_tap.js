// A photo that is saved as soon as it is taken: the field sends it by itself, and stays where it is.
// Without this script the photo goes with the form.

/** @type {NodeListOf<HTMLInputElement>} */
const fields = document.querySelectorAll("input[data-one-tap]");

/** @param {HTMLInputElement} field */
const send = async (field) => {
  const says = field.closest(".field")?.querySelector("[data-one-tap-says]");
  const file = field.files?.[0];
  const token = field.form?.elements.namedItem("csrf_token");
  if (!file || !says || !(token instanceof HTMLInputElement)) {
    return;
  }
  const body = new FormData();
  body.append("photo", file);
  body.append("csrf_token", token.value);
  says.textContent = field.dataset.sending ?? "";
  try {
    const answer = await fetch(field.dataset.oneTap ?? "", {
      method: "POST",
      body,
      headers: { Accept: "application/json" },
    });
    if (answer.ok) {
      // it is saved: the form need not send it again
      field.value = "";
    }
    says.textContent = (answer.ok ? field.dataset.saved : field.dataset.failed) ?? "";
  } catch {
    says.textContent = field.dataset.failed ?? "";
  }
};

for (const field of fields) {
  field.addEventListener("change", () => void send(field));
}
