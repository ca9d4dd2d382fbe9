// Photos of one step, gone through by keyboard: left and right, and past the end to the next step.
(function () {
  "use strict";
  var links = Array.from(document.querySelectorAll(".photo-wall .figure > a"));
  function go(rel) {
    var link = document.querySelector("main nav a[rel=" + rel + "]");
    if (link) { link.click(); }
  }
  function show(link) {
    link.focus();
    link.scrollIntoView({ block: "nearest" });
  }
  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey || event.target.matches("input, select, textarea")) { return; }
    var at = links.indexOf(document.activeElement);
    if (event.key === "ArrowRight") {
      if (at + 1 < links.length) { show(links[at + 1]); } else { go("next"); }
    } else if (event.key === "ArrowLeft") {
      if (at > 0) { show(links[at - 1]); } else { go("prev"); }
    } else if (event.key === "Home" && links.length) { show(links[0]); }
    else if (event.key === "End" && links.length) { show(links[links.length - 1]); }
    else { return; }
    event.preventDefault();
  });
}());
