// How long ago an entry was made. The phone's clock may be set between making and sending, by hand or by the network:
// what the site's clock said beside it, before the one and before the other, tells which of the two readings of the
// phone's clock to believe.
import * as store from "./store.js";

const SAME = 60000; // ms: answers come late, and clocks drift
const BAD = ["o", "x"];

// An answer of the site says what time it is there.
export async function noteClock(answer) {
  const site = Date.parse(answer.headers.get("Date") || "");
  if (site) { await store.note("clock", { site, phone: Date.now() }); }
}

export const lastClock = async () => (await store.fact("clock")) || null;

// In seconds. Where both readings of the clock are possible a bad reading counts as the later one, everything else as
// the earlier one: neither puts a good reading after a bad one.
export async function ageOf(entry) {
  const then = entry.clock, now = await lastClock(), plain = Date.now() - entry.made;
  if (!then || !now) { return Math.max(0, plain) / 1000; }
  const before = then.site - then.phone, after = now.site - now.phone; // the site's clock less the phone's
  if (Math.abs(before - after) < SAME) { return Math.max(0, plain) / 1000; }
  const siteNow = Date.now() + after;
  const could = (at) => at > then.site - SAME && at < siteNow + SAME;
  const possible = [entry.made + before, entry.made + after].filter(could);
  const isBad = BAD.includes(entry.code);
  if (!possible.length) { return isBad ? 0 : (siteNow - then.site) / 1000; } // set more than once
  return Math.max(0, siteNow - (isBad ? Math.max(...possible) : Math.min(...possible))) / 1000;
}
