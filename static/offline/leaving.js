// Is the page about to be left? By a reload of these scripts', or for another page that is on its way.
let reloading = false, bound = false;
const html = document.documentElement;

export const isLeaving = () => reloading || bound || "going" in html.dataset;

const mark = (state) => { html.dataset.outbox = state; };

// Never in place of a page that somebody asked for: their tap would be swallowed.
export function reload() {
  if (isLeaving()) { return; }
  reloading = true;
  mark("on");
  location.reload();
}

export function leaveFor(address) {
  bound = true;
  mark("on");
  location.assign(address);
}

// A form that is sent while the page is about to be loaded again comes first: what was typed must not be lost with the
// page.
export function stay() {
  if (!reloading) { return; }
  window.stop();
  reloading = false;
  setGoing(false);
  mark("ready");
}

// start.js notes it too, from before these scripts are here.
const setGoing = (on) => { if (on) { html.dataset.going = ""; } else { delete html.dataset.going; } };

// While the next page is on its way nothing else is sent from this one: that page would not show it. Where the page was
// not left after all (a file was fetched, the answer was "stay"), the next touch says so.
export function watchGoing(returned) {
  addEventListener("beforeunload", () => setGoing(true));
  document.addEventListener("submit", stay, true);
  for (const touch of ["pointerdown", "keydown"]) { addEventListener(touch, () => setGoing(false), true); }
  addEventListener("pageshow", (event) => {
    if (!event.persisted) { return; }
    reloading = bound = false;
    setGoing(false);
    returned(); // as the browser put the page away, however long ago
  });
}

// htmx leads to another page.
export const noteLed = () => mark("on");
