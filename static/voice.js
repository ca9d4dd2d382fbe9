// Prompts and verdicts spoken by the browser's own voice, where a person has switched it on for this device.
(function () {
  "use strict";
  var voice = document.getElementById("voice"), speech = window.speechSynthesis;
  if (!voice || !speech || !window.SpeechSynthesisUtterance) { return; }
  var UNITS = {
    mV: "millivolts", V: "volts", "MΩ": "megohms", "kΩ": "kilohms", "Ω": "ohms", mA: "milliamps", A: "amps"
  };
  var last = "";
  function spoken(text) {
    var said = text.replace(/\s+/g, " ").replace(/[✓✗≈⊘·]/g, "").trim();
    Object.keys(UNITS).forEach(function (unit) {
      said = said.replace(new RegExp("(\\d)\\s?" + unit + "(?![\\w])", "g"), "$1 " + voice.dataset[UNITS[unit]]);
    });
    return said.replace(/−(\d)/g, "minus $1");
  }
  function say(text) {
    var said = spoken(text);
    if (!said) { return; }
    last = said;
    speech.cancel();
    var utterance = new window.SpeechSynthesisUtterance(said);
    utterance.lang = document.documentElement.lang;
    speech.speak(utterance);
  }
  function words(root, selectors) {
    return selectors.map(function (selector) {
      var found = root.querySelector(selector);
      return found ? found.textContent.trim() : "";
    }).filter(Boolean).join(". ");
  }
  // Of a check that is to be read: where the probes go and what to expect. The verdict of one read before is not news.
  function prompt() {
    var check = document.querySelector("#check .check");
    if (check && check.querySelector("input.reading")) {
      say(words(check, ["h1", ".probe-red", ".probe-black", ".measure"]));
    }
    var stop = document.querySelector(".stop-word");
    if (stop) { say(words(document, [".stop-word", ".stop-why"])); }
  }
  // The region that a screen reader reads out: what is put there is said here too, once.
  var region = document.getElementById("spoken");
  if (region) {
    new MutationObserver(function () {
      if (region.textContent.trim()) { say(region.textContent); }
    }).observe(region, { childList: true, characterData: true, subtree: true });
  }
  document.addEventListener("focusin", function (event) {
    var row = event.target.matches("input.reading") && event.target.closest(".grid-row");
    if (row) { say(words(row, [".grid-title", ".grid-where"])); }
  });
  var place = document.querySelector(".check-place, .grid-rows");
  if (place) {
    var again = document.createElement("button");
    again.type = "button";
    again.className = "button quiet say-again";
    again.textContent = voice.dataset.again;
    again.addEventListener("click", function () { if (last) { say(last); } else { prompt(); } });
    place.before(again);
  }
  prompt();
}());
