// The pointer to what is next on a stage's page, once entries of this phone moved it. The site works it out by itself
// (builds/bench/views/next_up.py); here it is the first line of the page that is not done.
import { link, words } from "./words.js";

export function pointOn({ safeFirst = false } = {}) {
  const next = document.getElementById("next"), lines = [...document.querySelectorAll(".work > li")];
  if (!next || next.querySelector(".live")) { return; } // make safe first, whatever was ticked
  if (safeFirst) { next.replaceChildren(link(safePage(), words("make-safe"), "button big live")); return; }
  const progress = document.getElementById("progress");
  if (progress) { progress.hidden = true; } // how far the site knows the stage to be
  const line = lines.find((one) => !isDone(one));
  lines.forEach((one) => one.classList.toggle("is-next", one === line));
  next.dataset.line = line?.id || "";
  next.replaceChildren(...(line ? [leadTo(line)] : []));
}

function isDone(line) {
  if (!line.classList.contains("check-item")) { return line.classList.contains("is-ticked"); }
  return "optional" in line.dataset || line.querySelector(".chip.o-in, .is-carried") !== null;
}

function leadTo(line) {
  if (!line.classList.contains("check-item")) {
    const number = line.querySelector(".num").textContent.trim();
    return link("#" + line.id, words("next-step", { number }), "button big");
  }
  const title = line.querySelector(".check-name").dataset.title;
  return link(line.querySelector("a").getAttribute("href"), words("next-check", { title }), "button big");
}

const safePage = () => location.pathname.replace(/stages\/.*$/, "make-safe/");
