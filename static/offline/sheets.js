// A filled worksheet on its way: read for stops on the phone, and laid on its page again while it waits or after the
// site refused it. Its times make it one entry: the site judges its lines in order.
import * as store from "./store.js";
import { entries } from "./outbox.js";
import { judge } from "./judge.js";
import { fillIn } from "./drafts.js";
import { link, make, words } from "./words.js";

const valueOf = (line, end) => line.querySelector('[name$="-' + end + '"]')?.value.trim() || "";

function codeOf(typed, unit, rules, grammar) {
  try { return rules ? judge(typed, unit, rules, grammar) : "?"; } catch (error) {
    if (error.code) { return "?"; }
    throw error;
  }
}

// What the phone knows of a sheet: {code, title, typed, unit, isSafe}. `code` is "x" where a line is past its stop
// limit; `isSafe`: a made-safe reading comes after every reading and every step of it.
export function readSheet(form, notebook) {
  const read = [...form.querySelectorAll("[data-sheet-check]")].map((line) => readLine(line, notebook));
  const typed = read.filter((line) => line.typed);
  const steps = [...form.querySelectorAll("[data-sheet-step]")].filter((line) => line.querySelector(":checked"));
  const times = [...typed.map((line) => line.time), ...steps.map((line) => valueOf(line, "at"))];
  const lines = [...form.querySelectorAll("[data-sheet-safe]")];
  const safe = lines.filter((line) => isBelow(valueOf(line, "typed"), notebook));
  const isSafe = safe.some((line) => times.every((time) => time && time < valueOf(line, "at")));
  const stop = typed.find((line) => line.code === "x");
  return stop ? { code: "x", title: stop.title, typed: stop.typed, unit: stop.unit, isSafe } : { code: "?", isSafe };
}

const isBelow = (volts, notebook) =>
  Boolean(volts && notebook) && codeOf(volts, "", notebook.safe, notebook.grammar) === "s";

function readLine(line, notebook) {
  const typed = valueOf(line, "typed"), unit = valueOf(line, "unit");
  const known = notebook?.rules[line.dataset.about];
  const rules = known?.key === line.dataset.judge ? known : JSON.parse(line.dataset.stops || "null");
  const code = typed && notebook ? codeOf(typed, unit, rules, notebook.grammar) : "?";
  return { title: line.dataset.sheetCheck, time: valueOf(line, "at"), typed, unit, code };
}

export const againAddress = (entry) => new URL(entry.url).pathname + "?again=" + entry.key;

export async function laySheet(build) {
  const form = document.querySelector("form[data-outbox=sheet]");
  if (!form) { return; }
  const path = new URL(form.action, location.href).pathname;
  const isHere = (entry) => entry.kind === "sheet" && entry.state !== "sent" && new URL(entry.url).pathname === path;
  const entry = (await entries(build)).filter(isHere).pop();
  if (!entry || form.hidden) { return; }
  if (entry.state === "asks" && new URLSearchParams(location.search).get("again") === entry.key) {
    fillIn(form, entry.fields);
    form.dataset.replaces = entry.seq;
    form.before(make("p.notice.warn", words("sheet-again")));
    return;
  }
  const box = make("section.notice.kept", make("p", make("strong", words("sheet-kept"))));
  box.append(make("p.small", words(entry.state === "asks" ? "asks-you" : "waits")));
  if (entry.state === "asks") { box.append(make("p.actions", link(againAddress(entry), words("open")))); }
  form.before(box);
  form.hidden = true;
}

// A sheet that was corrected is one new entry in the place of the one that the site refused.
export async function replaced(form) {
  const seq = Number(form.dataset.replaces);
  if (seq) { await store.remove(seq); }
}
