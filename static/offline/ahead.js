// The reading that comes after one kept on the phone, so that it is one tap away: the first line of the stage's copy
// that is not done, where that is a check.
import { entries } from "./outbox.js";
import { latestOn, latestTick } from "./situation.js";
import { isCopy } from "./locks.js";

export async function readingAfter(entry, stage) {
  const copy = isCopy() ? document : await keptCopy(entry.build);
  const part = copy?.querySelector('template[data-path="' + stage + '"]');
  if (!part) { return null; }
  const made = await entries(entry.build);
  const line = [...part.content.querySelectorAll(".work > li")].find((one) => !isDone(one, made));
  const name = line?.querySelector(".check-name");
  return name ? { title: name.dataset.title, address: line.querySelector("a").getAttribute("href") } : null;
}

async function keptCopy(build) {
  const answer = await window.caches?.match("/builds/" + build + "/copy/").catch(() => null);
  return answer ? new DOMParser().parseFromString(await answer.text(), "text/html") : null;
}

function isDone(line, made) {
  const reading = line.dataset.line && latestOn(made, "reading", line.dataset.line);
  if (reading) { return reading.code === "i"; }
  const about = line.querySelector("form[data-outbox=tick]")?.dataset.about, tick = about && latestTick(made, about);
  if (tick) { return tick.done !== "no"; }
  return line.matches(".is-ticked, [data-optional]") || line.querySelector(".chip.o-in, .is-carried") !== null;
}
