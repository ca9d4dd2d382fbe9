// Forms that add something (data-outbox): kept first, then sent by htmx as ever. Where no answer comes, the entry stays
// and the phone says what it can by itself.
import * as store from "./store.js";
import { connected, drain, giveWay, headersFor, noteKept } from "./outbox.js";
import { entryOf, noteSure, noteUnsure } from "./entry.js";
import { refuseHere } from "./locks.js";
import { showKept, showProblem } from "./kept.js";
import { noteStop } from "./situation.js";
import { takeOver } from "./stop.js";
import { fetchWords } from "./words.js";
import { forgetDraft } from "./drafts.js";
import { noteLed, reload, stay } from "./leaving.js";
import { replaced } from "./sheets.js";

const PATIENCE = {
  reading: 8000, tick: 8000, "made-safe": 8000, "power-on": 8000, sheet: 20000, snag: 120000, photo: 120000,
};
const ASKED = "asked", REFUSED = "refused";
const SHOWN = [409, 422]; // the answers that htmx puts in the page, beside those that are no errors (base.html)
const busy = new Map(); // form -> entry on its way
let changed = () => {};

export const isBusy = () => busy.size > 0;
export function onChange(act) { changed = act; }

function hold(form, on) {
  const button = form.querySelector("button:not([type=button])");
  if (!button) { return; }
  button.toggleAttribute("disabled", on);
  if (on) { button.dataset.busy = document.body.dataset.sending; button.setAttribute("aria-busy", "true"); }
  else { button.removeAttribute("aria-busy"); }
}

export function watchForms() {
  document.addEventListener("htmx:confirm", (event) => {
    const form = event.target.closest?.("form[data-outbox]");
    if (!form || event.detail.elt !== form) { return; }
    event.preventDefault();
    stay();
    if (busy.has(form) || (!form.noValidate && !form.reportValidity())) { return; }
    busy.set(form, null);
    hold(form, true);
    send(form, event.detail.issueRequest).catch((error) => showProblem(form, "no-answer", error))
      .finally(() => { busy.delete(form); hold(form, false); changed(); });
  });
  document.addEventListener("htmx:configRequest", (event) => {
    const entry = busy.get(event.detail.elt);
    if (!entry) { return; }
    Object.assign(event.detail.headers, entry.headers);
    event.detail.parameters.set("entry_key", entry.key);
    event.detail.parameters.set("csrfmiddlewaretoken", entry.headers["X-CSRFToken"]);
    event.detail.timeout = PATIENCE[entry.kind];
  });
  document.addEventListener("htmx:beforeSwap", (event) => {
    const entry = busy.get(event.detail.requestConfig?.elt);
    const xhr = event.detail.xhr;
    if (entry && (isSignIn(xhr) || xhr.status >= 500 || !isWhole(xhr))) { event.detail.shouldSwap = false; }
  });
}

const isSignIn = (xhr) => Boolean(xhr.responseURL) && new URL(xhr.responseURL).pathname === "/sign-in/";

// An answer names the entry it kept, leads elsewhere, or says on a page what is wrong. One whose head was cut off by a
// bad line does none of these.
const leads = (xhr) => Boolean(xhr.getResponseHeader("HX-Redirect") || xhr.getResponseHeader("HX-Refresh"));
const isWhole = (xhr) => leads(xhr) || (Boolean(xhr.responseText)
  && (xhr.status >= 400 || Boolean(xhr.getResponseHeader("Entry-Kept"))));

async function send(form, issue) {
  const entry = await entryOf(form);
  const refused = await refuseHere(entry);
  if (refused) { showProblem(form, refused); return; }
  const isKept = await keep(form, entry);
  if (isKept) { noteMeasured(entry); }
  if (!entry.files.length) { giveWay(); }
  await inTurnSoon(entry, isKept, async () => {
    const before = isKept ? await drain({ build: entry.build, before: entry.seq }) : { left: 0, why: "" };
    const why = before.left ? before.why : await live(form, entry, issue, isKept);
    if (why === ASKED || !why) { noteSure(form); }
    if (why === ASKED) { return; } // the page shows what was typed, and its draft stays until it is saved
    if (!why) { forgetDraft(form); return; }
    await fetchWords().catch(() => {}); // where the line was bad when the page came
    if (why === REFUSED) { noteSure(form); await showRefused(form, entry, isKept); return; }
    if (!isKept) { noteUnsure(form, entry.key); await showLost(form, entry); return; }
    await showUnsent(form, entry, why);
  }, () => fetchWords().catch(() => {}).then(() => showUnsent(form, entry, "waits")));
}

