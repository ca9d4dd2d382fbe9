// On a copy: show the part of the build that the address asks for, as the phone knows it by now.
import { buildHere, latestOn, latestTick, newerThanPage, situationOf, wantsPowerOff, whyNotOn } from "./situation.js";
import { boxFor, chip, keptTick, shown, verdictOf } from "./kept.js";
import { laySheet } from "./sheets.js";
import { layBox } from "./ticks.js";
import { pointOn } from "./pointer.js";
import { takeOver } from "./stop.js";
import { isCopy } from "./locks.js";
import { make, words } from "./words.js";

function partFor(path) {
  const parts = [...document.querySelectorAll("template[data-path]")];
  const snag = /^(.*\/stages\/[^/]+\/)snags\/new\/$/.exec(path);
  const at = (name) => parts.find((part) => part.dataset.path === name);
  return at(snag ? "snag" : path) || at("start");
}

// A page kept as it was: to read only.
function showKeptPage() {
  const kept = document.querySelector("meta[name=kept]"), main = document.getElementById("main");
  if (!kept) { return; }
  const time = new Date(1000 * Number(kept.content)).toLocaleString([], { dateStyle: "short", timeStyle: "short" });
  main.prepend(make("p.notice.warn", words("kept-page", { time })));
  main.querySelectorAll("form[method=post]").forEach(shut);
}

// What a form lists, such as the parts of each bag, is there to be read; nothing of it can be sent.
function shut(form) {
  form.querySelectorAll("input, select, textarea").forEach((field) => { field.disabled = true; });
  form.querySelectorAll("button").forEach((button) => { button.hidden = true; });
}

export function showPart() {
  showKeptPage();
  if (!isCopy()) { return; }
  const part = partFor(location.pathname), main = document.getElementById("main");
  main.replaceChildren(part.content.cloneNode(true));
  if (part.dataset.path === "start" && location.pathname !== part.dataset.own) {
    main.prepend(make("p.notice", words("not-at-hand")));
  }
  document.title = (main.querySelector("h1")?.textContent || "").trim() || document.title;
  if (part.dataset.path === "snag") { aboutOf(main.querySelector("form")); }
  window.htmx?.process(main);
  window.dispatchEvent(new CustomEvent("part-added", { detail: main })); // its waits count, its number pads show
  document.getElementById(location.hash.slice(1))?.scrollIntoView();
}

function aboutOf(form) {
  const asked = new URLSearchParams(location.search);
  form.setAttribute("hx-post", location.pathname);
  form.action = location.pathname;
  form.elements.about.value = asked.get("about") || "";
  for (const name of ["kind", "severity"]) { if (asked.get(name)) { form.elements[name].value = asked.get(name); } }
}

// Entries that the page does not know of yet: their verdicts, ticks and locks, on a copy as on a page of the site's.
export async function lay(build) {
  const found = await situationOf(build);
  const newer = newerThanPage(found.made, isCopy());
  const isAnswered = document.querySelector(".stop-page, [data-make-safe]");
  if (found.isOpen && !isAnswered && (isCopy() || newer.some((entry) => entry.code === "x"))) {
    await takeOver(build);
    return;
  }
  if (isCopy() || newer.some(saysPower)) { lockLive(found); }
  if (wantsPowerOff(found)) { lockOthers(found.off); }
  if (isCopy()) { lockOrder(newer); }
  layVerdict(newer);
  document.querySelectorAll("form[data-outbox=reading]").forEach((form) => {
    layReading(form, latestOn(newer, "reading", form.dataset.about));
  });
  layTicks(newer);
  await laySheet(build);
  layClosed(newer);
  document.querySelectorAll(".check-item[data-line]").forEach((line) => layLine(line, newer));
  if (isCopy() || newer.length) { pointOn({ safeFirst: wantsPowerOff(found) }); }
}

// An entry that changes whether the kit has power.
const saysPower = (entry) => ["made-safe", "power-on"].includes(entry.kind) || entry.code === "x";

// What is closed on the site's page may be open by what waits here (a made-safe reading, a tick).
function layClosed(made) {
  if (isCopy() || !made.some((entry) => entry.state !== "sent")) { return; }
  document.querySelectorAll("[data-on-record]").forEach((notice) => {
    const send = make("button.button.quiet", words("send-now"));
    send.type = "button";
    send.addEventListener("click", () => window.dispatchEvent(new Event("entries-changed")));
    notice.after(make("div.notice.not-on-page", make("p", words("not-on-page")), send));
  });
}

function layTicks(made) {
  document.querySelectorAll("form[data-outbox=tick]").forEach((form) => {
    const entry = latestTick(made, form.dataset.about);
    if (entry) { keptTick(form, entry); }
  });
  document.querySelectorAll("form[data-outbox=ticks] input[name=step]").forEach((box) => {
    const entry = latestTick(made, box.dataset.about);
    if (entry) { layBox(box, entry); }
  });
}

