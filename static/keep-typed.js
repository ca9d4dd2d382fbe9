// What is typed into the editor's long forms is kept in this browser until it is saved. What was kept is offered, never
// put back by itself, and goes back with the version it began from: the site then shows both texts if they clash.
(function () {
  "use strict";
  var OLD = 30 * 24 * 3600 * 1000, WAIT = 600, SKIP = ["csrfmiddlewaretoken"];
  var UNTYPED = ["file", "submit", "button", "image"];
  var person = (document.querySelector("meta[name=person]") || {}).content || "", store;
  try { store = window.localStorage; store.getItem(""); } catch (error) { return; }

  function nameOf(form) { return "typed:" + person + ":" + location.pathname + ":" + (form.id || "form"); }
  function fieldsOf(form) {
    return Array.from(form.elements).filter(function (field) {
      return field.name && SKIP.indexOf(field.name) < 0 && UNTYPED.indexOf(field.type) < 0;
    });
  }
  function valuesOf(form) {
    return fieldsOf(form).map(function (field) {
      var isTicked = field.type === "checkbox" || field.type === "radio";
      return [field.name, isTicked ? [field.value, field.checked] : field.value];
    });
  }
  function read(name) {
    try { return JSON.parse(store.getItem(name)); } catch (error) { return null; }
  }
  function write(name, kept) {
    try { store.setItem(name, JSON.stringify(kept)); return true; } catch (error) { return false; }
  }
  // Saved is what was sent from the page that this one answers; what was sent and never arrived is still kept.
  function savedFrom() {
    var isSaved = document.querySelector("main > .notice.success");
    try { return isSaved ? new URL(document.referrer).pathname : ""; } catch (error) { return ""; }
  }
  function forgetOld() {
    var saved = savedFrom();
    Object.keys(store).filter(function (name) { return name.indexOf("typed:") === 0; }).forEach(function (name) {
      var kept = read(name);
      if (!kept || Date.now() - kept.at > OLD || (kept.sent && kept.path === saved)) { store.removeItem(name); }
    });
  }

  function field(form, name, value) {
    return fieldsOf(form).find(function (each) {
      return each.name === name && (!Array.isArray(value) || each.value === value[0]);
    });
  }
  function rowFor(form, name) {  // a row that was added before the page was loaded again
    var start = name.split("-")[0], button = form.querySelector("[data-add-row='" + start + "'], [data-grid-add]");
    if (button) { button.click(); }
  }
  function putBack(form, kept) {
    var lost = 0;
    kept.values.forEach(function (pair) {
      var name = pair[0], value = pair[1], found = field(form, name, value);
      if (!found && (/-\d+-/).test(name)) { rowFor(form, name); found = field(form, name, value); }
      if (!found) {
        lost += 1;
      } else if (Array.isArray(value)) {
        found.checked = value[1];
      } else {
        found.value = value;
      }
    });
    form.dispatchEvent(new Event("input", { bubbles: true }));
    return lost;
  }
  function differs(form, kept) {
    return kept.values.some(function (pair) {
      if ((/(^|-)version$/).test(pair[0])) { return false; }
      var found = field(form, pair[0], pair[1]);
      if (!found) { return (Array.isArray(pair[1]) ? pair[1][1] : pair[1]) !== ""; }
      return Array.isArray(pair[1]) ? found.checked !== pair[1][1] : found.value !== pair[1];
    });
  }
  function offer(form, name, kept) {
    var template = document.getElementById("typed-back");
    if (!template) { return; }
    var notice = template.content.firstElementChild.cloneNode(true);
    var moment = new Date(kept.at).toLocaleString(document.documentElement.lang);
    notice.querySelector("[data-typed-at]").textContent = moment;
    notice.querySelector("[data-typed-put]").addEventListener("click", function () {
      var lost = putBack(form, kept);
      notice.querySelector("[data-typed-lost]").hidden = !lost;
      if (!lost) { notice.remove(); }
    });
    notice.querySelector("[data-typed-drop]").addEventListener("click", function () {
      store.removeItem(name);
      notice.remove();
    });
    form.before(notice);
  }

  forgetOld();
  document.querySelectorAll("form[data-keep]").forEach(function (form) {
    var name = nameOf(form), kept = read(name), timer = null, began = JSON.stringify(valuesOf(form));
    var isRefused = Boolean(document.querySelector("main [role=alert]"));
    if (kept && differs(form, kept)) { offer(form, name, kept); }
    function keep(sent) {
      var values = valuesOf(form);
      if (JSON.stringify(values) === began && !sent && !isRefused) { store.removeItem(name); return; }
      var isKept = write(name, { at: Date.now(), path: location.pathname, sent: sent, values: values });
      document.querySelectorAll("[data-typed-kept]").forEach(function (words) { words.hidden = !isKept; });
    }
    form.addEventListener("input", function (event) {
      if (!event.isTrusted && event.target === form) { return; }
      clearTimeout(timer);
      timer = setTimeout(function () { keep(false); }, WAIT);
    });
    window.addEventListener("pagehide", function () {
      if (timer) {
        clearTimeout(timer);
        timer = null;
        keep(Boolean(form.dataset.typedSent));
      }
    });
    form.addEventListener("submit", function () {
      clearTimeout(timer);
      timer = null;
      form.dataset.typedSent = "1";
      keep(true);
    });
  });
}());
