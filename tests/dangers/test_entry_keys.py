"""Entry keys, one rule for every form that adds something: sent twice it is one entry; other content, another build or
another person under a used key is asked about again, with what was typed, and nothing is dropped or breaks."""

from dataclasses import dataclass
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from builds.bench.models import (
    ExtraReading,
    FittedValve,
    MadeSafe,
    Message,
    MeterCheck,
    Photo,
    PowerOn,
    Reading,
    Snag,
)
from builds.bench.readings import extras
from builds.bench.readings.entry_keys import UsedKey
from builds.review.demo.photos import draw_photo
from checks.circuit.prediction.probes import Probe
from checks.diagnosis.place import Place
from tests import factories

pytestmark = pytest.mark.django_db
PARTS = (
    {"ref": "V1", "kind": "twin triode", "detail": {"type": "ECC83"}},
    {"ref": "V2", "kind": "twin triode", "detail": {"type": "ECC83"}},
    {"ref": "RT", "kind": "test resistor", "value": "10k", "tolerance": "1%"},
)


@dataclass(frozen=True)
class Form:
    """A form that adds rows of `model`: its address, what is typed, other content, the form in the page's context."""

    model: type
    address: object
    first: dict
    other: dict
    prefix: str = ""
    name: str = "form"

    def url(self, build):
        return self.address(build)

    def data(self, fields, key):
        return {f"{self.prefix}{name}": value for name, value in fields.items() if name != "piece"} | {
            f"{self.prefix}entry_key": str(key),
            "piece": fields.get("piece", ""),
        }


def at(name, *more):
    return lambda build: reverse(f"bench:{name}", args=[build.pk, *more])


def of_snag(build):
    snag = Snag.objects.filter(build=build, words="First.").first()
    return reverse("bench:snag", args=[build.pk, snag.pk])


SNAG = {"kind": "other", "severity": "slowed", "about": ""}
FORMS = {
    "reading": Form(Reading, at("reading", "stage-1", "check-1-1"), {"typed": "300"}, {"typed": "299"}),
    "made safe": Form(MadeSafe, at("make-safe"), {"typed": "3"}, {"typed": "4"}),
    "meter check": Form(
        MeterCheck,
        at("meter-check"),
        {"typed": "10.00", "unit": "kΩ", "piece": "RT"},
        {"typed": "10.01", "unit": "kΩ", "piece": "RT"},
        "RT-",
    ),
    "valve": Form(
        FittedValve,
        at("valves"),
        {"ref": "V1", "make": "Northlight", "code": "1", "why": ""},
        {"ref": "V2", "make": "Kestrel", "code": "2", "why": ""},
    ),
    "snag": Form(
        Snag, at("new-snag", "stage-1"), SNAG | {"words": "Smoke.", "severity": "danger"}, SNAG | {"words": "A crack."}
    ),
    "message": Form(Message, of_snag, {"words": "One."}, {"words": "Two."}),
}


def make_build():
    build = factories.make_build(revision=factories.make_revision(stages=2, checks=2, steps=0, parts=PARTS))
    Snag.objects.create(build=build, stage=build.revision.stages.first(), kind="other", words="First.")
    return build


