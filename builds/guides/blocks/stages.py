"""Small-signal stages: triode, cathode follower, cathodyne and long-tailed pair."""

from django.utils.translation import gettext_lazy as _

from builds.guides.blocks.grid_paths import refuse_floating
from builds.guides.blocks.model import Answers, Ask, Block, Role
from checks.circuit.netlist.wires import CHASSIS
from checks.errors import ChecksError

TRIODES = ("twin triode", "triode")
COUPLING = ("capacitor", "electrolytic")
SECTION = Ask(
    "section",
    _("Section of the valve"),
    "choice",
    "a",
    (("a", _("a")), ("b", _("b")), ("", _("the only one"))),
    is_needed=False,
)


def base(a: Answers, role: str = "valve", section: str | None = None) -> str:
    """What the points at a valve are called: v1a for section a of V1."""
    part = "" if a.row(role)["kind"] != "twin triode" else (a["section"] if section is None else section)
    return f"{a.refs[role]}{part}".lower()


def find_section(a: Answers, role: str = "valve") -> str:
    """ "" for a valve with one section. Raises ChecksError where it has two and none is named."""
    is_twin = a.row(role)["kind"] == "twin triode"
    if is_twin and not a["section"]:
        raise ChecksError("missing", code="ask-missing", argument="section")
    return a["section"] if is_twin else ""


def lay_grid(a: Answers, grid: str, source: str, foot: str = CHASSIS) -> None:
    """From the input to a grid: coupling capacitor, leak to `foot` and stopper, as far as they are there. Without any
    of them the grid is the input. A potentiometer as the leak sets the volume: the grid is at its wiper."""
    at = source
    if a.has("cin"):
        at = f"{grid}.in" if a.has("stopper") or has_volume(a) else grid
        a.join("cin", source, at)
    elif not a.has("stopper") and not has_volume(a):
        at = grid
    if has_volume(a):
        wiper = f"{grid}.wiper" if a.has("stopper") else grid
        a.terminals("leak", {"top": at, "wiper": wiper, "bottom": foot})
        at = wiper
    elif a.has("leak"):
        a.join("leak", at, foot)
    if a.has("stopper"):
        a.join("stopper", at, grid)


def has_volume(a: Answers) -> bool:
    return a.has("leak") and a.row("leak")["kind"] == "potentiometer"


def grid_point(a: Answers, name: str) -> str:
    """A grid that nothing lies before is the input point itself."""
    return name if a.has("cin") or a.has("stopper") or has_volume(a) else a["input"]


def lay_triode(a: Answers) -> None:
    name, section = base(a), find_section(a)
    grid, cathode = grid_point(a, f"{name}.grid"), f"{name}.cathode" if a.has("rk") else CHASSIS
    a.electrodes("valve", section, {"anode": f"{name}.anode", "grid": grid, "cathode": cathode})
    a.join("load", a["rail"], f"{name}.anode")
    if a.has("rk"):
        a.join("rk", cathode, CHASSIS)
    if a.has("ck"):
        a.join("ck", cathode, CHASSIS)
    _input(a, grid)
    if a.has("jack_in"):
        a.terminals("jack_in", {"tip": a["input"], "sleeve": CHASSIS})
    if a.has("couple"):
        a.join("couple", f"{name}.anode", a["output"] or f"{name}.out")


def _input(a: Answers, grid: str, foot: str = CHASSIS) -> None:
    refuse_floating(a)
    if a.has("cin") or a.has("stopper") or has_volume(a):
        lay_grid(a, grid, a["input"], foot)
    elif a.has("leak"):
        a.join("leak", a["input"], foot)


