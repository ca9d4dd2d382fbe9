// Adding pictures: dropped anywhere on the page or pasted, they join the files of the field. The form works without it.
(function () {
  "use strict";
  var form = document.querySelector("[data-drop]");
  if (!form || typeof DataTransfer === "undefined") { return; }
  var field = form.querySelector("input[type=file]"), list = form.querySelector("[data-drop-list]");
  form.querySelector("[data-drop-place]").hidden = false;

  function add(files) {
    var held = new DataTransfer();
    Array.from(field.files).concat(files).forEach(function (file) { held.items.add(file); });
    field.files = held.files;
    show();
  }
  function pictures(files) {
    return Array.from(files).filter(function (file) { return (/^image\//).test(file.type); });
  }
  function show() {
    list.querySelectorAll("img").forEach(function (image) { URL.revokeObjectURL(image.src); });
    list.replaceChildren();
    Array.from(field.files).forEach(function (file) {
      var item = document.createElement("li"), image = document.createElement("img");
      var words = document.createElement("span");
      image.src = URL.createObjectURL(file);
      image.alt = "";
      words.className = "small";
      words.textContent = file.name;
      item.append(image, words);
      list.append(item);
    });
  }
  field.addEventListener("change", show);
  document.addEventListener("dragover", function (event) {
    event.preventDefault();
    form.classList.add("drop-here");
  });
  document.addEventListener("dragleave", function (event) {
    if (!event.relatedTarget) { form.classList.remove("drop-here"); }
  });
  document.addEventListener("drop", function (event) {
    event.preventDefault();
    form.classList.remove("drop-here");
    add(pictures(event.dataTransfer.files));
  });
  document.addEventListener("paste", function (event) {
    var found = pictures(event.clipboardData.files);
    if (!found.length) { return; }
    event.preventDefault();
    add(found.map(function (file) {  // what is pasted is called image.png each time
      var ending = file.type === "image/jpeg" ? "jpg" : "png";
      var isPasted = (/^image\.(png|jpe?g)$/).test(file.name);
      return isPasted ? new File([file], "pasted." + ending, { type: file.type }) : file;
    }));
  });
}());
