"""Rows for tests and speed runs, made straight in the database. Everything here is invented."""

from datetime import timedelta
from itertools import count

from django.utils import timezone

from builds.accounts.models import Meter, Person
from builds.bench.models import Build, CheckStatus, Reading
from builds.guides import offers
from builds.guides.models import Check, Kit, Part, Revision, Stage, Step
from builds.ui.messages.meter import PRESET_NAMES
from checks.meter import PRESETS

PASSWORD = "a long test password 41"
_numbers = count(1)
_people = count(101)  # tests type two figures when they sign somebody up: a name that is taken is refused


def make_designer(*, name: str | None = None, may_design: bool = True) -> Person:
    return Person.objects.create_person(name or f"Designer {next(_people)}", PASSWORD, may_design=may_design)


def make_builder(*, name: str | None = None) -> Person:
    return Person.objects.create_person(name or f"Builder {next(_people)}", PASSWORD)


def give_address(person: Person, address: str, *, confirmed: bool = True) -> None:
    person.email, person.confirmed_email = address, address if confirmed else ""
    person.save(update_fields=["email", "confirmed_email"])


def join_kit(*, kit: Kit, owner: Person, person: Person, role: str) -> None:
    """As the two of them do it: offered, and accepted."""
    assert offers.accept(person, offers.offer_to(kit, owner, person.display_name, role).pk)


def make_kit(*, designer: Person | None = None, key: str | None = None) -> Kit:
    number = next(_numbers)
    kit = Kit.objects.create(key=key or f"kit-{number}", name=f"Test kit {number}")
    kit.designers.add(designer or make_designer())
    return kit


def make_revision(
    *,
    kit: Kit | None = None,
    designer: Person | None = None,
    letter: str = "A",
    stages: int = 2,
    checks: int = 3,
    steps: int = 2,
    issued: bool = True,
    gate: bool = True,
    parts: tuple[dict, ...] = (),
) -> Revision:
    """A revision of `stages` stages with `checks` checks (300 V ± 10 %, stop above 400 V) and `steps` steps each.

    Odd stages are without power, even ones with it.
    """
    kit = kit or make_kit(designer=designer)
    revision = Revision.objects.create(kit=kit, letter=letter, name=kit.name, mains_volts=230, taps=[115, 230])
    rows = Stage.objects.bulk_create(
        [
            Stage(
                revision=revision,
                position=n,
                key=f"stage-{n}",
                title=f"Stage {n}",
                gate=gate,
                power="on" if n % 2 == 0 else "off",
            )
            for n in range(1, stages + 1)
        ]
    )
    Step.objects.bulk_create(
        [
            Step(stage=s, position=n, key=f"step-{s.position}-{n}", text=f"Do thing {n}.")
            for s in rows
            for n in range(1, steps + 1)
        ]
    )
    Check.objects.bulk_create(
        [
            Check(
                stage=s,
                position=n,
                key=f"check-{s.position}-{n}",
                title=f"Check {s.position}.{n}",
                measure="dc volts",
                red="ht",
                expected="300 V",
                band="10%",
                stop_above="400 V",
            )
            for s in rows
            for n in range(1, checks + 1)
        ]
    )
    Part.objects.bulk_create([Part(revision=revision, position=n, **fields) for n, fields in enumerate(parts, 1)])
    if issued:
        Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED, issued_at=timezone.now())
        revision.refresh_from_db()
    return revision


def checks_of(*, revision: Revision) -> list[Check]:
    return list(
        Check.objects.filter(stage__revision=revision).select_related("stage").order_by("stage__position", "position")
    )


def make_meter(*, owner: Person, preset: str = "handheld") -> Meter:
    text, spec = str(PRESET_NAMES[preset]), PRESETS[preset]
    return Meter.objects.create(owner=owner, name=text, spec=spec.as_dict())


def make_build(
    *,
    revision: Revision | None = None,
    builder: Person | None = None,
    serial: str | None = None,
    meter: Meter | None = None,
    **fields,
) -> Build:
    builder = builder or make_builder()
    return Build.objects.create(
        revision=revision or make_revision(),
        builder=builder,
        serial=serial or f"{next(_numbers):04d}",
        meter=meter or make_meter(owner=builder),
        **fields,
    )


def reading_row(
    *, build: Build, check: Check, value: float = 300.0, outcome: str = "in band", attempt: int = 1, at=None, **fields
) -> Reading:
    """An unsaved reading against the band 270 V to 330 V."""
    facts = {
        "typed": f"{value:g}",
        "value": value,
        "true_value": value,
        "at_reference": value,
        "low": 270.0,
        "high": 330.0,
        "expected": 300.0,
        "deviation": (value - 300.0) / 30.0,
        "u": 1.0,
        "confirms": outcome in ("in band", "too close to call"),
        "by": build.builder,
        "at": at or timezone.now() + timedelta(seconds=attempt),
        **fields,
    }
    return Reading(build=build, check_row=check, attempt=attempt, outcome=outcome, **facts)


def add_readings(*, rows: list[tuple[Build, Check, list[tuple[float, str]]]]) -> list[CheckStatus]:
    """Store many at once: each row is a build, a check and its attempts as (value, outcome)."""
    readings = [
        [reading_row(build=b, check=c, value=v, outcome=o, attempt=n) for n, (v, o) in enumerate(attempts, 1)]
        for b, c, attempts in rows
    ]
    Reading.objects.bulk_create([r for attempts in readings for r in attempts], batch_size=2000)
    return CheckStatus.objects.bulk_create(
        [
            CheckStatus(
                build=a[-1].build,
                check_row=a[-1].check_row,
                attempts=len(a),
                first_outcome=a[0].outcome,
                outcome=a[-1].outcome,
                deviation=a[-1].deviation,
                at_reference=a[-1].at_reference,
                u=a[-1].u,
                latest=a[-1],
                passed=a[-1].outcome == "in band",
                stop=_standing_stop(a),
            )
            for a in readings
        ],
        batch_size=2000,
    )


def _standing_stop(attempts: list[Reading]) -> Reading | None:
    """The latest that said switch off, where none after it is in band."""
    for reading in reversed(attempts):
        if reading.outcome in ("switch off", "in band"):
            return reading if reading.outcome == "switch off" else None
    return None


def add_reading(*, build: Build, check: Check, value: float = 300.0, outcome: str = "in band") -> CheckStatus:
    """The next attempt on a check, stored with its standing and without judging it."""
    old = CheckStatus.objects.filter(build=build, check_row=check).first()
    if old is None:
        return add_readings(rows=[(build, check, [(value, outcome)])])[0]
    reading = reading_row(build=build, check=check, value=value, outcome=outcome, attempt=old.attempts + 1)
    reading.save()
    old.attempts, old.latest, old.outcome, old.deviation = reading.attempt, reading, outcome, reading.deviation
    old.at_reference, old.u = reading.at_reference, reading.u
    old.passed = outcome == "in band"
    old.stop = reading if outcome == "switch off" else None if old.passed else old.stop
    old.save()
    return old


def next_number() -> int:
    """A number no other row of this run has."""
    return next(_numbers)
