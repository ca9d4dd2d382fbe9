// Small helps; every page works without them.
(function () {
  "use strict";
  // A second tap on a button of a form that is on its way does nothing. The server would notice too (entry keys).
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.hasAttribute("hx-post")) { return; }
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "yes";
  });
  window.addEventListener("pageshow", function () {
    document.querySelectorAll("form[data-sent]").forEach(function (form) { delete form.dataset.sent; });
  });
  // Keys that a phone's number pad lacks: minus and OL. The style sheet shows them only where scripts run.
  document.documentElement.classList.add("scripted");
  document.addEventListener("click", function (event) {
    var key = event.target.closest("[data-key]");
    if (!key) { return; }
    var field = document.getElementById(key.dataset.for), typed = field.value;
    if (key.dataset.key === "OL") { field.value = typed === "OL" ? "" : "OL"; }
    else { field.value = /^[-−]/.test(typed) ? typed.slice(1) : "−" + (typed === "OL" ? "" : typed); }
    field.focus();
  });
  function padFor(part) {
    part.querySelectorAll("input.reading[inputmode=text]").forEach(function (field) {
      if (document.querySelector('[data-for="' + field.id + '"]')) { field.inputMode = "decimal"; }
    });
  }
  padFor(document);
  document.addEventListener("htmx:load", function (event) { padFor(event.target); });
  // How far the photos have gone. Phones on a bench are slow, and a bar that moves keeps a finger off the button.
  document.addEventListener("htmx:xhr:progress", function (event) {
    var bar = event.target.querySelector("progress.sending");
    if (!bar || !event.detail.lengthComputable || !event.target.querySelector("input[type=file]").files.length) { return; }
    bar.hidden = false;
    bar.value = Math.round(100 * event.detail.loaded / event.detail.total);
  });
  // The wait after switch-off, counted down. The meter has the last word, so reaching zero opens nothing.
  document.querySelectorAll("[data-countdown]").forEach(function (box) {
    var button = box.querySelector("[data-countdown-start]"), output = box.querySelector("output");
    var name = "countdown-" + box.dataset.countdownOf;
    function count(end) {
      button.hidden = true;
      var timer = setInterval(function () {
        var left = Math.ceil((end - Date.now()) / 1000);
        output.textContent = left > 0 ? left + " s to wait" : "Now measure. The meter has the last word.";
        if (left <= 0) { clearInterval(timer); }
      }, 250);
    }
    button.hidden = false;
    button.addEventListener("click", function () {
      var end = Date.now() + 1000 * Number(box.dataset.countdown);
      sessionStorage.setItem(name, end);
      count(end);
    });
    // A reading that was not yet safe brings the page anew: its wait goes on. Any other visit starts with a new one.
    if (!box.hasAttribute("data-countdown-goes-on")) { sessionStorage.removeItem(name); }
    else if (sessionStorage.getItem(name)) { count(Number(sessionStorage.getItem(name))); }
  });
  // The page one is on, in a row of links that is wider than a phone.
  var here = document.querySelector(".sections [aria-current]");
  if (here) { here.closest("ul").scrollLeft = here.offsetLeft - (here.closest("ul").clientWidth - here.offsetWidth) / 2; }
}());
