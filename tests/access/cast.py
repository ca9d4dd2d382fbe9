"""Everybody who may call an address, and a row of every kind for the addresses to point at."""

from types import SimpleNamespace
from uuid import uuid4

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from builds.accounts.models import Device, Invitation, Person
from builds.bench.models import ConfirmedFault, Erratum, Halt, MoveOffer, PartSwap, Photo, Recording, Snag, Tick
from builds.bench.readings.taking import take_reading
from builds.bench.recordings.plans import as_table
from builds.guides.models import Check, KitOffer, KitRole, Picture, Revision, Step
from builds.jobs.models import Job
from builds.operations.api.tokens import make as make_token
from builds.operations.models import AccessToken
from builds.reports.archive.storing import KIND, key_for
from builds.review.models import PartBatch
from checks.tone.sources import Signal, SignalPlan
from tests import factories
from tests.access.calls import image

TONE = as_table(SignalPlan(Signal.TONE))
PARTS = (
    {"ref": "R1", "kind": "resistor", "value": "10k", "tolerance": "5%", "detail": {"joins": ["a", "chassis"]}},
    {"ref": "V1", "kind": "triode", "value": "ECC83"},
    {"ref": "TR1", "kind": "test resistor", "value": "10k", "tolerance": "1%"},
)


def make_cast() -> SimpleNamespace:
    people = _people()
    guide = _guide(people)
    rows = _rows(people, guide)
    secrets = {
        name: make_token(people[name], name, ["read", "write-readings"]) for name in ("builder", "owner", "reader")
    }
    tokens = {token.name: token for token in AccessToken.objects.all()}
    return SimpleNamespace(roles=_roles(people), secrets=secrets, tokens=tokens, **people, **guide, **rows)


def _people() -> dict:
    designers = {name: factories.make_designer() for name in ("owner", "other_designer")}
    rest = ("builder", "neighbour", "stranger", "editor", "reader", "runs_site")
    people = designers | {name: factories.make_builder() for name in rest}
    Person.objects.filter(pk=people["runs_site"].pk).update(runs_site=True)
    factories.give_address(people["builder"], "builder@kits.example", confirmed=False)
    return people


def _roles(people) -> dict:
    """Role -> person, None for somebody who is not signed in."""
    return {
        "anonymous": None,
        "builder": people["builder"],
        "builder of another build": people["neighbour"],
        "builder elsewhere": people["stranger"],
        "owner": people["owner"],
        "editor": people["editor"],
        "reader": people["reader"],
        "who runs the site": people["runs_site"],
        "other designer": people["other_designer"],
    }


def _guide(people) -> dict:
    revision = factories.make_revision(designer=people["owner"], parts=PARTS, stages=3, issued=False)
    for role in ("editor", "reader"):
        revision.kit.designers.add(people[role])
        KitRole.objects.create(kit=revision.kit, person=people[role], role=role)
    picture = _picture(revision)
    recorded = {"measure": "distortion", "recording": {"signal": "tone"}, "at_most": "2%", "optional": True}
    stage = revision.stages.first()
    Check.objects.create(stage=stage, position=9, key="thd", title="Distortion", red="=the load", **recorded)
    revision = _issued(revision)
    draft = factories.make_revision(kit=revision.kit, letter="C", issued=False)
    draft.stages.filter(power="on").update(cautions=["lethal-voltage"])
    Check.objects.filter(stage__revision=draft).update(prototype="300 V")
    later = factories.make_revision(kit=revision.kit, letter="B")
    stage = revision.stages.first()
    return {"revision": revision, "draft": draft, "later": later, "stage": stage, "picture": picture}


def _without_news(owner) -> Revision:
    """Of another kit, without a halt or an erratum: only there may a build be signed off."""
    return factories.make_revision(designer=owner, stages=3)


def _issued(revision) -> Revision:
    Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED, issued_at=timezone.now())
    return Revision.objects.select_related("kit").get(pk=revision.pk)


