"""Output stages: single-ended and push-pull, as triode, pentode or ultralinear, with cathode or fixed bias."""

from django.utils.translation import gettext_lazy as _

from builds.guides.blocks.model import WITH_A_METER, Answers, Ask, Block, Role
from checks.circuit.netlist.wires import CHASSIS
from checks.errors import ChecksError
from checks.quantity import format_quantity, parse_quantity

VALVES = ("pentode", "triode")
SINGLE_VALVES = (*VALVES, "twin triode")  # with both sections in parallel
ASKS = (
    Ask(
        "how",
        _("Screen grid"),
        "choice",
        "pentode",
        (
            ("pentode", _("to its own supply (pentode, tetrode)")),
            ("triode", _("to the anode (as a triode), or the valve is a triode")),
            ("taps", _("to a tap of the primary (ultralinear)")),
        ),
    ),
    Ask(
        "bias",
        _("Bias"),
        "choice",
        "cathode",
        (("cathode", _("cathode resistor")), ("fixed", _("fixed, from a bias supply"))),
    ),
    Ask("rail", _("Supply point of the transformer"), "point", "ht.1"),
    Ask("screen_rail", _("Supply point of the screens"), "point", "ht.2", is_needed=False),
    Ask("bias_point", _("Bias point, for fixed bias"), "point", "bias", is_needed=False),
    Ask("primary_ohms", _("Primary, resistance end to end"), "figure", unit="Ω", help=WITH_A_METER),
    Ask("secondary_ohms", _("Secondary, resistance"), "figure", unit="Ω", help=WITH_A_METER),
    Ask("tap", _("Ultralinear tap, percent of the turns"), "figure", "43 %", unit="%", is_needed=False),
    Ask("speaker", _("Loudspeaker point"), "point", "speaker"),
)
OUTPUT = Role("transformer", _("Output transformer"), ("output transformer",))
LOADS = (
    Role("jack", _("Loudspeaker socket, or its red terminal"), ("connector",), is_needed=False),
    Role("jack_minus", _("Black terminal, if there are two"), ("connector",), is_needed=False, beside="jack"),
    Role("load", _("Resistor across the loudspeaker"), ("resistor",), 47, 2.2e3, is_needed=False),
)


def _share(a: Answers) -> float:
    share = (parse_quantity(a["tap"] or "43 %", "%").value or 0) / 100
    if not 0.05 <= share <= 0.95:
        raise ChecksError("tap", code="tap-share", argument="tap")
    return share


def _secondary(a: Answers) -> None:
    a.winding("transformer", "secondary", (a["speaker"], CHASSIS), ohms=a["secondary_ohms"])
    if a.has("jack_minus"):
        a.join("jack", a["speaker"])
        a.join("jack_minus", CHASSIS)
    elif a.has("jack"):
        a.terminals("jack", {"tip": a["speaker"], "sleeve": CHASSIS})
    if a.has("load"):
        a.join("load", a["speaker"], CHASSIS)


def _said(a: Answers, ask: str) -> str:
    """A point that is asked for only in this case. Raises ChecksError where it was left out: the valve would be without
    its screen voltage, or without its bias."""
    if not a[ask]:
        raise ChecksError("missing", code="ask-missing", argument=ask)
    return a[ask]


def _valve(a: Answers, n: str, anode: str, tap: str, source: str, cathode: str) -> None:
    """One output valve with its grid and screen. `n` is "" or the number after its roles' names."""
    ref = a.refs[f"valve{n}"].lower()
    grid = f"{ref}.grid" if a.has(f"stopper{n}") else source
    joins = {"anode": anode, "grid": grid, "cathode": cathode}
    if a.row(f"valve{n}")["kind"] == "pentode":
        supply = {"triode": anode, "taps": tap}.get(a["how"]) or _said(a, "screen_rail")
        joins["screen"] = f"{ref}.screen" if a.has(f"screen{n}") else supply
        if a.has(f"screen{n}"):
            a.join(f"screen{n}", supply, joins["screen"])
    for section in ("a", "b") if a.row(f"valve{n}")["kind"] == "twin triode" else ("",):
        a.electrodes(f"valve{n}", section, joins)
    a.join(f"leak{n}", source, _said(a, "bias_point") if a["bias"] == "fixed" else CHASSIS)
    if a.has(f"stopper{n}"):
        a.join(f"stopper{n}", source, grid)


def _cathode(a: Answers, n: str, own: str) -> str:
    """Where a cathode goes; with fixed bias straight to the chassis, or by a small resistor to read its current."""
    if not a.has(f"rk{n}"):
        if a["bias"] == "cathode" and n in ("", "1"):
            raise ChecksError("missing", code="role-missing", argument=f"rk{n}")
        return CHASSIS
    a.join(f"rk{n}", own, CHASSIS)
    if a.has(f"ck{n}"):
        a.join(f"ck{n}", own, CHASSIS)
    return own


