// The guide's editor: drag rows to another place, click on a picture to mark a point. Both can be done without.
(function () {
  "use strict";
  var SVG = "http://www.w3.org/2000/svg";

  // --- Dragging. Every row with arrow buttons gets a handle; letting go posts how many places the row moved.
  function rowOf(form) { return form.closest("li, tr, section"); }
  function orderOf(row) { return row.dataset.order || row.id.split("-")[0]; }
  function siblings(row) {
    return Array.from(row.parentNode.children).filter(function (other) { return orderOf(other) === orderOf(row); });
  }
  var dragged = null;
  document.querySelectorAll("form[action$='/move/']").forEach(function (form) {
    var row = rowOf(form), handle = document.createElement("span");
    handle.className = "drag-handle";
    handle.textContent = "≡";
    handle.title = "Drag to another place";
    handle.draggable = true;
    handle.setAttribute("aria-hidden", "true");
    form.prepend(handle);
    handle.addEventListener("dragstart", function (event) {
      dragged = { row: row, form: form };
      event.dataTransfer.effectAllowed = "move";
      event.dataTransfer.setData("text/plain", row.id);
      event.dataTransfer.setDragImage(row, 10, 10);
    });
    handle.addEventListener("dragend", function () { clear(); dragged = null; });
    row.addEventListener("dragover", function (event) {
      if (!dragged || dragged.row === row || siblings(dragged.row).indexOf(row) < 0) { return; }
      event.preventDefault();
      event.stopPropagation();
      clear();
      row.classList.add("drop-here");
    });
    row.addEventListener("drop", function (event) {
      if (!dragged || siblings(dragged.row).indexOf(row) < 0) { return; }
      event.preventDefault();
      event.stopPropagation();
      var order = siblings(row), places = order.indexOf(row) - order.indexOf(dragged.row);
      if (places) { post(dragged.form, places); }
    });
  });
  function clear() {
    document.querySelectorAll(".drop-here").forEach(function (row) { row.classList.remove("drop-here"); });
  }
  function post(form, places) {
    var wish = document.createElement("input");
    wish.type = "hidden";
    wish.name = "to";
    wish.value = String(places);
    form.append(wish);
    form.submit();
  }

  // --- Folds. A row that an address names is shown, though its stage is folded.
  function unfold() {
    var row = location.hash && document.getElementById(location.hash.slice(1));
    for (var fold = row && row.closest("details"); fold; fold = fold.parentElement.closest("details")) {
      fold.open = true;
    }
    var inner = row && row.tagName === "SECTION" && row.querySelector("details");
    if (inner) { inner.open = true; }
    if (row) { row.scrollIntoView(); }
  }
  window.addEventListener("hashchange", unfold);
  unfold();

  // --- Small tables. A row more is the last one again, blank and numbered on.
  document.querySelectorAll("[data-add-row]").forEach(function (button) {
    var name = button.dataset.addRow;
    button.hidden = false;
    button.addEventListener("click", function () {
      var rows = document.querySelector("[data-rows='" + name + "'] tbody"), last = rows.lastElementChild;
      var row = last.cloneNode(true);
      row.querySelectorAll("[name]").forEach(function (cell) {
        cell.name = cell.name.replace(/-(\d+)-/, function (_all, number) { return "-" + (Number(number) + 1) + "-"; });
        cell.value = "";
        var label = cell.getAttribute("aria-label").replace(/\d+$/, String(rows.children.length + 1));
        cell.setAttribute("aria-label", label);
      });
      rows.append(row);
      row.querySelector("[name]").focus();
    });
  });

  // --- Marking. The picture chosen in the form is shown; a click writes the two fractions into the field.
  document.querySelectorAll("[data-marker-place]").forEach(function (place) {
    var field = document.getElementById("id_marker"), choice = document.getElementById("id_picture");
    function show() {
      place.replaceChildren();
      if (!choice.value) { return; }
      var picture = new Image();
      picture.onload = function () { draw(picture); };
      picture.src = place.dataset.source.replace("NAME", encodeURIComponent(choice.value));
    }
    function draw(picture) {
      var drawing = document.createElementNS(SVG, "svg"), image = document.createElementNS(SVG, "image");
      drawing.setAttribute("viewBox", "0 0 " + picture.naturalWidth + " " + picture.naturalHeight);
      drawing.setAttribute("class", "marker-picture");
      image.setAttribute("href", picture.src);
      image.setAttribute("width", picture.naturalWidth);
      image.setAttribute("height", picture.naturalHeight);
      drawing.append(image);
      place.append(drawing);
      function ring() {
        var at = field.value.split(",").map(Number), old = drawing.querySelector("circle");
        if (old) { old.remove(); }
        if (at.length !== 2 || at.some(isNaN)) { return; }
        var circle = document.createElementNS(SVG, "circle");
        circle.setAttribute("class", "marker");
        circle.setAttribute("cx", at[0] * picture.naturalWidth);
        circle.setAttribute("cy", at[1] * picture.naturalHeight);
        circle.setAttribute("r", picture.naturalWidth / 25);
        drawing.append(circle);
      }
      ring();
      field.addEventListener("input", ring);
      drawing.addEventListener("click", function (event) {
        // By the picture, not by the element's box, which may be wider than the picture in it.
        var spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
        var across = Math.min(1, Math.max(0, spot.x / picture.naturalWidth));
        var down = Math.min(1, Math.max(0, spot.y / picture.naturalHeight));
        field.value = across.toFixed(3) + ", " + down.toFixed(3);
        field.dispatchEvent(new Event("input", { bubbles: true }));
      });
    }
    choice.addEventListener("change", show);
    show();
  });
}());
