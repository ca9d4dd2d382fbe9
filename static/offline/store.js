// What the phone keeps: entries in the order they were made, and facts by name. Written before anything is sent.
let opened;

function open() {
  opened ||= new Promise((resolve, reject) => {
    const asked = indexedDB.open("bench", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
      asked.result.createObjectStore("facts");
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      resolve(asked.result);
    };
    asked.onerror = () => { opened = undefined; reject(asked.error); };
  });
  return opened;
}

async function work(name, mode, act) {
  const base = await open();
  return new Promise((resolve, reject) => {
    const turn = base.transaction(name, mode, { durability: "strict" });
    const asked = act(turn.objectStore(name));
    turn.oncomplete = () => resolve(asked.result);
    turn.onabort = turn.onerror = () => reject(turn.error || asked.error);
  });
}

export const add = (entry) => work("entries", "readwrite", (store) => store.add(entry));
export const put = (entry) => work("entries", "readwrite", (store) => store.put(entry));
export const remove = (seq) => work("entries", "readwrite", (store) => store.delete(seq));
export const all = () => work("entries", "readonly", (store) => store.getAll());
export const fact = (name) => work("facts", "readonly", (store) => store.get(name));
export const note = (name, value) => work("facts", "readwrite", (store) => store.put(value, name));
export const forget = (name) => work("facts", "readwrite", (store) => store.delete(name));
export const facts = () => work("facts", "readonly", (store) => store.getAllKeys());

export function newKey() {
  if (crypto.randomUUID) { return crypto.randomUUID(); }
  const bytes = crypto.getRandomValues(new Uint8Array(16)); // over plain http there is no randomUUID
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

// One thing at a time, in every tab of this site.
let last = Promise.resolve();
export function inTurn(act) {
  if (navigator.locks) { return navigator.locks.request("outbox", act); }
  const done = last.then(act, act);
  last = done.catch(() => {});
  return done;
}
