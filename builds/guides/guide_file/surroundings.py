"""What a row of a guide asks of the others: that its parts, nodes and checks exist, and that no probe touches mains."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.guide_file import shape
from builds.guides.mains_side import CHASSIS, MainsSide
from builds.guides.models import UNITS
from builds.ui.drawings.socket import BASES
from checks.band import parse_band
from checks.circuit.valves.pinouts import is_pin_of
from checks.errors import ChecksError
from checks.measures import FLOWING, OHMS


@dataclass(frozen=True)
class Surroundings:
    """A guide's rows by name, as far as they can be read."""

    parts: dict[str, dict]
    locations: dict[str, str]  # of its points, in words, by node
    checks: frozenset[str]  # keys of all checks
    mains: MainsSide
    nodes: frozenset[str]

    @classmethod
    def of(cls, data: dict) -> "Surroundings":
        parts = {row["ref"]: row for row in _tables(data, "part") if isinstance(row.get("ref"), str)}
        locations = {
            p["node"]: str(p.get("words", "")) for p in _tables(data, "point") if isinstance(p.get("node"), str)
        }
        checks = {
            check["key"]
            for stage in _tables(data, "stage")
            for check in _tables(stage, "check")
            if isinstance(check.get("key"), str)
        }
        mains = MainsSide.of(list(parts.values()))
        return cls(parts, locations, frozenset(checks), mains, frozenset({CHASSIS, *locations, *mains.all_nodes}))

    @property
    def kinds(self) -> dict:
        return {ref: part.get("kind") for ref, part in self.parts.items()}

    def known_refs(self, row: dict, key: str):
        for ref in row.get(key, []):
            if ref not in self.parts:
                yield key, self._no_part(ref)

    def _no_part(self, ref: str) -> str:
        return _("%(ref)s is not in the parts list.") % {"ref": ref}

    def check_rules(self, row: dict, power: str):
        """Yield (key, message) of a check whose own row is good; (key, message, True) where it could hurt a builder."""
        if not isinstance(row.get("red"), str) or not isinstance(row.get("black", ""), str):
            return
        forbidden = self.mains.is_forbidden(row, power, self.locations)
        if forbidden:
            yield forbidden, mains_message(), True
        if power == "on" and row.get("measure") in OHMS:
            yield (
                "measure",
                _("Never use an ohmmeter on a live circuit. Move this check to a stage with the power off."),
                True,
            )
        for end in ("red", "black"):
            yield from self._known_place(end, row.get(end) or CHASSIS)
        yield from self._refuse_one_place(row)
        yield from self._through(row)
        yield from self._signal(row, power)
        for hint in row.get("hint", []):
            yield from self._leads_on(row, hint)

    def _known_place(self, end: str, place: str):
        has_words = place.startswith("=") and place[1:].strip()
        if has_words or place in self.nodes or place in self.mains.pins:
            return
        ref, _dot, pin = place.partition(".")
        part = self.parts.get(ref, {})
        base = BASES.get(part.get("base", "")) if part.get("kind") in shape.VALVES else None
        if base and not is_pin_of(base.name, pin):
            yield (
                end,
                _("%(place)s is not a pin: %(ref)s has the base %(base)s, with pins %(ref)s.1 to %(ref)s.%(most)d.")
                % {"place": place, "ref": ref, "base": base.name, "most": base.pins},
            )
        elif not base:
            yield (
                end,
                _(
                    "“%(place)s” is not a node of a part, a pin of a valve or a point of this guide. "
                    "Your own words begin with an equals sign, such as =the + tag of C1."
                )
                % {"place": place},
            )

    def _refuse_one_place(self, row: dict):
        red, black = row["red"], row.get("black") or CHASSIS
        if red == black:
            yield "black", _("Both probes are on %(place)s. Put them on two different points.") % {"place": red}
            return
        is_flow = row["measure"] in FLOWING
        if is_flow and self.mains.node(red) == self.mains.node(black) and not _may_be_zero(row):
            yield (
                "black",
                _("The circuit joins %(red)s and %(black)s directly, so this always reads zero.")
                % {"red": red, "black": black},
            )

    def _signal(self, row: dict, power: str):
        """The signal's places exist and are off the mains; it passes with the power on."""
        signal = row.get("signal")
        if not isinstance(signal, dict) or not signal:
            return
        for key in ("into", "load_at"):
            place = signal.get(key)
            if not isinstance(place, str) or not place:
                continue
            if self.mains.node(place) in self.mains.nodes:
                yield (
                    "signal",
                    _("Do not connect anything to the mains. Choose a point other than %(place)s.") % {"place": place},
                    True,
                )
            elif self.mains.node(place) == CHASSIS:
                yield (
                    "signal",
                    _("A signal or a load is connected between its point and the chassis. Choose another point."),
                )
            elif place.startswith("=") or (place not in self.mains.all_nodes and place not in self.mains.pins):
                yield "signal", _("“%(place)s” is not a node or a pin of a part.") % {"place": place}
        if power != "on":
            yield "signal", _("A signal or ripple is measured with the power on.")

    def _through(self, row: dict):
        ref = row.get("through")
        if not ref:
            return
        part = self.parts.get(ref)
        if part is None:
            yield "through", self._no_part(ref)
        elif part.get("kind") != "resistor" or not part.get("value"):
            message = _("%(ref)s is not a resistor with a value. Name the resistor the current goes through.")
            yield "through", message % {"ref": ref}
        elif not row["red"].startswith("=") and not (row.get("black") or "").startswith("="):
            joins = part.get("joins")
            ends = {self.mains.node(row["red"]), self.mains.node(row.get("black") or CHASSIS)}
            if isinstance(joins, list) and {*map(str, joins)} != ends:
                yield (
                    "through",
                    _("The probes are not at the ends of %(ref)s, which joins %(nodes)s.")
                    % {"ref": ref, "nodes": ", ".join(map(str, joins))},
                )

    def _leads_on(self, row: dict, hint):
        target = hint.get("next") if isinstance(hint, dict) else None
        if not target or not isinstance(target, str):
            return
        if target not in self.checks:
            yield "hint", _("A hint links to “%(key)s”, which is not the key of a check.") % {"key": target}
        elif target == row.get("key"):
            yield "hint", _("A hint links back to its own check. Name another check, or none.")


def mains_message() -> str:
    return _(
        "No check may put a probe on the mains. Only two readings are accepted there, with an ohmmeter and the "
        "power off: the protective earth, and a plug that is pulled out of the wall. Read the mains voltage on a "
        "plug-in meter."
    )


def _may_be_zero(row: dict) -> bool:
    figures = {name: row.get(name, "") for name in ("band", "low", "high", "at_least", "at_most")}
    try:
        band = parse_band(unit=UNITS[row["measure"]], expected=row.get("expected", ""), **figures)
    except ChecksError:
        return False
    return band.contains(0)


def _tables(data: dict, name: str) -> list[dict]:
    rows = data.get(name, [])
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
