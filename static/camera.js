// A photo taken with the guide's example as a faint picture over the camera's, where the browser has a camera for us.
// Everywhere else the file field does the same without it.
(function () {
  "use strict";
  if (!navigator.mediaDevices || !navigator.mediaDevices.getUserMedia || !window.DataTransfer) { return; }
  var box = document.getElementById("camera");
  if (!box || !box.showModal) { return; }
  var video = box.querySelector("video"), example = box.querySelector("img"), stream = null, button = null;
  function stop() {
    if (stream) { stream.getTracks().forEach(function (track) { track.stop(); }); }
    stream = null;
    video.srcObject = null;
  }
  function failed() {
    stop();
    box.close();
    if (button) { button.hidden = true; button.closest("form").querySelector(".no-camera").hidden = false; }
  }
  function open(from) {
    button = from;
    example.src = from.dataset.example;
    navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 2048 } } })
      .then(function (found) {
        stream = found;
        video.srcObject = found;
        box.showModal();
        return video.play();
      }).catch(failed);
  }
  function take() {
    var canvas = document.createElement("canvas");
    canvas.width = video.videoWidth;
    canvas.height = video.videoHeight;
    canvas.getContext("2d").drawImage(video, 0, 0);
    canvas.toBlob(function (blob) {
      if (!blob) { failed(); return; }
      var chosen = new DataTransfer(), form = button.closest("form");
      chosen.items.add(new File([blob], "photo.jpg", { type: "image/jpeg" }));
      form.querySelector("input[type=file]").files = chosen.files;
      stop();
      box.close();
      form.requestSubmit();
    }, "image/jpeg", .85);
  }
  box.querySelector(".camera-take").addEventListener("click", take);
  box.addEventListener("close", stop);
  box.querySelector(".camera-faint").addEventListener("input", function (event) {
    example.style.opacity = event.target.value / 100;
  });
  function show() {
    document.querySelectorAll("button[data-example]").forEach(function (found) { found.hidden = false; });
  }
  show();
  document.addEventListener("htmx:afterSettle", show);
  document.addEventListener("click", function (event) {
    var found = event.target.closest("button[data-example]");
    if (found) { open(found); }
  });
}());
