"""Two recordings of one signal as rows of differences and drawings laid over each other."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from builds.bench.models import Recording
from builds.bench.recordings.loopback import with_card
from builds.review.amplifier.compared_curves import HUM_U, mains_rows, response_rows
from builds.review.amplifier.compared_rows import Row, level_row
from builds.ui.drawings.curves import response_plot, spectrum_plot
from builds.ui.drawings.plot import Plot
from builds.ui.formatting import format_figure, number, short_number
from builds.ui.moments import format_moment
from checks.derived import Estimate
from checks.tone.comparison import Better, compare_levels

MASK = 1.0  # dB on both sides of the reference's response
LINES_MASK = 3.0  # dB above and below the reference's spectrum
ONE_LEVEL = 1.0  # dB within which two tones are of one output
CLEAR = 3.0  # times its uncertainty, from which a distortion is told from noise
LOWEST = -140.0  # dBr: below it nothing is told apart


@dataclass(frozen=True)
class Comparison:
    """One channel of two recordings."""

    rows: list[Row]
    plots: list[Plot]
    notes: tuple[str, ...] = ()  # why some differences say nothing of the amplifiers


def make_names(pair: list[Recording]) -> list[str]:
    """The two as the pages name them; by their moments where they are of one build."""
    if len({row.build_id for row in pair}) == 1:
        return [_("recording of %(moment)s") % {"moment": format_moment(row.at)} for row in pair]
    return [make_name(row) for row in pair]


def make_name(recording: Recording) -> str:
    """A recording by its build."""
    build = recording.build
    return _("build %(serial)s, revision %(letter)s") % {"serial": build.serial, "letter": build.revision.letter}


def compare(first: Recording, second: Recording) -> list[Comparison]:
    """One a channel that both have. Both are of the same signal."""
    name = make_names([first, second])[1]
    (one, knows_one), (other, knows_other) = with_card(first), with_card(second)
    scales = [row.scale_u / row.scale if row.scale and row.scale_u else 0.0 for row in (first, second)]
    comparisons = []
    for a, b in zip(one, other, strict=False):
        if a["is_usable"] and b["is_usable"]:
            same = _Same(8.686 * math.hypot(*scales), knows_one and knows_other, _is_of_one_level(a, b))
            comparisons.append(Comparison([*_rows(a, b, same)], [*_plots(a, b, name)], tuple(_notes(a, b, same))))
    return comparisons


@dataclass(frozen=True)
class _Same:
    """What two recordings have in common: `scale_u`, in dB, is by how much their volts may be apart; whether each
    card's own noise is known, and whether both tones were played at one level."""

    scale_u: float
    cards_known: bool
    level: bool


def _is_of_one_level(a: dict, b: dict) -> bool:
    """Distortion goes with output. Where the volts are not known, nobody can tell."""
    if not ("tone" in a and "tone" in b and a["in_volts"] and b["in_volts"]):
        return True
    apart = 20 * math.log10(max(a["tone"]["rms"], 1e-12) / max(b["tone"]["rms"], 1e-12))
    return abs(apart) <= ONE_LEVEL


def _notes(a: dict, b: dict, same: _Same) -> Iterator[str]:
    if not same.level:
        volts = {"first": format_figure(a["tone"]["rms"], "V"), "second": format_figure(b["tone"]["rms"], "V")}
        yield (
            _(
                "The tones were recorded at different outputs, %(first)s and %(second)s. Distortion depends on the "
                "output, so neither is called better."
            )
            % volts
        )
    if "noise" in a and "noise" in b and not same.cards_known:
        yield _(
            "The noise of at least one of the sound cards is not known, so the noise is not judged. Record the sound "
            "card by itself."
        )
    if "response" in a and "response" in b:
        yield _("The response is not judged: whether it should be flat depends on the design.")


