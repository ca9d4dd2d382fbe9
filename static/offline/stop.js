// A reading past its stop limit takes the page over, and goes on doing so after a reload, until the kit is made safe.
import { situationOf } from "./situation.js";
import { shown } from "./kept.js";
import { make, words } from "./words.js";
import { shake } from "./awake.js";

// `isLost`: the reading could be neither sent nor kept. Without the words of these scripts the page's own few serve.
export async function takeOver(build, { isLost = false } = {}) {
  const { stop, notebook } = await situationOf(build);
  const main = document.getElementById("main");
  const source = document.getElementById("offline-stop") || document.getElementById("stop-now");
  if (!main || !source || !stop) { return; }
  shake();
  main.className = "page stop-page";
  main.replaceChildren(source.content.cloneNode(true));
  document.querySelectorAll(".top, .crumbs, .thumb").forEach((part) => { part.hidden = true; });
  main.querySelector("[data-stop-title]").textContent = stop.title;
  main.querySelector("[data-stop-typed]").textContent = stop.unit ? shown(stop) : stop.typed;
  if (main.querySelector("form")) { fill(main, build, notebook, stop); }
  if (isLost) { main.querySelector(".stop-why").after(make("p", words("stop-lost"))); }
  window.htmx?.process(main);
  window.dispatchEvent(new CustomEvent("part-added", { detail: main }));
  window.scrollTo(0, 0);
}

function fill(main, build, notebook, stop) {
  const form = main.querySelector("form"), address = "/builds/" + build + "/make-safe/";
  form.action = address;
  form.setAttribute("hx-post", address);
  if (notebook) { form.dataset.judge = notebook.safe.key; }
  const wait = main.querySelector("[data-wait]"), counter = main.querySelector("[data-countdown]");
  if (!notebook?.wait) { counter.remove(); wait.textContent = words("wait-unknown"); return; }
  wait.textContent = words("wait", { seconds: notebook.wait });
  counter.dataset.countdown = notebook.wait;
  counter.dataset.countdownOf = build;
  counter.dataset.countdownSince = stop.made;
  counter.querySelector("button").textContent = words("wait-start", { seconds: notebook.wait });
}
