// Keeps the app for when there is no signal: one cache a version, never mixed. A new version waits till every walk-round
// is left: the page asks for it by `take over`.
const CACHE = "muster-{{VERSION}}";
const ASSETS = {{ASSETS}};

self.addEventListener("install", (event) => {
  // What is named by its hash is what the browser has of it: a first visit does not fetch it twice.
  const known = (path) => /-[0-9a-f]{12}[./]/.test(path);
  const fetched = ASSETS.map((path) => new Request(path, { cache: known(path) ? "default" : "reload" }));
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(fetched)));
});

self.addEventListener("activate", (event) => {
  const others = (names) => names.filter((name) => name.startsWith("muster-") && name !== CACHE);
  const swept = caches.keys().then((names) => Promise.all(others(names).map((name) => caches.delete(name))));
  event.waitUntil(swept.then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  const own = event.request.method === "GET" && url.origin === location.origin;
  // The record has its own store in the page; the server's own pages are its own.
  if (!own || /^\/(api\/|health$|metrics$)/.test(url.pathname)) return;
  event.respondWith(answer(event.request, url));
});

async function answer(request, url) {
  const cache = await caches.open(CACHE);
  const path = request.mode === "navigate" ? "/" : url.pathname;
  return (await cache.match(path)) || fetch(request);
}
