// Is something on the page that a reload would take away: typed, chosen, marked, and not sent?
const FORMS = "main form[method=post]:not([hidden])";

export const isTyping = () => [...document.querySelectorAll(FORMS)]
  .some((form) => !form.closest("[hidden]") && [...form.elements].some(isInUse));

function isInUse(field) {
  if (field.disabled || field.closest("[hidden]")) { return false; }
  if (field.matches("input.reading, textarea, input[type=file], [name=spot]")) { return Boolean(field.value); }
  if (["checkbox", "radio"].includes(field.type)) { return field.checked !== field.defaultChecked; }
  if (field.type === "select-one") { return isChosen(field); }
  return field.matches("input:not([type=hidden])") && field.value !== field.defaultValue;
}

// Where no option is marked, the page comes with the first.
function isChosen(list) {
  const options = [...list.options], given = options.findIndex((option) => option.defaultSelected);
  return list.selectedIndex !== Math.max(0, given);
}
