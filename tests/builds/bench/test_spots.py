"""The place of a snag, marked on a photo or on the guide's picture, kept as shares of its sides."""

from uuid import uuid4

import pytest
from django import forms
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from builds.bench.models import Snag
from builds.bench.snags.spots import parse_spot
from builds.review.demo.photos import draw_photo
from tests import factories


@pytest.mark.lengthy
@given(st.sampled_from(["photo", "picture"]), st.floats(0, 1), st.floats(0, 1))
def test_a_spot_is_read_as_it_was_marked(on, x, y):
    spot = parse_spot(f"{on} {x:.4f} {y:.4f}")
    assert spot["on"] == on and abs(spot["x"] - x) < 1e-4 and abs(spot["y"] - y) < 1e-4


OUTSIDE = ["photo 1.2 0.5", "photo -0.1 0.5", "wall 0.1 0.1", "photo 0.1", "photo a b", "photo nan 0"]


@pytest.mark.parametrize("text", OUTSIDE)
def test_a_place_outside_the_picture_is_refused(text):
    with pytest.raises(forms.ValidationError):
        parse_spot(text)


@pytest.mark.django_db
def test_the_designer_sees_the_ring_where_the_builder_put_it(client):
    build = factories.make_build()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    where = reverse("bench:new-snag", args=[build.pk, "stage-1"])
    data = {"kind": "fit", "severity": "slowed", "words": "This hole", "spot": "photo 0.25 0.5", "about": ""}
    photo = draw_photo("a.jpg", "X", "x")
    client.post(where, data | {"entry_key": str(uuid4()), "photo": photo})
    snag = Snag.objects.get()
    assert snag.spot == {"on": "photo", "x": 0.25, "y": 0.5}
    client.force_login(build.revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("review:snag", args=[snag.pk]))
    assert page.context["spot_photo"]["x"] == "160" and page.context["spot_photo"]["y"] == "240"  # of 640 by 480
    assert 'class="marker"' in page.content.decode()


@pytest.mark.django_db
def test_a_snag_without_a_mark_is_sent_as_before(client):
    build = factories.make_build()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    data = {"kind": "fit", "severity": "slowed", "words": "No mark", "entry_key": str(uuid4()), "about": ""}
    assert client.post(reverse("bench:new-snag", args=[build.pk, "stage-1"]), data).status_code == 302
    assert Snag.objects.get().spot is None
