// The page of what is not sent: each entry with what became of it, and the builds to read without a connection.
import * as store from "./store.js";
import { entries, me, owner } from "./outbox.js";
import { chip, shown } from "./kept.js";
import { againAddress } from "./sheets.js";
import { link, make, words } from "./words.js";

export async function drawList() {
  const list = document.getElementById("not-sent-list");
  if (!list) { return; }
  const whose = await owner(), mine = (await entries()).filter((entry) => entry.state !== "sent");
  const others = (await store.all()).filter((entry) => entry.person !== whose && entry.state !== "sent").length;
  list.replaceChildren(...mine.map(line));
  if (!mine.length) { list.append(make("li.muted", words("nothing-waits"))); }
  if (others) { list.append(make("li.small.muted", words("others-wait", { count: others }))); }
  await drawBuilds();
}

function line(entry) {
  const made = make("li.card.stack.entry");
  const head = make("p.entry-head", make("strong", entry.title || words("kind-" + entry.kind)), " ");
  const isJudged = entry.code && !entry.code.startsWith("!") && (entry.kind !== "sheet" || entry.code === "x");
  if (entry.typed) { head.append(make("span.num", shown(entry).slice(0, 200)), " "); }
  if (isJudged) { head.append(chip(entry.code)); }
  const time = new Date(entry.made).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  const files = entry.files.length ? ", " + words("photos", { count: entry.files.length }) : "";
  made.append(head, make("p.small.muted", words("kind-" + entry.kind) + files + ", " + time));
  const asks = entry.isLost ? "photo-lost" : "asks-you";
  made.append(make("p.small", words(entry.state === "asks" ? asks : "waits")));
  const page = entry.kind === "sheet" && entry.state === "asks" ? againAddress(entry) : entry.page;
  const actions = make("p.actions", link(page, words("open"), "button quiet"));
  if (entry.state === "asks" && !entry.isLost) {
    actions.append(press("send-again", () => store.put({ ...entry, state: "waiting" })));
  }
  actions.append(press("delete", async () => {
    const title = entry.title || words("kind-" + entry.kind);
    if (window.confirm(words("delete-sure", { title }))) { await store.remove(entry.seq); }
  }));
  made.append(actions);
  return made;
}

function press(name, act) {
  const made = make("button.button.quiet", words(name));
  made.type = "button";
  made.addEventListener("click", async () => { await act(); window.dispatchEvent(new Event("entries-changed")); });
  return made;
}

async function drawBuilds() {
  const list = document.getElementById("builds-at-hand");
  const names = (await store.facts()).filter((name) => name.startsWith("notebook:"));
  const notes = await Promise.all(names.map((name) => store.fact(name)));
  const mine = notes.filter((note) => !me() || note.person === me());
  const lineOf = (note) => make("li", link("/builds/" + note.build + "/", note.name, "linkline-plain"));
  list.replaceChildren(...mine.map(lineOf));
  list.parentElement.hidden = !mine.length;
}
