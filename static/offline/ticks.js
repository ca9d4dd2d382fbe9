// The fast track: the chosen steps of a stage, each an entry of its own under its own locks, kept and sent in order.
import * as store from "./store.js";
import { lastClock } from "./clock.js";
import { drain, giveWay, owner } from "./outbox.js";
import { buildHere } from "./situation.js";
import { refuseHere } from "./locks.js";
import { reload, stay } from "./leaving.js";
import { showProblem } from "./kept.js";
import { make, words } from "./words.js";

const onTheirWay = new Set();
export const isTicking = () => onTheirWay.size > 0;

const CHOSEN = "input[name=step]:checked:not(:disabled)";

export function watchTicks(changed) {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.dataset.outbox !== "ticks") { return; }
    event.preventDefault();
    event.stopImmediatePropagation();
    const button = form.querySelector("button");
    if (button.disabled) { return; }
    stay();
    button.disabled = true;
    onTheirWay.add(form);
    send(form).catch((error) => showProblem(form, "no-answer", error))
      .finally(() => { button.disabled = false; onTheirWay.delete(form); changed(); });
  }, true);
}

async function send(form) {
  const made = [];
  for (const box of form.querySelectorAll(CHOSEN)) {
    const entry = await entryOf(box), refused = await refuseHere(entry);
    if (refused) { sayBeside(box, refused); continue; }
    try { entry.seq = await store.add(entry); } catch (error) { showProblem(form, "no-room"); break; }
    made.push([box, entry.seq]);
  }
  if (!made.length) { return; }
  giveWay();
  await store.inTurn(() => drain({ build: buildHere(), before: made[made.length - 1][1] + 1 }));
  const left = new Map((await store.all()).map((entry) => [entry.seq, entry.state]));
  let isAllThere = true;
  for (const [box, seq] of made) {
    const state = left.get(seq) || "sent";
    if (state !== "sent") { isAllThere = false; }
    if (state !== "asks") { layBox(box, { state, done: "yes" }); }
    if (state === "asks") { await store.remove(seq); sayBeside(box, "not-ticked"); }
  }
  if (isAllThere && !form.querySelector(".not-sent")) { reload(); }
}

async function entryOf(box) {
  return {
    key: store.newKey(), person: await owner(), build: buildHere(), kind: "tick", state: "waiting",
    url: new URL(box.dataset.url, location.href).href, page: location.href, fields: [["done", "yes"]], files: [],
    title: box.dataset.title, about: box.dataset.about, typed: "", unit: "", powered: "powered" in box.dataset,
    hands: "hands" in box.dataset, done: "yes", made: Date.now(), clock: await lastClock(), code: "",
  };
}

// The box as it will be once the site has it. A tick taken back (on the stage's page) may be made again.
export function layBox(box, entry) {
  const done = entry.done !== "no";
  Object.assign(box, { checked: done, disabled: done });
  box.closest("li").classList.toggle("is-ticked", done);
  beside(box, entry.state === "sent" ? "" : make("span.small.muted.not-sent", words("not-sent-yet")));
}

export function sayBeside(box, name) {
  Object.assign(box, { checked: false });
  const note = make("p.small.error.not-sent", words("asks-" + name) || words(name));
  note.setAttribute("role", "alert");
  beside(box, note);
}

function beside(box, note) {
  const line = box.closest("li");
  line.querySelectorAll(".not-sent").forEach((old) => old.remove());
  line.append(note);
}
