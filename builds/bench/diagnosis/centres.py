"""What good kits of a guide read, where that is known better than the circuit tells: from builds, or from the guide."""

import numpy as np
from django.db.models import Avg, Count

from builds.bench.diagnosis.observations import make_name
from builds.bench.models import CheckStatus
from builds.guides.figures import band_for, source_ohms
from builds.guides.guide_cache import load_guide
from checks.diagnosis import Prepared
from checks.diagnosis.codes import FaultCode
from checks.outcomes import Outcome

FEWEST = 5  # good builds that make a centre
LOADED = ("dc volts", "current")  # measures that a meter's input resistance changes
MOVED = 1.0  # standard deviations by which a weak valve moves a reading that is taken to be the valve's


def list_centres(revision, prepared: Prepared) -> dict[str, float]:
    """Place name -> SI at the guide's mains: the middle of builds in band on the check from the first, where there are
    FEWEST or more; else, at readings that valves move, the guide's own figure. One query."""
    guide = load_guide(revision)
    by_builds = _middles(revision)
    of_valves = _moved_by_valves(prepared)
    centres = {}
    for stage in guide.stages:
        for check in stage.checks.all():
            name = make_name(check)
            if check.pk in by_builds:
                centres[name] = by_builds[check.pk]
            elif name in of_valves and not _is_left_to_model(check):
                band = band_for(check)
                if band and band.expected is not None:
                    centres[name] = band.expected
    return centres


def list_corrections(revision) -> dict[str, float]:
    """Place name -> Ω of the source that the bench corrects a reading for; nothing where it knows of none."""
    checks = (check for stage in load_guide(revision).stages for check in stage.checks.all())
    return {make_name(check): source_ohms(check) or 0.0 for check in checks if check.measure in LOADED}


def _middles(revision) -> dict[int, float]:
    rows = CheckStatus.objects.filter(
        check_row__stage__revision=revision, outcome=Outcome.IN_BAND, first_outcome=Outcome.IN_BAND
    ).values("check_row_id")
    counted = rows.annotate(n=Count("at_reference"), middle=Avg("at_reference")).filter(n__gte=FEWEST)
    return {row["check_row_id"]: row["middle"] for row in counted}


def _is_left_to_model(check) -> bool:
    return str(check.expected).strip().lower() in ("", "model")


def _moved_by_valves(prepared: Prepared) -> set[str]:
    rows = [n + 1 for n, fault in enumerate(prepared.faults) if fault.code is FaultCode.VALVE_WEAK]
    apart = np.abs(np.nan_to_num(prepared.mean[rows] - prepared.mean[0]))
    moved = (apart > MOVED * np.sqrt(np.diag(prepared.scatter[0]))).any(axis=0)
    return {place.name for place, is_moved in zip(prepared.places, moved, strict=True) if is_moved}
