"""Faults of a kit in sentences: what is wrong, the same under its part's name, and where to look."""

from django.utils.translation import gettext as _

from builds.ui.formatting import format_figure
from builds.ui.messages.colours import slip_label
from builds.ui.messages.terminals import terminal_label
from checks.codes import Slip
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.fault import Fault


def fault_sentence(fault: Fault) -> str:
    """What is wrong: "R2 is open, not fitted, or one of its joints is not soldered"; the designer's own words where
    there are any."""
    return fault.words or _SENTENCES[fault.code]() % _params(fault)


def fault_under_part(fault: Fault) -> str:
    """The same where the part's name stands above it: "open, not fitted, or one of its joints is not soldered"."""
    return fault.words or _UNDER_PART.get(fault.code, _SENTENCES[fault.code])() % _params(fault)


def where_to_look(fault: Fault) -> str:
    """What to look at or try; empty where nothing can be said."""
    return fault.look or (_LOOK[fault.code]() % _params(fault) if fault.code in _LOOK else "")


def _params(fault: Fault) -> dict:
    params = {"part": fault.refs[0] if fault.refs else "", **fault.params}
    for name in ("ohms", "listed"):
        if name in params:
            params[name] = _ohms(params[name])
    if "slip" in params:
        params["reason"] = slip_label(Slip(params["slip"]), params["colours"])
    if fault.code is FaultCode.DEVICE_SHORT:
        params |= {name: terminal_label(params[name]) for name in ("one", "other")}
    if fault.code is FaultCode.STRAY_PATH:
        params |= {name: _point(params[name], params.get(f"{name}_at", "")) for name in ("one", "other")}
    params["half"] = _section(params["part"], params.get("section", ""))
    params["electrode"] = _electrode(params.get("electrode", ""), params.get("section", ""))
    return params


def _point(node: str, found_at: str) -> str:
    """A point of the circuit where a builder finds it: "V2 pin 7", "ht.b (at C7)", "the chassis"."""
    if node == "chassis":
        return _("the chassis")
    part, _dot, pin = found_at.partition(".")
    if pin:
        return _("%(part)s pin %(pin)s") % {"part": part, "pin": pin}
    return _("%(node)s (at %(part)s)") % {"node": node, "part": part} if part else node


def _ohms(value: float) -> str:
    """As printed in a parts list: "47 kΩ"."""
    return format_figure(value, "Ω", 2 if float(f"{value:.2g}") == value else 3)


def _section(part: str, section: str) -> str:
    return _("%(part)s (section %(section)s)") % {"part": part, "section": section} if section else part


def _electrode(name: str, section: str) -> str:
    named = {"anode": _("anode"), "grid": _("grid"), "cathode": _("cathode"), "screen": _("screen grid")}.get(
        name, name
    )
    return _("%(electrode)s of section %(section)s") % {"electrode": named, "section": section} if section else named


