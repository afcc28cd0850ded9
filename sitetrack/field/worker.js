// Keeps the shell on the phone so that the pages open without a network. SHELL stands above, written by the server.
//
// A new shell is taken whole beside the old one, each file proved by its digest, and waits until every page of the
// old one is closed, or until the person says to use it now. Reports live in IndexedDB, which this file never touches:
// no update can lose one. Requests to the API pass by untouched.

const KEEP = `shell-${SHELL.version}`;

self.addEventListener("install", (event) => event.waitUntil(takeShell()));
self.addEventListener("activate", (event) => event.waitUntil(dropOldShells()));
self.addEventListener("message", (event) => {
  if (event.data === "use now") self.skipWaiting();
});
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  const address = request.mode === "navigate" && url.pathname.startsWith(SHELL.page) ? SHELL.page : url.pathname;
  if (address in SHELL.files) event.respondWith(kept(address, request));
});

async function takeShell() {
  const cache = await caches.open(KEEP);
  await Promise.all(
    Object.entries(SHELL.files).map(async ([address, digest]) => {
      const answer = await fetch(address, { cache: "no-cache", credentials: "omit" });
      if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
      const content = await answer.arrayBuffer();
      const found = btoa(String.fromCharCode(...new Uint8Array(await crypto.subtle.digest("SHA-256", content))));
      if (found !== digest) throw new Error(`${address} is not of shell ${SHELL.version}; keeping the one we have`);
      await cache.put(address, new Response(content, { headers: plainHeaders(answer) }));
    }),
  );
}

// The body is decoded here, so what said how it was packed on the way must go.
function plainHeaders(answer) {
  const headers = new Headers(answer.headers);
  headers.delete("Content-Encoding");
  headers.delete("Content-Length");
  return headers;
}

async function dropOldShells() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith("shell-") && name !== KEEP);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function kept(address, request) {
  const cache = await caches.open(KEEP);
  // A browser short of room may have thrown the cache away; then the network is the last hope.
  return (await cache.match(address)) ?? fetch(request);
}
