"""A part of a guide's parts list, read for the circuit: numbers in SI, and which terminal joins which node.

A part comes as the mapping a guide file has. Everything wrong with it is found here and named by reference, key and
line.
"""

from dataclasses import dataclass, field
from functools import partial
from typing import Any

from checks.circuit.netlist import sources
from checks.circuit.netlist.op_amps import OP_AMP, op_amp_model
from checks.circuit.netlist.own_figures import own_figures
from checks.circuit.netlist.terminals import VALVES, list_pins, list_terminals
from checks.circuit.netlist.transistors import TRANSISTORS, list_figures
from checks.circuit.valves.tested import MeasuredPoint
from checks.codes import parse_part_value
from checks.errors import ChecksError
from checks.finite import finite_arguments, refuse_unreal
from checks.quantity import Tolerance, parse_quantity, parse_tolerance

KINDS = {
    "resistor": "Ω",
    "potentiometer": "Ω",
    "capacitor": "F",
    "electrolytic": "F",
    "inductor": "H",
    "zener": "V",
    "fuse": "A",
    "lamp": "",
    "neon": "V",
    "thermistor": "Ω",
    "mains transformer": "",
    "output transformer": "",
    "diode": "",
    "bridge": "",
    "triode": "",
    "pentode": "",
    "twin triode": "",
    "rectifier valve": "",
    **dict.fromkeys(TRANSISTORS, ""),
    **dict.fromkeys(sources.TERMINALS, "V"),
    OP_AMP: "",
    "switch": "",
    "link": "",
    "connector": "",
    "hardware": "",
    "test resistor": "Ω",
    "test battery": "V",
}
NEEDS_VALUE: tuple[str, ...] = (
    "resistor",
    "potentiometer",
    "capacitor",
    "electrolytic",
    "inductor",
    "zener",
    "neon",
    "thermistor",
)
NEEDS_VALUE += tuple(sources.TERMINALS)
TRANSFORMERS = ("mains transformer", "output transformer")
# Where a parts list states none: the usual grades (common practice).
USUAL_TOLERANCE = {
    "resistor": 0.05,
    "potentiometer": 0.2,
    "capacitor": 0.1,
    "electrolytic": 0.2,
    "inductor": 0.1,
    "zener": 0.05,
    "neon": 0.1,
    "thermistor": 0.2,
    **sources.USUAL_TOLERANCE,
}


@dataclass(frozen=True)
class Winding:
    """One winding: volts (rms at rated amps, per half when centre-tapped), whole ohms, and two or three nodes. A tapped
    winding is two or more that share the taps' nodes (coils.py puts them together). For signals: the impedance in ohms
    the whole winding is made for (turns go as its root; a piece of a tapped one has the square of its share), its
    inductance and leakage inductance in H."""

    name: str
    nodes: tuple[str, ...]
    volts: float | None = None
    amps: float | None = None
    ohms: float | None = None
    tolerance: Tolerance | None = None
    ohms_tolerance: Tolerance | None = None
    impedance: float | None = None
    inductance: float | None = None
    leakage_inductance: float | None = None

    def __post_init__(self):
        refuse_unreal(self, "volts", "amps", "ohms", "impedance", "inductance", "leakage_inductance", least=0)


@dataclass(frozen=True)
class PartSpec:
    """One part in SI units. `joins` maps terminal to node ("a.grid" for a section); `pins` maps socket pin to terminal,
    `pin_of` terminal to socket pin. `own_tolerance` is what the list states, `tolerance` that or the usual grade.
    `figures` are a transistor's, op-amp's or regulator's own `model`, assumed ones filled in; `tested` is what was
    measured of this very valve, by section."""

    ref: str
    kind: str
    line: int | None = None
    value: float | None = None
    tolerance: Tolerance = Tolerance(0.0, 0.0)
    own_tolerance: Tolerance | None = None
    ohms_tolerance: Tolerance | None = None
    power: float | None = None
    volts: float | None = None
    amps: float | None = None
    ohms: float | None = None
    leakage: float | None = None
    regulation: float | None = None
    type: str = ""
    base: str = ""
    setting: float = 0.5
    open_when_off: bool = False
    joins: dict = field(default_factory=dict)
    pins: dict = field(default_factory=dict)
    pin_of: dict = field(default_factory=dict)
    windings: tuple[Winding, ...] = ()
    limits: dict = field(default_factory=dict)
    model: dict = field(default_factory=dict)
    figures: dict = field(default_factory=dict)
    tested: dict = field(default_factory=dict)

    def __post_init__(self):
        refuse_unreal(self, "value", "power", "volts", "amps", "ohms", "leakage", "regulation", "setting")

    @property
    def nodes(self) -> tuple[str, ...]:
        """Every node the part touches, windings' included."""
        return (*self.joins.values(), *(n for w in self.windings for n in w.nodes))

    def wrong(self, key: str, why: str, code: str, **params) -> ChecksError:
        """An error that names this part, the key and, where it is known, the guide's line. `why` is for developers:
        the site makes its sentence from `code` and `params` (builds/ui/messages/parts_list.py)."""
        return _wrong(self.ref, self.line, key, why, code, **params)


