// What the page says of an entry that is kept on the phone: the verdict in the form's place, or that it was not judged.
import { noteMadeSafe, noteStop } from "./situation.js";
import { link, make, words } from "./words.js";
import { reload } from "./leaving.js";
import { pointOn } from "./pointer.js";
import { readingAfter } from "./ahead.js";
import { takeOver } from "./stop.js";

const LOOKS = { i: "o-in", c: "o-close", o: "o-out", x: "o-off", s: "o-in", u: "o-out", "?": "o-none" };
const STATES = { sent: "is-sent", asks: "asks-you" };
const SYMBOLS = { i: "✓", c: "≈", o: "✗", x: "■", s: "✓", u: "✗", "?": "?" };

export function shown(entry) {
  if (entry.kind === "made-safe" && /^[\d.,]+$/.test(entry.typed)) { return entry.typed + " V"; }
  return entry.unit && /^[-+−\d.,]+$/.test(entry.typed) ? entry.typed + " " + entry.unit : entry.typed;
}

export function chip(code) {
  const made = make("span.chip." + (LOOKS[code] || "o-none"));
  made.append(make("span", (SYMBOLS[code] || "?") + " "), words("outcome-" + (SYMBOLS[code] ? code : "?")));
  made.firstChild.setAttribute("aria-hidden", "true");
  return made;
}

export function showProblem(form, name, error) {
  if (error) { console.error(error); }
  form.querySelectorAll(".not-sent").forEach((old) => old.remove());
  const note = make("p.error.not-sent", words("asks-" + name) || words(name) || words("asks-unreadable"));
  note.setAttribute("role", "alert");
  form.append(note);
}

export async function showKept(form, entry, why) {
  const act = {
    reading: keptReading, tick: tickedHere, "made-safe": keptMadeSafe, sheet: keptSheet, "power-on": keptPower,
  }[entry.kind] || keptWords;
  await act(form, entry, why);
}

function say(box) {
  const region = document.getElementById("spoken");
  if (region) { region.textContent = box.textContent.replace(/\s+/g, " ").trim(); return; }
  box.setAttribute("role", "alert");
}

// In a grid the verdict stands in its own row, and a row in band passes the focus on.
function rowOf(entry, why, again) {
  const box = make("div.kept.grid-wide", make("p.grid-verdict", make("span.num", shown(entry)), chip(entry.code)));
  const code = SYMBOLS[entry.code] ? entry.code : "?";
  const order = code === "i" ? [] : [make("strong", words("order-" + code)), " "];
  box.append(make("p.small", ...order, waits(entry, STATES[entry.state] || "not-sent-yet")));
  if (!again || entry.code === "i") { return box; }
  box.append(make("p.actions", ...waysOn(entry, again, box, "quiet")));
  if (why && why !== "waits") { box.append(make("p.small", words(why))); }
  return box;
}

export function boxFor(form, entry, why, again) {
  const row = form.closest(".grid-row");
  if (!row) { return verdictOf(entry, why, again); }
  row.classList.toggle("is-done", entry.code === "i");
  return rowOf(entry, why, again);
}

// Whether it is sent: the page corrects this when it is (shelf.layArrived).
function waits(entry, why) {
  const line = make("span", words(why));
  line.dataset.waits = entry.key;
  return line;
}

function put(form, box) {
  form.before(box);
  form.hidden = true;
  say(box);
  box.querySelector(".button")?.focus({ preventScroll: true });
  if (!form.closest(".grid-row")) { bringIntoSight(box); }
}

// What to do next is seen without scrolling; with large text what it means comes first.
function bringIntoSight(box) {
  const thumb = document.querySelector(".thumb")?.getBoundingClientRect().top || window.innerHeight;
  const roof = document.getElementById("offline-bar")?.offsetHeight || 0, floor = Math.min(thumb, window.innerHeight);
  const { top, bottom } = box.getBoundingClientRect();
  if (top < roof) { window.scrollBy(0, top - roof - 8); }
  else if (bottom > floor) { window.scrollBy(0, Math.min(top - roof - 8, bottom - floor + 8)); }
}

// The verdict on a reading that was not sent; also shown when its page is opened again.
export function verdictOf(entry, why, again) {
  const judged = entry.code in SYMBOLS && entry.code !== "?";
  const box = make("section.verdict.kept." + (LOOKS[entry.code] || "o-none"));
  box.setAttribute("aria-label", words("verdict"));
  const line = make("p.verdict-word", chip(entry.code), " ");
  line.append(make("span.num", shown(entry)));
  const order = words("order-" + (judged ? entry.code : "?"));
  box.append(line, make("p", make("strong", order)));
  box.append(make("p.small", words(judged ? "judged-here" : "not-judged-here"), " ", waits(entry, why || "waits")));
  const actions = make("p.actions.verdict-actions");
  if (entry.code === "i") { actions.append(link(stageOf(entry), words("back-to-stage"), "button big")); }
  if (!again) { box.append(actions); return box; }
  actions.append(...waysOn(entry, again, box, entry.code === "i" ? "quiet" : "big"));
  box.append(actions);
  return box;
}

