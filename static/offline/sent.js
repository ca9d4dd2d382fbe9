// What the site had from this phone is kept for some weeks. Where an older backup was put back there since, it lacks
// some of it: that is sent again under the same keys, so that nothing is lost and nothing is there twice.
import * as store from "./store.js";
import { limit, me } from "./outbox.js";

const KEPT = 28 * 24 * 3600 * 1000; // ms: the site dates no entry further back than 30 days
const OFTEN = 6 * 3600 * 1000; // ms between two looks where nothing seems to be missing
const PATIENCE = 20000; // ms
const prefix = (build) => "had:" + build + ":";

export async function keepSent(entry) {
  const notebook = await store.fact("notebook:" + entry.build);
  if (!entry.build || !notebook?.born) { return; }
  await store.note(prefix(entry.build) + entry.key, { ...entry, born: notebook.born });
}

// Called with each notebook. How many entries the site has of a build only grows, unless an older state was put back.
export async function sendLostAgain(build, fresh, began) {
  if (!fresh.born) { return; }
  const seen = "entries:" + build, last = await store.fact(seen);
  const isLess = last && (fresh.entries < last.count || fresh.born !== last.born);
  if (!isLess && last && Math.abs(began - last.at) < OFTEN) {
    if (fresh.entries > last.count) { await store.note(seen, { ...last, count: fresh.entries }); }
    return;
  }
  let known;
  try { known = await knownThere(build); } catch (error) {
    if (isLess) { throw error; } // nothing is settled by an older state before this is known
    return;
  }
  const { born, keys } = known;
  const there = new Set(keys), isThere = (entry) => there.has(entry.key.replaceAll("-", "").slice(0, 8));
  const sent = await store.factsUnder(prefix(build));
  const isOld = (entry) => entry.made < Date.now() - KEPT;
  const lost = sent.filter((entry) => entry.person === me() && entry.born === born && entry.sentAt < began
    && !isOld(entry) && !isThere(entry));
  for (const entry of lost) { await putBack(entry); }
  for (const entry of sent.filter(isOld)) { await store.forget(prefix(build) + entry.key); }
  if (lost.length) { await store.forget("floor:" + build); } // they are dated as they were made, not after all others
  await store.note(seen, { at: began, count: fresh.entries, born });
  if (lost.length) { window.dispatchEvent(new Event("entries-changed")); }
}

async function knownThere(build) {
  const answer = await fetch("/builds/" + build + "/entries/", { cache: "no-store", signal: limit(PATIENCE) });
  if (!answer.ok || answer.redirected) { throw new Error("no answer"); }
  return answer.json();
}

// In its old place, so that everything is sent in the order in which it was made. The photos themselves are not kept.
async function putBack({ photos, sentAt, ...entry }) {
  const again = { ...entry, files: [], state: "waiting", isAgain: true };
  if (entry.kind !== "photo") { await store.put(again); }
  if (!photos) { return; }
  const lost = { ...again, kind: "photo", state: "asks", isLost: true, typed: "", code: "" };
  if (entry.kind === "photo") { await store.put(lost); return; }
  delete lost.seq;
  await store.add({ ...lost, key: store.newKey() });
}
