"""The statistics of one check over its builds: first and last attempts apart, outliers, trend, what it depends on."""

from dataclasses import dataclass
from statistics import median

from builds.guides.circuit.stored import attach
from builds.review.correlations import Circumstances, correlate_check
from builds.review.findings_cache import meanings
from builds.review.proposals import list_rows
from builds.review.queries import list_checks
from builds.ui.messages.findings import agreement_sentence, band_widths, distance_to_limit
from checks.outcomes import Outcome
from checks.serials import natural
from checks.statistics.outliers import esd
from checks.statistics.proportions import wilson
from checks.statistics.summary import summarise

FEWEST_FOR_ESD = 5


def statistics(check, band, readings, snags: int) -> dict:
    """What the check's page shows. `readings`: all of the check, with builds at hand, by serial number and attempt."""
    statuses = list(list_rows([check]))
    meaning = _meaning(check)
    last = sorted({r.build_id: r for r in readings}.values(), key=lambda r: natural(r.build.serial))
    first = [r for r in readings if r.attempt == 1]
    known = [r for r in last if r.at_reference is not None]
    values = [r.at_reference for r in known]
    correlations = correlate_check(
        check, [(r.build_id, r.at, r.at_reference) for r in known], Circumstances(check.stage.revision)
    )
    return {
        "meaning": meaning.finding,
        "proposal": meaning.proposal,
        "agreement": meaning.agreement,
        "agreement_sentence": meaning.agreement and agreement_sentence(meaning.agreement, check.unit),
        "first": summarise(
            [r.at_reference for r in first if r.at_reference is not None], sum(r.over_range for r in first)
        ),
        "first_pass": wilson(sum(s.first_outcome == Outcome.IN_BAND for s in statuses), len(statuses)),
        "outliers": _outliers(known, values),
        "first_off": _off(first),
        "last_off": _off(last),
        "is_centred": bool(band) and band.low is not None and band.high is not None,
        "correlations": correlations,
        "any_reported": any(row.is_reported for row in correlations),
    }


def _meaning(check):
    """In the light of the guide's other checks."""
    checks = list_checks(check.stage.revision)
    for other in checks:
        other.stage.revision = check.stage.revision
    attach(check.stage.revision, checks)
    return meanings(checks)[check.pk]


@dataclass(frozen=True)
class Off:
    """How far the middle of some readings is from the figure: in band-widths, and as a distance to the limit."""

    widths: str
    distance: str


def _off(readings) -> Off | None:
    """None where no reading has a value."""
    known = [r.deviation for r in readings if r.at_reference is not None]
    return Off(band_widths(median(known)), distance_to_limit(median(known))) if known else None


def _outliers(known, values) -> list:
    """Readings that the generalised ESD test sets apart."""
    if len(values) < FEWEST_FOR_ESD:
        return []
    return [known[n] for n in esd(values).positions]
