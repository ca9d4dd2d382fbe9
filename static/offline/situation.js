// Where a build stands as far as this phone knows: the site's last word (the notebook) and every entry made since.
import * as store from "./store.js";
import { entries } from "./outbox.js";

export const buildHere = () => Number((/^\/builds\/(\d+)\//.exec(location.pathname) || [])[1]) || null;
export const notebookOf = (build) => store.fact("notebook:" + build);

// `stop`: the entry or note of a reading past its stop limit; `isOpen`: not made safe since. `live`: power is on
// record.
// `shut`: no live reading until the site says so again. `off`: live checks whose newest reading is neither in band nor
// too close to call. What it means the phone cannot tell: an overload, perhaps.
export async function situationOf(build) {
  const notebook = await notebookOf(build), made = await entries(build);
  const noted = await store.fact("stop:" + build);
  const found = { notebook, made, stop: noted || null, isOpen: Boolean(noted?.isOpen), live: Boolean(notebook?.live) };
  found.shut = Boolean(noted) || Boolean(notebook?.shut);
  const isKnown = (entry) => entry.state === "sent" && entry.sentAt < (notebook?.began || 0);
  const unknown = made.filter((one) => !isKnown(one));
  found.off = liveOff(unknown);
  for (const entry of unknown) {
    if (entry.kind === "reading" && entry.code === "x") {
      Object.assign(found, { stop: entry, isOpen: true, live: true, shut: true });
    } else if (entry.kind === "power-on") {
      found.live = true;
      if (entry.state !== "asks") { found.shut = Boolean(found.stop); }
    } else if (entry.kind === "sheet") {
      noteSheet(found, entry);
    } else if (entry.kind === "reading" && entry.powered) {
      found.live = true;
    } else if (entry.kind === "made-safe" && entry.code === "s" && !(noted && entry.made < noted.made)) {
      found.shut ||= found.live;
      Object.assign(found, { live: false, isOpen: false });
    } else if (entry.kind === "made-safe" && entry.code === "u") {
      found.live = true;
    }
  }
  return found;
}

function liveOff(made) {
  const live = made.filter((entry) => entry.kind === "reading" && entry.powered);
  const last = new Map(live.map((entry) => [entry.about, entry.code])); // the newest of each check
  return [...last.keys()].filter((about) => !["i", "c"].includes(last.get(about)));
}

// Power is on beside such a reading: nothing else is measured before the kit is made safe.
export const wantsPowerOff = (found) => found.live && !found.shut && found.off.length > 0;

// A worksheet that waits: whatever the record says by then, the kit had power if no made-safe reading ends the sheet.
function noteSheet(found, entry) {
  if (entry.code === "x") { Object.assign(found, { stop: entry, isOpen: !entry.isSafe, shut: true }); }
  if (entry.powered) { found.live ||= !entry.isSafe; }
}

export async function noteStop(entry) {
  await store.note("stop:" + entry.build, {
    title: entry.title, typed: entry.typed, unit: entry.unit, isOpen: !entry.isSafe, made: entry.made,
  });
}

export async function noteMadeSafe(build) {
  const noted = await store.fact("stop:" + build);
  if (noted) { await store.note("stop:" + build, { ...noted, isOpen: false }); }
}

// May this phone alone put power on record for a live stage? Not while a stop stands, nor while a live reading that
// the site does not know may mean an overload. "" where it may, else the name of the sentence that says why not.
export function whyNotOn(found, stage) {
  if (found.stop) { return "stop-stands"; }
  if (!found.notebook?.switchOn?.includes(stage)) { return "switch-on-first"; }
  const isOff = (entry) => entry.kind === "reading" && entry.powered && !["i", "c"].includes(entry.code);
  const isSheet = (entry) => entry.kind === "sheet" && entry.powered;
  const unknown = found.made.filter((entry) => entry.state !== "sent");
  return unknown.some((entry) => isOff(entry) || isSheet(entry)) ? "cause-first" : "";
}

// Entries that the page does not show by itself: all on a copy, which is as old as the notebook at least; else what is
// not sent, and what came in after this page was asked for.
export function newerThanPage(made, isCopy) {
  return made.filter((entry) => isCopy || entry.state !== "sent" || isSince(entry.sentAt));
}

// Another tab brought news of this build while the page of the site's was on its way: it may show what was before.
export const isPageOld = async (build) => isSince((await notebookOf(build))?.changed);

// A page to measure again that was loaded once more in the moment that its reading was made: that is done.
export async function isMeasuredHere(build) {
  const isAgain = performance.getEntriesByType("navigation")[0]?.type === "reload";
  const check = document.querySelector("article[data-check]")?.dataset.check;
  if (!isAgain || !check || !new URLSearchParams(location.search).has("measure")) { return false; }
  const made = await entries(build);
  return made.some((entry) => entry.kind === "reading" && entry.about === check && entry.page === location.href);
}

// Since this page was asked for. A moment to come is of a clock that was set back since: nothing is known of it.
const isSince = (moment) => moment >= Date.now() - performance.now() && moment <= Date.now();

// The newest entry about one check or step that the notebook does not know of yet.
export function latestOn(made, kind, about) {
  return made.filter((entry) => entry.kind === kind && entry.about === about).pop();
}

// The newest wish about one step. One that the site turned down changes nothing.
export const latestTick = (made, about) => latestOn(made.filter((entry) => entry.state !== "asks"), "tick", about);
