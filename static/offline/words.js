// The sentences of these scripts, in the reader's language (templates/bench/offline/_words.html).
const source = () => document.getElementById("offline-words");

export async function fetchWords() {
  if (source()) { return; }
  const answer = await fetch("/offline-words/");
  const part = new DOMParser().parseFromString(await answer.text(), "text/html");
  document.body.append(...part.querySelectorAll("template"));
}

export function words(name, values = {}) {
  const found = source()?.content.querySelector('[data-word="' + name + '"]');
  const text = found ? found.textContent.trim().replace(/\s+/g, " ") : "";
  return text.replace(/\{(\w+)\}/g, (all, key) => (key in values ? values[key] : all));
}

// make("p.small.muted", "text", child...)
export function make(what, ...inside) {
  const [name, ...classes] = what.split(".");
  const made = document.createElement(name);
  if (classes.length) { made.className = classes.join(" "); }
  made.append(...inside);
  return made;
}

export function link(address, text, look = "button") {
  const made = make("a", text);
  made.href = address;
  made.className = look;
  return made;
}
