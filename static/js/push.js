/**
 * Switches messages of this browser on and off. What the browser answers goes into the form, which
 * is then sent as any other; without it the page says that there is nothing to switch.
 */
const box = /** @type {HTMLElement | null} */ (document.querySelector("[data-push]"));
const form = box?.querySelector("form");

/** @param {string} name */
const part = (name) => /** @type {HTMLElement} */ (form?.querySelector(`[data-${name}]`));

/** @param {string} endpoint by what the page knows this browser */
async function markOf(endpoint) {
  const sum = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(endpoint));
  const hex = [...new Uint8Array(sum)].map((one) => one.toString(16).padStart(2, "0")).join("");
  return hex.slice(0, 16);
}

/** @param {PushManager} push @param {string} key a subscription to another key makes room */
async function subscribed(push, key) {
  const wanted = { userVisibleOnly: true, applicationServerKey: key };
  try {
    return await push.subscribe(wanted);
  } catch {
    await (await push.getSubscription())?.unsubscribe();
    return push.subscribe(wanted);
  }
}

/** @param {HTMLFormElement} to @param {PushSubscription} from @param {string} on */
function send(to, from, on) {
  const { endpoint, keys } = from.toJSON();
  const values = { endpoint, p256dh: keys?.p256dh, auth: keys?.auth, on };
  for (const [name, value] of Object.entries(values)) {
    /** @type {HTMLInputElement} */ (to.elements.namedItem(name)).value = value ?? "";
  }
  to.submit();
}

/** @param {HTMLFormElement} to @param {DOMStringMap} told */
async function start(to, { worker = "", key = "", marks = "" }) {
  const at = await navigator.serviceWorker.register(worker, { scope: "/push/" });
  const known = await at.pushManager.getSubscription();
  const on = known !== null && marks.split(" ").includes(await markOf(known.endpoint));
  part("none").hidden = true;
  part(on ? "off" : "on").hidden = false;
  part("off").addEventListener("click", () => known && send(to, known, ""));
  part("on").addEventListener("click", async () => {
    const refused = (await Notification.requestPermission()) !== "granted";
    part("denied").hidden = !refused;
    if (!refused) send(to, await subscribed(at.pushManager, key), "1");
  });
}

if (box && form && "PushManager" in window && "serviceWorker" in navigator) {
  start(form, box.dataset).catch(() => {});
}
