"""Pictures turned, cropped and marked: what is done to them is data, and what is placed on them stays where it was."""

import io
import time

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from builds.guides.guide_file import as_data, read_guide, write_zip
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.picture_rules import picture_rules
from builds.guides.guide_file.write import as_tables
from builds.guides.pictures.draw import find_size, shown_picture
from builds.guides.pictures.editing import CutOff, EditedMeanwhile, picture_version, put_marks, reframe
from builds.guides.pictures.geometry import TURNS, Frame, move_place
from builds.guides.pictures.saving import make_picture
from builds.guides.points_map.places import seen_version
from builds.guides.revisions import clone
from builds.operations.doctor import examine
from builds.reports.guide.pictures import print_copies
from tests import factories

ARROW = {"what": "arrow", "at": [0.1, 0.1], "to": [0.6, 0.5]}
RING = {"what": "ring", "at": [0.5, 0.5], "size": 0.1}
WORDS = {"what": "words", "at": [0.2, 0.8], "text": "10 kΩ here"}
NUMBER = {"what": "number", "at": [0.8, 0.2], "text": "1"}
MARKS = [ARROW, RING, WORDS, NUMBER]


def png(wide=400, tall=200, colour="white") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (wide, tall), colour).save(out, "PNG")
    return out.getvalue()


def opened(raw: bytes) -> Image.Image:
    return Image.open(io.BytesIO(raw)).convert("RGB")


shares = st.floats(0.06, 0.94)
frames = st.builds(
    lambda turn, x, y, w, h: Frame(turn, (x, y, min(1.0, x + w), min(1.0, y + h))),
    st.sampled_from(TURNS),
    st.floats(0, 0.5),
    st.floats(0, 0.5),
    st.floats(0.1, 0.5),
    st.floats(0.1, 0.5),
)


@pytest.mark.lengthy
@given(frames, shares, shares)
def test_a_place_is_found_again_through_any_frame(frame, x, y):
    assert frame.uploaded(*frame.shown(x, y)) == pytest.approx((x, y), abs=1e-9)


@pytest.mark.lengthy
@given(frames, frames, shares, shares)
def test_going_to_another_frame_and_back_moves_nothing(one, other, x, y):
    assert move_place(move_place((x, y), one, other), other, one) == pytest.approx((x, y), abs=2e-3)


@pytest.mark.lengthy
@given(frames)
def test_four_quarter_turns_restore_a_picture(frame):
    again = frame.turned().turned().turned().turned()
    assert again.turn == frame.turn and again.crop == pytest.approx(frame.crop, abs=1e-3)


@pytest.mark.parametrize("turn", TURNS)
def test_the_place_of_a_dot_is_where_the_picture_shows_it(turn):
    """The geometry against the pixels: a dot drawn before the turn and crop is found where the frame says."""
    image = Image.new("RGB", (400, 200), "white")
    image.paste("black", (118, 58, 122, 62))
    out = io.BytesIO()
    image.save(out, "PNG")
    frame = Frame(turn, (0.1, 0.05, 0.9, 0.95))
    raw, wide, tall = shown_picture(out.getvalue(), {"turn": turn, "crop": [*frame.crop]})
    x, y = frame.shown(120 / 400, 60 / 200)
    assert sum(opened(raw).getpixel((round(x * wide), round(y * tall)))) < 200
    assert (wide, tall) == ((320, 180) if turn % 180 == 0 else (160, 360))


@pytest.mark.parametrize("mark", MARKS, ids=lambda mark: mark["what"])
def test_each_mark_is_drawn_and_leaves_the_rest_as_it_was(mark):
    raw, *_size = shown_picture(png(), {"mark": [mark]})
    image = opened(raw)
    inked = sum(count for count, p in image.getcolors(100_000) if p[0] > 150 and p[1] < 90)
    assert 20 < inked < 400 * 200 / 4
    assert image.getpixel((399, 199)) == (255, 255, 255)


def test_a_photo_held_sideways_has_the_size_it_is_seen_in():
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.3, orientation: turn a quarter clockwise
    Image.new("RGB", (400, 200), "white").save(out, "JPEG", exif=exif)
    assert find_size(out.getvalue()) == (200, 400)


