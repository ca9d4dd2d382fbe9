// The rest is fetched once the page stands, and at once on a copy, which is nothing without it.
// A tap may lead elsewhere before that: it is noted, and begin.js does not load this page again in place of the other.
addEventListener("beforeunload", () => { document.documentElement.dataset.going = ""; });
const begin = () => import("./begin.js");
const isCopy = document.querySelector("meta[name=copy]");
if (isCopy || document.readyState === "complete") { begin(); }
else { addEventListener("load", () => setTimeout(begin, 0)); }
