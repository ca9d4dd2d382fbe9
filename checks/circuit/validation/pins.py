"""Pins that a valve's base has not, electrodes without a pin, and pins other than those published."""

from checks.circuit.netlist.terminals import VALVES, is_heater
from checks.circuit.valves.pinouts import PINS, find_pinout, is_pin_of


def pin_errors(part):
    """Yield an error for every pin a valve's base has not, and for every electrode that is joined and has no pin."""
    if part.kind not in VALVES:
        return
    most = PINS.get(part.base)
    for pin, terminal in part.pins.items():
        if most and not is_pin_of(part.base, pin):
            yield part.wrong(
                f"pins.{terminal}",
                f"is pin {pin}; the base {part.base} has pins 1 to {most}.",
                "no-such-pin",
                pin=pin,
                base=part.base,
                most=most,
            )
    without = [t for t in part.joins if t not in part.pin_of]
    if without and len(without) == len(part.joins):
        yield part.wrong("pins", "are missing: no check can be read at its socket.", "pins-missing")
    elif without:
        verb = "is" if len(without) == 1 else f"and {', '.join(without[1:])} are"
        yield part.wrong(
            f"pins.{without[0]}",
            f"{verb} missing: joined, and no pin says where on the socket.",
            "pin-missing",
            terminals=without,
        )


def pin_warnings(part):
    """Yield a doubt where a valve's base or pins are not those published for its type; types not listed are passed
    over."""
    row = find_pinout(part.type, part.kind) if part.kind in VALVES and part.type else None
    if row is None:
        return
    if part.base and part.base != row["base"]:
        yield part.wrong(
            "base",
            f"is {part.base}; an {part.type} is published with the base {row['base']}.",
            "other-base",
            base=part.base,
            type=part.type,
            published=row["base"],
        )
        return
    off = list(_differing(part, row))
    if off:
        differing = "; ".join(f"{terminal} is pin {pin}, published {' or '.join(pins)}" for terminal, pin, pins in off)
        yield part.wrong(
            "pins",
            f"differ from those published for the {part.type}: {differing}.",
            "other-pins",
            type=part.type,
            pins=off,
        )


def _differing(part, row):
    """Yield (terminal, pin, the published pins). A twin's sections may be called either way round."""
    sections: dict = {}
    for terminal, pin in part.pin_of.items():
        section, _, name = terminal.rpartition(".")
        if is_heater(terminal):
            pins = row.get("heater_centre" if terminal == "heater_centre" else "heater", [])
            if pins and pin not in pins:
                yield terminal, pin, pins
        else:
            sections.setdefault(section, {})[name] = (terminal, pin)
    orders = [list(zip(sections.values(), order, strict=False)) for order in (row["sections"], row["sections"][::-1])]
    yield from min((list(_find_differing_pins(order)) for order in orders), key=len)


def _find_differing_pins(pairs):
    for pins, listed in pairs:
        for name, (terminal, pin) in pins.items():
            if name in listed and pin not in listed[name]:
                yield terminal, pin, listed[name]
