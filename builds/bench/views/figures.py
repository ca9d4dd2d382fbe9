"""The figures of a check as its page leads with them: in what the meter shows, the derived quantity under it."""

from dataclasses import dataclass

from django.utils.translation import get_language

from builds.bench.readings.context import ReadingContext
from builds.guides.check_signals import signal_label
from builds.guides.guide_texts import load_guide_in
from builds.guides.models import Check
from builds.guides.row_labels import correction_note
from builds.ui.formatting import format_figure
from builds.ui.messages import bench as texts
from builds.ui.messages.circuit import limit_source
from checks.band import Band


@dataclass(frozen=True)
class Figure:
    """A labelled figure: "Expected", "284 V", and notes in small type under it."""

    label: str
    figure: str
    notes: tuple[str, ...] = ()
    is_stop: bool = False
    is_signal: bool = False  # what to connect, in a sentence
    follows: bool = False  # a sentence below the figures: on a phone those and the field come first


def list_figures(
    check: Check,
    band: Band | None,
    ohms: float | None,
    source: str,
    follows_mains: bool,
    ratings=(),
    past=(),
    meter_note="",
) -> list[Figure]:
    """Expected value, band and stop limits. `ohms`: the resistor a current is read across, as volts; the volts lead.
    `ratings`: the limits (RatedLimit) of parts, where no designer gave one; `past`: those that the band itself reaches
    past. What the builder connects for a signal leads; what the meter is worth at its frequency follows."""
    first = [Figure(texts.signal_heading(), _signal(check), is_signal=True)] if check.signal else []
    first += [Figure(texts.meter_heading(), meter_note, is_signal=True, follows=True)] if meter_note else []
    corrected = correction_note(check)
    first += [Figure(texts.corrected_heading(), corrected, is_signal=True, follows=True)] if corrected else []
    if band is None:
        return [*first, Figure(texts.band_heading(follows_mains), texts.no_band_yet())]
    rows = first
    if band.expected is not None:
        figure, notes = _shown(check, ohms, band.expected, source)
        if ohms:  # the first note says which current it is; under the limits the figure alone is enough
            notes = (texts.current_across(notes[0], check.through), *notes[1:])
        rows.append(Figure(texts.expected_heading(), figure, notes))
    limits, notes = _limits(check, band, ohms)
    rows.append(Figure(texts.band_heading(follows_mains), limits, notes))
    stops = ((band.stop_above, texts.stop_above_heading), (band.stop_below, texts.stop_below_heading))
    rows += [
        Figure(heading(), *_shown(check, ohms, limit, *_rated_by(ratings, limit)), is_stop=True)
        for limit, heading in stops
        if limit is not None
    ]
    return rows + [_past(check, ohms, rating) for rating in past]


def _past(check, ohms, rating) -> Figure:
    """A rating that the guide's own figure is past: a reading that is right by the guide may still harm the part."""
    figure, notes = _shown(check, ohms, rating.value, limit_source(rating.of, rating.ref), texts.guide_is_past())
    return Figure(texts.rating_heading(), figure, notes, is_stop=True)


def describe_meter(reading: ReadingContext) -> str:
    """What the builder's meter is worth at a check's frequency; empty where its manual reaches it."""
    if reading.hertz is None or not reading.meter.frequency_doubt(reading.hertz):
        return ""
    return texts.meter_at_frequency(reading.hertz, reading.meter)


def _signal(check: Check) -> str:
    guide = load_guide_in(check.stage.revision, get_language())
    return signal_label(check.signal, guide.probes)


def _rated_by(ratings, limit: float) -> list[str]:
    return [limit_source(rating.of, rating.ref) for rating in ratings if rating.value == limit]


def _text(value: float, unit: str) -> str:
    return format_figure(value, unit).replace(" ", "\N{NO-BREAK SPACE}")


def _shown(check, ohms, value, *more) -> tuple[str, tuple[str, ...]]:
    """What the meter shows for a value, and under it the current that this is."""
    if not ohms:
        return _text(value, check.unit), more
    return _text(value * ohms, "V"), (_text(value, check.unit), *more)


def _limits(check, band, ohms) -> tuple[str, tuple[str, ...]]:
    if band.is_open:
        return texts.not_connected(_text(band.low, check.unit)), ()
    if not ohms:
        return _range(band, lambda value: _text(value, check.unit)), ()
    amps = _range(band, lambda value: _text(value, check.unit))
    return _range(band, lambda value: _text(value * ohms, "V")), (amps,)


def _range(band, text) -> str:
    low, high = (None if x is None else text(x) for x in (band.low, band.high))
    return texts.limits(low, high)
