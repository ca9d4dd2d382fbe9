"""Sentences of the builder's pages: power, progress, and what comes next."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.ui.formatting import format_figure, percent, short_number
from checks.meter import ASSUMED_AC_HERTZ, LEAST_AC_HERTZ


def power_label(is_powered: bool, not_fitted) -> str:
    """The power state of a stage: "Power on, without V1, V2"."""
    if not is_powered:
        return _("Power off")
    if not_fitted:
        return _("Power on, without %(valves)s") % {"valves": ", ".join(not_fitted)}
    return _("Power on")


def remaining_label(steps: int, checks: int, photos: int) -> str:
    """What is left to do in a stage: "2 steps to tick, 1 check to pass"."""
    counted = [
        (steps, ngettext("%(n)s step to tick", "%(n)s steps to tick", steps)),
        (checks, ngettext("%(n)s check to pass", "%(n)s checks to pass", checks)),
        (photos, ngettext("%(n)s photo to add", "%(n)s photos to add", photos)),
    ]
    return ", ".join(text % {"n": n} for n, text in counted if n) or _("nothing left to do")


def gate_reason(title: str, remaining: str) -> str:
    return _("“%(stage)s” is a gate. Still to do there: %(remaining)s.") % {"stage": title, "remaining": remaining}


def halt_reason(reason: str) -> str:
    return _("The designer has closed this stage for every build: %(reason)s") % {"reason": reason}


def stop_reason() -> str:
    return _("A reading was past its stop limit. Log a made-safe reading first.")


def power_reason() -> str:
    return _("The kit has had power since it was last made safe. Log a made-safe reading first.")


def out_label(out: int, conceded: int) -> str:
    """The checks out of band in a stage; empty when there are none."""
    if not out:
        return ""
    if conceded == out:
        return ngettext("%(n)s out of band, conceded", "%(n)s out of band, conceded", out) % {"n": out}
    if conceded:
        return ngettext(
            "%(n)s out of band, %(conceded)s of them conceded", "%(n)s out of band, %(conceded)s of them conceded", out
        ) % {"n": out, "conceded": conceded}
    return ngettext("%(n)s out of band", "%(n)s out of band", out) % {"n": out}


def progress_label(ticked: int, steps: int, passed: int, checks: int) -> str:
    """How far a stage is, with what it has: "3 of 9 steps, 2 of 4 checks"."""
    done_steps = ngettext("%(ticked)s of %(n)s step", "%(ticked)s of %(n)s steps", steps) % {
        "ticked": ticked,
        "n": steps,
    }
    done_checks = ngettext("%(passed)s of %(n)s check", "%(passed)s of %(n)s checks", checks) % {
        "passed": passed,
        "n": checks,
    }
    return ", ".join(text for n, text in ((steps, done_steps), (checks, done_checks)) if n)


def next_step(number: int) -> str:
    return _("Next: step %(number)s") % {"number": number}


def next_photo(number: int) -> str:
    return _("Next: add the photo of step %(number)s") % {"number": number}


def next_check(title: str) -> str:
    return _("Next reading: %(check)s") % {"check": title}


def next_make_safe(number: int) -> str:
    return _("Make safe, then step %(number)s") % {"number": number}


def next_stage(title: str) -> str:
    return _("Next stage: %(stage)s") % {"stage": title}


def make_safe_then(title: str) -> str:
    return _("Make safe, then %(stage)s") % {"stage": title}


def back_to_build() -> str:
    return _("Back to the build")


def sign_off() -> str:
    return _("All stages done: go to sign-off")


def next_switch_off() -> str:
    return _("Switch off, then make safe")


def next_causes(title: str) -> str:
    return _("Find the cause: %(title)s") % {"title": title}


def by_figures_as_issued() -> str:
    """In place of a verdict's sentence, where the check was corrected since its guide was issued."""
    return _(
        "The guide was corrected here after it was issued, and this verdict still uses the old figures. Compare your "
        "reading with the correction. If it does not fit, switch off, make the kit safe and report a snag."
    )


def made_safe(reading: str) -> str:
    return _(
        "Made safe at %(reading)s. Leave the black lead clipped on and check the voltage after a few minutes: the "
        "charge can creep back."
    ) % {"reading": reading}


def judged_by_other() -> str:
    """Of an entry that a phone kept while what it is judged by was changed elsewhere."""
    return _(
        "Not saved: the meter, the mains voltage or a valve was changed after this reading was taken. "
        "Measure again, and save the new reading."
    )


def not_safe(reading: str, limit: float) -> str:
    return _(
        "%(reading)s is not safe: the limit is %(limit)s V DC. Keep your hands out. Wait, discharge the supply through "
        "the resistor, then log its voltage once more."
    ) % {"reading": reading, "limit": short_number(limit)}


def not_surely_safe(reading: str, limit: float) -> str:
    """Of a reading below the limit, which the meter may show too low."""
    return _(
        "%(reading)s is not safe: with what your meter may be off by, it may be more than %(limit)s V DC. Keep your "
        "hands out. Wait, discharge the supply through the resistor, then log its voltage once more."
    ) % {"reading": reading, "limit": short_number(limit)}


def derived_limit(outcome: str, limit: str) -> str:
    """A figure against its limit, with the symbol of the outcome."""
    if outcome == "within":
        return _("✓ within %(limit)s") % {"limit": limit}
    if outcome == "over":
        return _("✗ over %(limit)s") % {"limit": limit}
    return _("≈ too close to the limit of %(limit)s to call") % {"limit": limit}


