// A grid of readings, by keyboard and one hand: after a row is taken, the field of the next open row has the focus.
(function () {
  "use strict";
  function field(row) { return row && row.querySelector("form:not([hidden]) input.reading"); }
  function next(row) {
    while (row) {
      row = row.nextElementSibling;
      if (field(row)) { return field(row); }
    }
    return null;
  }
  function show(found) {
    if (!found) { return; }
    found.focus();
    (found.closest("li") || found).scrollIntoView({ block: "center" });
  }
  // A row that was off, or is not understood, keeps the focus: nobody types past a verdict without seeing it. A row
  // that the phone kept for later (static/offline/kept.js) is treated alike.
  function went(event) {
    var row = event.target.closest && event.target.closest(".grid-row");
    if (!row || !row.closest(".grid-rows")) { return; }
    if (row.classList.contains("is-done")) {
      show(next(row) || document.querySelector("#next a"));
    } else {
      show(field(row));
    }
  }
  document.addEventListener("htmx:afterSettle", went);
  document.addEventListener("row-kept", went);
  document.addEventListener("keydown", function (event) {
    var row = event.target.matches("input.reading") && event.target.closest(".grid-row");
    if (!row || (event.key !== "ArrowDown" && event.key !== "ArrowUp")) { return; }
    var all = Array.from(row.parentNode.querySelectorAll("form:not([hidden]) input.reading"));
    var other = all[all.indexOf(event.target) + (event.key === "ArrowDown" ? 1 : -1)];
    if (other) { event.preventDefault(); show(other); }
  });
}());
