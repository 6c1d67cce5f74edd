// Opens the crew's pages without a network, as they were last seen; never answers anything else.
"use strict";

const KEPT = "warmside-day-1";
const PAGES = /^\/jobs\/[^/]+\/(day|photos|crew(\/\d+)?)$/;
const FILES = /^\/static\//;
const PATIENCE = 4000; // ms before a page as last seen is better than none

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", event => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name !== KEPT) await caches.delete(name);
  await self.clients.claim();
  // the page that brought this worker was loaded before it
  for (const client of await self.clients.matchAll({ type: "window" })) await remember(client.url);
})()));

async function remember(address) {
  if (!PAGES.test(new URL(address).pathname)) return;
  try {
    const answer = await fetch(address, { credentials: "same-origin" });
    if (!answer.ok || answer.redirected) return;
    const cache = await caches.open(KEPT), text = await answer.clone().text();
    await cache.put(address, answer);
    const files = [...text.matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)].map(found => found[1]);
    await Promise.all([...new Set(files)].map(file => cache.add(file).catch(() => null)));
    // files of an older edition are asked for by no page any more
    const edition = files[0]?.split("/")[2];
    for (const old of await cache.keys()) {
      const path = new URL(old.url).pathname;
      if (edition && FILES.test(path) && path.split("/")[2] !== edition) await cache.delete(old);
    }
  } catch { /* at the next visit */ }
}

self.addEventListener("fetch", event => {
  const address = new URL(event.request.url);
  if (address.origin !== location.origin) return;
  // whoever signs in next shall not read what the last one saw
  if (event.request.method === "POST" && address.pathname === "/sign-out") { event.waitUntil(caches.delete(KEPT)); return; }
  if (event.request.method !== "GET") return;
  if (PAGES.test(address.pathname) || FILES.test(address.pathname)) event.respondWith(freshElseKept(event));
});

async function freshElseKept(event) {
  const cache = await caches.open(KEPT);
  const kept = () => cache.match(event.request, { ignoreSearch: event.request.mode === "navigate" });
  const fresh = fetch(event.request).then(answer => {
    if (answer.ok && !answer.redirected) event.waitUntil(cache.put(event.request, answer.clone()));
    return answer;
  });
  const late = new Promise(done => setTimeout(done, PATIENCE)).then(async () => (await kept()) || fresh);
  try {
    return await Promise.race([fresh, late]);
  } catch {
    return (await kept()) || Response.error();
  }
}
