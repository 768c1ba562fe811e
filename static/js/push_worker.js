/** Shows messages about an order, and opens its page when one is pressed. It keeps nothing. */
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));

worker.addEventListener("push", (event) => {
  const { title, body, tag, path } = event.data?.json() ?? {};
  if (!title) return;
  event.waitUntil(worker.registration.showNotification(title, { body, tag, data: { path } }));
});
worker.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const { path } = event.notification.data ?? {};
  if (path) event.waitUntil(worker.clients.openWindow(path));
});
