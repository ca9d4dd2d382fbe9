// The bar under the heading: no connection, how much is not sent, and what to do about it.
import { unsent } from "./outbox.js";
import { isCopy } from "./locks.js";
import { link, make, words } from "./words.js";

let why = "", leadsTo = "";
export const noteWhy = (came) => { why = came.why; leadsTo = came.leadsTo; };

export async function drawBar() {
  const bar = document.getElementById("offline-bar");
  if (!bar) { return; }
  const waits = await unsent().catch(() => []);
  const parts = [];
  bar.dataset.count = waits.length;
  if (!navigator.onLine || why === "no-answer" || isCopy()) { parts.push(make("span", words("no-connection"))); }
  if (why === "cannot-save" && waits.length) { parts.push(make("span", words("site-cannot-save"))); }
  if (why === "elsewhere" && waits.length) {
    parts.push(make("span", words("elsewhere")), link(leadsTo, words("open"), "count"));
  }
  if (waits.length) {
    parts.push(link("/not-sent/", words("count", { count: waits.length }), "count"));
    if (waits.some((entry) => entry.isAgain)) { parts.push(make("span", words("sent-again"))); }
    if (waits.some((entry) => entry.state === "asks")) { parts.push(make("span", words("needs-you"))); }
    if (why === "signed-out") { parts.push(link(signIn(), words("sign-in"), "count")); }
  }
  if (isCopy()) { parts.push(link(location.href, words("try-again"), "count")); }
  if (bar.textContent === parts.map((part) => part.textContent).join("")) { return; }
  bar.replaceChildren(...parts);
  bar.hidden = !parts.length;
}

const signIn = () => "/sign-in/?next=" + encodeURIComponent(location.pathname + location.search);

// What the site said of entries that came in, where it differs from the phone's own verdict.
export function tellDifference(sent) {
  const bar = document.getElementById("offline-bar");
  for (const entry of sent.filter((one) => one.kind === "reading" && one.judged !== one.code && one.judged !== "?")) {
    const said = words("otherwise", { title: entry.title, outcome: words("outcome-" + entry.code) });
    const note = make("p.notice.warn.otherwise", said);
    note.setAttribute("role", "alert");
    bar.after(note);
  }
}
