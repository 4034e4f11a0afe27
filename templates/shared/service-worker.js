// Keeps the pages of the rack for reading without a network. Taps are not its concern: the pages keep them.

const { version, files, offline } = JSON.parse("{{ kept_json|escapejs }}");
const SHELL = `sawbuck-shell-${version}`;
const PAGES = "sawbuck-pages";
const MOST_PAGES = 80;
const WAIT_MS = 5000; // after that a kept page is better than none
const FINGERPRINTED = /\.[0-9a-f]{12}\.\w+$/;
const KEPT = /^\/(scan|scan\/part|rack\/find|s\/[^/]+|stock\/[0-9A-Z]{6}(\/(cut|hold-for))?|stock\/count\/\d+|jobs\/[^/]+\/saw(\/\d+\/cut)?)?$/;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELL).then((cache) => cache.addAll(files)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (name) => name.startsWith("sawbuck-shell-") && name !== SHELL;
  const clean = async () => {
    for (const name of await caches.keys()) if (old(name)) await caches.delete(name);
    await self.clients.claim();
  };
  event.waitUntil(clean());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (address.origin !== location.origin) return;
  // What one person read is not for the next.
  if (request.method === "POST" && address.pathname === "/sign-out") event.waitUntil(caches.delete(PAGES));
  if (request.method !== "GET") return;
  if (address.pathname.startsWith("/static/")) event.respondWith(file(request, address));
  else if (request.headers.get("accept")?.includes("text/html")) event.respondWith(page(event, address));
});

const file = async (request, address) => {
  const kept = await caches.match(request);
  if (kept && FINGERPRINTED.test(address.pathname)) return kept;
  try {
    const answer = await fetch(request);
    if (answer.ok) (await caches.open(SHELL)).put(request, answer.clone());
    return answer;
  } catch (error) {
    if (kept) return kept;
    throw error;
  }
};

// A label's address and the piece's own page are one page.
const nameOf = (address) => {
  const code = address.pathname.match(/^\/s\/([0-9a-z]{6})$/i)?.[1];
  return code ? `/stock/${code.toUpperCase()}` : address.pathname + address.search;
};

const page = async (event, address) => {
  const asked = fetch(event.request).then((answer) => {
    if (answer.ok && !answer.redirected && KEPT.test(address.pathname.replace(/^\/S\//, "/s/"))) {
      event.waitUntil(keep(nameOf(address), answer.clone()));
    }
    return answer;
  });
  const kept = await (await caches.open(PAGES)).match(nameOf(address));
  const late = new Promise((done) => setTimeout(done, WAIT_MS, kept));
  try {
    return (kept && (await Promise.race([asked, late]))) || (await asked);
  } catch (error) {
    if (kept) return kept;
    if (event.request.mode === "navigate") return caches.match(offline);
    throw error;
  }
};

const keep = async (name, answer) => {
  const cache = await caches.open(PAGES);
  await cache.delete(name);
  await cache.put(name, answer);
  const names = await cache.keys();
  for (const oldest of names.slice(0, Math.max(0, names.length - MOST_PAGES))) await cache.delete(oldest);
};
