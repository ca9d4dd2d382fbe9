"""The demo programme: twelve invented builds of the demo guide, with faults planted for the designer to find.

Planted: the guide's preamplifier figure is wrong for everybody; builds 07 to 10 have R8 and R11 from a batch of 1.8
kilohm; builds 03 and 06 have single faults; step "r10c9" is unclear; build 05's mains is far from nominal.
"""

from django.db import transaction

from builds.accounts.models import Person
from builds.guides.circuit.fault_dictionary import store_fault_dictionary
from builds.guides.circuit.stored import make_now
from builds.guides.demo.files import demo_zip
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Kit, Revision
from builds.guides.revisions import issue
from builds.review.demo.plan import PLAN, PLAN_B
from builds.review.demo.played_build import PlayedBuild
from builds.review.demo.second_revision import issue_second_revision

FIGURE_SAMPLES = 2000  # enough for a look round; a worker draws 10,000


def load_demo(designer_password: str, builder_password: str) -> dict:
    """Load the demo once; a second call changes nothing but the passwords. Returns {name: password}."""
    people = {"Designer": designer_password, "Builder 01": builder_password}
    designer = _person("Designer", designer_password, may_design=True)
    if not Kit.objects.filter(key="five-watt").exists():
        with transaction.atomic():
            revision = _issued("five-watt", designer)
            for number, plan in enumerate(PLAN, 1):
                PlayedBuild(revision, designer, number, plan).run()
            second = issue_second_revision(revision, designer)
            for number, plan in enumerate(PLAN_B, 13):  # they show whether the changes worked
                PlayedBuild(second, designer, number, plan).run()
    if not Kit.objects.filter(key="line-preamp").exists():
        with transaction.atomic():
            _issued("line-preamp", designer)
    _person("Builder 01", builder_password)
    return people


def _issued(kit: str, designer) -> Revision:
    draft = store_guide(read_guide(demo_zip(kit)), designer)
    make_now(draft, FIGURE_SAMPLES)
    store_fault_dictionary(draft)
    return issue(draft)


def _person(name, password, **fields) -> Person:
    person = Person.objects.filter(display_name=name).first()
    if person is None:
        return Person.objects.create_person(name, password, **fields)
    person.set_password(password)
    person.save(update_fields=["password"])
    return person