def sign_in(person):
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def form_of(form, answer):
    """The form that came back. The pieces of a meter check each have one."""
    if "rows" in answer.context and form.prefix:
        return next(f for part, _piece, f, _found in answer.context["rows"] if f"{part.ref}-" == form.prefix)
    return answer.context["form"]


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}], ids=["plain", "htmx"])
def test_sent_twice_it_is_one_entry_with_one_answer(form, headers):
    build, key = make_build(), uuid4()
    phone, before = sign_in(build.builder), form.model.objects.count()
    address = form.url(build)
    answers = [phone.post(address, form.data(form.first, key), headers=headers) for _tap in range(2)]
    assert answers[0].status_code == answers[1].status_code != 422
    assert answers[0].headers.get("Location") == answers[1].headers.get("Location")
    assert form.model.objects.count() == before + 1


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
def test_other_content_in_a_used_page_is_asked_again_and_then_saved(form):
    build, key = make_build(), uuid4()
    phone, before = sign_in(build.builder), form.model.objects.count()
    address = form.url(build)
    phone.post(address, form.data(form.first, key))
    answer = phone.post(address, form.data(form.other, key))
    assert answer.status_code == 422 and form.model.objects.count() == before + 1
    shown = form_of(form, answer)
    assert "used" in [error.code for result in shown.errors.as_data().values() for error in result]
    text = next(name for name in ("typed", "make", "words") if name in form.other)
    assert str(form.other[text]) in str(shown[text].value())
    new = shown["entry_key"].value()
    assert new != str(key) and str(new) in answer.content.decode()
    assert phone.post(address, form.data(form.other, new)).status_code != 422
    assert form.model.objects.count() == before + 2


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
def test_the_key_of_another_build_breaks_nothing_tells_nothing_and_loses_nothing(form):
    theirs, mine, key = make_build(), make_build(), uuid4()
    sign_in(theirs.builder).post(form.url(theirs), form.data(form.first, key))
    before = form.model.objects.count()
    phone = sign_in(mine.builder)
    answer = phone.post(form.url(mine), form.data(form.other, key))
    assert answer.status_code == 422 and form.model.objects.count() == before
    shown = form_of(form, answer)
    reported = " ".join(str(error) for errors in shown.errors.values() for error in errors)
    text = next(name for name in ("typed", "make", "words") if name in form.other)
    assert str(form.first[text]) not in reported
    assert phone.post(form.url(mine), form.data(form.other, shown["entry_key"].value())).status_code != 422
    assert form.model.objects.count() == before + 1
    same = phone.post(form.url(mine), form.data(form.first, key))  # even the same words are not the other's entry
    assert same.status_code == 422 and form.model.objects.count() == before + 1


def test_an_extra_reading_typed_into_a_used_page_is_not_dropped():
    build, other, key = make_build(), make_build(), uuid4()
    place = Place("stage-1", "", Probe("a", "b", "resistance"), "off", "a to b")
    for _tap in range(2):
        extras.take_extra(build, place, "100 kΩ", entry_key=key, by=build.builder)
    for where, typed in ((build, "10 Ω"), (other, "100 kΩ")):
        with pytest.raises(UsedKey):
            extras.take_extra(where, place, typed, entry_key=key, by=where.builder)
    assert list(ExtraReading.objects.values_list("typed", flat=True)) == ["100 kΩ"]


def photo(name, seed):
    drawn = draw_photo(name, seed, seed)
    drawn.seek(0)
    return SimpleUploadedFile(name, drawn.read(), content_type="image/jpeg")


@pytest.mark.lengthy
def test_a_photo_sent_twice_is_one_and_another_photo_under_a_used_key_is_kept():
    """A browser cannot be handed a file back, so another photo is saved at once."""
    build, other, key = make_build(), make_build(), str(uuid4())
    for where, seed in ((build, "a"), (build, "a"), (build, "b"), (other, "a")):
        address = reverse("bench:add-stage-photo", args=[where.pk, "stage-1"])
        assert (
            sign_in(where.builder).post(address, {"photo": photo("p.jpg", seed), "entry_key": key}).status_code == 302
        )
    assert [Photo.objects.filter(build=one).count() for one in (build, other)] == [2, 1]


def test_the_key_of_another_form_of_cautions_puts_no_power_on_record_twice():
    build, key = make_build(), str(uuid4())
    phone = sign_in(build.builder)
    for number in (1, 2):
        factories.add_reading(build=build, check=factories.checks_of(revision=build.revision)[number - 1])
    address = reverse("bench:cautions", args=[build.pk, "stage-2"])
    for _tap in range(2):
        assert phone.post(address, {"read": "on", "mains": "230", "entry_key": key}).status_code == 302
    assert PowerOn.objects.count() == 1


def test_a_designers_other_answer_under_a_used_key_is_asked_about_again():
    build, key = make_build(), str(uuid4())
    snag = build.snags.get()
    desk = sign_in(build.revision.kit.designers.first())
    address = reverse("review:snag", args=[snag.pk])
    data = {"state": "answered", "triage-cause": "unknown", "triage-state": "new"}
    codes = [desk.post(address, data | {"words": w, "entry_key": key}).status_code for w in ("One.", "One.", "Two.")]
    assert codes == [302, 302, 422]
    assert list(snag.messages.values_list("words", flat=True)) == ["One."]
