"""What the demo's designer made of the first problems: triage, and one cause confirmed at the bench."""

from builds.bench.models import CheckStatus, ConfirmedFault, Snag
from builds.bench.snags.merging import merge
from builds.review.models import Triage
from checks.diagnosis.codes import FaultCode
from checks.outcomes import Outcome

BY_CHECK = {"v-preamp": "figure", "r8-alone": "part", "o-v1-3": "part", "o-v1-8": "part"}
BY_BUILD = {
    ("FW-004", "v-v2-3"): "workmanship",
    ("FW-008", "o-v2-3"): "workmanship",
    ("FW-003", "heater-chassis"): "workmanship",
}
PLANNED = {"figure": "Correct the table.", "part": "Ask the supplier; pack 1.5 kΩ.", "workmanship": ""}


def triage_demo(revision, designer) -> None:
    """Triage the deviations and snags of the first revision."""
    missed = (
        CheckStatus.objects.filter(build__revision=revision)
        .exclude(first_outcome=Outcome.IN_BAND)
        .select_related("build", "check_row")
    )
    for row in missed:
        cause = BY_BUILD.get((row.build.serial, row.check_row.key)) or BY_CHECK.get(row.check_row.key)
        if cause:
            Triage.objects.get_or_create(
                build=row.build,
                check_row=row.check_row,
                defaults={"cause": cause, "planned_change": PLANNED[cause], "by": designer},
            )
    for snag in Snag.objects.filter(build__revision=revision, step__key="r10c9"):
        Triage.objects.get_or_create(
            snag=snag,
            defaults={
                "cause": "wording",
                "by": designer,
                "planned_change": "Say which end of C9 is plus.",
            },
        )
    same = list(
        Snag.objects.filter(build__revision=revision, step__key="r10c9")
        .select_related("build")
        .order_by("build__serial")
    )
    for snag in same[1:]:
        merge(snag, same[0])
    stuck = revision.builds.get(serial="FW-006")
    ConfirmedFault.objects.get_or_create(
        build=stuck,
        fault="V2 gassy",
        defaults={"code": FaultCode.VALVE_GASSY.value, "params": {"refs": ["V2"]}, "by": designer},
    )
