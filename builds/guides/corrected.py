"""The figures that hold of an issued check: as issued, or as its latest erratum with figures corrects them."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from builds.guides.guide_cache import FIGURE_FIELDS, Guide, apply_figures, fetch_guide, load_guide
from builds.guides.models import Check, FigureCorrection, Revision


def standing(check: Check) -> Check:
    """The check with the figures that hold now. A check that came with its guide has them already."""
    if hasattr(check, "guide") or check.pk is None or check.stage.revision.corrected_at is None:
        return check
    return load_guide(check.stage.revision).by_id.get(check.pk, check)


def list_figures(check: Check) -> dict[str, str]:
    """Its figures that hold now, as typed."""
    own = standing(check)
    return {name: getattr(own, name) for name in FIGURE_FIELDS}


def guide_with(revision: Revision, check: Check, figures: dict[str, str]) -> tuple[Guide, Check]:
    """The guide, and the check in it, as they would be with other figures. Shared with nobody."""
    guide = fetch_guide(revision.pk)
    own = guide.by_id[check.pk]
    apply_figures(own, figures)
    return guide, own


@dataclass(frozen=True)
class Held:
    """Figures and the time they held: from the issue where `since` is None, until now where `until` is."""

    figures: dict[str, str]
    since: datetime | None
    until: datetime | None


def list_history(check: Check) -> list[Held]:
    """Every set of figures that a check of an issued guide has had, the earliest first."""
    issued = {name: getattr(check, name) for name in FIGURE_FIELDS}
    if hasattr(check, "guide"):
        issued = check.as_issued or issued
    rows = list(FigureCorrection.objects.filter(check_row=check.pk))
    return [Held(issued, None, None), *(Held(row.figures, row.at, row.withdrawn_at) for row in rows)]


def list_corrections(revision: Revision) -> dict[int, list[FigureCorrection]]:
    """Check id -> its corrections, the earliest first."""
    rows: dict[int, list[FigureCorrection]] = defaultdict(list)
    for row in FigureCorrection.objects.filter(check_row__stage__revision=revision):
        rows[row.check_row_id].append(row)
    return rows
