/**
 * Shows a page that takes scans where a page of the counter can't be reached. That page and what
 * it needs are fetched without a cookie, so that nothing of anybody is ever kept here.
 */
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const SHELL = "/counter/offline";
const KEPT = `counter-${new URL(self.location.href).searchParams.get("mark")}`;

async function keep() {
  const page = await fetch(SHELL, { credentials: "omit", cache: "no-store" });
  if (!page.ok || page.redirected) throw new Error(`no page to keep: ${page.status}`);
  const pieces = (await page.clone().text()).matchAll(/(?:src|href)="(\/static\/[^"]+)"/g);
  const cache = await caches.open(KEPT);
  await cache.addAll([...new Set([...pieces].map((found) => found[1]))]);
  await cache.put(SHELL, page);
}

async function forget() {
  const old = (await caches.keys()).filter((name) => name !== KEPT);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function shell() {
  return (await caches.match(SHELL)) ?? Response.error();
}

worker.addEventListener("install", (event) => {
  event.waitUntil(keep().then(() => worker.skipWaiting()));
});
worker.addEventListener("activate", (event) => {
  event.waitUntil(forget().then(() => worker.clients.claim()));
});
worker.addEventListener("fetch", (event) => {
  const { request } = event;
  const { isHistoryNavigation } = /** @type {{ isHistoryNavigation?: boolean }} */ (request);
  // Back to a form that was sent: the browser asks, and no network is missing
  if (isHistoryNavigation && request.method !== "GET") return;
  if (request.mode === "navigate") event.respondWith(fetch(request).catch(shell));
  else if (new URL(request.url).pathname.startsWith("/static/")) {
    event.respondWith(caches.match(request).then((kept) => kept ?? fetch(request)));
  }
});