def _rows(a: dict, b: dict, same: _Same) -> Iterator[Row]:
    in_volts = a["in_volts"] and b["in_volts"]
    if "tone" in a and "tone" in b:
        rows = _tone_rows(a["tone"], b["tone"])
        yield from rows if same.level else map(_unjudged, rows)
    if "hum" in a and "hum" in b and in_volts:
        yield from level_row(_("Hum"), a["hum"]["rms"], b["hum"]["rms"], math.hypot(HUM_U, same.scale_u))
        yield from mains_rows(a["hum"], b["hum"], same.scale_u)
    if "noise" in a and "noise" in b and in_volts:
        u = math.hypot(a["noise"]["u"], b["noise"]["u"], same.scale_u)
        for key, name in (("rms", _("Noise, unweighted")), ("weighted", _("Noise, A-weighted"))):
            (first, is_first_floor), (second, is_second_floor) = _own_noise(a, key), _own_noise(b, key)
            rows = level_row(name, first, second, u)
            is_judged = same.cards_known and not (is_first_floor and is_second_floor)
            yield from rows if is_judged else map(_unjudged, rows)
    if "response" in a and "response" in b:
        yield from _edge_rows(a["response"], b["response"])
        for row in response_rows(a["response"], b["response"]):
            yield row if row.difference and row.difference.better is Better.NEITHER else _unjudged(row)


def _own_noise(table: dict, key: str) -> tuple[float, bool]:
    """RMS without the card's own where that is known, and whether it is no more than the card's."""
    own = table.get("noise_without_card", {}).get(key)
    return (own["rms"], own["is_floor"]) if own else (table["noise"][key], False)


def _unjudged(row: Row) -> Row:
    return row if row.difference is None else replace(row, difference=replace(row.difference, better=Better.UNKNOWN))


def _tone_rows(a: dict, b: dict) -> Iterator[Row]:
    names = {"thd": _("Total harmonic distortion"), "thd_without_second": _("Distortion without the second harmonic")}
    for key, name in names.items():
        yield from _share_row(name, Estimate(a[key], a["thd_u"]), Estimate(b[key], b["thd_u"]))
    other = {h["order"]: h for h in b["harmonics"]}
    for harmonic in a["harmonics"]:
        second = other.get(harmonic["order"])
        if second is None or harmonic["mains_order"] or second["mains_order"]:
            continue
        if not (harmonic["is_seen"] or second["is_seen"]):
            continue
        one, two = (Estimate(max(h["level"], LOWEST), min(h["u"], 10.0)) for h in (harmonic, second))
        figures = [_("%(level)s dBr") % {"level": number(known.value, 1)} for known in (one, two)]
        yield Row(_("Harmonic %(order)d") % harmonic, figures[0], figures[1], compare_levels(one, two))


def _share_row(name: str, a: Estimate, b: Estimate) -> Iterator[Row]:
    """Nothing where either is lost in noise."""
    if all(share.value > CLEAR * share.u for share in (a, b)):
        one, two = (Estimate(20 * math.log10(s.value), math.hypot(0.1, 8.686 * s.u / s.value)) for s in (a, b))
        first, second = format_figure(100 * a.value, "%"), format_figure(100 * b.value, "%")
        yield Row(name, first, second, compare_levels(one, two))


def _edge_rows(a: dict, b: dict) -> Iterator[Row]:
    for drop, edges in a["edges"].items():
        pairs = zip(edges, b["edges"].get(drop, [None, None]), strict=True)
        names = (_("Lower −%(drop)s dB point"), _("Upper −%(drop)s dB point"))
        for sentence, pair in zip(names, pairs, strict=True):
            first, second = (format_figure(edge, "Hz") if edge else _("not reached") for edge in pair)
            yield Row(sentence % {"drop": short_number(float(drop))}, first, second)


def _plots(a: dict, b: dict, name: str) -> Iterator[Plot]:
    if "spectrum" in a and "spectrum" in b:
        yield spectrum_plot(a, (name, b), LINES_MASK)
    if "response" in a and "response" in b:
        yield response_plot(a["response"], (name, b["response"]), MASK)
