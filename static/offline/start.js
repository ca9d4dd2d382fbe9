// The rest is fetched once the page stands, and at once on a copy, which is nothing without it.
// A tap may lead elsewhere before that: it is noted, and begin.js does not load this page again in place of the other.
const html = document.documentElement, PATIENCE = 5000, AGAIN = 3000; // ms
const early = new Map(); // form -> the button it was sent by
let begun, isGivenUp = false;

addEventListener("beforeunload", () => { html.dataset.going = ""; });

// What is saved before the scripts stand waits for them: sent without them and cut off, it could be sent twice. Where
// they do not come, it goes as it would without scripts, and is known by the key of its form.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (html.dataset.outbox || isGivenUp || !form.dataset.outbox) { return; }
  event.preventDefault();
  event.stopImmediatePropagation();
  if (early.has(form)) { return; }
  early.set(form, event.submitter);
  buttonOf(form)?.setAttribute("aria-busy", "true");
  begin();
  setTimeout(giveUp, PATIENCE);
}, true);

const buttonOf = (form) => form.querySelector("button:not([type=button])");

function letGo() {
  for (const [form, button] of early) {
    buttonOf(form)?.removeAttribute("aria-busy");
    if (isGivenUp) { form.dataset.sentEarly = ""; }
    if (form.isConnected) { form.requestSubmit(button); }
  }
  early.clear();
}

function giveUp() {
  if (html.dataset.outbox) { return; }
  isGivenUp = true;
  letGo();
}

addEventListener("outbox-on", letGo);
function begin() { return (begun ||= import("./begin.js").catch(doWithout)); }

// A copy is an empty page until the scripts show its part: a script that did not come is asked for again.
function doWithout() {
  giveUp();
  if (isCopy && !html.dataset.outbox) { setTimeout(() => location.reload(), AGAIN); }
}

const isCopy = document.querySelector("meta[name=copy]");
if (isCopy || document.readyState === "complete") { begin(); }
else { addEventListener("load", () => setTimeout(begin, 0)); }