// What came in while the page stays as it is, since something is being typed on it.
export function layArrived(sent) {
  layTicks(sent);
  for (const entry of sent) {
    document.querySelectorAll('[data-waits="' + entry.key + '"]').forEach((line) => {
      line.textContent = words("is-sent");
    });
  }
}

// The site's verdict is of an older reading than the phone's: it goes.
function layVerdict(made) {
  const article = document.querySelector("article[data-check]"), verdict = document.getElementById("verdict");
  const entry = article && verdict && latestOn(made, "reading", article.dataset.check);
  if (!entry) { return; }
  verdict.before(verdictOf(entry, whyOf(entry), () => location.assign(location.pathname + "?measure=1")));
  verdict.hidden = true;
}

const whyOf = (entry) => ({ sent: "is-sent", asks: "asks-you" }[entry.state] || "waits");

function layReading(form, entry) {
  const isLocked = "locked" in form.dataset;
  if (!entry || (form.hidden && !isLocked) || new URLSearchParams(location.search).has("measure")) { return; }
  const again = () => { box.remove(); form.hidden = false; };
  const box = boxFor(form, entry, whyOf(entry), isLocked ? null : again);
  form.before(box);
  form.hidden = true;
}

function layLine(line, made) {
  const entry = latestOn(made, "reading", line.dataset.line);
  if (!entry) { return; }
  const code = entry.code in { i: 1, c: 1, o: 1, x: 1 } ? entry.code : "?";
  const waits = entry.state === "sent" ? "" : make("span.small.muted.not-sent", words("not-sent-yet"));
  line.querySelector(".check-result").replaceChildren(make("span.num", shown(entry)), " ", chip(code), " ", waits);
}

function lock(form, name) {
  if (form.hidden || form.disabled) { return; }
  if (form.name === "step") { lockBox(form, name); return; }
  form.before(make("p.notice.warn.lock", words("asks-" + name)));
  form.hidden = true;
  form.dataset.locked = name;
}

function lockBox(box, name) {
  Object.assign(box, { disabled: true, checked: false });
  box.closest("li").append(make("p.small.lock", words("asks-" + name)));
}

// A tick of hands inside, or of live work: the form of one step, or its box in the fast track.
const ticks = (what) => [...document.querySelectorAll(
  "form[data-outbox=tick][data-" + what + "], input[name=step][data-" + what + "]:not(:checked)",
)].filter((tick) => tick.elements?.done.value !== "no");

const stageOf = (form) => (form.dataset.about || "").split("/")[0];

// Power is off as far as this phone knows: one form on the page puts it on record, where the phone alone may.
function lockOff(form, found) {
  const why = whyNotOn(found, stageOf(form));
  lock(form, why || "switch-on-here");
  const source = document.getElementById("offline-switch-on");
  if (why || !source || document.querySelector(".switch-on")) { return; }
  const made = source.content.cloneNode(true), asks = made.querySelector("form");
  asks.action = "/builds/" + buildHere() + "/stages/" + stageOf(form) + "/switch-on/";
  asks.setAttribute("hx-post", asks.getAttribute("action"));
  asks.dataset.about = stageOf(form);
  (form.closest(".reading-panel") || document.querySelector("main ol")).before(made);
  window.htmx?.process(asks);
}

function lockLive(found) {
  if (found.live) { document.querySelectorAll(".switch-on").forEach((asked) => { asked.hidden = true; }); }
  document.querySelectorAll("form[data-outbox=reading][data-powered]").forEach((form) => {
    if (found.shut) { lockOff(form, found); }
  });
  ticks("hands").forEach((tick) => { if (found.live) { lock(tick, "make-safe-first"); } });
  ticks("powered").forEach((tick) => {
    if (found.live) { return; }
    if (whyNotOn(found, stageOf(tick))) { lock(tick, "power-unsaid"); } else { lockOff(tick, found); }
  });
}

// A live reading that is off asks for no other with the power on.
function lockOthers(off) {
  document.querySelectorAll("form[data-outbox=reading][data-powered]").forEach((form) => {
    if (!off.includes(form.dataset.about)) { lock(form, "stop-first"); }
  });
}

// The guide's own order: a step behind a check that has not passed, a check behind a step that puts hands in.
function lockOrder(made) {
  const passed = (key) => latestOn(made, "reading", key)?.code === "i";
  const ticked = (key) => latestTick(made, key)?.done === "yes";
  document.querySelectorAll("form[data-after], input[data-after]").forEach((form) => {
    const isDone = ([kind, key]) => (kind === "check" ? passed(key) : ticked(key));
    if (!JSON.parse(form.dataset.after).every(isDone)) { lock(form, "order"); }
  });
}
