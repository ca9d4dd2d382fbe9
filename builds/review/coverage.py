"""What a revision's checks would show of its kit's faults, by their own bands."""

from dataclasses import replace

from builds.guides.circuit.stored import attach
from builds.guides.circuit.titles import with_title
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.review.queries import list_checks
from checks.diagnosis import Coverage, Prepared, coverage


def compute_coverage(revision, prepared: Prepared) -> Coverage:
    """Three queries."""
    checks = list_checks(revision)
    for check in checks:
        check.stage.revision = revision
    attach(revision, checks)
    bands = {f"{check.stage.key}/{check.key}": band_for(check) for check in checks}
    covered = coverage(prepared, {name: band for name, band in bands.items() if band})
    guide = load_guide(revision)
    return replace(
        covered, shown=tuple((fault, with_title(place, guide), apart) for fault, place, apart in covered.shown)
    )