// Out with the power on may mean an overload, which the phone cannot tell: it leads to making safe, and asks for no
// live reading.
function waysOn(entry, again, box, look) {
  const isLiveAndOut = entry.code === "o" && entry.powered;
  const name = isLiveAndOut ? "correct-typing" : entry.code === "c" ? "second" : "measure-again";
  const more = make("button.button." + (isLiveAndOut ? "quiet" : look), words(name));
  more.type = "button";
  more.addEventListener("click", () => again(box));
  if (!isLiveAndOut) { return [more]; }
  return [link("/builds/" + entry.build + "/make-safe/", words("make-safe"), "button big live"), more];
}

const stageOf = (entry) => entry.page.replace(/checks\/[^/]+\/.*$/, "");

async function keptReading(form, entry, why) {
  if (entry.code === "x") {
    await noteStop(entry);
    await takeOver(entry.build);
    return;
  }
  const box = boxFor(form, entry, why, (made) => {
    made.remove();
    form.hidden = false;
    form.reset();
    form.querySelector("input.reading")?.focus();
  });
  if (entry.code === "i") { await leadOn(box, entry); }
  const place = form.closest(".grid-row, article, section, main");
  place.querySelectorAll(".verdict, .grid-verdict").forEach((old) => old.remove());
  put(form, box);
  form.closest(".grid-row")?.dispatchEvent(new CustomEvent("row-kept", { bubbles: true }));
}

// The next reading is one tap away.
async function leadOn(box, entry) {
  const way = box.querySelector(".verdict-actions a");
  const next = way && await readingAfter(entry, new URL(stageOf(entry)).pathname).catch(() => null);
  if (next) { Object.assign(way, { href: next.address, textContent: words("next-check", { title: next.title }) }); }
}

async function keptSheet(form, entry, why) {
  if (entry.code === "x") { await noteStop(entry); }
  if (entry.code === "x" && !entry.isSafe) { await takeOver(entry.build); return; }
  const box = make("section.notice.kept", make("p", make("strong", words("sheet-kept"))));
  if (entry.code === "x") { box.append(make("p", make("strong", words("asks-stop-stands")))); }
  box.append(make("p.small", words("sheet-judged-later"), " ", waits(entry, why)));
  put(form, box);
}

async function keptMadeSafe(form, entry, why) {
  if (entry.code === "s") { await noteMadeSafe(entry.build); }
  const box = make("section.verdict.kept." + (LOOKS[entry.code] || "o-none"));
  const known = entry.code === "s" || entry.code === "u";
  box.append(make("p.verdict-word", chip(entry.code), " ", make("span.num", shown(entry))));
  const order = { s: "is-safe", u: "not-safe" }[entry.code] || "safe-unknown";
  box.append(make("p", make("strong", words(order))));
  box.append(make("p.small", words(known ? "judged-here" : "not-judged-here"), " ", waits(entry, why)));
  const actions = make("p.actions");
  if (entry.code === "s") { actions.append(link(backOf(entry), words("back-to-build"), "button big")); }
  const more = make("button.button.quiet", words("measure-again"));
  more.type = "button";
  more.addEventListener("click", () => { box.remove(); form.hidden = false; form.reset(); });
  box.append(make("p.actions", ...actions.children, more));
  put(form, box);
}

// Live work goes on: the page as this phone knows it from here.
function keptPower() { reload(); }

function backOf(entry) {
  const back = (entry.fields.find(([name]) => name === "back") || [])[1] || "";
  const [stage, step] = back.split("/");
  const build = "/builds/" + entry.build + "/";
  return stage ? build + "stages/" + stage + "/" + (step ? "#step-" + step : "") : build;
}

function tickedHere(form, entry) {
  keptTick(form, entry);
  pointOn();
}

// The tick box as it will be once the site has it.
export function keptTick(form, entry) {
  const done = entry.done !== "no", button = form.querySelector("button");
  button.setAttribute("aria-pressed", String(done));
  button.querySelector(".tick-square").textContent = done ? "✓" : "";
  button.querySelector(".tick-word").textContent = words(done ? "tick-done" : "tick-to-do");
  form.elements.done.value = done ? "no" : "yes";
  const line = form.closest("li, section");
  line?.classList.toggle("is-ticked", done);
  if (!done) { unfold(line?.querySelector("details.step-fold")); }
  form.querySelectorAll(".not-sent").forEach((old) => old.remove());
  if (entry.state !== "sent") { form.append(make("span.small.muted.not-sent", words("not-sent-yet"))); }
}

// A step is folded to a line that says it is done.
function unfold(fold) {
  if (!fold) { return; }
  fold.querySelector("summary").remove();
  fold.replaceWith(...fold.childNodes);
}

function keptWords(form, entry, why) {
  const box = make("section.notice.kept");
  box.append(make("p", make("strong", words(entry.kind === "photo" ? "photos-kept" : "snag-kept"))));
  box.append(make("p.small", waits(entry, why)));
  if (entry.kind === "snag") {
    box.append(make("p.actions", link(entry.page.replace(/snags\/new\/.*$/, ""), words("back-to-stage"))));
    put(form, box);
    return;
  }
  form.before(box);
  say(box);
  form.reset();
}
