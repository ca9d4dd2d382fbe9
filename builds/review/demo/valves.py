"""The demo's valves and batches: invented makes and date codes, one swap, and the batch of wrong resistors as the
designer noted it."""

from uuid import UUID, uuid5

from builds.bench.models import Build, FittedValve, ValveTest
from builds.bench.valves import own_valves
from builds.bench.valves.replaced import checks_at, reopen_checks
from builds.guides.models import Check
from builds.review.models import PartBatch

SPACE = UUID("0b6c0c5a-6a8e-4a43-9a35-0f1d2b7f6f10")
MAKES = {"V1": (("Northlight", "LK 24"), ("Kestrel", "7-25")), "V2": (("Kestrel", "3-25"), ("Northlight", "LM 11"))}
# Number of the build, check past its stop: the valve that took the other's place. C9 had been in backwards.
SWAPS = {(4, "v-v2-3"): ("V2", "Northlight", "LM 11")}
BATCHES = (
    (("R8", "R11"), "bag of week 18", "FW-001", "FW-006", ""),
    (("R8", "R11"), "bag of week 22", "FW-007", "FW-010", "Second delivery; the supplier has been asked."),
)


def fit_valves(build, number: int, at) -> None:
    """The valves a builder of the demo fitted, alternately of two makes."""
    for ref, makes in MAKES.items():
        make, code = makes[(number + (number > 6)) % 2]
        _fit(build, ref, make, code, FittedValve.Why.FIRST, at)


def swap_valve(build, ref: str, make: str, code: str, at) -> list[Check]:
    """Another valve in a socket, in doubt of the one before. Returns the checks there that have to be read again."""
    _fit(build, ref, make, code, FittedValve.Why.DOUBT, at)
    passed = set(build.statuses.filter(passed=True).values_list("check_row", flat=True))
    reopen_checks(build, ref)
    return [check for check in checks_at(build, ref) if check.pk in passed]


def _fit(build, ref, make, code, why, at):
    FittedValve.objects.create(
        build=build,
        ref=ref,
        make=make,
        code=code,
        why=why,
        by=build.builder,
        at=at,
        entry_key=uuid5(SPACE, f"{build.pk}/{ref}/{why}"),
    )


# What an invented tester showed: serial, socket, section, type, make and code, V, V, A, A/V. The published point of an
# ECC82 is 250 V, -8.5 V: 10.5 mA, 2.2 mA/V; of an ECC81 250 V, -2 V: 10 mA, 5.5 mA/V (the sheets of valve_points.json).
TESTED = (
    ("LP-001", "V1", "a", "ECC82", "Kestrel", "31", 250, -8.5, 8.9e-3, 2.05e-3),
    ("LP-001", "V1", "b", "ECC82", "Kestrel", "31", 250, -8.5, 9.4e-3, 2.1e-3),
    ("LP-001", "V2", "a", "ECC82", "Kestrel", "32", 250, -8.5, 11.2e-3, 2.3e-3),
    ("LP-001", "V2", "b", "ECC82", "Kestrel", "32", 250, -8.5, 10.6e-3, 2.2e-3),
    ("LP-002", "V1", "a", "ECC81", "Northlight", "7", 250, -2, 9.6e-3, 5.3e-3),
    ("LP-002", "V1", "b", "ECC81", "Northlight", "7", 250, -2, 10.3e-3, 5.6e-3),
)


def pack_tested_valves(revision, designer) -> None:
    """Two kits ready to be sent: one with measured valves of the guide's type, one with another permitted type."""
    for serial in dict.fromkeys(row[0] for row in TESTED):
        build = Build.objects.create(
            revision=revision,
            serial=serial,
            mains_volts=revision.mains_volts,
            mains_hertz=revision.mains_hertz,
        )
        for _serial, ref, section, type_, make, code, anode, grid, amps, slope in (r for r in TESTED if r[0] == serial):
            ValveTest.objects.create(
                build=build,
                entry_key=uuid5(SPACE, f"{serial}/{ref}/{section}"),
                ref=ref,
                section=section,
                type=type_,
                make=make,
                code=code,
                anode_volts=anode,
                grid_volts=grid,
                anode_amps=amps,
                transconductance=slope,
                by=designer,
            )
        own_valves.settle_valves(build)


def note_batches(revision, designer) -> None:
    for refs, name, first, last, note in BATCHES:
        batch = PartBatch.objects.create(revision=revision, refs=list(refs), name=name, note=note, by=designer)
        batch.builds.set(Build.objects.filter(revision=revision, serial__gte=first, serial__lte=last))
