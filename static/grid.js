// Grids of the editor: moving with the keyboard, pasting blocks, filtering, sorting and more rows. Saving needs none
// of it.
(function () {
  "use strict";
  document.querySelectorAll("[data-grid]").forEach(function (form) {
    var body = form.querySelector("tbody"), isDirty = false;
    function rows() {
      return Array.from(body.rows).filter(function (row) {
        return !row.classList.contains("grid-clash");
      });
    }
    function fields(row) {
      return Array.from(row.cells).map(function (cell) {
        return cell.querySelector("input:not([type=hidden]), select, textarea");
      });
    }
    function place(field) {
      var row = field.closest("tr");
      return { row: row, column: fields(row).indexOf(field) };
    }
    function shown(row) { return !row.hidden; }
    function go(field, down, right) {
      var at = place(field), list = rows().filter(shown), n = list.indexOf(at.row) + down;
      var row = list[n], target = row && fields(row)[at.column + right];
      if (target) {
        target.focus();
        if (target.select) { target.select(); }
        return true;
      }
      return false;
    }
    function setValue(field, text) {
      if (field.tagName === "SELECT") {
        var wanted = text.trim().toLowerCase();
        Array.from(field.options).forEach(function (option) {
          if (option.value.toLowerCase() === wanted || option.text.trim().toLowerCase() === wanted) {
            field.value = option.value;
          }
        });
      } else if (field.type !== "checkbox") {
        field.value = text.trim();
      }
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
    function addRow() {
      var list = rows(), last = list[list.length - 1], row = last.cloneNode(true), number = 0;
      form.querySelectorAll("[name^='row-']").forEach(function (field) {
        number = Math.max(number, Number(field.name.split("-")[1]) + 1);
      });
      row.hidden = false;
      row.className = "";
      row.querySelectorAll(".error").forEach(function (words) { words.remove(); });
      row.querySelectorAll("[name^='row-']").forEach(function (field) {
        field.name = "row-" + number + "-" + field.name.split("-").slice(2).join("-");
        field.removeAttribute("aria-invalid");
        if (field.type === "checkbox") {
          field.checked = false;
        } else if (!field.hasAttribute("data-keeps")) {
          field.value = "";
        }
      });
      body.append(row);
      return row;
    }
    form.addEventListener("keydown", function (event) {
      var field = event.target;
      if (!field.closest("tbody") || field.type === "checkbox") { return; }
      var isSelect = field.tagName === "SELECT";
      if (event.key === "Enter" && !event.ctrlKey) {
        event.preventDefault();
        if (!go(field, event.shiftKey ? -1 : 1, 0) && !event.shiftKey && form.querySelector("[data-grid-add]")) {
          addRow();
          go(field, 1, 0);
        }
      } else if (event.altKey && event.key.indexOf("Arrow") === 0) {
        var step = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[event.key];
        if (go(field, step[0], step[1])) { event.preventDefault(); }
      } else if (!isSelect && (event.key === "ArrowUp" || event.key === "ArrowDown") && !field.list) {
        if (go(field, event.key === "ArrowUp" ? -1 : 1, 0)) { event.preventDefault(); }
      }
    });
    form.addEventListener("paste", function (event) {
      var text = event.clipboardData.getData("text/plain");
      if (!event.target.closest("tbody") || !/[\t\n]/.test(text.replace(/\n$/, ""))) { return; }
      event.preventDefault();
      var at = place(event.target), list = rows().filter(shown), first = list.indexOf(at.row);
      text.replace(/\r/g, "").replace(/\n$/, "").split("\n").forEach(function (line, n) {
        var row = list[first + n] || (form.querySelector("[data-grid-add]") ? addRow() : null);
        if (!row) { return; }
        var cells = fields(row);
        line.split("\t").forEach(function (cell, k) {
          if (cells[at.column + k]) { setValue(cells[at.column + k], cell); }
        });
      });
    });
    form.addEventListener("input", function (event) { if (event.target.name) { isDirty = true; } });
    form.addEventListener("submit", function () { isDirty = false; });
    window.addEventListener("beforeunload", function (event) { if (isDirty) { event.preventDefault(); } });
    var filter = form.querySelector("[data-grid-filter]"), add = form.querySelector("[data-grid-add]");
    if (filter) {
      filter.addEventListener("input", function () {
        var wanted = filter.value.trim().toLowerCase();
        rows().forEach(function (row) {
          var words = row.dataset.words || "";
          fields(row).forEach(function (field) {
            if (field && field.type !== "checkbox") {
              words += " " + field.value;
            }
          });
          row.hidden = Boolean(wanted) && words.toLowerCase().indexOf(wanted) < 0;
        });
      });
      filter.addEventListener("keydown", function (event) { if (event.key === "Enter") { event.preventDefault(); } });
    }
    if (add) {
      add.addEventListener("click", function () {
        for (var n = 0; n < 5; n += 1) {
          addRow();
        }
        fields(rows()[rows().length - 5])[0].focus();
      });
    }
    form.querySelectorAll("th[data-sort]").forEach(function (head) {
      var button = document.createElement("button"), up = false;
      button.type = "button";
      button.className = "link grid-sort";
      button.append.apply(button, Array.from(head.childNodes));
      head.append(button);
      button.addEventListener("click", function () {
        var column = Array.from(head.parentNode.cells).indexOf(head);
        up = !up;
        function value(row) {
          var field = fields(row)[column];
          return field ? field.value : row.cells[column].textContent.trim();
        }
        rows().sort(function (one, other) {
          var a = value(one), b = value(other);
          if (!a || !b) { return a ? -1 : b ? 1 : 0; }
          return (up ? 1 : -1) * a.localeCompare(b, undefined, { numeric: true });
        }).forEach(function (row) { body.append(row); });
        form.querySelectorAll("th[aria-sort]").forEach(function (other) { other.removeAttribute("aria-sort"); });
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
      });
    });
  });
  // A text that goes into a hidden field of its form as it is typed.
  document.querySelectorAll("[data-copies]").forEach(function (text) {
    text.addEventListener("input", function () { text.form.elements[text.dataset.copies].value = text.value; });
  });
  // A file is read as soon as it is chosen; the button is for what was pasted.
  document.querySelectorAll("[data-send-at-once] input[type=file]").forEach(function (file) {
    file.addEventListener("change", function () { if (file.files.length) { file.form.requestSubmit(); } });
  });
  // Tick all boxes of a list, or none.
  document.querySelectorAll("[data-tick-all]").forEach(function (box) {
    box.addEventListener("change", function () {
      box.form.querySelectorAll("input[type=checkbox][name='" + box.dataset.tickAll + "']").forEach(function (other) {
        other.checked = box.checked;
      });
    });
  });
}());
