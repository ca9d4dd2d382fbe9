// Is the page about to be left? By a reload of these scripts', or for another page that is on its way.
let going = false, reloading = false;

export const isLeaving = () => going || reloading;

const mark = (state) => { document.documentElement.dataset.outbox = state; };

export function reload() {
  reloading = true;
  mark("on");
  location.reload();
}

export function leaveFor(address) {
  reloading = true;
  mark("on");
  location.assign(address);
}

// A form that is sent while the page is about to be loaded again comes first: what was typed is not to go with the page.
export function stay() {
  if (!reloading) { return; }
  window.stop();
  going = reloading = false;
  mark("ready");
}

// While the next page is on its way nothing else is sent from this one: that page would not show it. Where the page was
// not left after all (a file was fetched, the answer was "stay"), the next touch says so.
export function watchGoing(returned) {
  addEventListener("beforeunload", () => { going = true; });
  for (const touch of ["pointerdown", "keydown"]) { addEventListener(touch, () => { going = false; }, true); }
  addEventListener("pageshow", (event) => {
    if (!event.persisted) { return; }
    going = reloading = false;
    returned(); // as the browser put the page away, however long ago
  });
}

// htmx leads to another page.
export const noteLed = () => mark("on");