def _wrong(ref: str, line: int | None, key: str, why: str, code: str, **params) -> ChecksError:
    place = f" (line {line})" if line else ""
    return ChecksError(f"{ref}{place}: {key} {why}", argument=key, code=code, ref=ref, line=line, key=key, **params)


@finite_arguments
def require_figure(figure: float | None) -> float:
    """A figure that must be there for a part to have been read at all. Raises ChecksError where it is not."""
    if figure is None:
        raise ChecksError("A figure of this part is missing.", code="missing-figure")
    return figure


def part_from_mapping(mapping: dict, line: int | None = None) -> PartSpec:
    """Read one [[part]] table. Raises ChecksError ("R10 (line 45): value …") for what cannot be a part of a circuit."""
    ref = str(mapping.get("ref", "")).strip() or "A part"
    kind = mapping.get("kind", "")
    if kind not in KINDS:
        raise _wrong(ref, line, "kind", f"is “{kind}”; it takes {', '.join(KINDS)}.", "unknown-kind", kind=kind)
    joins, pins = list_terminals(mapping, lambda key, why, code, **params: _wrong(ref, line, key, why, code, **params))
    numbers: dict[str, Any] = {
        key: _number(mapping, ref, line, key, unit)
        for key, unit in (("power", "W"), ("volts", "V"), ("amps", "A"), ("ohms", "Ω"), ("leakage", "A"))
    }
    model, limits = (own_figures(mapping, key, partial(_wrong, ref, line)) for key in ("model", "limits"))
    part = PartSpec(
        ref,
        kind,
        line,
        _value(mapping, ref, line),
        **_tolerances(mapping, ref, line),
        **numbers,
        regulation=_percent(mapping, ref, line),
        type=_type(mapping),
        base=str(mapping.get("base", "")),
        setting=_setting(mapping, ref, line),
        open_when_off=bool(mapping.get("open_when_off")),
        joins=joins,
        pins=pins,
        pin_of=list_pins(mapping),
        windings=_windings(mapping, ref, line),
        limits=limits,
        model=model,
        figures=_sheet(kind, mapping, model, ref, line),
        tested={section: MeasuredPoint(**row) for section, row in (mapping.get("tested") or {}).items()},
    )
    _refuse_incomplete(part)
    return part


def _type(mapping) -> str:
    """A diode's value says what it is, as its type does: "LED, red"."""
    names = (mapping.get("type"), mapping.get("value") if mapping["kind"] == "diode" else "")
    return " ".join(str(name) for name in names if name)


def _number(mapping, ref, line, key, unit, where="") -> float | None:
    text = mapping.get(key)
    if text in (None, ""):
        return None
    try:
        value = (parse_part_value if key == "value" else parse_quantity)(str(text), unit).value
    except ChecksError as error:
        raise _wrong(ref, line, where + key, f"cannot be read. {error}", "unreadable-figure", inner=error) from error
    if value is None or value < 0 or (value == 0 and key not in ("leakage", "regulation")):
        raise _wrong(ref, line, where + key, f"is “{text}”; it must be above zero.", "not-above-zero", typed=str(text))
    return value


def _value(mapping, ref, line) -> float | None:
    kind = mapping["kind"]
    if not KINDS[kind]:
        return None
    if kind in NEEDS_VALUE and not mapping.get("value"):
        raise _wrong(ref, line, "value", f"is missing: a {kind} needs it.", "value-missing", kind=kind)
    return _number(mapping, ref, line, "value", KINDS[kind])


def _tolerances(mapping, ref, line) -> dict:
    own, usual = _tolerance(mapping, ref, line, "tolerance"), USUAL_TOLERANCE.get(mapping["kind"], 0.0)
    return {
        "tolerance": own or Tolerance(usual, usual),
        "own_tolerance": own,
        "ohms_tolerance": _tolerance(mapping, ref, line, "ohms_tolerance"),
    }


