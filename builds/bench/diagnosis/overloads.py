"""Readings with the power on that may mean an overload: while one of them is off, the power is to be off."""

from builds.bench.gates.facts import Facts
from builds.bench.models import Build, CheckStatus, Reading
from builds.bench.valves.as_fitted import as_fitted, load_guide_as_fitted
from builds.guides.circuit.specs import specs_or_none
from builds.guides.guide_cache import load_guide
from checks.diagnosis import overload
from checks.outcomes import Outcome

OUT = (Outcome.OUT_OF_BAND.value, Outcome.SWITCH_OFF.value)


def is_out(reading: Reading) -> bool:
    return reading.outcome in OUT


def may_mean_overload(build: Build, check, reading: Reading) -> bool:
    """May this reading, which is off and was taken with the power on, mean that a part is overloaded?"""
    band, parts = as_fitted(build, check).band, specs_or_none(load_guide_as_fitted(build))
    return overload.may_mean_overload(
        check.measure,
        overload.find_point(parts, check.red),
        None if reading.over_range else reading.true_value,
        reading.over_range or reading.deviation > 0,
        band is not None and band.stop_above is not None,
        reading.high,
    )


def overloaded(build: Build, facts: Facts) -> CheckStatus | None:
    """The latest reading on record, not passed since, that may mean an overload. No query where nothing powered is
    out."""
    out = [pk for pk, state in facts.check_states.items() if state.outcome in OUT and not state.passed]
    live = load_guide(build.revision).powered.intersection(out) if out else ()
    if not live:
        return None
    rows = build.statuses.filter(check_row__in=live).select_related("latest", "check_row__stage__revision")
    suspects = [row for row in rows if may_mean_overload(build, row.check_row, row.latest)]
    for row in suspects:
        row.latest.check_row = row.check_row
    return max(suspects, key=lambda row: row.latest.at, default=None)


def must_power_be_off(build: Build, facts: Facts) -> bool:
    """Is there such a reading?"""
    return overloaded(build, facts) is not None
