// The verdict on an entry without the site: the rules and tables come from the site's own judging
// (builds/bench/offline/judging.py). "i" in band, "c" too close, "o" out, "x" switch off; "s", "u" safe or not to
// touch; "?" kept and not judged; a Refused error where the site would ask first.
import { NotRead, Refused, parse, valueOf } from "./grammar.js";

export const UNKNOWN = "?";

export function judge(typed, pressed, rules, grammar) {
  try {
    if (typed.trim().length > grammar.length) { throw new Refused("unreadable"); }
    const chosen = chooseUnit(parse(typed, rules.shows, grammar), pressed, rules, grammar);
    if (rules.plain && (chosen.over || chosen.power < 0)) { throw new Refused("unit"); }
    return lookUp(shown(chosen, typed, rules, grammar), rules, grammar);
  } catch (error) {
    if (error instanceof NotRead) { return UNKNOWN; }
    throw error;
  }
}

function stops(value, rules) {
  return (rules.above !== null && value > rules.above) || (rules.under !== null && value < rules.under)
    || (rules.swapped && value < -rules.above) || (rules.swapped_below && value > -rules.under);
}

const scaled = (quantity, power) => (quantity.over ? null : valueOf(quantity) * Math.pow(10, power));
const powerOf = (shown, grammar) => grammar.prefixes[shown.slice(0, -1)];

function chooseUnit(quantity, pressed, rules, grammar) {
  const units = grammar.shown[rules.shows];
  if (!units) { return quantity; }
  if (quantity.power === null) { return bareInUnit(quantity, pressed || rules.beforehand, units, rules, grammar); }
  const power = powerOf(pressed || rules.shows, grammar);
  if (pressed && pressed !== rules.beforehand && power !== quantity.power) {
    const both = !quantity.over && stops(valueOf(quantity), rules)
      && stops(scaled(quantity, power - quantity.power), rules);
    if (!both) { throw new Refused("units-differ"); }
  }
  return quantity;
}

function bareInUnit(quantity, pressed, units, rules, grammar) {
  if (pressed) {
    const power = powerOf(pressed, grammar);
    if (quantity.over) { return rules.shows === "Ω" ? { ...quantity, power } : quantity; }
    return power ? { ...quantity, k: quantity.k + power, power } : quantity;
  }
  const asks = quantity.over
    ? rules.shows === "Ω" && !rules.bounded
    : !units.every((unit) => stops(scaled(quantity, powerOf(unit, grammar)), rules));
  if (asks) { throw new Refused("which-unit"); }
  return quantity;
}

// What no meter shows on this function is refused here as it is there (checks/entry.py, parse_reading).
function shown(quantity, typed, rules, grammar) {
  if (!rules.signed) {
    const value = quantity.over ? 0 : valueOf(quantity);
    if (quantity.below || (value < 0 && (!rules.ohms || value >= -grammar.leads))) { throw new Refused("negative"); }
  }
  if (quantity.kind && quantity.kind !== rules.kind) { throw new Refused("kind"); }
  if (!rules.ohms) {
    if (!quantity.over && inNoMetersUnit(quantity, typed, rules)) { throw new Refused("not-shown"); }
    return quantity;
  }
  if (quantity.over) {
    if (quantity.power !== null && quantity.power < 6 && !rules.bounded) { throw new Refused("range"); }
    return quantity;
  }
  if (quantity.coded && quantity.power === 0) { throw new Refused("coded"); }
  if (quantity.power !== null && quantity.power < -3) { throw new Refused("too-small"); }
  if (quantity.power === -3) {
    const written = quantity.unit && !typed.trim().endsWith("m") && rules.milliohms;
    if (!written || valueOf(quantity) < grammar.lookalike) { throw new Refused("milli"); }
    throw new NotRead();
  }
  return quantity;
}

function inNoMetersUnit(quantity, typed, rules) {
  const power = quantity.power;
  if (quantity.unit !== "V" || [null, 0, -3].includes(power)) {
    return quantity.unit === "Hz" && power !== null && power < 0;
  }
  if (stops(valueOf(quantity), rules) && stops(scaled(quantity, -power), rules)) { return false; }
  const named = typed.toLowerCase().includes("v") && [3, -6].includes(power);
  return !named || Math.abs(valueOf(quantity)) > rules.most;
}

function lookUp(quantity, rules, grammar) {
  if (quantity.over) { return answer(quantity.below ? rules.below : rules.over); }
  const row = rules.powers[quantity.k], value = valueOf(quantity);
  if (!row) {
    if (stops(value, rules)) { return "x"; }
    throw new NotRead();
  }
  let code = row[0];
  for (let place = 1; place < row.length && quantity.n >= row[place]; place += 2) { code = row[place + 1]; }
  const most = grammar.largest[quantity.unit];
  const asks = code === "o" || (rules.ohms && ["i", "c"].includes(code)); // about what no meter shows
  if (asks && most !== undefined && Math.abs(value) > most) { throw new NotRead(); }
  return answer(code, quantity.lone && rules.digital && rules.shows in grammar.shown);
}

// A 1 alone is how many meters show that they are over range: no pass (checks/entry.py, refuse_lone_one).
function answer(code, isLone = false) {
  if (isLone && ["i", "c", "s", "u"].includes(code)) { throw new Refused("lone-one"); }
  if (code === "g") { throw new Refused("digits"); }
  if (code === "n") { throw new Refused("negative"); }
  if (code === "b") { throw new Refused("too-large"); }
  return code;
}
