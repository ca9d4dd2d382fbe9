// An entry made from a form (data-outbox): what is sent, to where, and what the phone itself has to know of it.
import * as store from "./store.js";
import { lastClock } from "./clock.js";
import { owner } from "./outbox.js";
import { buildHere, notebookOf } from "./situation.js";
import { UNKNOWN, judge } from "./judge.js";
import { readSheet } from "./sheets.js";

const SHRINK_FROM = 1.5e6, SIDE = 2048; // bytes, pixels: the site keeps no more

// One press, one key; but where nobody knows what became of the press before, and nothing is kept of it, this one goes
// under its key: what the site has already is not added again.
const unsure = new WeakMap();
export const noteUnsure = (form, key) => unsure.set(form, key);

export function noteSure(form) {
  unsure.delete(form);
  delete form.dataset.sentEarly;
}

function keyOf(form) {
  const own = "sentEarly" in form.dataset && form.elements.entry_key?.value;
  return unsure.get(form) || own || store.newKey();
}

export async function entryOf(form) {
  const fields = [], files = [];
  for (const [name, value] of new FormData(form)) {
    if (!(value instanceof File)) { fields.push([name, value]); }
    else if (value.size) { files.push(await fileOf(name, value)); }
  }
  const told = (name) => (fields.find(([field]) => field === name) || [])[1] || "";
  const entry = {
    key: keyOf(form), person: await owner(), build: buildHere(), kind: form.dataset.outbox, state: "waiting",
    url: new URL(form.getAttribute("action") || location.href, location.href).href, page: location.href, fields, files,
    title: form.dataset.title || "", about: form.dataset.about || "", typed: told("typed") || told("words"),
    unit: told("unit"), powered: "powered" in form.dataset, hands: "hands" in form.dataset, done: told("done"),
    judge: form.dataset.judge || "", made: Date.now(), clock: await lastClock(), code: "",
  };
  if (entry.kind === "sheet") { return { ...entry, ...readSheet(form, await notebookOf(entry.build)) }; }
  return { ...entry, code: await judged(form, entry) };
}

async function fileOf(field, file) {
  const small = file.size > SHRINK_FROM ? await shrunk(file).catch(() => null) : null;
  const chosen = small || file;
  return { field, name: file.name, type: chosen.type, data: await chosen.arrayBuffer() };
}

async function shrunk(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const share = Math.min(1, SIDE / Math.max(picture.width, picture.height));
  const sheet = document.createElement("canvas");
  [sheet.width, sheet.height] = [picture.width * share, picture.height * share].map(Math.round);
  sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height);
  const made = await new Promise((resolve) => sheet.toBlob(resolve, "image/jpeg", 0.85));
  return made && made.size < file.size ? made : null;
}

// The phone's own verdict, or "?" where it has none to give. Throws Refused for what the site would ask about.
async function judged(form, entry) {
  if (entry.kind !== "reading" && entry.kind !== "made-safe") { return ""; }
  const notebook = await notebookOf(entry.build);
  const rules = entry.kind === "made-safe" ? notebook?.safe : notebook?.rules[entry.about];
  if (!rules || rules.key !== form.dataset.judge || entry.fields.some(([name]) => name === "sure")) { return UNKNOWN; }
  try { return judge(entry.typed, entry.unit, rules, notebook.grammar); } catch (error) {
    if (!error.code) { throw error; }
    return "!" + error.code;
  }
}
