// The rest is fetched once the page stands, and at once on a copy, which is nothing without it.
const begin = () => import("./begin.js");
const isCopy = document.querySelector("meta[name=copy]");
if (isCopy || document.readyState === "complete") { begin(); }
else { addEventListener("load", () => setTimeout(begin, 0)); }
