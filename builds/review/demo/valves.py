"""The demo's valves and batches: invented makes and date codes, one swap, and the batch of wrong resistors as the
designer noted it."""

from datetime import timedelta
from uuid import UUID, uuid5

from builds.bench.models import Build, FittedValve
from builds.review.models import PartBatch

SPACE = UUID("0b6c0c5a-6a8e-4a43-9a35-0f1d2b7f6f10")
MAKES = {"V1": (("Northlight", "LK 24"), ("Kestrel", "7-25")), "V2": (("Kestrel", "3-25"), ("Northlight", "LM 11"))}
SWAPPED = {4: ("V2", "Northlight", "LM 11", "doubt")}  # the builder whose C9 was in backwards
BATCHES = (
    (("R8", "R11"), "bag of week 18", "FW-001", "FW-006", ""),
    (("R8", "R11"), "bag of week 22", "FW-007", "FW-010", "Second delivery; the supplier has been asked."),
)


def fit_valves(build, number: int, at) -> None:
    """The valves a builder of the demo fitted, alternately of two makes, and the swap of one of them."""
    rows = [(ref, *makes[(number + (number > 6)) % 2], "first", at) for ref, makes in MAKES.items()]
    rows += (
        [(*SWAPPED[number], at + timedelta(minutes=40))] if number in SWAPPED and build.revision.letter == "A" else []
    )
    FittedValve.objects.bulk_create(
        [
            FittedValve(
                build=build,
                ref=ref,
                make=make,
                code=code,
                why=why,
                by=build.builder,
                at=when,
                entry_key=uuid5(SPACE, f"{build.pk}/{ref}/{why}"),
            )
            for ref, make, code, why, when in rows
        ]
    )


def note_batches(revision, designer) -> None:
    for refs, name, first, last, note in BATCHES:
        batch = PartBatch.objects.create(revision=revision, refs=list(refs), name=name, note=note, by=designer)
        batch.builds.set(Build.objects.filter(revision=revision, serial__gte=first, serial__lte=last))
