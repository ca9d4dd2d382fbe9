// What is typed and not yet saved, kept through a reload, an ended session and signing in again.
import { make, words } from "./words.js";
import { me } from "./outbox.js";

const FRESH = 12 * 3600 * 1000; // ms
// An old figure across the reservoir is never put back: hands would follow it.
const DRAFTED = "form[data-outbox]:not([data-outbox=made-safe])";
const FIELDS = "input.reading, textarea, input[type=radio], select";
const prefix = () => "draft:" + me() + ":";
const nameOf = (form) => prefix() + new URL(form.getAttribute("action") || "", location.href).pathname;

export function watchDrafts() {
  document.addEventListener("input", (event) => {
    const form = event.target.closest(DRAFTED);
    if (form && event.target.matches(FIELDS)) { write(form); }
  });
}

function write(form) {
  const typed = form.querySelector("input.reading, textarea");
  if (!typed) { return; }
  try {
    if (!typed.value.trim()) { localStorage.removeItem(nameOf(form)); return; }
    const isFilled = (field) => field.matches(FIELDS) && (field.type !== "radio" || field.checked);
    const filled = [...form.elements].filter(isFilled);
    const fields = filled.map((field) => [field.name, field.value]);
    localStorage.setItem(nameOf(form), JSON.stringify({ at: Date.now(), title: form.dataset.title, fields }));
  } catch (error) { /* no room: the field itself still has it */ }
}

export function forgetDraft(form) {
  try { localStorage.removeItem(nameOf(form)); } catch (error) { /* storage is shut off */ }
}

export function restoreDrafts(part) {
  part.querySelectorAll(DRAFTED).forEach((form) => {
    const typed = form.querySelector("input.reading, textarea");
    if (!typed || typed.value || form.hidden) { return; }
    let draft = null;
    try { draft = JSON.parse(localStorage.getItem(nameOf(form))); } catch (error) { return; }
    if (!draft || Date.now() - draft.at > FRESH) { return; }
    for (const [name, value] of draft.fields) {
      const field = form.elements[name];
      if (field) { field.value = value; }
    }
    form.append(make("p.small.muted.draft-note", words("draft")));
  });
}

// What was typed of this build and not saved: {title, typed}.
export function draftsOf(build) {
  const found = [];
  for (let n = 0; n < localStorage.length; n += 1) {
    const name = localStorage.key(n);
    if (!name.startsWith(prefix() + "/builds/" + build + "/")) { continue; }
    const draft = JSON.parse(localStorage.getItem(name));
    const typed = draft.fields.find(([field]) => field === "typed" || field === "words");
    if (typed) { found.push({ title: draft.title || "", typed: typed[1] }); }
  }
  return found;
}
