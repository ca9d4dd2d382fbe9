"""A recording's results as a page shows them: rows of figures, sentences and drawings, one set a channel."""

import math
from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.bench.models import Recording
from builds.bench.recordings.loopback import with_card
from builds.ui.drawings.curves import response_plot, spectrum_plot
from builds.ui.drawings.plot import Plot
from builds.ui.formatting import format_figure, number, percent, short_number
from builds.ui.messages.recordings import CHANNEL_LABELS, ORIGIN_TEXTS, lost_hum_text, remark_text
from checks.tone.hum import Origin
from checks.tone.trust import Doubt, Remark

LEAST_LOST = 0.1  # dB of hum that the sound card may have taken, worth a sentence


@dataclass(frozen=True)
class ChannelResults:
    """`rows` of (name, figure, note); `remarks` make the figures doubtful; `is_usable`: they count at all."""

    name: str
    is_usable: bool
    remarks: list[str]
    rows: list[tuple[str, str, str]]
    plots: list[Plot]


def result_pages(recording: Recording) -> tuple[list[ChannelResults], bool]:
    """One a channel, in the order left, right; and whether the sound card's own share is known."""
    names, (tables, is_known) = list(CHANNEL_LABELS.values()), with_card(recording)
    return [_channel(str(names[n]), table) for n, table in enumerate(tables)], is_known


def _channel(name: str, table: dict) -> ChannelResults:
    remarks = [remark_text(Remark(Doubt(r["doubt"]), r["figure"])) for r in table["remarks"]]
    if table["is_usable"] and table.get("hum", {}).get("lost", 0) >= LEAST_LOST:
        remarks.append(lost_hum_text(table["hum"]["lost"], table["hum"]["is_put_back"]))
    rows = [row for part in (_tone, _intermodulation, _hum, _noise, _response, _steps) for row in part(table)]
    return ChannelResults(name, table["is_usable"], remarks, rows, [*_plots(table)])


def _level(rms: float, table: dict) -> str:
    return format_figure(rms, "V") if table["in_volts"] else _("%(share)s of full scale") % {"share": percent(rms, 2)}


def _percent(share: float) -> str:
    """Two figures say how much, however small it is."""
    if share <= 1e-7:
        return _("none found")
    places = max(0, 1 - math.floor(math.log10(100 * share)))
    return _("%(number)s %%") % {"number": number(100 * share, places)}


def _tone(table: dict):
    tone = table.get("tone")
    if not tone:
        return
    yield _("Fundamental"), format_figure(tone["hertz"], "Hz", 7), _level(tone["rms"], table)
    yield _("Total harmonic distortion"), _percent(tone["thd"]), _("harmonics 2 to 10")
    yield _("Distortion without the second harmonic"), _percent(tone["thd_without_second"]), ""
    low, high = (format_figure(f, "Hz") for f in tone["band"])
    band = _("%(low)s to %(high)s") % {"low": low, "high": high}
    yield _("Distortion and noise"), _percent(tone["thd_plus_noise"]), band
    swamped = table.get("swamped", [])
    for harmonic in tone["harmonics"]:
        note = _on_mains(harmonic) or (_("close to the sound card’s own") if harmonic["order"] in swamped else "")
        level = _("%(level)s dBr") % {"level": number(harmonic["level"], 1)}
        yield _("Harmonic %(order)d") % harmonic, level if harmonic["is_seen"] else _("in the noise"), note


def _on_mains(harmonic: dict) -> str:
    return _("coincides with a mains harmonic: cannot be separated from hum") if harmonic["mains_order"] else ""


def _intermodulation(table: dict):
    products = table.get("intermodulation")
    if products:
        yield _("Intermodulation, second order"), _percent(products["second"]), ""
        yield _("Intermodulation, third order"), _percent(products["third"]), ""


def _hum(table: dict):
    hum = table.get("hum")
    if not hum:
        return
    yield _("Hum"), _level(hum["rms"], table), str(ORIGIN_TEXTS[Origin(hum["origin"])])
    for line in hum["lines"]:
        yield format_figure(line["hertz"], "Hz", 5), _level(line["rms"], table), ""


def _noise(table: dict):
    noise = table.get("noise")
    if not noise:
        return
    cleared = table.get("noise_without_card", {})
    for key, name in (("rms", _("Noise, unweighted")), ("weighted", _("Noise, A-weighted"))):
        note = ""
        if own := cleared.get(key):
            less = _("%(level)s without the sound card’s own noise") % {"level": _level(own["rms"], table)}
            note = _("the noise floor of the sound card") if own["is_floor"] else less
        yield name, _level(noise[key], table), note


def _response(table: dict):
    response = table.get("response")
    for drop, edges in (response or {}).get("edges", {}).items():
        for edge, sentence in zip(edges, (_("Lower −%(drop)s dB point"), _("Upper −%(drop)s dB point")), strict=True):
            figure = format_figure(edge, "Hz") if edge else _("not reached")
            yield sentence % {"drop": short_number(float(drop))}, figure, ""


def _steps(table: dict):
    for step in table.get("steps", []):
        level = _("%(level)s dB") % {"level": number(step["level"], 0)}
        yield _("Step at %(level)s") % {"level": level}, _level(step["rms"], table), _percent(step["thd"])


def _plots(table: dict):
    if "spectrum" in table:
        yield spectrum_plot(table)
    if "response" in table:
        yield response_plot(table["response"])
