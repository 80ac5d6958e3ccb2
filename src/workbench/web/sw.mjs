// Keeps the phone's own page, so that it starts without the computer. What is entered is kept elsewhere, in kept.mjs.
const STORE = "loomgraft phone";
const files = ["/phone", ...["phone.css", "phone.mjs", "kept.mjs", "measure.mjs", "study.mjs", "seek.mjs", "ask.mjs", "make.mjs", "words.mjs", "mark.svg", "words.json"].map((name) => `/page/${name}`)];

addEventListener("install", (event) => event.waitUntil(caches.open(STORE).then((store) => store.addAll(files)).then(() => self.skipWaiting())));
addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

async function freshOrKept(request) {
  const store = await caches.open(STORE);
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(4000) });
    if (answer.ok && !answer.redirected) await store.put(request, answer.clone());
    return answer;
  } catch (error) {
    const kept = await store.match(request, { ignoreSearch: true });
    if (kept) return kept;
    throw error;
  }
}

addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method === "GET" && origin === location.origin && files.includes(pathname)) event.respondWith(freshOrKept(event.request));
});
