// What the phone does not let happen while the site cannot say: a live reading after a stop or after made safe, hands
// in while power is on record, a step of live work after made safe. The site has the same rules and is asked again when
// the entries come in.
import { situationOf, wantsPowerOff, whyNotOn } from "./situation.js";

export const isCopy = () => Boolean(document.querySelector("meta[name=copy]"));

// Is the phone's own knowledge newer than the page?
export const knowsMore = (found) => isCopy() || found.made.some((entry) => entry.state !== "sent");

// The name of the sentence that says why not; "" where nothing stands against it.
export async function refuseHere(entry) {
  const found = await situationOf(entry.build);
  if (["reading", "sheet", "power-on"].includes(entry.kind) && found.isOpen) { return "stop-first"; }
  if (!knowsMore(found)) { return ""; }
  // Past a stop limit it was measured, whatever stands against measuring: the page is taken over.
  if (entry.kind === "reading" && entry.powered && found.shut && entry.code !== "x") {
    return found.stop ? "stop-stands" : "switch-on-first";
  }
  if (isOtherLive(entry, found) && entry.code !== "x") { return "stop-first"; }
  if (entry.kind === "power-on") { return whyNotOn(found, entry.about); }
  const ticks = entry.kind === "tick" && entry.done !== "no";
  if (ticks && entry.powered && !found.live) { return "power-unsaid"; }
  return ticks && entry.hands && found.live ? "make-safe-first" : "";
}

// A slip of the fingers is put right on the check that it was made on.
const isOtherLive = (entry, found) =>
  entry.kind === "reading" && entry.powered && wantsPowerOff(found) && !found.off.includes(entry.about);