JACK_IN = Role("jack_in", _("Input socket"), ("connector",), is_needed=False)
JACK_OUT = Role("jack_out", _("Output socket"), ("connector",), is_needed=False)
GRID_ROLES = (
    Role("cin", _("Input coupling capacitor"), COUPLING, 1e-10, 1e-6, False),
    Role("leak", _("Grid leak resistor"), ("resistor", "potentiometer"), 47e3, 22e6, is_needed=False),
    Role("stopper", _("Grid stopper resistor"), ("resistor",), 47, 150e3, is_needed=False),
)
TRIODE = Block(
    "triode",
    _("Triode stage"),
    _("A triode with its anode load and cathode resistor, from an input point to an output point."),
    (
        Role("valve", _("Valve"), TRIODES),
        Role("load", _("Anode load resistor"), ("resistor",), 10e3, 1e6),
        Role("rk", _("Cathode resistor"), ("resistor",), 47, 22e3, is_needed=False),
        Role("ck", _("Cathode bypass capacitor"), ("electrolytic", "capacitor"), 1e-7, 1e-2, False),
        *GRID_ROLES,
        Role("couple", _("Output coupling capacitor"), COUPLING, 1e-10, 1e-4, False),
        JACK_IN,
    ),
    (
        SECTION,
        Ask("rail", _("Supply point"), "point", "ht.2"),
        Ask("input", _("Input point"), "point", "in"),
        Ask("output", _("Output point (after the capacitor)"), "point", "", is_needed=False),
    ),
    lay_triode,
)


def lay_follower(a: Answers) -> None:
    name, section = base(a), find_section(a)
    grid = grid_point(a, f"{name}.grid")
    a.electrodes("valve", section, {"anode": a["rail"], "grid": grid, "cathode": f"{name}.cathode"})
    a.join("rk", f"{name}.cathode", CHASSIS)
    _input(a, grid)
    out = a["output"] or f"{name}.out"
    if a.has("cout"):
        a.join("cout", f"{name}.cathode", out)
    if a.has("rout"):
        a.join("rout", out if a.has("cout") else f"{name}.cathode", CHASSIS)
    if a.has("jack_out"):
        a.terminals("jack_out", {"tip": out if a.has("cout") else f"{name}.cathode", "sleeve": CHASSIS})


FOLLOWER = Block(
    "follower",
    _("Cathode follower"),
    _("A triode with its anode at the rail; the output is at its cathode."),
    (
        Role("valve", _("Valve"), TRIODES),
        Role("rk", _("Cathode resistor"), ("resistor",), 1e3, 1e6),
        *GRID_ROLES,
        Role("cout", _("Output coupling capacitor"), COUPLING, 1e-8, 1e-3, False),
        Role("rout", _("Output resistor to chassis"), ("resistor",), 10e3, 10e6, is_needed=False),
        JACK_OUT,
    ),
    (
        Ask("section", _("Section of the valve"), "choice", "b", SECTION.choices, is_needed=False),
        Ask("rail", _("Supply point"), "point", "ht.2"),
        Ask("input", _("Input point"), "point", "v1a.anode"),
        Ask("output", _("Output point (after the capacitor)"), "point", "out", is_needed=False),
    ),
    lay_follower,
)


def lay_cathodyne(a: Answers) -> None:
    name, section = base(a), find_section(a)
    grid, tap = grid_point(a, f"{name}.grid"), f"{name}.tap" if a.has("rbias") else f"{name}.cathode"
    a.electrodes("valve", section, {"anode": f"{name}.anode", "grid": grid, "cathode": f"{name}.cathode"})
    a.join("load", a["rail"], f"{name}.anode")
    if a.has("rbias"):
        a.join("rbias", f"{name}.cathode", tap)
    a.join("rk", tap, CHASSIS)
    _input(a, grid, tap)
    for role, start, end in (("ca", f"{name}.anode", "output_a"), ("cb", f"{name}.cathode", "output_b")):
        if a.has(role):
            a.join(role, start, a[end])


CATHODYNE = Block(
    "cathodyne",
    _("Cathodyne phase splitter"),
    _("A triode with equal loads in anode and cathode, for two outputs of opposite phase."),
    (
        Role("valve", _("Valve"), TRIODES),
        Role("load", _("Anode load resistor"), ("resistor",), 4.7e3, 220e3),
        Role("rk", _("Cathode load resistor"), ("resistor",), 4.7e3, 220e3),
        Role(
            "rbias", _("Bias resistor (the grid leak goes to its lower end)"), ("resistor",), 220, 10e3, is_needed=False
        ),
        *GRID_ROLES,
        Role("ca", _("Output capacitor at the anode"), COUPLING, 1e-9, 1e-5, False),
        Role("cb", _("Output capacitor at the cathode"), COUPLING, 1e-9, 1e-5, False),
    ),
    (
        SECTION,
        Ask("rail", _("Supply point"), "point", "ht.2"),
        Ask("input", _("Input point"), "point", "v1a.anode"),
        Ask("output_a", _("Output point at the anode"), "point", "drive.1"),
        Ask("output_b", _("Output point at the cathode"), "point", "drive.2"),
    ),
    lay_cathodyne,
)