_SENTENCES = {
    FaultCode.OPEN: lambda: _("%(part)s is open, not fitted, or one of its joints is not soldered"),
    FaultCode.SHORT: lambda: _("%(part)s is bridged by solder or a stray lead"),
    FaultCode.TEN_TIMES_TOO_LARGE: lambda: _("%(part)s is ten times too large: a wrong multiplier band"),
    FaultCode.TEN_TIMES_TOO_SMALL: lambda: _("%(part)s is ten times too small: a wrong multiplier band"),
    FaultCode.MISREAD: lambda: _("%(part)s is %(ohms)s instead of %(listed)s (%(reason)s)"),
    FaultCode.OTHER_VALUE: lambda: _("%(part)s does not have the value in the parts list"),
    FaultCode.COLD_JOINT: lambda: _("%(part)s has a cold joint"),
    FaultCode.TRACK_OPEN: lambda: _("The track of %(part)s is open, or one of its tags is not soldered"),
    FaultCode.CHANGED_PLACES: lambda: _("%(part)s and %(other)s have changed places"),
    FaultCode.CAPACITOR_SHORT: lambda: _("%(part)s is shorted"),
    FaultCode.CAPACITOR_LEAKY: lambda: _("%(part)s leaks"),
    FaultCode.CAPACITOR_OPEN: lambda: _("%(part)s is open, not fitted, or one of its joints is not soldered"),
    FaultCode.CAPACITOR_REVERSED: lambda: _("%(part)s is fitted the wrong way round"),
    FaultCode.VALVE_DEAD: lambda: _("%(half)s passes no current: it is dead, or stays cold"),
    FaultCode.VALVE_WEAK: lambda: _("%(half)s has low emission"),
    FaultCode.VALVE_GASSY: lambda: _("%(half)s is gassy"),
    FaultCode.VALVE_HEATER: lambda: _("The heater of %(part)s gets no volts, or is open"),
    FaultCode.VALVES_EXCHANGED: lambda: _("%(part)s and %(other)s are in each other's sockets"),
    FaultCode.PINS_TOUCH: lambda: _("Pins %(pin)s and %(other)s of %(part)s touch"),
    FaultCode.PINS_LEAK: lambda: _(
        "Current leaks between pins %(pin)s and %(other)s of %(part)s: flux, dirt or a whisker of solder"
    ),
    FaultCode.STRAY_PATH: lambda: _(
        "Something connects %(one)s and %(other)s: a stray wire, flux or damaged insulation"
    ),
    FaultCode.WRONG_PIN: lambda: _("The wire for pin %(pin)s of %(part)s is on pin %(other)s"),
    FaultCode.DRY_PIN: lambda: _("Pin %(pin)s of %(part)s (the %(electrode)s) is not soldered"),
    FaultCode.WINDING_OPEN: lambda: _("The %(winding)s winding of %(part)s is open or not connected"),
    FaultCode.WINDING_VOLTS: lambda: _("The %(winding)s winding of %(part)s gives the wrong voltage"),
    FaultCode.WINDING_OHMS: lambda: _("The %(winding)s winding of %(part)s has the wrong resistance"),
    FaultCode.TRANSFORMER_VOLTS: lambda: _("All windings of %(part)s give the wrong voltage"),
    FaultCode.CHOKE_OPEN: lambda: _("%(part)s is open or not connected"),
    FaultCode.CHOKE_OHMS: lambda: _("%(part)s has the wrong resistance"),
    FaultCode.FUSE_BLOWN: lambda: _("%(part)s has blown or makes no contact"),
    FaultCode.SWITCH_OPEN: lambda: _("%(part)s does not close, or one of its tags is not connected"),
    FaultCode.DIODE_OPEN: lambda: _("%(part)s is open or not connected"),
    FaultCode.DIODE_REVERSED: lambda: _("%(part)s is the wrong way round or shorted, and has blown the fuse"),
    FaultCode.DIODE_TURNED: lambda: _("%(part)s is fitted the wrong way round"),
    FaultCode.RECTIFIER_DEAD: lambda: _("%(part)s passes no current: it is dead, or stays cold"),
    FaultCode.RECTIFIER_WEAK: lambda: _("%(part)s has low emission"),
    FaultCode.DEVICE_OPEN: lambda: _("%(part)s passes no current: it has failed open, or a lead is not soldered"),
    FaultCode.DEVICE_SHORT: lambda: _("%(part)s is shorted between %(one)s and %(other)s"),
    FaultCode.ZENER_REVERSED: lambda: _("%(part)s is fitted the wrong way round"),
    FaultCode.LEADS_EXCHANGED: lambda: _("The leads of %(part)s are swapped, or in a different order from the guide’s"),
    FaultCode.PASSES_INPUT: lambda: _("%(part)s passes its input voltage to its output: it has failed shorted"),
    FaultCode.SUPPLY_DEAD: lambda: _("%(part)s gives no voltage"),
    FaultCode.SUPPLY_VOLTS: lambda: _("%(part)s gives the wrong voltage"),
    FaultCode.SUPPLY_REVERSED: lambda: _("The polarity of %(part)s is reversed"),
    FaultCode.BATTERY_FLAT: lambda: _("%(part)s is run down"),
    FaultCode.TAP_FOR_TWICE: lambda: _("The primary is wired for twice your mains voltage"),
    FaultCode.TAP_FOR_HALF: lambda: _("The primary is wired for half your mains voltage"),
    FaultCode.MAINS_LOW: lambda: _("The mains is far lower than assumed"),
    FaultCode.MAINS_HIGH: lambda: _("The mains is far higher than assumed"),
    FaultCode.LAMP_LEFT_IN: lambda: _("The series lamp is still in circuit"),
}
_UNDER_PART = {
    FaultCode.OPEN: lambda: _("open, not fitted, or one of its joints is not soldered"),
    FaultCode.SHORT: lambda: _("bridged by solder or a stray lead"),
    FaultCode.TEN_TIMES_TOO_LARGE: lambda: _("ten times too large: a wrong multiplier band"),
    FaultCode.TEN_TIMES_TOO_SMALL: lambda: _("ten times too small: a wrong multiplier band"),
    FaultCode.MISREAD: lambda: _("%(ohms)s instead of %(listed)s (%(reason)s)"),
    FaultCode.OTHER_VALUE: lambda: _("not the value in the parts list"),
    FaultCode.COLD_JOINT: lambda: _("a cold joint"),
    FaultCode.TRACK_OPEN: lambda: _("track open, or one of its tags is not soldered"),
    FaultCode.CHANGED_PLACES: lambda: _("changed places with %(other)s"),
    FaultCode.CAPACITOR_SHORT: lambda: _("shorted"),
    FaultCode.CAPACITOR_LEAKY: lambda: _("leaks"),
    FaultCode.CAPACITOR_OPEN: lambda: _("open, not fitted, or one of its joints is not soldered"),
    FaultCode.CAPACITOR_REVERSED: lambda: _("fitted the wrong way round"),
    FaultCode.VALVE_HEATER: lambda: _("its heater gets no volts, or is open"),
    FaultCode.VALVES_EXCHANGED: lambda: _("in the socket of %(other)s"),
    FaultCode.PINS_TOUCH: lambda: _("pins %(pin)s and %(other)s touch"),
    FaultCode.PINS_LEAK: lambda: _(
        "current leaks between pins %(pin)s and %(other)s: flux, dirt or a whisker of solder"
    ),
    FaultCode.STRAY_PATH: lambda: _(
        "something connects %(one)s and %(other)s: a stray wire, flux or damaged insulation"
    ),
    FaultCode.WRONG_PIN: lambda: _("the wire for pin %(pin)s is on pin %(other)s"),
    FaultCode.DRY_PIN: lambda: _("pin %(pin)s (the %(electrode)s) is not soldered"),
    FaultCode.WINDING_OPEN: lambda: _("%(winding)s winding open or not connected"),
    FaultCode.WINDING_VOLTS: lambda: _("%(winding)s winding gives the wrong voltage"),
    FaultCode.WINDING_OHMS: lambda: _("%(winding)s winding has the wrong resistance"),
    FaultCode.TRANSFORMER_VOLTS: lambda: _("all windings give the wrong voltage"),
    FaultCode.CHOKE_OPEN: lambda: _("open or not connected"),
    FaultCode.CHOKE_OHMS: lambda: _("has the wrong resistance"),
    FaultCode.FUSE_BLOWN: lambda: _("blown, or makes no contact"),
    FaultCode.SWITCH_OPEN: lambda: _("does not close, or one of its tags is not connected"),
    FaultCode.DIODE_OPEN: lambda: _("open or not connected"),
    FaultCode.DIODE_REVERSED: lambda: _("the wrong way round or shorted, and has blown the fuse"),
    FaultCode.DIODE_TURNED: lambda: _("fitted the wrong way round"),
    FaultCode.RECTIFIER_DEAD: lambda: _("passes no current: dead, or stays cold"),
    FaultCode.RECTIFIER_WEAK: lambda: _("low emission"),
    FaultCode.DEVICE_OPEN: lambda: _("passes no current: failed open, or a lead is not soldered"),
    FaultCode.DEVICE_SHORT: lambda: _("shorted between %(one)s and %(other)s"),
    FaultCode.ZENER_REVERSED: lambda: _("fitted the wrong way round"),
    FaultCode.LEADS_EXCHANGED: lambda: _("leads swapped, or in a different order from the guide’s"),
    FaultCode.PASSES_INPUT: lambda: _("passes its input voltage to its output: failed shorted"),
    FaultCode.SUPPLY_DEAD: lambda: _("gives no voltage"),
    FaultCode.SUPPLY_VOLTS: lambda: _("gives the wrong voltage"),
    FaultCode.SUPPLY_REVERSED: lambda: _("polarity reversed"),
    FaultCode.BATTERY_FLAT: lambda: _("run down"),
}
_LOOK = {
    FaultCode.OPEN: lambda: _("Look at both ends of %(part)s. Measure it with the power off."),
    FaultCode.SHORT: lambda: _("Look for a bridge across %(part)s."),
    FaultCode.TEN_TIMES_TOO_LARGE: lambda: _("Read the multiplier band of %(part)s in daylight."),
    FaultCode.TEN_TIMES_TOO_SMALL: lambda: _("Read the multiplier band of %(part)s in daylight."),
    FaultCode.MISREAD: lambda: _("Compare the colour bands of %(part)s with the parts list."),
    FaultCode.OTHER_VALUE: lambda: _("With the power off, lift one end of %(part)s and measure it."),
    FaultCode.COLD_JOINT: lambda: _("Reheat both joints of %(part)s."),
    FaultCode.TRACK_OPEN: lambda: _("Look at the three tags of %(part)s."),
    FaultCode.CHANGED_PLACES: lambda: _("Compare %(part)s and %(other)s with the parts list."),
    FaultCode.CAPACITOR_SHORT: lambda: _("Lift one end of %(part)s."),
    FaultCode.CAPACITOR_LEAKY: lambda: _("Lift one end of %(part)s, or replace it."),
    FaultCode.CAPACITOR_OPEN: lambda: _("Look at both ends of %(part)s."),
    FaultCode.CAPACITOR_REVERSED: lambda: _(
        "Find the minus stripe of %(part)s. Scrap a capacitor that has been powered the wrong way round."
    ),
    FaultCode.VALVE_DEAD: lambda: _("Does %(part)s glow? Try another valve."),
    FaultCode.VALVE_WEAK: lambda: _("Try another %(type)s in the socket of %(part)s."),
    FaultCode.VALVE_GASSY: lambda: _("Look for a blue glow between the electrodes."),
    FaultCode.VALVE_HEATER: lambda: _("Does %(part)s glow? Look at its heater pins."),
    FaultCode.VALVES_EXCHANGED: lambda: _("Read the types printed on the valves."),
    FaultCode.PINS_TOUCH: lambda: _("Look between pins %(pin)s and %(other)s of the socket of %(part)s."),
    FaultCode.PINS_LEAK: lambda: _(
        "Clean the socket of %(part)s. With the power off and the valve out, measure from pin %(pin)s to pin %(other)s."
    ),
    FaultCode.STRAY_PATH: lambda: _("With the power off, measure from %(one)s to %(other)s and follow both wires."),
    FaultCode.WRONG_PIN: lambda: _("Count the pins of the socket of %(part)s from the gap."),
    FaultCode.DRY_PIN: lambda: _(
        "Reheat pin %(pin)s of the socket of %(part)s. Check that its wire is not on an unused pin."
    ),
    FaultCode.DEVICE_OPEN: lambda: _("Look at the leads of %(part)s, and compare their order with its data sheet."),
    FaultCode.DEVICE_SHORT: lambda: _(
        "With the power off, measure %(part)s between %(one)s and %(other)s, both ways round."
    ),
    FaultCode.ZENER_REVERSED: lambda: _("Find the ring on %(part)s: it marks the cathode."),
    FaultCode.LEADS_EXCHANGED: lambda: _(
        "Compare the leads of %(part)s with its data sheet: makers differ in the order of the leads."
    ),
    FaultCode.PASSES_INPUT: lambda: _(
        "Switch off. Measure %(part)s between input and output with the power off, and look at its common lead."
    ),
    FaultCode.SUPPLY_DEAD: lambda: _("Measure %(part)s out of circuit."),
    FaultCode.SUPPLY_VOLTS: lambda: _("Read the label of %(part)s. Measure it out of circuit."),
    FaultCode.SUPPLY_REVERSED: lambda: _(
        "Unplug it. Compare the polarity symbol on the label of %(part)s with the guide."
    ),
    FaultCode.BATTERY_FLAT: lambda: _("Measure %(part)s out of circuit, or try a new one."),
    FaultCode.WINDING_OPEN: lambda: _("Measure the %(winding)s winding of %(part)s with the power off."),
    FaultCode.WINDING_VOLTS: lambda: _("Switch off. Compare the wires of %(part)s with the transformer's label."),
    FaultCode.WINDING_OHMS: lambda: _(
        "With the power off, disconnect the %(winding)s winding of %(part)s and measure it."
    ),
    FaultCode.TRANSFORMER_VOLTS: lambda: _(
        "Switch off and unplug. Compare the wires of %(part)s with the transformer's label."
    ),
    FaultCode.CHOKE_OPEN: lambda: _("Measure %(part)s with the power off."),
    FaultCode.CHOKE_OHMS: lambda: _("Measure %(part)s out of circuit, with the power off."),
    FaultCode.FUSE_BLOWN: lambda: _("Take %(part)s out and measure it. A fuse blows for a reason."),
    FaultCode.SWITCH_OPEN: lambda: _("Pull the plug. Measure across %(part)s with the switch on."),
    FaultCode.DIODE_OPEN: lambda: _("Look at the joints of %(part)s. Measure it with the power off."),
    FaultCode.DIODE_REVERSED: lambda: _("Look for the ring on %(part)s. Measure it both ways with the power off."),
    FaultCode.DIODE_TURNED: lambda: _("Look for the ring on %(part)s. Measure it both ways with the power off."),
    FaultCode.RECTIFIER_DEAD: lambda: _("Does %(part)s glow? Try another."),
    FaultCode.RECTIFIER_WEAK: lambda: _("Try another %(type)s."),
    FaultCode.TAP_FOR_TWICE: lambda: _("Switch off. Compare the wiring of the primary with the transformer's label."),
    FaultCode.TAP_FOR_HALF: lambda: _("Switch off. Compare the wiring of the primary with the transformer's label."),
    FaultCode.MAINS_LOW: lambda: _("Read the mains with a plug-in meter."),
    FaultCode.MAINS_HIGH: lambda: _("Read the mains with a plug-in meter."),
    FaultCode.LAMP_LEFT_IN: lambda: _("Switch off and unplug. Is the kit plugged in through the series lamp?"),
}
