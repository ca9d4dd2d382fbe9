"""Where the probes go: a socket pin to draw, a lead of a transistor, a node in words, or the designer's own words."""

from dataclasses import dataclass, field, replace

from django.utils.translation import gettext as _

from builds.guides.models import Check, Part, Point
from builds.guides.unnamed_points import JoinedLeads
from builds.ui.messages.terminals import terminal_label
from checks.circuit.valves.pinouts import CAP


@dataclass(frozen=True)
class Probe:
    """One probe point. `ref`, `pin` and `base` are empty unless it is a pin of a valve socket."""

    location: str
    ref: str = ""
    pin: str = ""
    base: str = ""
    picture: str = ""
    marker: tuple[float, ...] = ()


@dataclass(frozen=True)
class ProbeMap:
    """The parts and points of a revision, ready to look probe points up in without asking the database again."""

    valves: dict[str, Part]
    points: dict[str, Point]
    leaded: dict[str, Part] = field(default_factory=dict)  # transistors, regulators, op-amps with numbered leads
    joined: JoinedLeads = field(default_factory=JoinedLeads)

    @classmethod
    def of(cls, revision) -> "ProbeMap":
        valves = {part.ref: part for part in revision.parts.all() if part.detail.get("base")}
        pinned = (part for part in revision.parts.all() if part.detail.get("pins") and part.ref not in valves)
        points = {point.node: point for point in revision.points.all()}
        return cls(valves, points, {part.ref: part for part in pinned}, JoinedLeads.of(revision.parts.all()))

    def probe(self, text: str) -> Probe:
        if text.startswith("="):
            return Probe(text[1:].strip())
        pin = self._pin(text)
        if pin:
            return pin
        if text in self.points:
            point = self.points[text]
            probe = self._unnamed(text) if point.words in ("", text) else Probe(point.words)
            return replace(probe, picture=point.picture, marker=tuple(point.marker or ()))
        return self._unnamed(text)

    def _pin(self, text: str) -> Probe | None:
        """A pin of a socket or a numbered lead."""
        ref, _dot, pin = text.partition(".")
        if ref in self.valves and pin:
            valve = self.valves[ref]
            name = electrode_at(valve.detail.get("pins", {}), pin)
            return Probe(_pin_text(ref, pin, name), ref, pin, valve.detail["base"])
        if ref in self.leaded and pin:
            return Probe(_lead_text(ref, pin, electrode_at(self.leaded[ref].detail["pins"], pin)))
        return None

    def _unnamed(self, point: str) -> Probe:
        """A point without words of its own: its name in the circuit, and an end of a part that is joined to it. No
        socket is drawn, as the part may not be wired yet."""
        pin = self._pin(self.joined.pin_at(point))
        end = self.joined.capacitor_at(point) or (pin.location if pin else "")
        if end:
            return Probe(_("%(point)s, joined to %(end)s") % {"point": point, "end": end})
        parts = self.joined.parts_meeting(point)
        return Probe(_("%(point)s, where %(one)s and %(other)s meet") % ({"point": point} | parts) if parts else point)

    def pair(self, check: Check) -> tuple[Probe, Probe]:
        return self.probe(check.red), self.probe(check.black)


def _pin_text(ref: str, pin: str, electrode: str) -> str:
    at = {"ref": ref, "pin": pin, "electrode": terminal_label(electrode)}
    if pin == CAP:
        return _("%(ref)s top cap (%(electrode)s)") % at if electrode else _("%(ref)s top cap") % at
    return _("%(ref)s pin %(pin)s (%(electrode)s)") % at if electrode else _("%(ref)s pin %(pin)s") % at


def _lead_text(ref: str, lead: str, terminal: str) -> str:
    at = {"ref": ref, "lead": lead, "terminal": terminal_label(terminal)}
    return _("%(ref)s lead %(lead)s (%(terminal)s)") % at if terminal else _("%(ref)s lead %(lead)s") % at


def electrode_at(pins: dict, pin: str) -> str:
    """The electrode on a pin: "anode", "grid a", "heater"; empty when the pin is not named."""
    for name, place in pins.items():
        if isinstance(place, dict):
            inner = electrode_at(place, pin)
            if inner:
                return f"{inner} {name}"
        elif str(pin) in ([str(p) for p in place] if isinstance(place, list) else [str(place)]):
            return name.replace("_", " ")
    return ""


def marked(check: Check, red: Probe, pictures: dict) -> dict | None:
    """The picture that shows a check's point, its size and the marker's place on it in the picture's own pixels."""
    name, marker = (check.picture, check.marker) if check.picture else (red.picture, red.marker)
    picture = pictures.get(name)
    if not picture:
        return None
    if len(marker) != 2:
        return {"picture": picture, "marker": ()}
    x, y = marker[0] * picture.width, marker[1] * picture.height
    return {
        "picture": picture,
        "marker": (x, y),
        "x": f"{x:.0f}",
        "y": f"{y:.0f}",
        "radius": f"{picture.width / 25:.0f}",
    }
