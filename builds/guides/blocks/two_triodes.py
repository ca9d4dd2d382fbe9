"""Both sections of a twin triode as one block: two stages in cascade, and the cascode."""

from django.utils.translation import gettext_lazy as _

from builds.guides.blocks.grid_paths import refuse_floating
from builds.guides.blocks.model import Answers, Ask, Block, Role
from builds.guides.blocks.stages import COUPLING, JACK_IN
from checks.circuit.netlist.wires import CHASSIS
from checks.errors import ChecksError

LEAKS = ("resistor", "potentiometer")


def lay_cascade(a: Answers) -> None:
    ref = a.refs["valve"].lower()
    refuse_floating(a, "leak1")
    if a.has("couple1") and not a.has("leak2"):
        raise ChecksError("leak", code="no-grid-leak", argument="leak2")
    between = f"{ref}a.out" if a.has("couple1") else f"{ref}a.anode"
    _lay_stage(a, "a", "1", a["rail1"], a["input"])
    if a.has("couple1"):
        a.join("couple1", f"{ref}a.anode", between)
    _lay_stage(a, "b", "2", a["rail2"], between)
    if a.has("couple2"):
        a.join("couple2", f"{ref}b.anode", a["output"] or f"{ref}b.out")
    if a.has("jack_in"):
        a.terminals("jack_in", {"tip": a["input"], "sleeve": CHASSIS})


def _lay_stage(a: Answers, section: str, number: str, rail: str, source: str) -> None:
    """One triode of the cascade: its grid path from `source`, cathode and load."""
    name = f"{a.refs['valve'].lower()}{section}"
    cathode = f"{name}.cathode" if a.has(f"rk{number}") else CHASSIS
    grid = _lay_grid(a, name, number, source)
    a.electrodes("valve", section, {"anode": f"{name}.anode", "grid": grid, "cathode": cathode})
    a.join(f"load{number}", rail, f"{name}.anode")
    for role in (f"rk{number}", f"ck{number}"):
        if a.has(role):
            a.join(role, cathode, CHASSIS)


def _lay_grid(a: Answers, name: str, number: str, source: str) -> str:
    """The leak (a potentiometer sets the volume there) and the stopper; the point that the grid is at."""
    leak, stopper, at = f"leak{number}", f"stopper{number}", source
    if a.has(leak) and a.row(leak)["kind"] == "potentiometer":
        at = f"{name}.wiper"
        a.terminals(leak, {"top": source, "wiper": at, "bottom": CHASSIS})
    elif a.has(leak):
        a.join(leak, source, CHASSIS)
    if not a.has(stopper):
        return at
    a.join(stopper, at, f"{name}.grid")
    return f"{name}.grid"


def _stage_roles(number: str, leak: object, kinds: tuple[str, ...]) -> tuple[Role, ...]:
    first = number == "1"
    return (
        Role(f"load{number}", _("Anode load, first stage") if first else _("Anode load, second stage"),
             ("resistor",), 10e3, 1e6),
        Role(f"rk{number}", _("Cathode resistor, first stage") if first else _("Cathode resistor, second stage"),
             ("resistor",), 47, 22e3, is_needed=False),
        Role(f"ck{number}", _("Bypass capacitor, first stage") if first else _("Bypass capacitor, second stage"),
             ("electrolytic", "capacitor"), 1e-7, 1e-2, False),
        Role(f"leak{number}", leak, kinds, 47e3, 22e6, is_needed=False),
        Role(f"stopper{number}", _("Grid stopper, first stage") if first else _("Grid stopper, second stage"),
             ("resistor",), 47, 150e3, is_needed=False),
    )  # fmt: skip


CASCADE = Block(
    "cascade",
    _("Two triode stages in cascade"),
    _("Both sections of a twin triode, the first driving the second through a capacitor, or from its anode directly."),
    (
        Role("valve", _("Valve"), ("twin triode",)),
        *_stage_roles("1", _("Grid leak, first stage"), LEAKS),
        Role("couple1", _("Coupling capacitor between the stages"), COUPLING, 1e-10, 1e-5, False),
        *_stage_roles("2", _("Grid leak or volume control between the stages"), LEAKS),
        Role("couple2", _("Output coupling capacitor"), COUPLING, 1e-10, 1e-4, False),
        JACK_IN,
    ),
    (
        Ask("rail1", _("Supply point, first stage"), "point", "ht.3"),
        Ask("rail2", _("Supply point, second stage"), "point", "ht.2"),
        Ask("input", _("Input point"), "point", "in"),
        Ask("output", _("Output point (after the capacitor)"), "point", "", is_needed=False),
    ),
    lay_cascade,
)


def lay_cascode(a: Answers) -> None:
    """The lower triode's anode is the upper one's cathode; the upper grid is held by a divider and a capacitor."""
    ref = a.refs["valve"].lower()
    low, high, middle = f"{ref}a", f"{ref}b", f"{ref}.middle"
    refuse_floating(a, "leak1")
    cathode = f"{low}.cathode" if a.has("rk1") else CHASSIS
    a.electrodes("valve", "a", {"anode": middle, "grid": _lay_grid(a, low, "1", a["input"]), "cathode": cathode})
    a.electrodes("valve", "b", {"anode": f"{high}.anode", "grid": f"{high}.grid", "cathode": middle})
    a.join("load", a["rail"], f"{high}.anode")
    for role in ("rk1", "ck1"):
        if a.has(role):
            a.join(role, cathode, CHASSIS)
    a.join("rg1", a["rail"], f"{high}.grid")
    for role in ("rg2", "cg"):
        a.join(role, f"{high}.grid", CHASSIS)
    if a.has("couple"):
        a.join("couple", f"{high}.anode", a["output"] or f"{high}.out")
    if a.has("jack_in"):
        a.terminals("jack_in", {"tip": a["input"], "sleeve": CHASSIS})


CASCODE = Block(
    "cascode",
    _("Cascode"),
    _("Two triodes, one above the other: section a has the input, section b the load and a grid at a fixed voltage."),
    (
        Role("valve", _("Valve"), ("twin triode",)),
        Role("load", _("Anode load resistor"), ("resistor",), 10e3, 470e3),
        Role("rg1", _("Upper resistor of the grid divider"), ("resistor",), 47e3, 10e6),
        Role("rg2", _("Lower resistor of the grid divider"), ("resistor",), 22e3, 10e6),
        Role("cg", _("Capacitor from the upper grid to chassis"), COUPLING, 1e-8, 1e-3),
        Role("rk1", _("Cathode resistor"), ("resistor",), 47, 22e3, is_needed=False),
        Role("ck1", _("Cathode bypass capacitor"), ("electrolytic", "capacitor"), 1e-7, 1e-2, False),
        Role("leak1", _("Grid leak resistor"), LEAKS, 47e3, 22e6, is_needed=False),
        Role("stopper1", _("Grid stopper resistor"), ("resistor",), 47, 150e3, is_needed=False),
        Role("couple", _("Output coupling capacitor"), COUPLING, 1e-10, 1e-4, False),
        JACK_IN,
    ),
    (
        Ask("rail", _("Supply point"), "point", "ht.2"),
        Ask("input", _("Input point"), "point", "in"),
        Ask("output", _("Output point (after the capacitor)"), "point", "", is_needed=False),
    ),
    lay_cascode,
)
