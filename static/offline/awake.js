// The screen stays on beside a live check, and the phone shakes at a stop, where the browser can.
let held = null;

async function hold() {
  const wanted = document.querySelector("form[data-powered], .stop-page");
  if (!wanted || !navigator.wakeLock || document.visibilityState !== "visible") { return; }
  try { held = await navigator.wakeLock.request("screen"); } catch (error) { held = null; } // a low battery refuses
}

export function stayAwake() {
  hold();
  document.addEventListener("visibilitychange", hold);
  document.addEventListener("htmx:afterSettle", () => { if (!held || held.released) { hold(); } });
  if (document.querySelector(".stop-page")) { shake(); }
}

export function shake() {
  // Browsers allow it, without a complaint, only once the page was touched.
  const touched = !navigator.userActivation || navigator.userActivation.hasBeenActive;
  if (navigator.vibrate && touched) { navigator.vibrate([400, 150, 400, 150, 800]); }
}
