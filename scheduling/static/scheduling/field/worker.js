// Keeps the field page on the phone. The server puts the list of files in front (see scheduling/field/shell.py).
// It holds no state of its own: the browser may end it at any moment.

const SHELL_CACHE = `field-shell-${self.SHELL.version}`;
const PICTURES = "field-pictures";

self.addEventListener("install", (event) => event.waitUntil(keepShell()));
self.addEventListener("activate", (event) => event.waitUntil(dropOldShells()));
self.addEventListener("message", (event) => {
  if (event.data === "switch") self.skipWaiting();
  if (event.data === "version") event.source?.postMessage({ version: self.SHELL.version });
});
self.addEventListener("sync", (event) => {
  if (event.tag === "send") event.waitUntil(askPagesToSend());
});

async function keepShell() {
  const cache = await caches.open(SHELL_CACHE);
  const files = [self.SHELL.page, ...self.SHELL.files];
  await Promise.all(
    files.map(async (address) => {
      const answer = await fetch(address, { cache: "no-cache", credentials: "same-origin" });
      // A sign-in page that arrives in place of ours must never be kept.
      if (!answer.ok || answer.redirected) throw new Error(`${address} cannot be kept`);
      await cache.put(address, answer);
    }),
  );
}

async function dropOldShells() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith("field-shell-") && name !== SHELL_CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function askPagesToSend() {
  const pages = await self.clients.matchAll({ type: "window" });
  for (const page of pages) page.postMessage("send");
}

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== self.location.origin) return;
  if (event.request.mode === "navigate") {
    if (address.pathname === self.SHELL.page) event.respondWith(fromShell(self.SHELL.page, event.request));
  } else if (self.SHELL.files.includes(address.pathname)) {
    event.respondWith(fromShell(address.pathname, event.request));
  } else if (address.pathname.startsWith("/field/pictures/")) {
    event.respondWith(fromPictures(event.request));
  }
});

async function fromShell(address, request) {
  const cache = await caches.open(SHELL_CACHE);
  return (await cache.match(address)) ?? fetch(request);
}

async function fromPictures(request) {
  const cache = await caches.open(PICTURES);
  const kept = await cache.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok && !answer.redirected) await cache.put(request, answer.clone()).catch(() => undefined);
  return answer;
}