// Whatever else is on its way, from another tab say: an entry that is kept has its verdict without waiting its turn.
async function inTurnSoon(entry, isKept, act, showAlone) {
  let state = "queued";
  const turn = store.inTurn(async () => {
    if (state === "alone") { return; }
    state = "begun";
    await act();
  });
  const late = new Promise((resolve) => { setTimeout(resolve, PATIENCE[entry.kind]); });
  if (isKept) { await Promise.race([turn, late]); }
  if (!isKept || state === "begun") { await turn; return; }
  state = "alone";
  await showAlone();
  turn.then(() => window.dispatchEvent(new Event("entries-changed")));
}

async function showUnsent(form, entry, why) {
  if (entry.code.startsWith("!")) { // the site would ask: so does the phone, and the field keeps what was typed
    await store.remove(entry.seq);
    noteUnsure(form, entry.key);
    showProblem(form, entry.code.slice(1));
    return;
  }
  forgetDraft(form);
  noteSure(form);
  await showKept(form, entry, why);
}

// Refused without a page that says why: the build is somebody else's by now, say. The field still has it; a stop is
// kept, and is a stop all the same.
async function showRefused(form, entry, isKept) {
  if (entry.code === "x") {
    if (isKept) { await store.put({ ...entry, state: "asks" }); }
    await noteStop(entry);
    await takeOver(entry.build, { isLost: !isKept });
    return;
  }
  if (isKept) { await store.remove(entry.seq); }
  showProblem(form, REFUSED);
}

// Neither sent nor kept: the field still has it. A stop is a stop all the same.
async function showLost(form, entry) {
  if (entry.code === "x") {
    await noteStop(entry);
    await takeOver(entry.build, { isLost: true });
    return;
  }
  showProblem(form, (await store.works()) ? "no-room" : "no-storage");
}

async function keep(form, entry) {
  try {
    if (entry.powered) { store.small.forget("countdown-" + entry.build); } // a wait begins anew after power
    entry.seq = await store.add(entry);
    if (entry.kind === "sheet") { await replaced(form); }
    return true;
  } catch (error) { return false; }
}

// Send by htmx; "" when the site has it, "asked" when it asks for it again on this page, else why not.
async function live(form, entry, issue, isKept, again = true) {
  busy.set(form, { ...entry, headers: await headersFor(entry) });
  if (!form.isConnected) { return "no-answer"; } // its part of the page is gone: htmx sends nothing from there
  const xhr = await answered(form, issue);
  hold(form, true); // htmx has let go of the button, and what came is not dealt with yet
  const header = (name) => xhr.getResponseHeader(name);
  if (xhr.status && header("Entry-Kept") === entry.key) {
    if (isKept) { await noteKept(entry, header); }
    noteMeasured(entry); // where nothing is kept
    if (xhr.status === 200 && !xhr.responseText && !leads(xhr)) { reload(); } // its page was cut off
    if (leads(xhr)) { noteLed(); }
    return "";
  }
  if (isSignIn(xhr) || xhr.status === 401) { return "signed-out"; }
  if (xhr.status === 403 && again) {
    return (await connected()) === entry.person ? live(form, entry, issue, isKept, false) : "signed-out";
  }
  if (!xhr.status || xhr.status === 403) { return "no-answer"; }
  if (xhr.status >= 500 || xhr.status === 429) {
    entry.code = header("Entry-Outcome") || entry.code; // a stop that could not be written is a stop
    if (isKept) { await store.put(entry); }
    return "cannot-save";
  }
  if (!isWhole(xhr)) { return "no-answer"; }
  if (header("HX-Redirect")) { noteLed(); return ""; } // to the cautions, or a stop: it waits and is sent after them
  if (xhr.status >= 400 && (!SHOWN.includes(xhr.status) || isClosedToStop(xhr, entry))) { return REFUSED; }
  if (isKept) { await store.remove(entry.seq); } // the answer shows what was typed, and what is wrong with it
  return ASKED;
}

// A closed record, say: the page that explains it gives no order to switch off.
const isClosedToStop = (xhr, entry) => xhr.status === 409 && entry.code === "x";

// The page was opened to measure again, and that is done: loaded again it shows the verdict, not an empty field.
function noteMeasured(entry) {
  const isAgain = new URLSearchParams(location.search).has("measure");
  if (entry.kind === "reading" && isAgain) { history.replaceState(history.state, "", location.pathname); }
}

function answered(form, issue) {
  return new Promise((resolve) => {
    const done = (event) => {
      if (event.detail.requestConfig?.elt !== form && event.detail.elt !== form) { return; }
      document.removeEventListener("htmx:afterRequest", done);
      resolve(event.detail.xhr);
    };
    document.addEventListener("htmx:afterRequest", done);
    issue(true);
  });
}
