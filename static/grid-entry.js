// A grid of readings, by keyboard and one hand: after a row is taken, the field of the next open row has the focus.
(function () {
  "use strict";
  var rows = document.querySelector(".grid-rows");
  if (!rows) { return; }
  function field(row) { return row && row.querySelector("input.reading"); }
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
    found.closest("li").scrollIntoView({ block: "center" });
  }
  // A row that was off, or is not understood, keeps the focus: nobody types past a verdict without seeing it.
  document.addEventListener("htmx:afterSettle", function (event) {
    var row = event.target.closest && event.target.closest(".grid-row");
    if (!row || !rows.contains(row)) { return; }
    if (row.classList.contains("is-done")) { show(next(row) || document.querySelector("#next a")); } else { show(field(row)); }
  });
  document.addEventListener("keydown", function (event) {
    var row = event.target.matches("input.reading") && event.target.closest(".grid-row");
    if (!row || (event.key !== "ArrowDown" && event.key !== "ArrowUp")) { return; }
    var all = Array.from(rows.querySelectorAll("input.reading")), at = all.indexOf(event.target);
    var other = all[at + (event.key === "ArrowDown" ? 1 : -1)];
    if (other) { event.preventDefault(); show(other); }
  });
}());
