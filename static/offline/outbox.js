// Entries on their way. Each is kept before it is sent and goes once its own key comes back from the site; until then
// it is sent again, in the order in which entries were made. The site adds nothing twice (entry keys).
import * as store from "./store.js";
import { ageOf, noteClock } from "./clock.js";
import { keepSent } from "./sent.js";

const PATIENCE = 20000, WITH_FILES = 120000; // ms
const SLOWEST = 20; // bytes a millisecond: a line on which a photo still arrives
export const me = () => Number(document.querySelector("meta[name=person]")?.content) || null;
export const token = () => (/(?:^|; )csrftoken=([^;]+)/.exec(document.cookie) || [])[1] || "";

export async function owner() { return me() || (await store.fact("person")) || null; }

export async function entries(build) {
  const whose = await owner();
  return (await store.all()).filter((entry) => entry.person === whose && (!build || entry.build === build));
}

export const unsent = async (build) => (await entries(build)).filter((entry) => entry.state !== "sent");

// Who is signed in, as the site says now; undefined where no answer comes.
export async function connected() {
  try {
    const answer = await fetch("/connected/", { cache: "no-store", signal: limit(PATIENCE / 2) });
    if (!answer.ok) { return undefined; }
    await noteClock(answer);
    return (await answer.json()).person;
  } catch (error) { return undefined; }
}

export const limit = (ms) => stopIn(ms).signal;

function stopIn(ms) {
  const stop = new AbortController();
  setTimeout(() => stop.abort(), ms);
  return stop;
}

// Photos on their way take minutes on a slow line: they let a reading that is saved meanwhile go first, and are sent
// again after it.
let upload = null, hasGivenWay = false;
export function giveWay() {
  hasGivenWay = Boolean(upload);
  upload?.abort();
}
const isLight = (entry) => !entry.files.length;

export async function headersFor(entry) {
  const floor = (isLight(entry) && (await store.fact("floor:" + entry.build))) || 0; // photos come out of their turn
  return {
    "X-CSRFToken": token(),
    "Entry-Key": entry.key,
    "Entry-Person": String(entry.person || ""),
    "Entry-Age": String(await ageOf(entry)),
    "Entry-Floor": String(floor),
    "Entry-Judge": entry.judge || "",
  };
}

// The site keeps what it names: note its time, below which no later entry of this phone may be dated.
export async function noteKept(entry, headers) {
  const at = Number(headers("Entry-At"));
  if (at && isLight(entry)) { await store.note("floor:" + entry.build, at); }
  const code = headers("Entry-Outcome");
  const judged = entry.code, photos = entry.files.length;
  Object.assign(entry, { state: "sent", sentAt: Date.now(), files: [], code: code || entry.code, judged });
  await keepSent({ ...entry, photos });
  // Without room to note it: the page that the site gives shows it, and it must not hold up what comes after it.
  await store.put(entry).catch(() => store.remove(entry.seq));
}

async function post(entry) {
  const body = new FormData();
  for (const [name, value] of entry.fields) { body.append(name, value); }
  body.set("entry_key", entry.key);
  body.set("csrfmiddlewaretoken", token());
  for (const file of entry.files) { body.append(file.field, new Blob([file.data], { type: file.type }), file.name); }
  const headers = { ...(await headersFor(entry)), "HX-Request": "true", Outbox: "yes" };
  const stop = stopIn(isLight(entry) ? PATIENCE : patienceFor(entry));
  hasGivenWay = false;
  if (!isLight(entry)) { upload = stop; }
  try {
    const answer = await fetch(entry.url, { method: "POST", body, headers, redirect: "manual", signal: stop.signal });
    await answer.text(); // an answer cut off in the middle is none
    return answer;
  } catch (error) { return null; } finally { upload = null; }
}

const patienceFor = (entry) => entry.files.reduce((ms, file) => ms + file.data.byteLength / SLOWEST, WITH_FILES);

// What became of one: "kept", "asks" (the site wants to be asked again), "elsewhere" (it leads to another page first),
// "signed-out", "cannot-save", "no-answer"; "" where photos gave way.
async function sendOne(entry, again = true) {
  const answer = await post(entry);
  if (!answer) { return hasGivenWay ? "" : "no-answer"; }
  if (answer.headers.get("Entry-Kept") === entry.key) {
    await noteKept(entry, (name) => answer.headers.get(name));
    return "kept";
  }
  if (answer.status === 403 && again) { // an old token: a fresh one came with this question
    return (await connected()) === entry.person ? sendOne(entry, false) : "signed-out";
  }
  if (answer.type === "opaqueredirect" || answer.status === 401) { return "signed-out"; }
  if (answer.status >= 500 || answer.status === 429) { return "cannot-save"; }
  if (answer.headers.get("HX-Redirect")) { entry.leadsTo = answer.headers.get("HX-Redirect"); return "elsewhere"; }
  entry.code = answer.headers.get("Entry-Outcome") || entry.code; // a stop that is not taken is a stop
  return answer.status >= 400 ? "asks" : "no-answer"; // without the key: an answer whose head was cut off is none
}

// What this phone said of an entry that the site did not take holds no longer, or it would open what comes after it; a
// stop stays one.
const doubted = (entry) => (entry.code && entry.code !== "x" ? "?" : entry.code);

// Send all that waits, photos last; `before`: only what was made before that entry, and no photos. Call it in turn
// (store.inTurn).
export async function drain({ build, before = Infinity } = {}) {
  const all = (await unsent(build)).filter((entry) => entry.state === "waiting" && entry.seq < before);
  const heavy = before === Infinity ? all.filter((entry) => !isLight(entry)) : [];
  const waits = [...all.filter(isLight), ...heavy];
  const came = { sent: [], why: "", left: waits.length, leadsTo: "" };
  if (!waits.length) { return came; }
  const who = await connected();
  if (who === undefined) { return { ...came, why: "no-answer" }; }
  if (who !== (await owner())) { return { ...came, why: "signed-out" }; }
  const held = new Set();
  for (const entry of waits) {
    if (held.has(entry.build)) { continue; }
    const why = await sendOne(entry);
    if (why === "kept") { came.sent.push(entry); came.left -= 1; continue; }
    if (why === "asks") {
      await store.put({ ...entry, state: "asks", code: doubted(entry) });
      came.left -= 1;
      continue;
    }
    Object.assign(came, { why, leadsTo: entry.leadsTo || "" });
    if (why !== "elsewhere") { break; }
    held.add(entry.build);
  }
  return came;
}

// Entries that the site has are kept until the phone's own notes of the build are newer than they are.
export async function forgetSent(build, before) {
  for (const entry of await entries(build)) {
    const isOlder = entry.sentAt < before || entry.sentAt > Date.now(); // or the clock was set back since
    if (entry.state === "sent" && isOlder) { await store.remove(entry.seq); }
  }
}