def _rows(people, guide) -> dict:
    builder, revision, stage = people["builder"], guide["revision"], guide["stage"]
    build = factories.make_build(revision=revision, builder=builder)
    build.fast_track = True
    build.save(update_fields=["fast_track"])
    stopped = factories.make_build(revision=revision, builder=builder)
    neighbours = factories.make_build(revision=revision, builder=people["neighbour"])
    elsewhere = factories.make_build(builder=people["stranger"])
    free, token = _invited(revision, people["owner"])
    check = stage.checks.first()
    factories.add_reading(build=build, check=check, value=350.0, outcome="out of band")
    take_reading(stopped, Check.objects.filter(stage__revision=revision, stage__power="on")[0], "500 V", by=builder)
    done = _done(revision, builder)
    snag = Snag.objects.create(build=build, stage=stage, kind="other", words="A snag", by=builder)
    same = Snag.objects.create(build=neighbours, stage=stage, kind="other", words="The same", by=people["neighbour"])
    by = {"by": people["owner"]}
    batch = PartBatch.objects.create(revision=revision, refs=["R1"], name="bag 1", **by)
    erratum = Erratum.objects.create(revision=revision, stage=revision.stages.last(), words="Fit R1 upright.", **by)
    _archive(revision)
    return {
        "build": build,
        "stopped": stopped,
        "done": done,
        "ready": _done(_without_news(people["owner"]), builder),
        "neighbours": neighbours,
        "elsewhere": elsewhere,
        "free": free,
        "token": token,
        "check": check,
        "step": stage.steps.first(),
        "snag": snag,
        "same_snag": same,
        "batch": batch,
        "erratum": erratum,
        "halt": Halt.objects.create(stage=revision.stages.last(), reason="A wrong drawing", **by),
        "fault": ConfirmedFault.objects.create(build=build, fault="R1 open", words="R1 is open", **by),
        "swap": PartSwap.objects.create(build=build, ref="R1", action="rewire"),
        "offer": MoveOffer.objects.create(build=build, revision=guide["later"], **by),
        "kit_offer": KitOffer.objects.create(
            kit=revision.kit, person=builder, made_by=people["owner"], role=KitRole.Role.READER
        ),
        "photo": _photo(build, stage),
        "recording": Recording.objects.create(build=build, stage=stage, plan=TONE, name="take.wav", by=builder),
        "step_photo": _photo(build, stage, step=stage.steps.first()),
        "device": Device.objects.create(person=builder, session_key="x" * 32),
        "draft_picture": _picture(guide["draft"]),
        "draft_stage": guide["draft"].stages.first(),
        "draft_step": guide["draft"].stages.first().steps.first(),
        "draft_check": guide["draft"].stages.first().checks.first(),
    }


def _invited(revision, owner):
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=owner)
    build = factories.make_build(revision=revision, builder=owner, invitation=invitation)
    type(build).objects.filter(pk=build.pk).update(builder=None)
    return build, token


def _done(revision, builder):
    """A build with nothing left to do but to sign it off."""
    build = factories.make_build(revision=revision, builder=builder)
    factories.add_readings(rows=[(build, c, [(300.0, "in band")]) for c in factories.checks_of(revision=revision)])
    steps = Step.objects.filter(stage__revision=revision)
    Tick.objects.bulk_create([Tick(build=build, step=step) for step in steps])
    return build


def _archive(revision) -> None:
    """An archive that was made before."""
    name = default_storage.save(f"archives/{revision.pk}/{uuid4().hex}.zip", ContentFile(b"a zip"))
    made = {"name": name, "bytes": 5, "photos": 0, "made_at": timezone.now().isoformat()}
    Job.objects.create(kind=KIND, key=key_for(revision), state=Job.State.DONE, result=made)


def _photo(build, stage, **more) -> Photo:
    photo = Photo(build=build, stage=stage, by=build.builder, **more)
    for size in ("full", "print_copy", "thumb"):
        getattr(photo, size).save(f"{uuid4()}.jpg", ContentFile(image().read()), save=False)
    photo.save()
    return photo


def _picture(revision) -> Picture:
    picture = Picture(revision=revision, name="x.png", width=1, height=1)
    picture.file.save("x.png", ContentFile(image().read()))
    return picture
