// Small helps; every page works without them.
(function () {
  "use strict";
  // A form on its way: its button says so and a second tap does nothing. The server would notice too (entry keys).
  function pressed(form) { return form.querySelector("button:not([type=button])"); }
  function busy(form, on) {
    var button = pressed(form);
    if (!button) { return; }
    if (on) {
      button.dataset.busy = form.dataset.sending || document.body.dataset.sending;
      button.setAttribute("aria-busy", "true");
    } else { button.removeAttribute("aria-busy"); }
  }
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.hasAttribute("hx-post") || form.method !== "post") { return; }
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "yes";
    busy(form, true);
  });
  window.addEventListener("pageshow", function () {
    document.querySelectorAll("form[data-sent]").forEach(function (form) {
      delete form.dataset.sent;
      busy(form, false);
    });
  });
  document.addEventListener("htmx:beforeRequest", function (event) {
    var form = event.target.closest("form");
    if (!form) { return; }
    form.querySelectorAll(".not-sent").forEach(function (note) { note.remove(); });
    busy(form, true);
  });
  document.addEventListener("htmx:afterRequest", function (event) {
    var form = event.target.closest("form");
    if (form) { busy(form, false); }
  });
  // The button that was pressed comes back with its row, and the focus with it.
  var pressedId = "";
  document.addEventListener("submit", function (event) {
    pressedId = event.submitter ? event.submitter.id : "";
  }, true);
  document.addEventListener("htmx:afterSettle", function () {
    var button = pressedId && document.getElementById(pressedId), active = document.activeElement;
    if (button && (!active || active === document.body)) { button.focus(); pressedId = ""; }
  });
  // With large text the way on is screens below the verdict: what the reading means is seen first.
  document.addEventListener("htmx:afterSettle", function () {
    var verdict = document.getElementById("verdict"), bar = document.querySelector(".thumb");
    if (!verdict || !verdict.contains(document.activeElement)) { return; }
    var box = verdict.getBoundingClientRect();
    if (box.top < 0 || bar && box.bottom > bar.getBoundingClientRect().top + 1) {
      verdict.scrollIntoView({ block: "start" });
    }
  });
  // A made-safe reading that is not safe: all of what it says, with its field, comes into sight.
  document.addEventListener("htmx:afterSettle", function () {
    var error = document.querySelector(".safe-form .error");
    if (error) { error.closest("form").scrollIntoView({ block: "nearest" }); }
  });
  // A send that failed says so beside its button; what was typed stays in the field. Forms with an outbox say it
  // themselves (static/offline/), once that stands.
  function failed(id) {
    return function (event) {
      var form = event.target.closest("form"), note = document.getElementById(id);
      if (!form || !note || (form.dataset.outbox && document.documentElement.dataset.outbox)) { return; }
      form.append(note.content.cloneNode(true));
    };
  }
  document.addEventListener("htmx:sendError", failed("not-sent"));
  document.addEventListener("htmx:timeout", failed("not-sent"));
  document.addEventListener("htmx:responseError", failed("refused"));
  // After a reading the way on appears where the button was: for a moment it takes no tap meant for that button.
  var SETTLING = 600;
  document.addEventListener("htmx:afterSwap", function () { document.body.dataset.swapped = Date.now(); });
  document.addEventListener("click", function (event) {
    var link = event.target.closest("[data-after-swap]");
    if (link && Date.now() - Number(document.body.dataset.swapped || 0) < SETTLING) { event.preventDefault(); }
  });
  // The line of the stage page that the pointer to what is next leads to.
  function markNext() {
    var next = document.getElementById("next");
    if (!next) { return; }
    document.querySelectorAll(".work > .is-next").forEach(function (line) { line.classList.remove("is-next"); });
    var line = next.dataset.line && document.getElementById(next.dataset.line);
    if (line) { line.classList.add("is-next"); }
  }
  markNext();
  document.addEventListener("htmx:afterSettle", markNext);
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
  // A verdict is of what was saved: it goes the moment something else is typed beside it.
  document.addEventListener("input", function (event) {
    var form = event.target.closest(".reading-form"), box = form && form.closest("section, article");
    if (box) { box.querySelectorAll(".verdict").forEach(function (verdict) { verdict.hidden = true; }); }
  });
  // How far the photos have gone. Phones on a bench are slow, and a bar that moves keeps a finger off the button.
  document.addEventListener("htmx:xhr:progress", function (event) {
    var bar = event.target.querySelector("progress.sending");
    if (!bar || !event.detail.lengthComputable || !event.target.querySelector("input[type=file]").files.length) {
      return;
    }
    bar.hidden = false;
    bar.value = Math.round(100 * event.detail.loaded / event.detail.total);
  });
  // Waits, counted down: after switch-off, until a figure is steady. They go on while the page is left, for as long as
  // what they count from stands (data-countdown-since: a new spell of power begins a new wait). The meter has the last
  // word, so reaching zero opens nothing.
  function countdowns(part) {
    part.querySelectorAll("[data-countdown]").forEach(function (box) {
      var button = box.querySelector("[data-countdown-start]"), output = box.querySelector("output");
      var name = "countdown-" + box.dataset.countdownOf, since = box.dataset.countdownSince || "";
      var length = 1000 * Number(box.dataset.countdown);
      if (!button || box.dataset.counts) { return; }
      box.dataset.counts = "yes";
      function count(end) {
        button.hidden = true;
        var timer = setInterval(function () {
          var left = Math.ceil((end - Date.now()) / 1000);
          output.textContent = left > 0 ? box.dataset.left.replace("{seconds}", left) : box.dataset.over;
          if (left <= 0 || !box.isConnected) { clearInterval(timer); }
        }, 250);
      }
      button.hidden = false;
      button.addEventListener("click", function () {
        var end = Date.now() + length;
        try { localStorage.setItem(name, JSON.stringify({ end: end, since: since })); } catch (error) { /* no room */ }
        count(end);
      });
      var kept = null;
      try { kept = JSON.parse(localStorage.getItem(name)); } catch (error) { /* nothing that counts */ }
      var isOld = !kept || kept.since !== since || kept.end - Date.now() > length || Date.now() - kept.end > 600000;
      if (!isOld) { count(kept.end); }
      else if (kept) { localStorage.removeItem(name); }
    });
  }
  countdowns(document);
  document.addEventListener("htmx:load", function (event) { countdowns(event.target); });
  window.addEventListener("part-added", function (event) { countdowns(event.detail); padFor(event.detail); });
  // A drawing wider than the phone opens where there is something to see.
  document.querySelectorAll(".schematic-frame").forEach(function (frame) {
    var first = frame.querySelector(".map-chip") || frame.querySelector("text");
    var box = first && first.getBoundingClientRect();
    if (!box || frame.scrollWidth <= frame.clientWidth) { return; }
    frame.scrollLeft += box.left - frame.getBoundingClientRect().left - 24;
    frame.scrollTop += box.top - frame.getBoundingClientRect().top - 48;
  });
  // The page one is on, in a row of links that is wider than a phone.
  var here = document.querySelector(".sections [aria-current]");
  const list = here && here.closest("ul, ol");
  if (list) { list.scrollLeft = here.offsetLeft - (list.clientWidth - here.offsetWidth) / 2; }
}());
