"""The demo programme: twelve invented builds of the demo guide, with faults planted for the designer to find.

Planted: the guide's preamplifier figure is wrong for everybody; builds 07 to 10 have R8 and R11 from a batch of 1.8
kilohm; builds 03 and 06 have single faults; step "r10c9" is unclear; build 05's mains is far from nominal; and what
the recordings hold (recordings.py).

What the first page needs is loaded while the caller waits; the faults of the circuit, the recordings, and the second
kit with its own faults are background jobs.
"""

from django.db import transaction

from builds.accounts.models import Person
from builds.bench.models import Recording
from builds.guides.circuit.fault_dictionary import request_fault_dictionary, store_fault_dictionary
from builds.guides.circuit.stored import compute_figures
from builds.guides.demo.files import demo_zip
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Kit, Revision
from builds.guides.revisions import issue
from builds.jobs import queue
from builds.jobs.registry import job
from builds.review.demo.other_core import FIGURE_SAMPLES, OtherCore
from builds.review.demo.plan import PLAN, PLAN_B
from builds.review.demo.played_build import PlayedBuild
from builds.review.demo.recordings import KIND as RECORDINGS
from builds.review.demo.second_revision import issue_second_revision
from builds.review.demo.valves import pack_tested_valves

DESIGNER = "Designer"
KIND = "demo"


def begin_demo(core: OtherCore) -> dict:
    """Begin on another core what needs no database. Returns the guide as read, for load_demo."""
    guide = read_guide(demo_zip("five-watt"))
    core.begin_guide(guide, range(1, len(PLAN) + 1))
    return guide


def load_demo(
    designer_password: str,
    builder_password: str,
    say=lambda text: None,
    core: OtherCore | None = None,
    guide: dict | None = None,
) -> dict:
    """Load the demo once; a second call changes nothing but the passwords. Returns {name: password}.

    `say` is told what is being done; `core` and `guide` are what begin_demo began, if anything.
    """
    people = {DESIGNER: designer_password, "Builder 01": builder_password}
    designer = _person(DESIGNER, designer_password, may_design=True, runs_site=True)
    if not Kit.objects.filter(key="five-watt").exists():
        with transaction.atomic():
            if guide and core:
                _play_programme(designer, say, core, guide)
            else:
                with OtherCore() as own_core:
                    _play_programme(designer, say, own_core, begin_demo(own_core))
    for revision in Revision.objects.filter(kit__key="five-watt").exclude(issued_at=None):
        request_fault_dictionary(revision)
    if not Recording.objects.filter(build__revision__kit__key="five-watt").exists():
        queue.start(RECORDINGS, "five-watt", "five-watt", restart=True)
    if not Kit.objects.filter(key="line-preamp").exists():
        queue.start(KIND, "line-preamp", "line-preamp", restart=True)
    _person("Builder 01", builder_password)
    return people


def _play_programme(designer, say, core: OtherCore, guide: dict) -> None:
    say("Solving the demo kit's circuit")
    draft = store_guide(guide, designer)
    core.keep_figures(draft)
    revision = issue(draft)
    _play(revision, PLAN, 1, designer, core, say)
    say("Deciding on the findings and issuing revision B")
    second = issue_second_revision(revision, designer)
    later = len(PLAN) + 1  # these show whether the changes worked
    core.begin_builds(second, range(later, later + len(PLAN_B)))
    _play(second, PLAN_B, later, designer, core, say)


def _play(revision: Revision, plans, first: int, designer, core: OtherCore, say) -> None:
    for number, plan in enumerate(plans, first):
        say(f"Playing build {number} of {len(PLAN) + len(PLAN_B)}")
        PlayedBuild(revision, designer, number, plan, core.readings(number)).run()


@job(KIND)
def load_kit(report, kit: str) -> str:
    """A demo kit that nobody has begun to build, its faults with it."""
    report(0, 2, "circuit")
    with transaction.atomic():
        if not Kit.objects.filter(key=kit).exists():
            designer = Person.objects.get(display_name=DESIGNER)
            revision = _issued(store_guide(read_guide(demo_zip(kit)), designer))
            pack_tested_valves(revision, designer)
    report(1, 2, "faults")
    for revision in Revision.objects.filter(kit__key=kit).exclude(issued_at=None):
        store_fault_dictionary(revision)
    return kit


def _issued(draft: Revision) -> Revision:
    compute_figures(draft, FIGURE_SAMPLES)
    return issue(draft)


def _person(name, password, **fields) -> Person:
    person = Person.objects.filter(display_name=name).first()
    if person is None:
        return Person.objects.create_person(name, password, **fields)
    person.set_password(password)
    person.save(update_fields=["password"])
    return person
