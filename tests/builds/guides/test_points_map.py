"""Points placed on the designer's pictures, and the map with expected volts, own readings, medians and the worst."""

import io

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from PIL import Image

from builds.guides.guide_file.rules import place_rules
from builds.guides.guide_file.write import as_tables
from builds.guides.models import Picture, Point
from builds.guides.points_map.places import list_places, seen_version
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft():
    made = factories.make_revision(issued=False)
    for name in ("layout.png", "schematic.png"):
        out = io.BytesIO()
        Image.new("RGB", (400, 200), "white").save(out, "PNG")
        picture = Picture(revision=made, name=name, width=400, height=200)
        picture.file.save(name, ContentFile(out.getvalue()))
    return made


@pytest.fixture
def designer(client, draft):
    client.force_login(draft.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    return client


def address(draft, name="layout.png"):
    return reverse("guides:place-points", args=[draft.kit.key, draft.letter, name])


def place(designer, draft, name="layout.png", **fields):
    """A point placed as the page sends it."""
    page = designer.get(address(draft, name)).context
    return designer.post(address(draft, name), {"frame": page["frame"], "seen": page["seen"]} | fields)


def a_node(draft):
    return draft.stages.first().checks.first().red


def test_a_click_on_the_picture_is_kept_as_fractions_of_its_size(designer, draft):
    node = a_node(draft)
    place(designer, draft, **{"point": node, "shown": 400, "at.x": "100", "at.y": "150"})
    assert list_places(draft.points.get(node=node)) == {"layout.png": (0.25, 0.75)}


@pytest.mark.lengthy
def test_figures_serve_without_a_mouse_and_a_second_picture_keeps_the_first(designer, draft):
    node = a_node(draft)
    place(designer, draft, point=node, across="10", down="20")
    place(designer, draft, "schematic.png", point=node, across="30", down="40")
    point = draft.points.get(node=node)
    assert list_places(point) == {"layout.png": (0.1, 0.2), "schematic.png": (0.3, 0.4)}
    assert as_tables(draft)["point"][0]["places"] == [["schematic.png", 0.3, 0.4]]
    place(designer, draft, "schematic.png", **{"point": node, "take-off": ""})
    assert list_places(draft.points.get(node=node)) == {"layout.png": (0.1, 0.2)}


@pytest.mark.parametrize(
    "typed",
    [
        {"across": "101", "down": "20"},
        {"across": "10"},
        {"at.x": "-5", "at.y": "10", "shown": "400"},
        {"at.x": "٣", "at.y": "1", "shown": "400"},
        {"across": "nan", "down": "20"},
        {"point": "no.such.point", "across": "1", "down": "2"},
    ],
)
def test_a_place_that_is_none_is_refused_and_nothing_is_placed(designer, draft, typed):
    answer = place(designer, draft, **{"point": a_node(draft)} | typed)
    assert answer.status_code == 422
    assert not Point.objects.filter(revision=draft, picture="layout.png").exists()


@pytest.mark.lengthy
def test_a_picture_that_is_deleted_takes_its_places_with_it(designer, draft):
    node = a_node(draft)
    for name in ("layout.png", "schematic.png"):
        place(designer, draft, name, point=node, across="10", down="20")
    version = seen_version(draft.pictures.get(name="schematic.png"), draft.points.all())
    where = reverse("guides:delete-picture", args=[draft.kit.key, draft.letter, "schematic.png"])
    designer.post(where, {"version": version})
    assert "schematic.png" not in list_places(draft.points.get(node=node))


@pytest.mark.parametrize(
    "places", [[["a.png", 0.1]], [["a.png", 0.1, 2]], [["b.png", 0.1, 0.2]], [["a.png", True, 0]], ["a.png"]]
)
def test_places_that_a_guide_file_gets_wrong_are_told(places):
    assert [key for key, _words in place_rules({"places": places}, {"a.png"})] == ["places"]
    assert not [*place_rules({"places": [["a.png", 0, 1]]}, {"a.png"})]


def test_the_builders_map_shows_the_reading_with_its_verdict_and_a_stranger_gets_nothing(client):
    build = factories.make_build()
    check = factories.checks_of(revision=build.revision)[0]
    factories.add_reading(build=build, check=check, value=251.0, outcome="out of band")
    map_page = reverse("bench:map", args=[build.pk])
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    rows = client.get(map_page).context["rows"]
    line = next(line for row in rows for line in row.readings if line.check.pk == check.pk)
    assert line.status.outcome == "out of band"
    assert any("✗" in line for row in rows for line in row.chip.numbered_lines)
    assert client.get(map_page, {"picture": "none.png"}).status_code == 404
    client.force_login(factories.make_builder(), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(map_page).status_code == 404


def test_the_designers_map_has_the_median_and_the_reading_farthest_from_what_is_expected(client):
    revision = factories.make_revision()
    check = factories.checks_of(revision=revision)[0]
    for value in (300.0, 305.0, 280.0):
        factories.add_reading(
            build=factories.make_build(revision=revision), check=check, value=value, outcome="in band"
        )
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    rows = client.get(reverse("review:map", args=[revision.kit.key, revision.letter])).context["rows"]
    line = next(line for row in rows for line in row.checks if line.check.pk == check.pk)
    assert (line.median, line.builds) == (300.0, 3)
    assert line.worst[0] == 280.0


def test_the_schematic_follows_what_is_typed_in_the_wiring_and_saves_nothing(client):
    parts = [{"ref": "R1", "kind": "resistor", "value": "10k", "detail": {"joins": ["a", "chassis"]}}]
    draft = factories.make_revision(issued=False, parts=parts)
    client.force_login(draft.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    at = reverse("guides:wiring-drawing", args=[draft.kit.key, draft.letter])
    answer = client.post(at, {"was-R1.a": "a", "end-R1.a": "grid.new"})
    assert "grid.new" in answer.content.decode()
    assert draft.parts.get().detail["joins"] == ["a", "chassis"]
    assert client.get(at).status_code == 405
