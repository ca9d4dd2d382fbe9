"""A phone asks which of its entries the site has: all that it ever took, by their keys, and of that build alone."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.models import Receipt, Sheet
from builds.bench.offline.keys import born
from tests.offline.bench import make_bench

pytestmark = pytest.mark.django_db
POSTS = {  # of each kind that a phone keeps: address, fields
    "reading": (("reading", "stage-2", "check-2-1"), {"typed": "311", "unit": "V"}),
    "made-safe": (("make-safe",), {"typed": "2"}),
    "tick": (("tick", "stage-1", "step-1-1"), {"done": "yes"}),  # with the power off
    "power-on": (("switch-on", "stage-2"), {}),
    "snag": (("new-snag", "stage-1"), {"kind": "other", "severity": "slowed", "words": "The tag is bent."}),
}


@pytest.fixture
def build(client):
    build = make_bench(live=True)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return build


def ask(client, build, name="entries"):
    return client.get(reverse(f"bench:{name}", args=[build.pk]))


def post(client, build, kind):
    (name, *args), fields = POSTS[kind]
    key = uuid4()
    headers = {"Entry-Key": str(key), "Outbox": "yes", "HX-Request": "true"}
    address = reverse(f"bench:{name}", args=[build.pk, *args])
    answer = client.post(address, {**fields, "entry_key": str(key)}, headers=headers)
    assert answer["Entry-Kept"] == str(key), answer.content[:500]
    return key.hex[:8]


@pytest.mark.parametrize("kind", POSTS)
def test_what_came_in_is_known_and_changes_what_a_phone_holds(client, build, kind):
    if kind == "tick":
        post(client, build, "made-safe")
    before, tag = ask(client, build, "notebook").json()["entries"], ask(client, build, "notebook")["ETag"]
    key = post(client, build, kind)
    answer = ask(client, build).json()
    assert key in answer["keys"] and answer["born"] == born(build)
    notebook = ask(client, build, "notebook")
    assert notebook.json()["entries"] > before == notebook.json()["entries"] - 1 and notebook["ETag"] != tag


def test_sheets_and_photos_are_known_too(client, build):
    sheet = Sheet.objects.create(build=build, stage=build.revision.stages.get(key="stage-1"))
    photo = Receipt.objects.create(build=build, entry_key=uuid4(), kind="photo", made_at=build.made_at)
    assert {sheet.entry_key.hex[:8], photo.entry_key.hex[:8]} <= set(ask(client, build).json()["keys"])


def test_entries_of_another_build_are_not_among_them(client, build):
    other = make_bench(live=True, builder=build.builder)
    key = post(client, other, "made-safe")
    assert key not in ask(client, build).json()["keys"]
    assert born(other) != born(build)
