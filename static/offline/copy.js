// The build at hand: a copy of its whole guide, its pictures and the notebook to judge by, fetched when the site
// answers and shown by the worker when it does not. One person's copy is never shown to another.
import * as store from "./store.js";
import { noteClock } from "./clock.js";
import { forgetSent, limit, me, unsent } from "./outbox.js";
import { sendLostAgain } from "./sent.js";
import { situationOf } from "./situation.js";

const name = (build) => "copy-" + me() + "-" + build;
const OFTEN = 15000; // ms between two looks
const PATIENCE = 60000; // ms
const looked = {}, queued = new Set();
let isOver = false; // signing out: nothing more is fetched

// Signing out. A copy that was on its way in this moment goes with the next page (forgetOthers).
export async function forgetMine() {
  isOver = true;
  await store.note("signed-out", true);
  await forgetCopies();
}

export async function forgetOthers() {
  const elsewhere = document.cookie.split("; ").includes("signed-out=1"); // from another device, or the account is gone
  if (elsewhere || await store.fact("signed-out")) {
    await forgetCopies();
    await store.forget("signed-out");
    document.cookie = "signed-out=; Max-Age=0; Path=/";
  }
  const before = await store.fact("person");
  if (!me() || before === me()) { return; }
  await forgetCopies();
  await store.note("person", me());
}

export async function forgetCopies() {
  await forgetPages().catch(() => {}); // a browser that gives no copies has none
  const notes = (await store.facts()).filter((one) => /^(notebook|floor|pages):/.test(one));
  await Promise.all(notes.map((one) => store.forget(one)));
}

async function forgetPages() {
  const names = (await window.caches?.keys() || []).filter((one) => one.startsWith("copy-"));
  await Promise.all(names.map((one) => caches.delete(one)));
}

// Fetch what is new of this build; `now`: without waiting for the next look. One at a time in every tab: an older copy
// never comes after a newer one.
export async function refresh(build, now = false) {
  if (isOver || !build || !me() || !navigator.onLine) { return; }
  if (!now && Math.abs(Date.now() - (looked[build] || 0)) < OFTEN) { return; }
  if (queued.has(build)) { return; } // that one has not begun yet
  queued.add(build);
  await store.inTurn(() => { queued.delete(build); return renew(build); }, "copy-" + build);
}

// What was sent is forgotten, and the notebook's tag kept, only once a copy that shows it is on the phone: a site that
// dies between the two leaves the old copy, with every entry since laid over it.
async function renew(build) {
  const began = looked[build] = Date.now();
  const known = await store.fact("notebook:" + build);
  const headers = { "If-None-Match": known?.tag || "" };
  const signal = limit(PATIENCE);
  const answer = await fetch("/builds/" + build + "/notebook/", { cache: "no-store", headers, signal });
  if (answer.status === 404) { await forgetBuild(build); return; }
  const fresh = answer.status === 304 ? known : answer.ok && !answer.redirected ? await answer.json() : null;
  if (!fresh || fresh.person !== me()) { return; }
  await noteClock(answer);
  const isOld = answer.status !== 304 || !(await hasCopy(build));
  const changed = answer.status === 304 ? known.changed : began;
  await store.note("notebook:" + build, { ...fresh, began, changed, tag: isOld ? "" : known.tag });
  await sendLostAgain(build, fresh, began);
  await settleStop(build, fresh);
  if (isOld) {
    if (!(await fill(build))) { return; }
    await store.note("notebook:" + build, { ...fresh, began, changed });
  }
  await forgetSent(build, began);
  await keepPages(build, fresh);
}

// The schematic with its points, the parts list and the like: as they were when this guide was first at hand.
async function keepPages(build, notebook) {
  const noted = "pages:" + build;
  if (!window.caches || !notebook.pages || (await store.fact(noted)) === notebook.guide) { return; }
  const kept = await caches.open(name(build));
  for (const page of notebook.pages) {
    const answer = await fetch(page + "?kept=1", { cache: "no-store" });
    if (answer.redirected || answer.status !== 200) { continue; } // 204: this build has no such page
    await keepPictures(kept, await answer.clone().text());
    await kept.put(page, answer);
  }
  await store.note(noted, notebook.guide);
}

// The site's word on a stop counts once it has all that this phone kept.
async function settleStop(build, fresh) {
  const open = (await unsent(build)).some((entry) => entry.code === "x" || entry.kind === "made-safe");
  if (!fresh.stop && !open) { await store.forget("stop:" + build); }
  else if (fresh.stop && !(await situationOf(build)).stop) {
    await store.note("stop:" + build, { ...fresh.stop, made: Date.now() });
  }
}

async function forgetBuild(build) {
  await store.forget("notebook:" + build);
  await store.forget("pages:" + build);
  if (window.caches) { await caches.delete(name(build)); }
}

const address = (build) => "/builds/" + build + "/copy/";

async function hasCopy(build) {
  const kept = await window.caches?.open(name(build)).catch(() => null);
  return Boolean(await kept?.match(address(build)));
}

// Is the copy as new as the site now, or are there none to be had?
async function fill(build) {
  if (isOver) { return false; }
  const kept = await window.caches?.open(name(build)).catch(() => null);
  if (!kept) { return true; } // over plain http, or where storage is shut off: no worker, so no copy either
  const answer = await fetch(address(build), { cache: "no-store", signal: limit(PATIENCE) });
  if (!answer.ok || answer.redirected) { return false; }
  const text = await answer.clone().text();
  await kept.put(address(build), answer);
  await keepPictures(kept, text).catch(() => {});
  return true;
}

async function keepPictures(kept, text) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const parts = [page, ...[...page.querySelectorAll("template")].map((part) => part.content)];
  const shown = parts.flatMap((part) => [...part.querySelectorAll("img, image")]);
  const named = shown.map((picture) => picture.getAttribute("src") || picture.getAttribute("href"));
  const pictures = new Set(named.filter((one) => /\/pictures\//.test(one)));
  for (const picture of pictures) {
    if (!(await kept.match(picture))) { await kept.add(picture).catch(() => {}); }
  }
}
