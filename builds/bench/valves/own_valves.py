"""What sits in a build's sockets, electrically: other types than the guide's, and valves that were measured before they
were sent. Kept on the build, so that judging a reading asks nothing more of the database."""

from uuid import uuid4

from django.db import transaction

from builds.bench.models import Build, FittedValve, ValveTest
from builds.bench.valves import fitting
from builds.bench.valves.as_fitted import guide_with
from builds.bench.valves.rejudged import reopen_narrowed
from builds.guides.alternatives import is_guides_type, is_same_type, own_type, permitted_types
from builds.guides.circuit.content import build_content, make_key
from builds.guides.circuit.stored import figures_with
from builds.jobs import queue
from builds.jobs.registry import job

KIND = "valve figures"
MEASURED = ("anode_volts", "screen_volts", "grid_volts", "anode_amps", "transconductance", "accuracy")


def settle_valves(build: Build) -> None:
    """Bring a build up to date with its valves, and have its figures worked out. Called wherever a valve or a test is
    noted, by whoever holds the build."""
    now = _find_own_valves(build)
    if now != build.own_valves:
        build.own_valves, build.valve_figures = now, None
        build.save(update_fields=["own_valves", "valve_figures"])
        if not now:  # the guide's own figures hold again; others have to be worked out first
            reopen_narrowed(build)
    ask_for_figures(build)


def ask_for_figures(build: Build) -> None:
    """Start working them out where they are wanted and nothing is under way."""
    if build.own_valves and build.valve_figures_id is None:
        key = make_key(build_content(build.revision, guide_with(build.revision, build.own_valves)))
        earlier = queue.find(KIND, f"{build.pk}/{key}")
        queue.start(KIND, f"{build.pk}/{key}", build.pk, restart=earlier is not None and earlier.is_finished)


@job(KIND)
def make_valve_figures(report, build_pk: int) -> str:
    """Compute what the circuit reads with a build's valves; one that has others by now is left to its newer job."""
    build = Build.objects.select_related("revision__kit").get(pk=build_pk)
    own = build.own_valves
    figures = figures_with(build.revision, guide_with(build.revision, own), report)
    with transaction.atomic():
        now = Build.objects.select_for_update().get(pk=build_pk)
        if now.own_valves == own:
            now.valve_figures = figures
            now.save(update_fields=["valve_figures"])
            reopen_narrowed(now)
    return figures.key


def list_tests(build: Build) -> dict[str, dict[str, ValveTest]]:
    """Socket -> section -> the test that holds."""
    latest: dict[str, dict[str, ValveTest]] = {}
    for row in build.valve_tests.all():
        latest.setdefault(row.ref, {})[row.section] = row
    complete = {ref: {key: row for key, row in rows.items() if row.anode_amps} for ref, rows in latest.items()}
    return {ref: rows for ref, rows in complete.items() if rows}


def carry_tests(old: Build, new: Build) -> None:
    """The tests that hold for a build's valves go along with it when it moves."""
    rows = [row for by_section in list_tests(old).values() for row in by_section.values()]
    for row in rows:
        row.pk, row.build, row.entry_key = None, new, uuid4()
    ValveTest.objects.bulk_create(rows)


def _find_own_valves(build: Build) -> dict:
    fitted, tests, own_valves = fitting.by_socket(build), list_tests(build), {}
    for part in fitting.sockets(build):
        rows = fitted.get(part.ref, [])
        measured = _of_this_valve(part, rows, tests)
        type_ = _type(part, rows, measured)
        own: dict = {} if is_guides_type(part, type_) else {"type": type_}
        if measured:
            own["tested"] = {section: _figures(row) for section, row in measured.items()}
        if own:
            own_valves[part.ref] = own
    return own_valves


def _type(part, rows: list[FittedValve], measured: dict[str, ValveTest]) -> str:
    if rows:
        return rows[-1].type or own_type(part)
    return next((row.type for row in measured.values()), own_type(part))


def _of_this_valve(part, rows: list[FittedValve], tests) -> dict[str, ValveTest]:
    """The tests of the valve that is in a socket now. What was sent for it is taken to be in it until another is noted;
    after a swap only a valve whose make and code tell which it is."""
    if len(rows) <= 1:
        sent = tests.get(part.ref, {})
        return {key: row for key, row in sent.items() if not rows or not _differ(row, rows[0], part)}
    now = rows[-1]
    same = [
        by_section for by_section in tests.values() if all(_is_marked_as(row, now, part) for row in by_section.values())
    ]
    return same[0] if len(same) == 1 else {}


def _differ(test: ValveTest, valve: FittedValve, part) -> bool:
    """Do the marks that both have say that these are two valves?"""
    makes, codes = (fitting.make_key(test.make), fitting.make_key(valve.make)), (_code(test), _code(valve))
    is_other = any(all(pair) and pair[0] != pair[1] for pair in (makes, codes))
    return is_other or not is_same_type(test.type, valve.type or own_type(part))


def _is_marked_as(test: ValveTest, valve: FittedValve, part) -> bool:
    return bool(_code(test) and test.make and _code(valve)) and not _differ(test, valve, part)


def _code(row) -> str:
    return fitting.make_key(row.code)


def _figures(row: ValveTest) -> dict:
    return {name: value for name in MEASURED if (value := getattr(row, name)) is not None}


def not_permitted(build: Build, revision) -> list[str]:
    """Sockets whose valve another revision does not permit there."""
    sockets = {part.ref: part for part in fitting.list_sockets(revision)}
    return [
        ref
        for ref, own in build.own_valves.items()
        if "type" in own and (ref not in sockets or own["type"] not in permitted_types(sockets[ref]))
    ]
