"""The sentence for what is wrong or doubtful with a parts list as a circuit."""

from collections.abc import Callable

from django.utils.translation import gettext as _

from builds.ui.messages.errors import message_for
from checks.circuit.netlist.wires import CHASSIS
from checks.errors import ChecksError


def _list(items) -> str:
    *most, last = [str(item) for item in items]
    return _("%(most)s and %(last)s") % {"most": ", ".join(most), "last": last} if most else last


def _node(name: str) -> str:
    return _("the chassis") if name == CHASSIS else name


def _by(p: dict, plain: str, through: str) -> str:
    nodes = _list(_node(n) for n in p["nodes"])
    return (through if p["by"] else plain) % {"nodes": nodes, "parts": _list(p["by"]) if p["by"] else ""}


def _mains_live(p: dict) -> str:
    params = {"live": p["live"], "node": _node(p["node"]), "parts": _list(p["by"]) if p["by"] else ""}
    if p["by"]:
        return _("The mains reaches %(node)s: %(parts)s join it to %(live)s.") % params
    return _("The mains reaches %(node)s: it is joined directly to %(live)s.") % params


def _other_pins(p: dict) -> str:
    pins = "; ".join(
        _("%(terminal)s is on pin %(pin)s, published %(published)s")
        % {"terminal": terminal, "pin": pin, "published": "/".join(published)}
        for terminal, pin, published in p["pins"]
    )
    return _("The pins differ from those published for the %(type)s: %(pins)s.") % {"type": p["type"], "pins": pins}


def _unjoined(p: dict) -> str:
    section, _dot, electrode = p["key"].removeprefix("joins.").rpartition(".")
    if section in ("a", "b"):
        return _(
            "Section %(section)s: its %(electrode)s is not joined to a point. Wire it. If this "
            "section is not used, join its anode, grid and cathode to chassis."
        ) % {"section": section, "electrode": electrode}
    return _("Its %(end)s is not joined to a point. Its ends are: %(ends)s.") % {
        "end": electrode,
        "ends": _list(p["terminals"]),
    }