@pytest.mark.parametrize(
    "wrong",
    [
        {"turn": 45},
        {"crop": [0.2, 0, 0.1, 1]},
        {"crop": [0, 0, 2, 1]},
        {"crop": [0, 0, 1]},
        {"name": "other.png"},
        {"mark": [{"what": "arrow", "at": [0, 0]}]},
        {"mark": [{"what": "ring", "at": [0, 0], "to": [1, 1]}]},
        {"mark": [{"what": "ring", "at": [0, 3]}]},
        {"mark": [{"what": "ring", "at": [0, 0], "size": 7}]},
        {"mark": [{"what": "words", "at": [0, 0]}]},
        {"mark": [{"what": "words", "at": [0, 0], "text": "x" * 61}]},
        {"mark": [{"what": "number", "at": [0, 0], "text": "1234"}]},
        {"mark": [{"what": "star", "at": [0, 0]}]},
        {"mark": ["ring"]},
        {"mark": [RING] * 61},
    ],
)
def test_a_picture_that_cannot_be_shown_so_is_refused(wrong):
    assert list(picture_rules({"name": "a.png"} | wrong, {"a.png"}))


def test_good_marks_are_accepted():
    row = {"name": "a.png", "turn": 90, "crop": [0.1, 0, 1, 0.9], "mark": MARKS}
    assert list(picture_rules(row, {"a.png"})) == []


@pytest.fixture
def draft(db):
    made = factories.make_revision(issued=False)
    make_picture(made, "layout.png", png())
    return made


@pytest.fixture
def designer(draft):
    return draft.kit.designers.first()


def the(draft):
    return draft.pictures.get()


def mark(draft, designer, marks=MARKS):
    put_marks(draft, designer, "layout.png", picture_version(the(draft)), marks)


def frame(draft, designer, expected):
    reframe(draft, designer, "layout.png", picture_version(the(draft)), expected)


def test_marks_are_kept_as_data_and_the_upload_stays_as_it_was(draft, designer):
    mark(draft, designer)
    picture = the(draft)
    assert picture.changes == {"mark": MARKS}
    assert picture.file.read() == png() and picture.image.read() != png()


def test_marks_go_through_the_guide_file_and_a_clone(draft, designer):
    draft.stages.filter(position=2).delete()
    draft.stages.get().checks.all().delete()
    mark(draft, designer)
    data = read_guide(write_zip(draft))
    assert data["picture"] == [{"name": "layout.png", "mark": MARKS}]
    copy = clone(draft)
    assert as_data(copy)["picture"] == data["picture"] and copy.pictures.get().image.read() == the(draft).image.read()


@pytest.mark.lengthy
def test_marks_are_in_print_and_at_the_bench(draft, designer, client, tmp_path):
    mark(draft, designer)
    path, *_size = print_copies({"layout.png": the(draft)}, tmp_path)["layout.png"]
    assert any(p[0] > 150 and p[1] < 110 for _n, p in opened(path.read_bytes()).getcolors(100_000))
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get(reverse("guides:picture", args=[draft.kit.key, draft.letter, "layout.png"]))
    assert b"".join(answer.streaming_content) == the(draft).image.read()


def test_marks_are_undone(draft, designer):
    before = as_tables(draft)
    mark(draft, designer)
    apply_tables(draft, draft.edits.first().before)
    assert as_tables(draft) == before and not the(draft).shown


def test_a_second_designer_does_not_overwrite_the_marks(draft, designer):
    version = picture_version(the(draft))
    mark(draft, designer)
    with pytest.raises(EditedMeanwhile):
        put_marks(draft, designer, "layout.png", version, [RING])
    assert the(draft).changes == {"mark": MARKS}


def test_what_is_placed_on_a_picture_stays_on_what_it_shows(draft, designer):
    check = draft.stages.first().checks.first()
    check.picture, check.marker = "layout.png", [0.5, 0.5]
    check.save()
    draft.points.create(position=1, node="a", words="A", picture="layout.png", marker=[0.25, 0.5])
    draft.points.create(position=2, node="b", words="B", places=[["layout.png", 0.75, 0.5]])
    mark(draft, designer, [RING])
    frame(draft, designer, Frame(90, (0.0, 0.0, 1.0, 1.0)))
    check.refresh_from_db()
    assert check.marker == [0.5, 0.5] and (the(draft).width, the(draft).height) == (200, 400)
    assert draft.points.get(node="a").marker == [0.5, 0.25]
    assert draft.points.get(node="b").places == [["layout.png", 0.5, 0.75]]
    ring = the(draft).changes["mark"][0]
    assert ring["size"] * 200 == pytest.approx(0.1 * 400)  # as many pixels as before


