// Forms without an outbox (meters, valves, settings, invitations, an account's own): sent as ever, once the site
// answers and knows who sends. Until it says that it dealt with what was sent (cookie "answered", builds/bench/offline/
// answered.py) the fields are kept, and come back with their entry key: nothing is added twice. Secrets are never kept,
// nor the word that cautions were read. Designers' forms have keep-typed.js.
import { connected, me, token } from "./outbox.js";
import { newKey, small } from "./store.js";
import { isCopy } from "./locks.js";
import { showProblem } from "./kept.js";
import { fetchWords, link, make, words } from "./words.js";

const PLAIN = "main form[method=post]:not([data-outbox]):not([hx-post]):not([data-asks]):not([data-keep])";
const DESIGNERS = /^\/(kits|review|reports)\//, SIGN_IN = "/sign-in/";
const FRESH = 12 * 3600 * 1000; // ms
const asking = new Set(), cleared = new WeakSet();

export const isAsking = () => asking.size > 0;

const prefix = () => "plain:" + me() + ":";
// Several forms of one kind on a page have names of their own: "TR1-entry_key".
const KEY = /(^|-)entry_key$/;
const NEVER = ["csrfmiddlewaretoken", "sent_as"];
const isValue = (field) => field.name && !KEY.test(field.name) && !NEVER.includes(field.name);
const keyOf = (form) => [...form.elements].find((field) => KEY.test(field.name));
const addressOf = (form) => new URL(form.getAttribute("action") || location.href, location.href).pathname;

function nameOf(form) {
  const hidden = [...form.querySelectorAll("input[type=hidden]")].filter(isValue).map((field) => field.value);
  return prefix() + [addressOf(form), ...hidden].join("|");
}

const isSecret = (field) => field.type === "password" || field.autocomplete === "one-time-code";
const isAssent = (field) => ["read", "read_cautions", "sure"].includes(field.name);
const isFilled = (field) => isValue(field) && !["hidden", "file", "submit", "button"].includes(field.type)
  && !isSecret(field) && !isAssent(field);
const filledOf = (form) => [...form.elements].filter(isFilled);
const valueOf = (field) => (["checkbox", "radio"].includes(field.type) ? [field.value, field.checked] : field.value);

// This tab: a page of another does not say what became of what was sent here.
const tab = () => {
  try { return (sessionStorage.tab ||= Math.random().toString(36)); } catch (error) { return ""; }
};

function keep(form, sent) {
  const fields = filledOf(form).map((field) => [field.name, valueOf(field)]);
  if (!fields.length || addressOf(form).startsWith(SIGN_IN)) { return; }
  const key = keyOf(form)?.value || "";
  const as = sent && sendAs(form);
  small.write(nameOf(form), { at: Date.now(), page: location.href, key, fields, tab: tab(), sent, as });
}

function sendAs(form) {
  const field = form.elements.sent_as || form.appendChild(make("input"));
  Object.assign(field, { type: "hidden", name: "sent_as", value: newKey() });
  return field.value;
}

const isAnswered = (key) => (/(?:^|; )answered=([^;]+)/.exec(document.cookie) || ["", ""])[1].split(".").includes(key);

export function watchPlain() {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches(PLAIN) || DESIGNERS.test(location.pathname) || event.defaultPrevented) { return; }
    if (cleared.has(form)) { cleared.delete(form); return; }
    event.preventDefault();
    event.stopImmediatePropagation();
    if (asking.has(form)) { return; }
    asking.add(form);
    ask(form, event.submitter).finally(() => asking.delete(form));
  }, true);
}

// Asked first: a page that is left for one that never comes takes the chosen files with it.
async function ask(form, submitter) {
  const button = submitter || form.querySelector("button:not([type=button])");
  button?.setAttribute("aria-busy", "true");
  const person = await connected();
  const isHeard = person !== undefined && (!me() || person === me()); // a page for strangers is anybody's
  keep(form, isHeard);
  button?.removeAttribute("aria-busy");
  if (isHeard) {
    if (form.elements.csrfmiddlewaretoken) { form.elements.csrfmiddlewaretoken.value = token(); }
    cleared.add(form);
    form.requestSubmit(submitter);
    return;
  }
  await fetchWords().catch(() => {});
  showProblem(form, person === undefined ? "plain-no-answer" : "plain-signed-out");
  if (person !== undefined) {
    const next = SIGN_IN + "?next=" + encodeURIComponent(location.pathname + location.search);
    form.querySelector(".not-sent").append(" ", link(next, words("sign-in"), "linkline-plain"));
  }
}

const mine = () => small.names().filter((name) => name.startsWith(prefix()));
const isNotSaved = () => Boolean(document.querySelector("meta[name=not-saved]"));

// Any page says what became of the last send of this tab: the site dealt with it, or nothing came of it.
export function settlePlain() {
  for (const name of small.names().filter((one) => one.startsWith("plain:"))) {
    const kept = small.read(name);
    if (!kept || Date.now() - kept.at > FRESH) { small.forget(name); continue; }
    if (!kept.sent) { continue; }
    if (isAnswered(kept.as)) { small.forget(name); continue; }
    if (kept.tab !== tab()) { continue; }
    small.write(name, { ...kept, sent: false });
    if (isNotSaved()) { lead(kept); }
  }
}

function lead(kept) {
  const notice = make("div.notice.warn", make("p", words("plain-kept")));
  notice.append(make("p.actions", link(kept.page, words("plain-back"), "button quiet")));
  document.getElementById("main").prepend(notice);
}

export function restorePlain() {
  if (isCopy()) { return; }
  const names = new Set(mine());
  document.querySelectorAll(PLAIN).forEach((form) => {
    const name = nameOf(form), kept = names.has(name) && small.read(name);
    if (!kept || kept.sent) { return; }
    for (const [field, value] of kept.fields) { put(form, field, value); }
    if (kept.key && keyOf(form)) { keyOf(form).value = kept.key; }
    const folds = [form.closest("details"), ...form.querySelectorAll("details")];
    for (const fold of folds) { if (fold) { fold.open = true; } }
    form.prepend(noteOf(form, name));
  });
}

function put(form, name, value) {
  const isIt = (field) => field.name === name && (!Array.isArray(value) || field.value === value[0]);
  const found = filledOf(form).find(isIt);
  if (!found) { return; }
  if (Array.isArray(value)) { found.checked = value[1]; } else { found.value = value; }
}

function noteOf(form, name) {
  const note = make("div.notice.draft-note", make("p", words("plain-draft")));
  const drop = make("button.button.quiet", words("plain-drop"));
  drop.type = "button";
  drop.addEventListener("click", () => { small.forget(name); form.reset(); note.remove(); });
  note.append(make("p.actions", drop));
  return note;
}
