// What is typed and not yet saved, kept through a reload, an ended session and signing in again.
import { make, words } from "./words.js";
import { entries, me } from "./outbox.js";
import { small } from "./store.js";

const FRESH = 12 * 3600 * 1000; // ms
// An old figure across the reservoir is never put back: hands would follow it.
const DRAFTED = "form[data-outbox]:not([data-outbox=made-safe])";
const FIELDS = "input.reading, textarea, input[type=radio], select";
// A worksheet is a whole page of typing: all of it, but for the word that its cautions were read.
const OF_SHEETS = "input:not([type=hidden]):not([name=read]), select";
const fieldsOf = (form) => (form.dataset.outbox === "sheet" ? OF_SHEETS : FIELDS);
const isTicked = (field) => field.checked || (field.type !== "radio" && field.type !== "checkbox");
const prefix = () => "draft:" + me() + ":";
const nameOf = (form) => prefix() + new URL(form.getAttribute("action") || "", location.href).pathname;

export function watchDrafts() {
  document.addEventListener("input", (event) => {
    const form = event.target.closest(DRAFTED);
    if (form && event.target.matches(fieldsOf(form))) { write(form); }
  });
}

function write(form) {
  if (!isTyped(form)) { forgetDraft(form); return; }
  const filled = [...form.elements].filter((field) => field.matches(fieldsOf(form)) && isTicked(field));
  const fields = filled.map((field) => [field.name, field.value]);
  small.write(nameOf(form), { at: Date.now(), title: form.dataset.title, fields });
}

const isTyped = (form) => [...form.querySelectorAll("input.reading, textarea, input[name$='-done']")]
  .some((field) => (field.type === "checkbox" ? field.checked : field.value.trim()));

export const forgetDraft = (form) => small.forget(nameOf(form));

// Where the page was gone as soon as an entry was kept, what was typed is no draft any more: saved again, it would be
// there twice.
export async function forgetMade(build) {
  for (const entry of await entries(build)) {
    const name = prefix() + new URL(entry.url).pathname, draft = small.read(name);
    if (draft && draft.at <= entry.made) { small.forget(name); }
  }
}

export function restoreDrafts(part) {
  part.querySelectorAll(DRAFTED).forEach((form) => {
    if (form.hidden || !form.querySelector("input.reading, textarea")) { return; }
    if (isTyped(form)) { write(form); return; } // the site put back what was typed
    const draft = small.read(nameOf(form));
    if (!draft || Date.now() - draft.at > FRESH) { return; }
    fillIn(form, draft.fields);
    // Who was about to type here replaces what came back, never adds a digit to it.
    if (form.contains(document.activeElement)) { document.activeElement.select?.(); }
    form.append(make("p.small.muted.draft-note", words("draft")));
  });
}

export function fillIn(form, fields) {
  for (const [name, value] of fields.filter(([each]) => !["csrfmiddlewaretoken", "entry_key", "read"].includes(each))) {
    const field = form.elements[name];
    if (field?.type === "checkbox") { field.checked = true; } else if (field) { field.value = value; }
  }
}

// What was typed of this build and not saved: {title, typed}.
export function draftsOf(build) {
  const found = [];
  for (const name of small.names().filter((one) => one.startsWith(prefix() + "/builds/" + build + "/"))) {
    const draft = small.read(name);
    const typed = draft?.fields.find(([field, value]) => /(^|-)(typed|words)$/.test(field) && value.trim());
    if (typed) { found.push({ title: draft.title || "", typed: typed[1] }); }
  }
  return found;
}