def meter_heading() -> str:
    return _("Meter")


def meter_at_frequency(hertz: float, spec) -> str:
    """What a meter's reading is worth beyond the frequencies of its manual (spec: checks.meter.MeterSpec)."""
    top, figures = spec.ac_hertz or ASSUMED_AC_HERTZ, {"hertz": format_figure(hertz, "Hz")}
    low, high = (format_figure(f, "Hz") for f in (LEAST_AC_HERTZ, top))
    figures |= {"low": low, "high": high, "share": percent(spec.frequency_doubt(hertz))}
    if spec.ac_hertz is None:
        return (
            _(
                "The frequency range of your meter’s AC volts is not known, so %(low)s to %(high)s is assumed. "
                "At %(hertz)s the true voltage may differ by %(share)s from what it shows, and is usually "
                "higher. If its manual gives a wider range, enter that with your meter’s figures."
            )
            % figures
        )
    return (
        _(
            "Your meter’s AC volts are specified from %(low)s to %(high)s. At %(hertz)s the true voltage may "
            "differ by %(share)s from what it shows, and is usually higher. If you have a meter that is "
            "specified at this frequency, use it."
        )
        % figures
    )


def signal_heading() -> str:
    return _("Signal")


def expected_heading() -> str:
    return _("Expected")


def band_heading(follows_mains: bool) -> str:
    return _("Band at your mains") if follows_mains else _("Band")


def rating_heading() -> str:
    return _("Part rating")


def guide_is_past() -> str:
    return _("The guide’s own figure exceeds this rating. Ask the designer before you leave it switched on.")


def corrected_heading() -> str:
    return _("Corrected")


def stop_above_heading() -> str:
    return _("Switch off above")


def stop_below_heading() -> str:
    return _("Switch off below")


def no_band_yet() -> str:
    return _("None yet: your reading helps to set it.")


def not_connected(limit: str) -> str:
    return _("Not connected: %(limit)s or more") % {"limit": limit}


def limits(low: str | None, high: str | None) -> str:
    """A band by its limits, of which one may be missing."""
    if low and high:
        return _("%(low)s to %(high)s") % {"low": low, "high": high}
    if low:
        return _("at least %(limit)s") % {"limit": low}
    return _("at most %(limit)s") % {"limit": high} if high else ""


def current_across(current: str, resistor: str) -> str:
    return _("%(current)s through %(resistor)s") % {"current": current, "resistor": resistor}


def discharge_sentence(discharge, start: float, limit: float) -> str:
    """Why the wait is as long as it is (discharge: checks.discharge.Discharge)."""
    return _(
        "This is the worst case for discharging %(capacitors)s (up to %(energy)s J) through %(bleeders)s, from "
        "%(start)s to below %(limit)s."
    ) % {
        "capacitors": ", ".join(discharge.capacitors),
        "energy": short_number(float(f"{discharge.joules:.2g}")),
        "bleeders": ", ".join(discharge.bleeders),
        "start": format_figure(start, "V"),
        "limit": f"{short_number(limit)} V",
    }


def worksheet_mains(nominal: int) -> str:
    """What the bands of a worksheet hold at."""
    return _(
        "Bands apply at your %(volts)s V mains. Unless you measured it in this session, they "
        "allow for the permitted range of the supply."
    ) % {"volts": nominal}


def rewired(volts: int) -> str:
    """Why the mains of a build that has had power is not changed to another tap."""
    return _(
        "This kit has had power with its transformer wired for %(volts)s V. A different mains voltage needs "
        "another tap, and every reading must be taken again: ask the designer for a new build."
    ) % {"volts": volts}


def chart_title(kind: str) -> str:
    return _("Voltage chart") if kind == "voltage" else _("Resistance chart")


def typed_limits(check) -> str:
    """A check's figures as its designer typed them, for the snag that is about it."""
    if check.low or check.high:
        return _("Band: %(low)s to %(high)s.") % {"low": check.low or "–", "high": check.high or "–"}
    if check.at_least:
        return _("Band: at least %(limit)s.") % {"limit": check.at_least}
    if check.at_most:
        return _("Band: at most %(limit)s.") % {"limit": check.at_most}
    if check.expected and check.band:
        return _("Expected: %(figure)s ± %(band)s.") % {"figure": check.expected, "band": check.band}
    return _("Expected: %(figure)s.") % {"figure": check.expected} if check.expected else ""


def part_label(part) -> str:
    """A line of the parts list: "resistor, 180R, ±5%, bag 3"."""
    bag = _("bag %(bag)s") % {"bag": part.bag} if part.bag else ""
    tolerance = f"±{part.tolerance}" if part.tolerance else ""
    return ", ".join(text for text in (part.kind, part.value, tolerance, bag, part.note) if text)


def meter_description(spec) -> str:
    """What a meter can tell (spec: checks.meter.MeterSpec)."""
    kind = _("Analogue meter") if spec.kind == "analogue" else _("Digital meter")
    accuracy = _("DC volts ±%(percent)s %%") % {"percent": short_number(spec.dc_volts.percent)}
    if spec.input_ohms:
        loading = _("input %(resistance)s") % {"resistance": format_figure(spec.input_ohms, "Ω")}
    else:
        loading = _("%(resistance)s per volt") % {"resistance": format_figure(spec.ohms_per_volt, "Ω")}
    top = _("AC volts up to %(hertz)s") % {"hertz": format_figure(spec.ac_hertz or ASSUMED_AC_HERTZ, "Hz")}
    return "; ".join((kind, accuracy, top, loading))