def lay_single(a: Answers) -> None:
    ref = a.refs["valve"].lower()
    anode, tap = f"{ref}.anode", f"{ref}.tap"
    if a["how"] == "taps":
        _tapped(a, (("primary", a["rail"], tap, _share(a)), ("primary upper", tap, anode, 1 - _share(a))))
    else:
        a.winding("transformer", "primary", (a["rail"], anode), ohms=a["primary_ohms"])
    _valve(a, "", anode, tap, a["input"], _cathode(a, "", f"{ref}.cathode"))
    _secondary(a)


def _tapped(a: Answers, pieces) -> None:
    """Windings that share a tap, the resistance by turns."""
    ohms = parse_quantity(a["primary_ohms"], "Ω").value or 0
    for name, one, other, share in pieces:
        a.winding("transformer", name, (one, other), ohms=format_quantity(share * ohms, "Ω", 3).replace(" ", ""))


SINGLE = Block(
    "single-ended",
    _("Single-ended output stage"),
    _("One output valve with its output transformer. The sections of a twin triode work in parallel."),
    (
        Role("valve", _("Output valve"), SINGLE_VALVES),
        OUTPUT,
        Role("leak", _("Grid leak resistor"), ("resistor",), 47e3, 1e6),
        Role("stopper", _("Grid stopper resistor"), ("resistor",), 100, 22e3, is_needed=False),
        Role("screen", _("Screen resistor"), ("resistor",), 10, 4.7e3, is_needed=False),
        Role("rk", _("Cathode resistor"), ("resistor",), 1, 2.2e3, is_needed=False),
        Role("ck", _("Cathode bypass capacitor"), ("electrolytic",), 1e-5, 1e-2, False),
        *LOADS,
    ),
    (Ask("input", _("Input point"), "point", "v1b.out"), *ASKS),
    lay_single,
)


def lay_push_pull(a: Answers) -> None:
    refs = [a.refs[f"valve{n}"].lower() for n in "12"]
    anodes, taps = [f"{ref}.anode" for ref in refs], [f"{ref}.tap" for ref in refs]
    if a["how"] == "taps":
        near, far = _share(a) / 2, (1 - _share(a)) / 2
        _tapped(
            a,
            (
                ("primary", anodes[0], taps[0], far),
                ("primary 2", taps[0], a["rail"], near),
                ("primary 3", a["rail"], taps[1], near),
                ("primary 4", taps[1], anodes[1], far),
            ),
        )
    else:
        a.winding("transformer", "primary", (anodes[0], a["rail"], anodes[1]), ohms=a["primary_ohms"])
    common = not a.has("rk2")
    own = f"{refs[0]}.cathodes" if common else f"{refs[0]}.cathode"
    first = _cathode(a, "1", own)
    second = first if common else _cathode(a, "2", f"{refs[1]}.cathode")
    _valve(a, "1", anodes[0], taps[0], a["input_1"], first)
    _valve(a, "2", anodes[1], taps[1], a["input_2"], second)
    _secondary(a)


def _side(n: str, first) -> tuple[Role, ...]:
    return (
        Role(f"valve{n}", first, VALVES),
        Role(f"leak{n}", _("Its grid leak resistor"), ("resistor",), 47e3, 1e6),
        Role(f"stopper{n}", _("Its grid stopper resistor"), ("resistor",), 100, 22e3, is_needed=False),
        Role(f"screen{n}", _("Its screen resistor"), ("resistor",), 10, 4.7e3, is_needed=False),
    )


PUSH_PULL = Block(
    "push-pull",
    _("Push-pull output stage"),
    _("Two output valves with a centre-tapped output transformer."),
    (
        *_side("1", _("First output valve")),
        *_side("2", _("Second output valve")),
        OUTPUT,
        Role("rk1", _("Cathode resistor (common, or the first)"), ("resistor",), 1, 2.2e3, is_needed=False),
        Role("ck1", _("Its bypass capacitor"), ("electrolytic",), 1e-5, 1e-2, False),
        Role("rk2", _("Second cathode resistor"), ("resistor",), 1, 2.2e3, is_needed=False),
        Role("ck2", _("Its bypass capacitor"), ("electrolytic",), 1e-5, 1e-2, False),
        *LOADS,
    ),
    (
        Ask("input_1", _("First input point"), "point", "drive.1"),
        Ask("input_2", _("Second input point"), "point", "drive.2"),
        *ASKS,
    ),
    lay_push_pull,
)