MESSAGES: dict[str, Callable[[dict], str]] = {
    # One part, read by itself.
    "unknown-kind": lambda p: _("“%(kind)s” is not a kind of part.") % p,
    "below-zero": lambda p: _("%(key)s is “%(typed)s”. It must be zero or more.") % p,
    "not-above-zero": lambda p: _("%(key)s is “%(typed)s”. It must be above zero.") % p,
    "missing-figure": lambda p: _("A figure of this part is missing."),
    "value-missing": lambda p: _("The value is missing. Give one, for example 4k7.") % p,
    "tolerance-too-wide": lambda p: _("%(key)s is “%(typed)s”. A part cannot lose all of its value.") % p,
    "regulation-size": lambda p: _("The regulation is a share of the loaded voltage, such as 8%%.") % p,
    "regulation-of-copper": lambda p: (
        _(
            "No regulation is given. The winding voltages are taken at the rated currents: without load they are up to "
            "%(percent).0f %% higher, by the winding resistances. Give 0%% as the regulation if they are no-load "
            "voltages."
        )
        % p
    ),
    "regulation-assumed": lambda p: (
        _(
            "No regulation is given. The figures take the winding voltages as no-load, while ratings are judged "
            "%(percent).0f %% higher. Give the regulation, or 0%% if they are no-load voltages."
        )
        % p
    ),
    "setting-size": lambda p: _("The setting is a share of the track, from 0 to 1.") % p,
    "not-a-number": lambda p: _("%(key)s is “%(typed)s”. It must be a number.") % p,
    "unreadable-figure": lambda p: _("%(key)s: %(reason)s") % {"key": p["key"], "reason": message_for(p["inner"])},
    "winding-missing": lambda p: _("A transformer needs at least one winding."),
    "winding-ends": lambda p: _("%(key)s: a winding has two ends, or an end, a centre tap and an end.") % p,
    "valve-type-missing": lambda p: _("The type is missing. A valve needs one, for example ECC83."),
    "lamp-ohms-missing": lambda p: _("A lamp needs its resistance, or its voltage with its current or power."),
    "thermistor-hot": lambda p: _(
        "A thermistor needs its hot resistance (ohms) and the current at which it has that resistance (amps)."
    ),
    "thermistor-cold": lambda p: _(
        "The hot resistance of a thermistor must be below its cold resistance, which is its value."
    ),
    "neon-strike": lambda p: (
        _("The striking voltage is %(typed)s. It must be above the maintaining voltage, which is the value.") % p
    ),
    "choke-ohms-missing": lambda p: _("A choke needs its DC resistance."),
    "winding-ohms-missing": lambda p: (
        _("Winding %(winding)s needs its resistance, or its voltage and current with the transformer’s regulation.") % p
    ),
    "primary-missing": lambda p: _("No winding is named “primary”."),
    "two-nodes": lambda p: _("Name the two nodes that it joins, %(first)s first.") % p,
    "terminals-missing": lambda p: (
        _("Join each of its ends to a point: %(terminals)s.") % {"terminals": _list(p["terminals"])}
    ),
    "terminal-missing": lambda p: _unjoined(p),
    "unknown-terminal": lambda p: (
        _("%(key)s is not a terminal of this part. The terminals are %(terminals)s.")
        % {"key": p["key"], "terminals": _list(p["terminals"])}
    ),
    "node-name": lambda p: _("%(key)s must be the name of a node.") % p,
    "pin-without-node": lambda p: _("%(key)s has a pin but is not joined to a node.") % p,
    "pin-twice": lambda p: _("Pin %(pin)s is given twice: for %(terminal)s and for %(key)s.") % p,
    "unknown-pin": lambda p: _("It has no pin %(pin)s.") % p,
    "led-drop": lambda p: _("This is an LED. Name its colour, or give the voltage and current of its model."),
    "unknown-rectifier": lambda p: (
        _("The rectifier valve %(type)s is not known. Give the voltage and current of its model.") % p
    ),
    "valve-model": lambda p: (
        _("The model of the %(type)s cannot be used. %(reason)s")
        % {"type": p["type"], "reason": part_message(p["inner"])}
    ),
    "valve-parameters": lambda p: _(
        "A valve model takes mu, ex, kg1, kp, kvb and, where needed, vct, kg2, exs and fall."
    ),
    "valve-fall": lambda p: _("A valve model’s fall is from 0 to %(most)g.") % p,
    "valve-parameter": lambda p: _("%(name)s must be above zero.") % p,
    "unknown-valve": lambda p: (
        _("No model of the %(type)s is known. Give it a model of its own, or use one of %(types)s.")
        % {"type": p["type"], "types": ", ".join(p["types"])}
    ),
    "valve-kind": lambda p: _("The %(type)s is not a %(kind)s.") % p,
    "model-figure": lambda p: _("%(name)s is not a figure of its model. Accepted: %(known)s.") % p,
    "model-pair": lambda p: (
        _("Its model gives %(given)s and also needs %(missing)s, from the same point of the data sheet.") % p
    ),
    "threshold-size": lambda p: _("The threshold is %(typed)s V. It must be within 100 V of zero.") % p,
    "p-threshold": lambda p: (
        _("The threshold is %(typed)s V. A p-channel MOSFET’s is below zero, as in its data sheet, for example −3.") % p
    ),
    "duplicate-ref": lambda p: _("Two parts have this reference."),
    # Wires that should not be there.
    "shorted-supply": lambda p: _("It feeds a shorted supply: %(node)s is joined directly to its return.") % p,
    "opposed-primaries": lambda p: (
        _("Winding %(winding)s is joined the other way round across the primary: the two oppose each other.") % p
    ),
    "winding-on-one-wire": lambda p: _("Both ends of winding %(winding)s are joined directly: it is shorted.") % p,
    "opposed-windings": lambda p: (
        _(
            "Windings %(winding)s and %(other)s are connected in parallel and do not match: a current"
            " flows between them."
        )
        % p
    ),
    "joined-to-itself": lambda p: _("Both ends are joined to node %(node)s.") % p,
    "capacitor-shorted": lambda p: _by(
        p, _("It is shorted: %(nodes)s are joined directly."), _("It is shorted: %(parts)s join %(nodes)s.")
    ),
    "winding-shorted": lambda p: _by(
        p,
        _("A winding is shorted: %(nodes)s are joined directly."),
        _("A winding is shorted: %(parts)s join %(nodes)s."),
    ),
    "diodes-short": lambda p: (
        _("A diode is the wrong way round: %(diodes)s short winding %(winding)s of %(transformer)s without a load.")
        % {**p, "diodes": _list(p["diodes"])}
    ),
    "mains-live": _mains_live,
    "mains-dc-path": lambda p: (
        _("There is a DC path from the mains (%(node)s) to the chassis. The transformer must keep them apart.") % p
    ),
    # Pieces that lead nowhere.
    "isolated-pieces": lambda p: (
        _("%(parts)s are joined to each other but not to the rest of the circuit.") % {"parts": _list(p["parts"])}
    ),
    "loose-end": lambda p: _("Nothing else is joined to node %(node)s.") % p,
    "not-fed": lambda p: _("No DC path leads from a supply to node %(node)s.") % p,
    "electrode-without-dc": lambda p: (
        _("There is no DC path from its %(electrode)s (node %(node)s) to the chassis.") % p
    ),
    "positive-feedback": lambda p: _(
        "Its output drives its non-inverting input, so it latches at one of its supplies. Are its inputs swapped?"
    ),
    "no-dc": lambda p: (
        _("Node %(node)s has no DC voltage: only %(parts)s join it to the rest.")
        % {"node": p["node"], "parts": _list(p["parts"])}
    ),
    "heater-unjoined": lambda p: _("The heater is not joined at both ends: nothing heats this valve."),
    "winding-end-loose": lambda p: (
        _("The end of winding %(winding)s at %(node)s is loose: nothing else is joined to it.") % p
    ),
    "floating-heaters": lambda p: (
        _("The heaters on winding %(winding)s have no DC path to the chassis, so their DC voltage is undefined.") % p
    ),
    # Pins.
    "no-such-pin": lambda p: _("Pin %(pin)s does not exist: the base %(base)s has pins 1 to %(most)s.") % p,
    "pins-missing": lambda p: _("It has no pins, so no check can be read at its socket."),
    "pin-missing": lambda p: (
        _("%(terminals)s have no pin, so their place on the socket is not known.")
        % {"terminals": _list(p["terminals"])}
    ),
    "other-base": lambda p: _("The base is %(base)s, but the published base of the %(type)s is %(published)s.") % p,
    "other-pins": _other_pins,
    # The whole circuit.
    "unknown-node": lambda p: _("“%(point)s” is not a node of the circuit or a pin of a valve.") % p,
    "current-resistor": lambda p: (
        _("A current is read across one resistor. There is no single resistor between %(red)s and %(black)s.") % p
    ),
    "no-convergence": lambda p: _("The circuit cannot be solved. Look at the connections of %(worst)s first.") % p,
    "no-signal": lambda p: _("No signal is given for this check."),
    "no-signal-there": lambda p: _("No signal reaches these points."),
    "signal-into-chassis": lambda p: _("The signal is fed into the chassis. Name another point."),
    "power-is-off": lambda p: _("The power is off."),
    "builds-unsettled": lambda p: _("The circuit cannot be solved in %(lost)s of %(count)s good builds.") % p,
}


def part_message(error: ChecksError) -> str:
    """The sentence alone, without the part's name."""
    make = MESSAGES.get(error.code)
    try:
        return make(error.params) if make else message_for(error)
    except KeyError:  # an error of the same code that has nothing to do with a part
        return message_for(error)


def circuit_message(error: ChecksError) -> str:
    """The sentence with its part before it: “R10: Nothing else is joined to node x.”"""
    message, ref = part_message(error), error.params.get("ref")
    if not ref:
        return message
    return _("%(part)s: %(message)s") % {"part": ref, "message": message}