def lay_pair(a: Answers) -> None:
    ref = a.refs["valve"].lower()
    cathode, foot = f"{ref}.cathodes", f"{ref}.tail" if a.has("rk") else f"{ref}.cathodes"
    refuse_floating(a)
    if not a.has("leak2"):
        raise ChecksError("leak", code="no-grid-leak", argument="leak2")
    for section, load, leak in (("a", "load1", "leak"), ("b", "load2", "leak2")):
        is_input = section == "a" and not a.has("cin")  # the stage before it has the capacitor
        grid = a["input"] if is_input else f"{ref}{section}.grid"
        a.electrodes("valve", section, {"anode": f"{ref}{section}.anode", "grid": grid, "cathode": cathode})
        a.join(load, a["rail"], f"{ref}{section}.anode")
        if a.has(leak):
            is_direct = not a.has("leak")  # grid a has its volts from the stage before, and grid b the same from it
            a.join(leak, grid, a["input"] if is_direct else foot)
    if a.has("rk"):
        a.join("rk", cathode, foot)
    a.join("tail", foot, CHASSIS)
    if a.has("cin"):
        a.join("cin", a["input"], f"{ref}a.grid")
    a.join("cg", f"{ref}b.grid", CHASSIS)
    for role, section, end in (("ca", "a", "output_a"), ("cb", "b", "output_b")):
        if a.has(role):
            a.join(role, f"{ref}{section}.anode", a[end])


PAIR = Block(
    "pair",
    _("Long-tailed pair"),
    _("Both sections of a twin triode with a common tail, for two outputs of opposite phase."),
    (
        Role("valve", _("Valve"), ("twin triode",)),
        Role("load1", _("Anode load, section a"), ("resistor",), 22e3, 330e3),
        Role("load2", _("Anode load, section b"), ("resistor",), 22e3, 330e3),
        Role("rk", _("Bias resistor"), ("resistor",), 100, 4.7e3, is_needed=False),
        Role("tail", _("Tail resistor"), ("resistor",), 4.7e3, 220e3),
        Role("leak", _("Grid leak, section a"), ("resistor",), 220e3, 2.2e6, is_needed=False),
        Role("leak2", _("Grid leak, section b"), ("resistor",), 220e3, 2.2e6, is_needed=False),
        Role("cin", _("Input coupling capacitor"), COUPLING, 1e-9, 1e-6, False),
        Role("cg", _("Capacitor from grid b to chassis"), COUPLING, 1e-9, 1e-6),
        Role("ca", _("Output capacitor, section a"), COUPLING, 1e-9, 1e-5, False),
        Role("cb", _("Output capacitor, section b"), COUPLING, 1e-9, 1e-5, False),
    ),
    (
        Ask("rail", _("Supply point"), "point", "ht.2"),
        Ask("input", _("Input point"), "point", "v1a.out"),
        Ask("output_a", _("Output point, section a"), "point", "drive.1"),
        Ask("output_b", _("Output point, section b"), "point", "drive.2"),
    ),
    lay_pair,
)


def lay_unused(a: Answers) -> None:
    """A section that nothing uses picks up hum and drifts where it hangs free: all of it goes to the chassis."""
    a.electrodes("valve_half", a["section"], dict.fromkeys(("anode", "grid", "cathode"), CHASSIS))


UNUSED = Block(
    "unused",
    _("Unused section"),
    _("A section of a twin triode that the kit does not use: anode, grid and cathode joined to chassis."),
    (Role("valve_half", _("Valve"), ("twin triode",)),),
    (Ask("section", _("Section of the valve"), "choice", "b", SECTION.choices[:2]),),
    lay_unused,
)
