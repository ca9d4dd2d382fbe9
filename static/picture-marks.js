// Marks and crop drawn on a picture: each is a row of the table, or an edge of the crop, which serve without this too.
(function () {
  "use strict";
  var SVG = "http://www.w3.org/2000/svg";
  var whole = document.querySelector("[data-marking]"), place = whole && whole.querySelector("[data-mark-place]");
  var table = document.querySelector("[data-rows=mark] tbody");
  if (!place || !table) { return; }
  var wide = Number(whole.dataset.width), tall = Number(whole.dataset.height), tool = "arrow", drag = null;
  var words = document.getElementById("mark-text"), line = Math.hypot(wide, tall) / 220;
  whole.querySelectorAll("[data-mark-tools]").forEach(function (part) { part.hidden = false; });

  function make(name, attributes, parent) {
    var shape = document.createElementNS(SVG, name);
    Object.keys(attributes).forEach(function (key) { shape.setAttribute(key, attributes[key]); });
    if (parent) { parent.append(shape); }
    return shape;
  }
  var drawing = make("svg", { viewBox: "0 0 " + wide + " " + tall, "class": "mark-drawing", role: "img" });
  drawing.setAttribute("aria-label", place.querySelector("img").alt);
  make("image", { href: whole.dataset.source, width: wide, height: tall }, drawing);
  var sheet = make("g", {}, drawing), trial = make("g", {}, drawing);
  place.replaceChildren(drawing);

  function cell(row, name) { return row.querySelector("[name$='-" + name + "']"); }
  function number(row, name) { return Number(cell(row, name).value.replace(",", ".").replace("%", "")) / 100; }
  function marks() {
    return Array.from(table.rows).filter(function (row) { return cell(row, "what").value; }).map(function (row) {
      return {
        what: cell(row, "what").value, at: [number(row, "across") * wide, number(row, "down") * tall],
        to: [number(row, "to_across") * wide, number(row, "to_down") * tall],
        size: (number(row, "size") || 0.05) * wide, text: cell(row, "text").value
      };
    });
  }
  var DRAW = {
    arrow: function (mark, group) {
      var length = Math.hypot(mark.to[0] - mark.at[0], mark.to[1] - mark.at[1]) || 1;
      var head = Math.min(line * 5, length * 0.6);
      var x = (mark.to[0] - mark.at[0]) / length, y = (mark.to[1] - mark.at[1]) / length;
      var foot = [mark.to[0] - x * head, mark.to[1] - y * head];
      make("line", {
        x1: mark.at[0], y1: mark.at[1], x2: foot[0], y2: foot[1], "class": "mark-line", "stroke-width": line
      }, group);
      make("polygon", {
        "class": "mark-fill",
        points: [
          mark.to,
          [foot[0] - y * head / 2, foot[1] + x * head / 2],
          [foot[0] + y * head / 2, foot[1] - x * head / 2]
        ].join(" ")
      }, group);
    },
    ring: function (mark, group) {
      make("circle", {
        cx: mark.at[0], cy: mark.at[1], r: mark.size, "class": "mark-line", "stroke-width": line
      }, group);
    },
    number: function (mark, group) {
      make("circle", { cx: mark.at[0], cy: mark.at[1], r: line * 4, "class": "mark-fill" }, group);
      make("text", {
        x: mark.at[0], y: mark.at[1], "class": "mark-number", "font-size": line * 5, "text-anchor": "middle",
        "dominant-baseline": "central"
      }, group).textContent = mark.text;
    },
    words: function (mark, group) {
      var text = make("text", {
        x: mark.at[0] + line * 1.5, y: mark.at[1], "class": "mark-words", "font-size": line * 5,
        "dominant-baseline": "central"
      }, group);
      text.textContent = mark.text;
      var box = text.getBBox();
      group.insertBefore(make("rect", {
        x: box.x - line * 1.5, y: box.y - line, width: box.width + line * 3, height: box.height + line * 2,
        rx: line * 1.5,
        "class": "mark-plate", "stroke-width": line / 2
      }), text);
    }
  };
  function draw() {
    sheet.replaceChildren();
    marks().forEach(function (mark) {
      if (mark.at.concat(mark.to).every(isFinite) && DRAW[mark.what]) { DRAW[mark.what](mark, sheet); }
    });
    var edges = ["left", "top", "right", "bottom"].map(function (name) {
      return Number(document.getElementById("id_" + name).value) / 100;
    });
    if (edges.join() !== "0,0,1,1") {
      make("rect", {
        x: edges[0] * wide, y: edges[1] * tall, width: Math.max(0, edges[2] - edges[0]) * wide,
        height: Math.max(0, edges[3] - edges[1]) * tall, "class": "mark-crop", "stroke-width": line
      }, sheet);
    }
  }

  function freeRow() {
    var row = Array.from(table.rows).find(function (each) {
      return Array.from(each.querySelectorAll("[name]")).every(function (field) { return !field.value; });
    });
    if (row) { return row; }
    document.querySelector("[data-add-row=mark]").click();
    return table.lastElementChild;
  }
  function percent(value, side) { return String(Math.round(Math.min(1, Math.max(0, value / side)) * 10000) / 100); }
  function put(mark) {
    var row = freeRow();
    cell(row, "what").value = mark.what;
    cell(row, "across").value = percent(mark.at[0], wide);
    cell(row, "down").value = percent(mark.at[1], tall);
    if (mark.what === "arrow") {
      cell(row, "to_across").value = percent(mark.to[0], wide);
      cell(row, "to_down").value = percent(mark.to[1], tall);
    }
    if (mark.what === "ring") { cell(row, "size").value = percent(mark.size, wide); }
    cell(row, "text").value = mark.text || "";
    draw();
  }
  function next() {
    return String(1 + marks().filter(function (mark) { return mark.what === "number"; }).length);
  }
  function made(at, to) {
    var far = Math.hypot(to[0] - at[0], to[1] - at[1]);
    if (tool === "arrow") { return far < line * 3 ? null : { what: tool, at: at, to: to }; }
    if (tool === "ring") {
      return { what: tool, at: at, to: [0, 0], size: Math.min(wide / 2, far < line * 3 ? wide / 20 : far) };
    }
    if (tool === "number") { return { what: tool, at: at, to: [0, 0], text: next() }; }
    return words.value.trim() ? { what: tool, at: at, to: [0, 0], text: words.value.trim() } : null;
  }
  function crop(at, to) {
    [["left", at[0], to[0], wide, Math.min], ["right", at[0], to[0], wide, Math.max],
      ["top", at[1], to[1], tall, Math.min], ["bottom", at[1], to[1], tall, Math.max]].forEach(function (edge) {
      document.getElementById("id_" + edge[0]).value = percent(edge[4](edge[1], edge[2]), edge[3]);
    });
    draw();
  }
  function where(event) {
    // By the picture, not by the element's box: on a wide screen that is wider than the picture in it.
    var spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
    return [spot.x, spot.y];
  }
  drawing.addEventListener("pointerdown", function (event) {
    drag = where(event);
    drawing.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  drawing.addEventListener("pointermove", function (event) {
    if (!drag) { return; }
    trial.replaceChildren();
    if (tool === "crop") { crop(drag, where(event)); return; }
    var mark = made(drag, where(event));
    if (mark) { DRAW[mark.what](mark, trial); }
  });
  drawing.addEventListener("pointerup", function (event) {
    if (!drag) { return; }
    var from = drag, mark;
    drag = null;
    trial.replaceChildren();
    if (tool === "crop") { crop(from, where(event)); return; }
    mark = made(from, where(event));
    if (mark) { put(mark); } else if (tool === "words") { words.focus(); }
  });
  whole.querySelectorAll("[data-tool]").forEach(function (button) {
    button.addEventListener("click", function () {
      tool = button.dataset.tool;
      whole.querySelectorAll("[data-tool]").forEach(function (each) {
        each.setAttribute("aria-pressed", String(each === button));
      });
    });
  });
  document.getElementById("marks-form").addEventListener("input", draw);
  draw();
}());
