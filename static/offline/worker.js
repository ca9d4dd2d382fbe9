// The site's worker (SITE is written above by builds/bench/offline/site.py). The network comes first, always: what is
// kept is shown only where no answer comes. It never sends anything by itself.
"use strict";
const KEPT = "site-" + SITE.version;
const PATIENCE = 6000; // ms for a page, after which the copy on the phone is the better answer
const PATIENCE_OF_FILES = 3000; // ms
const LONGEST = 60000; // ms for a page of which there is none
const BUILD = /^\/builds\/(\d+)\//;
const COPIES = /^copy-/;

self.addEventListener("install", (event) => event.waitUntil((async () => {
  const kept = await caches.open(KEPT);
  const wanted = [...SITE.kept, SITE.notSent, SITE.words].map((address) => new Request(address, { cache: "no-cache" }));
  await kept.addAll(wanted);
  await self.skipWaiting();
})()));

self.addEventListener("activate", (event) => event.waitUntil((async () => {
  const old = (await caches.keys()).filter((name) => name.startsWith("site-") && name !== KEPT);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
})()));

// A page that was opened while this worker was getting ready asks to be cared for too.
self.addEventListener("message", (event) => { if (event.data === "claim") { event.waitUntil(self.clients.claim()); } });

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (address.origin !== location.origin) { return; }
  if (event.request.mode === "navigate") {
    event.respondWith(event.request.method === "GET" ? page(event.request, address) : sent(event.request));
  } else if (event.request.method === "GET" && address.pathname.startsWith(SITE.static)) {
    event.respondWith(file(event.request));
  } else if (address.pathname === SITE.words) {
    event.respondWith(freshWords(event.request));
  } else if (event.request.method === "GET" && /^\/builds\/\d+\/pictures\//.test(address.pathname)) {
    event.respondWith(picture(event.request));
  }
});

function within(answer, time) {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error("slow")), time);
    answer.then((came) => { clearTimeout(timer); resolve(came); }, reject);
  });
}

// What the phone has no copy of, such as a large paper, is waited for longer.
async function page(request, address) {
  const answer = fetch(request);
  try {
    return await within(answer, PATIENCE);
  } catch (error) {
    const copy = await copyOf(address);
    return copy || within(answer, LONGEST).catch(noConnection);
  }
}

// A form that could not be sent: what was typed is still in the page before this one.
async function sent(request) {
  try { return await fetch(request); } catch (error) { return noConnection(); }
}

async function copyOf(address) {
  const own = await fromCopies(address.pathname);
  if (own) { return own; }
  const build = BUILD.exec(address.pathname);
  return build ? fromCopies("/builds/" + build[1] + "/copy/") : undefined;
}

async function fromCopies(address) {
  for (const name of (await caches.keys()).filter((name) => COPIES.test(name))) {
    const found = await (await caches.open(name)).match(address);
    if (found) { return found; }
  }
  return undefined;
}

async function noConnection() {
  return (await caches.match(SITE.notSent)) || Response.error();
}

// A script that is cut off, or hangs, leaves a copy empty: only a whole one counts.
async function file(request) {
  const answer = whole(request);
  try {
    return await within(answer, PATIENCE_OF_FILES);
  } catch (error) {
    return (await caches.match(request, { cacheName: KEPT })) || answer.catch(() => Response.error());
  }
}

async function whole(request) {
  const answer = await fetch(request);
  if (answer.status >= 500) { throw new Error("broken"); }
  await answer.clone().arrayBuffer();
  return answer;
}

// In the language of whoever reads now.
async function freshWords(request) {
  const answer = await file(request);
  if (answer.ok) { (await caches.open(KEPT)).put(request, answer.clone()); }
  return answer;
}

// The pictures of an issued guide never change.
async function picture(request) {
  return (await fromCopies(new URL(request.url).pathname)) || fetch(request);
}