def test_no_crop_leaves_a_probe_point_pointing_elsewhere(draft, designer):
    draft.points.create(position=1, node="b+", words="B+", picture="layout.png", marker=[0.9, 0.9])
    with pytest.raises(CutOff) as lost:
        frame(draft, designer, Frame(0, (0.0, 0.0, 0.5, 0.5)))
    assert lost.value.args[0] == ["b+"]
    assert the(draft).changes is None and draft.points.get().marker == [0.9, 0.9]


def address(draft, name, *more):
    return reverse(f"guides:{name}", args=[draft.kit.key, draft.letter, *more])


def marks_post(draft, *rows):
    fields = {"marks": "", "version": picture_version(the(draft))}
    return fields | {f"mark-{n}-{key}": cell for n, row in enumerate(rows) for key, cell in row.items()}


def test_marks_are_typed_in_rows(client, draft, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = address(draft, "edit-picture", "layout.png")
    row = {"what": "arrow", "across": "10", "down": "12,5 %", "to_across": "60", "to_down": "50"}
    assert client.post(page, marks_post(draft, row)).status_code == 302
    assert the(draft).changes["mark"] == [{"what": "arrow", "at": [0.1, 0.125], "to": [0.6, 0.5]}]
    wrong = client.post(
        page, marks_post(draft, row | {"to_down": "far"}, {"what": "words", "across": "1", "down": "1"})
    )
    assert wrong.status_code == 422 and len(wrong.context["marks"].errors["mark"]) == 2
    assert len(the(draft).changes["mark"]) == 1


@pytest.mark.lengthy
def test_of_two_who_mark_a_picture_the_second_sees_both_texts_and_overwrites_nothing(client, draft, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = address(draft, "edit-picture", "layout.png")
    began = marks_post(draft, {"what": "words", "across": "10", "down": "20", "text": "mine"})
    mark(draft, designer, [{"what": "words", "at": [0.5, 0.5], "text": "theirs"}])
    answer = client.post(page, began)
    assert answer.status_code == 409
    (clash,) = answer.context["clashes"]
    assert "theirs" in clash.saved and "mine" in clash.typed
    assert the(draft).changes["mark"][0]["text"] == "theirs"
    assert client.post(page, began | {"version": answer.context["version"]}).status_code == 302  # mine, on purpose
    assert the(draft).changes["mark"][0]["text"] == "mine"


def test_a_crop_of_a_picture_that_was_turned_meanwhile_is_told_with_both_and_not_carried_out(client, draft, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    edges = {"left": "50", "top": "0", "right": "100", "bottom": "100", "turn": "0"}
    began = edges | {"frame": "", "version": picture_version(the(draft))}
    frame(draft, designer, Frame(90, (0.0, 0.0, 1.0, 1.0)))
    answer = client.post(address(draft, "edit-picture", "layout.png"), began)
    assert answer.status_code == 409 and len(answer.context["clashes"]) == 1
    assert the(draft).changes == {"turn": 90}
    assert answer.context["frame"]["left"].value() == 0  # half of another picture is nobody's wish


def test_a_picture_is_cropped_turned_and_shown_whole_again(client, draft, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = address(draft, "edit-picture", "layout.png")
    edges = {"left": "50", "top": "0", "right": "100", "bottom": "100", "turn": "1"}
    client.post(page, edges | {"frame": "", "version": picture_version(the(draft))})
    assert (the(draft).width, the(draft).height) == (200, 200) and the(draft).changes["turn"] == 90
    client.post(page, {"whole": "", "version": picture_version(the(draft))})
    assert the(draft).changes is None and (the(draft).width, the(draft).height) == (400, 200)


def test_what_is_drawn_is_kept_when_the_picture_is_cropped_before_it_was_saved(client, draft, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = address(draft, "edit-picture", "layout.png")
    drawn = marks_post(draft, {"what": "words", "across": "80", "down": "50", "text": "here"})
    del drawn["marks"]
    edges = {"left": "50", "top": "0", "right": "100", "bottom": "100", "turn": "0"}
    assert client.post(page, drawn | edges | {"frame": ""}).status_code == 302
    assert the(draft).changes["mark"] == [{"what": "words", "at": [0.6, 0.5], "text": "here"}]
    wrong = drawn | {"mark-0-across": "far", "version": picture_version(the(draft)), "whole": ""}
    assert client.post(page, wrong).status_code == 422 and the(draft).changes["crop"]


def test_a_crop_that_was_begun_is_still_there_when_the_marks_are_saved(client, draft, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = address(draft, "edit-picture", "layout.png")
    edges = {"left": "50", "top": "0", "right": "100", "bottom": "90", "turn": "0"}
    row = {"what": "words", "across": "80", "down": "50", "text": "here"}
    answer = client.post(page, marks_post(draft, row) | edges, follow=True)
    assert answer.context["frame"]["bottom"].value() == "90"
    assert "crop" not in the(draft).changes


def test_many_pictures_are_added_at_once_and_a_bad_one_is_told(client, draft, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    files = [SimpleUploadedFile(name, png()) for name in ("My photo (1).PNG", "pasted.png", "pasted.png")]
    client.post(address(draft, "add-picture"), {"picture": files})
    client.post(address(draft, "add-picture"), {"picture": [SimpleUploadedFile("pasted.png", png())]})
    names = set(draft.pictures.values_list("name", flat=True))
    assert names == {"layout.png", "My-photo-1.png", "pasted.png", "pasted-2.png", "pasted-3.png"}
    bad = [
        SimpleUploadedFile("a.png", b"no picture"),
        SimpleUploadedFile("b.gif", png()),
        SimpleUploadedFile("c.png", png()),
    ]
    answer = client.post(address(draft, "add-picture"), {"picture": bad})
    assert answer.status_code == 422 and len(answer.context["wrong"]) == 2
    assert draft.pictures.filter(name="c.png").exists() and not draft.pictures.filter(name="a.png").exists()


def test_a_picture_put_in_anothers_place_keeps_its_marks(client, draft, designer):
    mark(draft, designer)
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    files = [SimpleUploadedFile("layout.png", png(colour="yellow"))]
    client.post(address(draft, "add-picture"), {"picture": files, "newest": the(draft).pk})
    assert the(draft).changes == {"mark": MARKS} and opened(the(draft).image.read()).getpixel((399, 199)) == (
        255,
        255,
        0,
    )


def delete_picture(client, draft):
    version = seen_version(the(draft), draft.points.all())
    where = reverse("guides:delete-picture", args=[draft.kit.key, draft.letter, "layout.png"])
    client.post(where, {"version": version})


def undo(client, draft):
    client.post(reverse("guides:undo", args=[draft.kit.key, draft.letter]), {"edit": draft.edits.first().pk})


@pytest.mark.lengthy
def test_added_and_replaced_pictures_are_undone_and_a_deleted_one_comes_back(draft, designer, client):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    mark(draft, designer)
    draft.points.create(position=1, node="a", words="A", places=[["layout.png", 0.5, 0.5]])
    first = the(draft).file.name
    where = reverse("guides:add-picture", args=[draft.kit.key, draft.letter])
    files = [SimpleUploadedFile(name, png(colour="red")) for name in ("layout.png", "other.png")]
    client.post(where, {"picture": files, "newest": the(draft).pk})
    assert draft.pictures.count() == 2 and draft.pictures.get(name="layout.png").file.name != first
    undo(client, draft)
    assert [p.name for p in draft.pictures.all()] == ["layout.png"]
    assert the(draft).file.name == first and the(draft).changes == {"mark": MARKS} and the(draft).shown
    delete_picture(client, draft)
    assert not draft.pictures.exists() and not draft.points.get().places
    undo(client, draft)
    assert opened(the(draft).file.read()).getpixel((5, 5)) == (255, 255, 255)
    assert draft.points.get().places == [["layout.png", 0.5, 0.5]]


def test_the_file_of_a_deleted_picture_stays_while_it_can_be_brought_back(draft, designer, client):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    name = the(draft).file.name
    delete_picture(client, draft)
    later = time.time() + 10 * 24 * 3600
    assert name not in examine(later).orphans
    draft.edits.all().delete()
    assert name in examine(later).orphans
