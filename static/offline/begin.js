// The bench without a connection, begun on every page: what is kept, what is sent, what the page says of it.
import * as store from "./store.js";
import { connected, drain, me, owner, unsent } from "./outbox.js";
import { buildHere, isMeasuredHere, isPageOld, situationOf } from "./situation.js";
import { isBusy, onChange, watchForms } from "./sending.js";
import { isTicking, watchTicks } from "./ticks.js";
import { drawBar, noteWhy, tellDifference } from "./bar.js";
import { forgetMine, forgetOthers, refresh } from "./copy.js";
import { lay, layArrived, showPart } from "./shelf.js";
import { draftsOf, forgetMade, restoreDrafts, watchDrafts } from "./drafts.js";
import { drawList } from "./listing.js";
import { showProblem } from "./kept.js";
import { isCopy } from "./locks.js";
import { isLeaving, leaveFor, reload, watchGoing } from "./leaving.js";
import { stayAwake } from "./awake.js";
import { isAsking, restorePlain, settlePlain, watchPlain } from "./plain.js";
import { takeOver } from "./stop.js";
import { isOutdated, tellOthers, watchOthers } from "./tabs.js";
import { isTyping } from "./typing.js";
import { fetchWords, words } from "./words.js";

const EVERY = 15000; // ms between two tries while something waits
const build = buildHere();

async function sendAll() {
  if (isLeaving() || document.visibilityState === "hidden" || !(await owner())) { return; }
  const came = await store.inTurn(() => drain());
  noteWhy(came);
  if (came.sent.length) { tellOthers(build); await arrived(came.sent); }
  await changed();
}

// The page shows what the site says once it has everything, but never takes a field away from under a finger.
async function arrived(sent) {
  tellDifference(sent);
  const stopped = sent.find((entry) => ["reading", "sheet"].includes(entry.kind) && entry.code === "x");
  if (stopped) { // whichever build's page this is: the phone may have called it right
    leaveFor("/builds/" + stopped.build + "/stop/");
    return;
  }
  const here = sent.filter((entry) => entry.build === build);
  if (!here.length) { return; }
  layArrived(here);
  if (!(await unsent(build)).length && !isInHand()) { reload(); }
}

// A browser says "online" sooner than a site answers: a copy is left only for an answer.
async function backOnline() {
  await sendAll();
  const isOld = isCopy() || document.querySelector("meta[name=kept]");
  if (isOld && !isLeaving() && !isInHand() && (await connected()) !== undefined) { reload(); }
}

// Another tab kept or sent something of this build: what is shown here may be of before, a stop above all.
async function lookAgain() {
  await drawBar();
  await drawList();
  if (!build || isLeaving() || document.visibilityState === "hidden") { return; }
  const isAnswered = document.querySelector(".stop-page, [data-make-safe]");
  if (!isAnswered && (await situationOf(build)).isOpen) { await takeOver(build); return; }
  if (isOutdated() && !isInHand()) { reload(); }
}

const isSending = () => isBusy() || isTicking() || isAsking();
const isInHand = () => isTyping() || isSending();

async function changed() {
  await drawBar();
  await drawList();
  if (build && !isCopy() && !isLeaving()) { refresh(build, true).catch(() => {}); }
}

// Signing out, or ending the session, with something not saved or not sent: asked about first.
function watchLeaving() {
  document.addEventListener("submit", (event) => {
    const form = event.target, asks = form.dataset.asks;
    if (!asks) { return; }
    const typed = build ? draftsOf(build).map((draft) => draft.title + ": " + draft.typed.slice(0, 60)) : [];
    const waits = Number(document.getElementById("offline-bar")?.dataset.count || 0);
    const lines = typed.length ? [words("typed-not-saved"), ...typed] : [];
    if (waits) { lines.push(words("count", { count: waits }), words("stays-here")); }
    if (lines.length && !window.confirm([...lines, words("sure-" + asks)].join("\n"))) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    if (asks !== "sign-out") { return; }
    event.preventDefault();
    event.stopImmediatePropagation();
    signOut(form);
  }, true);
}

// The guide stays at hand as long as the person is signed in: without a connection nobody is signed out.
async function signOut(form) {
  if ((await connected()) === undefined) {
    await fetchWords().catch(() => {});
    showProblem(form, "no-sign-out");
    return;
  }
  await forgetMine().catch(() => {});
  form.submit();
}

async function register() {
  const workers = navigator.serviceWorker;
  if (!workers) { return; } // over plain http there is none
  const { active } = await workers.register("/worker.js").then(() => workers.ready);
  if (!workers.controller) { active.postMessage("claim"); }
}

async function start() {
  watchGoing(() => { if (isInHand()) { sendAll(); } else { reload(); } });
  watchForms();
  watchTicks(() => { tellOthers(build); return changed(); });
  watchDrafts();
  watchLeaving();
  watchPlain();
  onChange(() => { tellOthers(build); return changed(); });
  document.documentElement.dataset.outbox = "on"; // from here on nothing typed is lost
  window.dispatchEvent(new Event("outbox-on"));
  await fetchWords().catch(() => {}); // the page stands without them
  showPart();
  settlePlain();
  await forgetOthers();
  if (build && !isCopy() && (await isPageOld(build)) && !isLeaving() && !isSending()) { reload(); return; }
  if (build && (await isMeasuredHere(build)) && !isSending()) { leaveFor(location.pathname); return; }
  if (build) { await lay(build); await forgetMade(build); }
  restoreDrafts(document);
  restorePlain();
  stayAwake();
  await drawBar();
  await drawList();
  document.addEventListener("htmx:load", (event) => restoreDrafts(event.detail.elt));
  window.addEventListener("entries-changed", sendAll);
  window.addEventListener("online", backOnline);
  window.addEventListener("offline", drawBar);
  document.addEventListener("visibilitychange", () => { lookAgain(); sendAll(); });
  watchOthers(build, lookAgain);
  setInterval(async () => { if ((await unsent()).length) { sendAll(); } }, EVERY);
  if (me()) {
    register().catch(() => {}); // a browser that keeps nothing lets no worker in: the site works without
    navigator.storage?.persist?.().catch(() => {});
  }
  await sendAll();
  if (!isLeaving()) { document.documentElement.dataset.outbox = "ready"; }
}

start().catch((error) => console.error(error));
