"""The words that a person meets at the bench, each in a sentence or two. Trade words: common practice.

`also` are the other ways in which a text says it; the first place on a page where one stands is linked to the entry.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import pgettext


@dataclass(frozen=True)
class Term:
    key: str
    word: str
    meaning: str
    also: tuple[str, ...] = ()


def terms() -> list[Term]:
    """Every entry in the reader's language, by its word."""
    return sorted([*_circuit(), *_measuring(), *_working()], key=lambda term: term.word.casefold())


def _term(key: str, word: str, meaning: str, also: str = "") -> Term:
    return Term(key, word, meaning, tuple(spelling.strip() for spelling in also.split("|") if spelling.strip()))


def _circuit() -> list[Term]:
    return [
        _term(
            "b-plus",
            _("B+ (HT)"),
            _(
                "The high-voltage DC supply of the valves, 200 V to 500 V in most kits. It can kill, and it "
                "stays on the "
                "reservoir capacitor after switch-off."
            ),
            _("B+|HT|HT+"),
        ),
        _term(
            "heater",
            _("Heater"),
            _(
                "The wire inside a valve that glows and warms the cathode, often from 6.3 V AC. Without a"
                " warm heater, no current flows."
            ),
            _("heater|heaters"),
        ),
        _term("anode", _("Anode"), _("The electrode that collects the current; also called plate."), _("anode|anodes")),
        _term(
            "cathode",
            _("Cathode"),
            _("The heated electrode that the current of a valve comes from."),
            _("cathode|cathodes"),
        ),
        _term(
            "grid", _("Grid"), _("The electrode that controls a valve's current, at a low voltage."), _("grid|grids")
        ),
        _term(
            "screen",
            _("Screen grid"),
            _("The second grid of a tetrode or pentode. It carries a high voltage, close to B+."),
            _("screen grid|screen grids"),
        ),
        _term(
            "bias",
            _("Bias"),
            _(
                "The voltage between grid and cathode that sets a valve's resting current. Too little "
                "bias means too much current and a hot valve."
            ),
            _("bias"),
        ),
        _term(
            "reservoir",
            _("Reservoir"),
            _("The first large capacitor after the rectifier. It holds the charge that can hurt after switch-off."),
            _("reservoir"),
        ),
        _term(
            "bleeder",
            _("Bleeder"),
            _("A resistor across the reservoir that discharges it after switch-off. Never rely on it: measure."),
            _("bleeder|bleeders"),
        ),
        _term(
            "rectifier",
            _("Rectifier"),
            _("The diodes or the valve that turn the transformer's AC into DC."),
            _("rectifier"),
        ),
        _term(
            "chassis",
            _("Chassis"),
            _("The metal the kit is built on, joined to mains earth. Most readings are taken against it."),
            _("chassis"),
        ),
        _term(
            "tap",
            _("Primary tap"),
            _("The connection of the transformer's primary that suits your mains voltage."),
            _("tap|taps"),
        ),
        _term(
            "pin",
            _("Pin numbers"),
            _(
                "The pins of a valve socket are counted clockwise, seen from below, from the gap or the key. "
                "The wiring side "
                "is the side seen from below."
            ),
        ),
        _term(
            "lamp",
            _("Series lamp"),
            _(
                "A lamp in the mains lead that limits the current at first power. A lamp that stays bright "
                "means a short."
            ),
            _("series lamp|lamp limiter"),
        ),
    ]


def _measuring() -> list[Term]:
    return [
        _term(
            "expected",
            _("Expected value"),
            _("What a good build reads at this check, from the designer, the prototype or the circuit."),
            _("expected value|expected values"),
        ),
        _term(
            "band",
            _("Tolerance band"),
            _("The range in which a good build reads. In band is right; out of band has a cause that must be found."),
            _("tolerance band|tolerance bands|in band|out of band"),
        ),
        _term(
            "stop-limit",
            _("Stop limit"),
            _("If a reading passes it, switch off at once: a part is in danger, or you are."),
            _("stop limit|stop limits"),
        ),
        _term(
            "too-close",
            _("Too close to call"),
            _(
                "The reading is so near the edge of the band that your meter cannot tell on which side it "
                "lies. A second reading may settle it."
            ),
            _("too close to call"),
        ),
        _term(
            "ol",
            _("OL, over range"),
            _(
                "What a meter shows when the value is above its range; on the resistance range it means no "
                "connection. Type "
                "it as OL."
            ),
            pgettext("ways to say over range", "OL|over range"),
        ),
        _term(
            "continuity",
            _("Continuity"),
            _("A connection of nearly no resistance, where the meter beeps. Measured with the power off."),
            _("continuity"),
        ),
        _term(
            "isolation",
            _("Isolation"),
            _(
                "Two points are not connected: the meter shows a very high resistance or OL. Measured "
                "with the power off."
            ),
            _("isolation"),
        ),
        _term(
            "loading",
            _("Meter load"),
            _("A meter draws a little current and lowers what it measures. The site corrects for your meter's input."),
            _("meter’s load|meter load"),
        ),
        _term(
            "line",
            _("Mains voltage"),
            _(
                "What a plug-in meter shows at the outlet. Never measure it with ordinary probes. The bands are "
                "adjusted to it."
            ),
            _("mains voltage"),
        ),
        _term(
            "typing-error",
            _("Typing error"),
            _(
                "An entry that was not what the meter showed. Correct it and mark it as a typing error: it then "
                "does not count as a reading."
            ),
            _("typing error"),
        ),
        _term(
            "attempt",
            _("Attempt"),
            _("One reading of a check. Measuring again adds the next attempt; none is ever removed."),
            _("attempt|attempts"),
        ),
    ]


def _working() -> list[Term]:
    return [
        _term(
            "made-safe",
            _("Made safe"),
            _(
                "Switched off, unplugged, discharged, and measured below 60 V DC across the reservoir. "
                "Keep your hands out until that reading is logged."
            ),
            _("made safe|make safe|made-safe"),
        ),
        _term(
            "discharge",
            _("Discharge"),
            _(
                "After you have pulled the plug, drain the reservoir through a resistor, and check with the "
                "meter that no voltage is left."
            ),
            _("discharge|discharged"),
        ),
        _term(
            "gate",
            _("Gate"),
            _("A stage that must be done before any later stage opens. A gate comes before power."),
            pgettext("ways to say gate", "gate|gates"),
        ),
        _term("stage", _("Stage"), _("A part of the guide with its own power state: steps to do and checks to read.")),
        _term("step", _("Step"), _("One thing to do, ticked when it is done.")),
        _term("check", _("Check"), _("One reading to take: where the probes go, what to measure, what to expect.")),
        _term(
            "snag",
            _("Snag"),
            _("Anything that stopped or puzzled you, reported to the designer with words and photos."),
            _("snag|snags"),
        ),
        _term(
            "concession",
            _("Concession"),
            _(
                "The designer's written permission to continue although a reading is out of band. Never "
                "given for a stop."
            ),
            _("concession|concessions|conceded"),
        ),
        _term(
            "erratum",
            _("Erratum"),
            _("A correction of the guide that reaches every build at once. You confirm that you have read it."),
            _("erratum|errata"),
        ),
        _term(
            "session",
            _("Session"),
            _("One period of work at the bench. You confirm the cautions and the mains voltage once in each."),
            _("session"),
        ),
        _term(
            "revision",
            _("Revision"),
            _("One lettered version of the guide. An issued revision never changes."),
            _("revision"),
        ),
        _term(
            "carried-over",
            _("Carried over"),
            _("A check that passed under an earlier revision and still counts after your build moved."),
            _("carried over"),
        ),
    ]
