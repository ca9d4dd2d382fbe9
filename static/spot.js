// Marking the place that a snag is about, with a finger or the arrow keys, on the photo chosen or the guide's picture.
(function () {
  "use strict";
  var form = document.querySelector("form[data-pictures]"), places = document.getElementById("spot-places");
  if (!form || !places) { return; }
  var field = form.querySelector("[name=spot]"), about = form.querySelector("[name=about]");
  var file = form.querySelector("input[type=file]"), pictures = JSON.parse(form.dataset.pictures);
  var template = document.getElementById("spot-place").content;
  places.hidden = false;
  function shares(n) { return Math.min(1, Math.max(0, n)).toFixed(4); }
  function mark(place, x, y) {
    places.querySelectorAll(".spot-ring").forEach(function (ring) { ring.hidden = true; });
    var ring = place.querySelector(".spot-ring");
    ring.hidden = false;
    ring.style.left = 100 * x + "%";
    ring.style.top = 100 * y + "%";
    place.dataset.x = x;
    place.dataset.y = y;
    field.value = place.dataset.on + " " + shares(x) + " " + shares(y);
    places.querySelector(".spot-said").hidden = false;
  }
  function place(on, source) {
    var old = places.querySelector('[data-on="' + on + '"]');
    if (old) {
      if (field.value.indexOf(on) === 0) { field.value = ""; places.querySelector(".spot-said").hidden = true; }
      old.closest("figure").remove();
    }
    if (!source) { return; }
    var figure = template.cloneNode(true).firstElementChild, area = figure.querySelector(".spot-area");
    area.dataset.on = on;
    figure.querySelector("img").src = source;
    figure.querySelector("img").addEventListener("error", function () { figure.remove(); });
    area.addEventListener("click", function (event) {
      var box = area.getBoundingClientRect();
      mark(area, (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
    });
    area.addEventListener("keydown", function (event) {
      var step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!step) { return; }
      event.preventDefault();
      var x = Number(area.dataset.x || .5) + .02 * step[0], y = Number(area.dataset.y || .5) + .02 * step[1];
      mark(area, Number(shares(x)), Number(shares(y)));
    });
    places.querySelector(".spot-figures").append(figure);
  }
  function guides() { place("picture", pictures[about.value] || ""); }
  about.addEventListener("change", guides);
  file.addEventListener("change", function () {
    place("photo", file.files.length ? URL.createObjectURL(file.files[0]) : "");
  });
  places.querySelector(".spot-clear").addEventListener("click", function () {
    field.value = "";
    places.querySelectorAll(".spot-ring").forEach(function (ring) { ring.hidden = true; });
    places.querySelector(".spot-said").hidden = true;
  });
  guides();
}());
