// What the phone keeps: entries in the order they were made, and facts by name. Written before anything is sent.
// Where the browser lets the site save nothing (a private window, storage shut off, a full disk) the page works on:
// facts stay in the page, an entry is not kept, and whoever asked to keep it says so (`add` fails).
const SLOW = 8000, AGAIN = 30000; // ms: an opening that never answers is known of iPhones
const here = new Map(); // facts that could not be written
let opened;

class NoStorage extends Error {}

function open() {
  opened ||= opening().catch((error) => {
    setTimeout(() => { opened = undefined; }, AGAIN);
    throw new NoStorage(error?.message);
  });
  return opened;
}

function opening() {
  return new Promise((resolve, reject) => {
    setTimeout(reject, SLOW, new Error("no answer"));
    const asked = indexedDB.open("bench", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
      asked.result.createObjectStore("facts");
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => { asked.result.close(); opened = undefined; };
      asked.result.onclose = () => { opened = undefined; };
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
}

// Does the browser keep anything at all? Where it does not, nothing was kept before either.
export const works = () => open().then(() => true, () => false);

// A phone shuts the storage of a page that slept: it is opened once more.
async function work(name, mode, act, again = true) {
  try {
    return await turnOf((await open()).transaction(name, mode, { durability: "strict" }), name, act);
  } catch (error) {
    if (!again || !["InvalidStateError", "UnknownError"].includes(error?.name)) { throw error; }
    opened = undefined;
    return work(name, mode, act, false);
  }
}

function turnOf(turn, name, act) {
  return new Promise((resolve, reject) => {
    const asked = act(turn.objectStore(name));
    turn.oncomplete = () => resolve(asked.result);
    turn.onabort = turn.onerror = () => reject(turn.error || asked.error);
  });
}

// A storage that opens and then fails is no empty one: what it holds may be a stop, so the error goes on.
async function read(name, act, none) {
  try { return await work(name, "readonly", act); } catch (error) {
    if (error instanceof NoStorage) { return none; }
    throw error;
  }
}

export const add = (entry) => work("entries", "readwrite", (store) => store.add(entry));
export const put = (entry) => work("entries", "readwrite", (store) => store.put(entry));
export const remove = (seq) => work("entries", "readwrite", (store) => store.delete(seq));
export const all = () => read("entries", (store) => store.getAll(), []);
export const fact = async (name) => (here.has(name) ? here.get(name) : read("facts", (store) => store.get(name)));
export const note = (name, value) => keepFact(name, value, (store) => store.put(value, name));
export const forget = (name) => keepFact(name, undefined, (store) => store.delete(name));

export async function factsUnder(prefix) {
  const range = IDBKeyRange.bound(prefix, prefix + "\uffff");
  const kept = await read("facts", (store) => store.getAll(range), []);
  return [...kept, ...[...here].filter(([name, value]) => name.startsWith(prefix) && value).map(([, value]) => value)];
}

async function keepFact(name, value, act) {
  try {
    await work("facts", "readwrite", act);
    here.delete(name);
  } catch (error) { here.set(name, value); }
}

export async function facts() {
  const names = new Set([...await read("facts", (store) => store.getAllKeys(), []), ...here.keys()]);
  return [...names].filter((name) => !here.has(name) || here.get(name) !== undefined);
}

// Small notes by name, for this browser: nothing depends on them.
export const small = {
  names: () => quietly(() => Object.keys(localStorage), []),
  read: (name) => quietly(() => JSON.parse(localStorage.getItem(name)), null),
  write: (name, value) => quietly(() => localStorage.setItem(name, JSON.stringify(value))),
  forget: (name) => quietly(() => localStorage.removeItem(name)),
};

function quietly(act, otherwise) {
  try { return act(); } catch (error) { return otherwise; } // shut off, or no room
}

export function newKey() {
  if (crypto.randomUUID) { return crypto.randomUUID(); }
  const bytes = crypto.getRandomValues(new Uint8Array(16)); // over plain http there is no randomUUID
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

// One thing at a time, in every tab of this site; where the browser gives no locks, in this one.
const last = new Map();
let locks;
export async function inTurn(act, name = "outbox") {
  locks ??= await hasLocks();
  if (locks) { return navigator.locks.request(name, act); }
  const done = (last.get(name) || Promise.resolve()).then(act, act);
  last.set(name, done.catch(() => {}));
  return done;
}

async function hasLocks() {
  try {
    await navigator.locks.request("outbox-tried", { ifAvailable: true }, () => {});
    return true;
  } catch (error) { return false; } // over plain http, or where storage is shut off
}
