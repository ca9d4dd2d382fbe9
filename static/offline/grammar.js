// What was typed, read by the site's own grammar (checks/quantity.py ships its patterns). Whatever is not plain here is
// not read: the phone then says that it cannot judge, and never guesses.

export class Refused extends Error {
  constructor(code) { super(code); this.code = code; }
}
export class NotRead extends Error {}

const PLAIN_SIGNS = /^[ -~Ωωµμ−–∞°\t\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]*$/;
const GROUPS = /(^|[^\d.,])([1-9]\d{0,2}(?:[\u00a0\u2009\u202f]\d{3})+)(?=[.,]\d|[^\d.,]|$)/;
const whole = (pattern) => new RegExp("^(?:" + pattern + ")$");
const sign = (mark) => (mark && "-−–".includes(mark) ? -1 : 1);

// A quantity: n whole numbers of the digit worth 10^k; `power` is null where neither prefix nor unit was typed.
export function parse(text, unit, grammar) {
  if (text.includes("\ufeff")) { throw new NotRead(); } // a browser trims it, the site does not
  let entry = text.trim().replace(/[^ -~]/gu, (c) => grammar.wide[c] || digit(c, grammar));
  entry = entry.replace(GROUPS, (all, before, digits) => before + digits.replace(/\s/g, ""));
  if (!entry) { throw new Refused("empty"); }
  if (!PLAIN_SIGNS.test(entry)) { throw new NotRead(); }
  let found = whole(grammar.over).exec(entry);
  if (found) { return overRange(found.groups, unit, grammar); }
  found = whole(grammar.letter).exec(entry);
  if (found) { return fromLetter(found.groups, unit, grammar); }
  found = whole(grammar.plain).exec(entry);
  if (!found || !/\d/.test(found.groups.digits)) { throw new Refused("unreadable"); }
  return fromPlain(found.groups, unit, grammar);
}

// A decimal digit of another script, as the plain one: they come in runs of ten from their nought.
function digit(c, grammar) {
  const code = c.codePointAt(0), zero = grammar.noughts.find((one) => one <= code && code < one + 10);
  return zero === undefined ? c : String(code - zero);
}

function unitOf(word, wanted, grammar) {
  const known = grammar.units[word] || grammar.units[word.toLowerCase()];
  if (known === undefined) { throw new Refused("unit"); }
  if (wanted && known && known !== wanted) { throw new Refused("unit"); }
  return known || wanted;
}

function overRange(found, unit, grammar) {
  const word = found.sign || found.unit;
  const given = word ? unitOf(word, unit, grammar) : unit;
  const power = word ? grammar.prefixes[found.near || found.far || ""] : null;
  return { over: true, below: sign(found.minus) < 0, unit: given, power, kind: "" };
}

function fromLetter(found, unit, grammar) {
  const power = grammar.prefixes[found.letter];
  const given = found.unit ? unitOf(found.unit, unit, grammar) : unit;
  if (found.letter === "R" && given !== "" && given !== "Ω") { throw new Refused("unit"); }
  if (grammar.unprefixed.includes(given)) { throw new Refused("prefix"); }
  const n = digitsOf(sign(found.sign), (found.whole || "0") + found.part);
  return { n, k: power - found.part.length, unit: given, power, kind: "", coded: true };
}

function fromPlain(found, unit, grammar) {
  if (/^[1-9]\d{0,2},\d{3}$/.test(found.digits)) { throw new Refused("thousands"); }
  const [before, after = ""] = found.digits.replace(",", ".").split(".");
  const shift = grammar.prefixes[found.prefix] + Number((found.exp || "e0").slice(1));
  const given = found.unit ? unitOf(found.unit, unit, grammar) : unit;
  if (found.kind && !["V", "A", ""].includes(given)) { throw new Refused("kind-unit"); }
  if (found.prefix && grammar.unprefixed.includes(given)) { throw new Refused("prefix"); }
  const n = digitsOf(sign(found.sign), before + after);
  const power = found.prefix || found.unit ? grammar.prefixes[found.prefix] : null;
  const kind = found.kind === "~" ? "ac" : found.kind.toLowerCase();
  const lone = !found.exp && /^1[.,]?$/.test(found.digits);
  return { n, k: shift - after.length, unit: given, power, kind, lone };
}

function digitsOf(side, digits) {
  const n = side * Number(digits);
  if (!Number.isSafeInteger(n)) { throw new NotRead(); }
  return n;
}

export const valueOf = (quantity) => Number(quantity.n + "e" + quantity.k);
