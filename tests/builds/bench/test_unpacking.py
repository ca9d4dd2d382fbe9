"""The parts list that a builder ticks at unpacking, by bag and by stage, and on paper."""

import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from builds.bench.unpacking import group_parts
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.reports.guide.parts_paper import labels_pdf, parts_pdf
from tests import factories

pytestmark = pytest.mark.django_db
PARTS = [
    {"ref": "R10", "kind": "resistor", "value": "1k5", "tolerance": "5%", "bag": "10"},
    {"ref": "R2", "kind": "resistor", "value": "4k7", "tolerance": "1%", "power": "0.6 W", "bag": "2"},
    {"ref": "H1", "kind": "hardware", "quantity": 24, "note": "Screws"},
]


@pytest.fixture
def build():
    draft = factories.make_revision(issued=False)
    tables = as_tables(draft) | {"part": PARTS}
    tables["stage"][1]["step"][0]["parts"] = ["R2"]
    apply_tables(draft, tables)
    return factories.make_build(revision=draft)


@pytest.fixture
def builder(client, build):
    client.force_login(build.builder)
    return client


def pk_of(build, ref):
    return build.revision.parts.get(ref=ref).pk


def post(builder, build, shown, found):
    ids = {"shown": [pk_of(build, ref) for ref in shown], "found": [pk_of(build, ref) for ref in found]}
    return builder.post(reverse("bench:parts", args=[build.pk]), ids)


def test_bags_come_in_the_order_of_their_numbers_and_loose_parts_last(build):
    groups = group_parts(build, "bag")
    assert [[line.part.ref for line in group.lines] for group in groups] == [["R2"], ["R10"], ["H1"]]
    assert groups[0].lines[0].colours[:3] == ("yellow", "violet", "black")  # 4k7 1 %: IEC 60062, five bands


def test_by_stage_a_part_is_where_it_is_fitted_first(build):
    groups = group_parts(build, "stage")
    assert groups[0].title == build.revision.stages.all()[1].title
    assert [line.part.ref for line in groups[0].lines] == ["R2"]


def test_ticks_are_kept_and_taken_back(builder, build):
    post(builder, build, ["R2", "R10"], ["R2"])
    post(builder, build, ["R2", "R10"], ["R2"])
    assert [row.part.ref for row in build.parts_found.all()] == ["R2"]
    post(builder, build, ["R2", "R10"], ["R10"])
    assert [row.part.ref for row in build.parts_found.all()] == ["R10"]


def test_a_part_that_was_not_shown_keeps_its_tick(builder, build):
    post(builder, build, ["R2"], ["R2"])
    post(builder, build, ["R10"], [])
    assert [row.part.ref for row in build.parts_found.all()] == ["R2"]


def test_a_part_of_another_kit_cannot_be_ticked(builder, build):
    other = factories.make_revision(parts=({"ref": "R1", "kind": "resistor"},)).parts.get()
    builder.post(reverse("bench:parts", args=[build.pk]), {"shown": [other.pk], "found": [other.pk]})
    assert not build.parts_found.exists()


@pytest.mark.parametrize("sent", ("²", "٣", "-1", "9" * 5000, "", "R2"))
def test_what_is_no_number_of_a_part_ticks_nothing(builder, build, sent):
    assert builder.post(reverse("bench:parts", args=[build.pk]), {"shown": [sent], "found": [sent]}).status_code == 302
    assert not build.parts_found.exists()


def test_a_designer_sees_the_unpacking_ticks_and_cannot_set_them(client, builder, build):
    post(builder, build, ["R2"], ["R2"])
    client.force_login(build.revision.kit.designers.first())
    address = reverse("bench:parts", args=[build.pk])
    assert client.get(address).context["found"] == 1
    assert client.post(address, {"shown": [pk_of(build, "R2")]}).status_code == 404
    assert build.parts_found.count() == 1


def words_of(raw):
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(raw)).pages)


@pytest.mark.lengthy
def test_the_paper_and_the_labels_name_every_part_of_every_bag(build):
    paper, labels = words_of(parts_pdf(build.revision, build.serial)), words_of(labels_pdf(build.revision))
    assert all(ref in paper for ref in ("R2", "R10", "H1")) and build.serial in paper
    assert "R2" in labels and "R10" in labels and "H1" not in labels


def test_a_bag_label_says_what_a_part_without_a_value_is(build):
    build.revision.parts.filter(ref="H1").update(bag="2", note="Screws M4 with nuts and washers for the sockets")
    labels = words_of(labels_pdf(build.revision))
    assert "H1 Screws M4 with nuts and washers for the… × 24" in " ".join(labels.split())