def _tolerance(mapping, ref, line, key, where="") -> Tolerance | None:
    text = mapping.get(key)
    if not text:
        return None
    try:
        tolerance = parse_tolerance(text)
    except ChecksError as error:
        raise _wrong(ref, line, where + key, f"cannot be read. {error}", "unreadable-figure", inner=error) from error
    if tolerance.minus >= 1:
        raise _wrong(
            ref,
            line,
            where + key,
            f"is “{text}”: a part cannot fall to nothing.",
            "tolerance-too-wide",
            typed=str(text),
        )
    return tolerance


def _percent(mapping, ref, line) -> float | None:
    value = _number(mapping, ref, line, "regulation", "%")
    if value is not None and value >= 100:
        raise _wrong(ref, line, "regulation", "is a share of the loaded voltage, such as 8%.", "regulation-size")
    return None if value is None else value / 100


def _setting(mapping, ref, line) -> float:
    value = mapping.get("setting", 0.5)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
        raise _wrong(ref, line, "setting", "is a share of the track, from 0 to 1.", "setting-size")
    return float(value)


def _sheet(kind, mapping, model, ref, line) -> dict:
    """The figures of a transistor's, an op-amp's or a regulator's sheet."""
    wrong = partial(_wrong, ref, line)
    if kind in TRANSISTORS:
        return list_figures(kind, model, wrong)
    if kind == OP_AMP:
        return op_amp_model(model, wrong)
    if kind in sources.REGULATORS:
        return sources.regulator_model(kind, require_figure(_value(mapping, ref, line)), model, wrong)
    return {}


def _windings(mapping, ref, line) -> tuple[Winding, ...]:
    if mapping["kind"] not in TRANSFORMERS:
        return ()
    rows = mapping.get("winding") or []
    if not rows:
        raise _wrong(ref, line, "winding", "is missing: a transformer has at least one.", "winding-missing")
    return tuple(_winding(row, ref, line, n) for n, row in enumerate(rows, 1))


def _winding(row, ref, line, n) -> Winding:
    name = str(row.get("name") or n)
    where = f"winding {name}: "
    nodes = tuple(row.get("joins") or ())
    if len(nodes) not in (2, 3) or not all(isinstance(x, str) and x for x in nodes):
        raise _wrong(ref, line, where + "joins", "has two ends, or end, centre and end.", "winding-ends")
    volts, amps, ohms = (
        _number(row, ref, line, key, unit, where) for key, unit in (("volts", "V"), ("amps", "A"), ("ohms", "Ω"))
    )
    volts_tolerance, ohms_tolerance = (
        _tolerance(row, ref, line, key, where) for key in ("tolerance", "ohms_tolerance")
    )
    signal = (
        _number(row, ref, line, key, unit, where)
        for key, unit in (("impedance", "Ω"), ("inductance", "H"), ("leakage_inductance", "H"))
    )
    return Winding(name, nodes, volts, amps, ohms, volts_tolerance, ohms_tolerance, *signal)


def _refuse_incomplete(part: PartSpec):
    """What a single part must say before it can be calculated with."""
    if part.kind in VALVES and not part.type:
        raise part.wrong("type", "is missing: a valve is known by it.", "valve-type-missing")
    if part.kind == "lamp" and not (part.ohms or (part.volts and (part.amps or part.power))):
        raise part.wrong(
            "ohms", "is missing: a lamp needs its ohms, or its volts with amps or power.", "lamp-ohms-missing"
        )
    if part.kind == "thermistor" and not (part.ohms and part.amps):
        raise part.wrong("ohms", "is missing: give its hot ohms and the amps they hold at.", "thermistor-hot")
    if part.kind == "thermistor" and require_figure(part.ohms) >= require_figure(part.value):
        raise part.wrong("ohms", "is not below the cold resistance.", "thermistor-cold")
    strike = part.model.get("strike")
    if part.kind == "neon" and strike is not None and not require_figure(part.value) < strike < 1000:
        raise part.wrong("model.strike", "is not above the maintaining voltage.", "neon-strike", typed=f"{strike:g}")
    if part.kind == "inductor" and not part.ohms:
        raise part.wrong("ohms", "is missing: an inductor needs its DC resistance.", "choke-ohms-missing")
    for winding in part.windings:
        if not (winding.ohms or (part.regulation and winding.volts and winding.amps)):
            raise part.wrong(
                f"winding {winding.name}: ohms",
                "is missing: give it, or volts, amps and the regulation.",
                "winding-ohms-missing",
                winding=winding.name,
            )
    if part.kind == "mains transformer" and not any(w.name == "primary" for w in part.windings):
        raise part.wrong("winding", "has none named primary.", "primary-missing")
