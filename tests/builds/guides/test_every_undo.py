"""Every kind of edit of a draft, made through its page and undone through its page: the exported file is what it was,
byte for byte, with its pictures and translations."""

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from builds.guides.circuit.stored import compute_figures
from builds.guides.editor.edits import MOST_UNDOABLE, SENTENCES
from builds.guides.guide_file import read_guide, store_guide, write_zip
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.pictures.editing import picture_version
from builds.guides.pictures.saving import make_picture
from builds.guides.points_map.places import seen_version
from tests import factories
from tests.builds.guides.sent_form import sent_fields, version_at

pytestmark = pytest.mark.django_db

GUIDE = """\
format = 1
[kit]
key = "undone"
name = "Undone"
revision = "A"
summary = "A supply."
taps = [115, 230]
[[picture]]
name = "a.png"
mark = [{ what = "words", at = [0.2, 0.2], text = "C1" }]
[[point]]
node = "ht.main"
words = "the red tag"
picture = "a.png"
marker = [0.25, 0.5]
places = [["b.png", 0.1, 0.2]]
[[point]]
node = "tp"
words = "the test point"
[[part]]
ref = "B1"
kind = "test battery"
value = "100 V"
joins = ["ht.raw", "chassis"]
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
tolerance = "5%"
bag = "2"
joins = ["ht.raw", "ht.main"]
[[part]]
ref = "R2"
kind = "resistor"
value = "100k"
joins = ["ht.main", "chassis"]
[[part]]
ref = "R9"
kind = "resistor"
value = "10k"
joins = ["ht.raw", "chassis"]
[[part]]
ref = "J1"
kind = "connector"
[[stage]]
key = "cold"
title = "Cold"
order = ["fit", "rail", "look", "tag"]
[[stage.step]]
key = "fit"
text = "Fit R1.\\n\\n- its body up"
parts = ["R1"]
picture = "a.png"
video = { address = "https://videos.example/1", at = "0:01:02" }
[[stage.step]]
key = "look"
text = "Look at R2."
[[stage.check]]
key = "rail"
title = "Rail"
measure = "resistance"
red = "ht.main"
expected = "990"
band = "10%"
hint = [{ when = "low", text = "See R2." }]
[[stage.check]]
key = "tag"
title = "Tag"
measure = "resistance"
red = "=the tag"
expected = "1k"
band = "10%"
[[stage]]
key = "hot"
title = "Hot"
power = "on"
cautions = ["lethal-voltage"]
[[stage.check]]
key = "volts"
title = "B+"
measure = "dc volts"
red = "ht.main"
expected = "99 V"
band = "10%"
stop_above = "150 V"
"""
GERMAN = """\
format = 1
[kit]
summary = "Ein Netzteil."
[stage.cold]
title = "Kalt"
[stage.cold.step.fit]
text = "R1 einbauen."
"""


def png(colour="white") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), colour).save(out, "PNG")
    return out.getvalue()


def zipped(**files) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in files.items():
            archive.writestr(name.replace("__", "."), content)
    return out.getvalue()


def exported(draft) -> dict[str, bytes]:
    """Every file of the draft's export."""
    draft.refresh_from_db()
    with zipfile.ZipFile(io.BytesIO(write_zip(draft))) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.fixture
def draft():
    raw = zipped(guide__toml=GUIDE, guide__de__toml=GERMAN, a__png=png(), b__png=png("grey"))
    return store_guide(read_guide(raw), factories.make_designer())


class Hand:
    """Who edits the draft, through its pages."""

    def __init__(self, client, draft):
        self.client, self.draft = client, draft

    def address(self, name, *more):
        return reverse(f"guides:{name}", args=[self.draft.kit.key, self.draft.letter, *more])

    def post(self, name, /, *more, **fields):
        return self.client.post(self.address(name, *more), fields)

    def begun(self, name, /, *more, **fields):
        """Send a page's form with the version that it began from."""
        return self.post(name, *more, **fields, **version_at(self.client, self.address(name, *more)))

    def row(self, kind, name):
        """(the row's name, its place in addresses)."""
        stage = self.draft.stages.get(key="cold")
        result = {
            "stage": lambda: self.draft.stages.get(key=name),
            "part": lambda: self.draft.parts.get(ref=name),
            "point": lambda: self.draft.points.get(node=name),
            "step": lambda: stage.steps.get(key=name),
            "check": lambda: stage.checks.get(key=name),
        }[kind]()
        return ("-inner", "cold", kind, result.pk) if kind in ("step", "check") else ("", kind, result.pk)

    def edit(self, kind, name, **said):
        """Save a row's form with some fields said otherwise; the rest as the page sends it."""
        inner, *place = self.row(kind, name)
        page = self.client.get(self.address(f"edit{inner}", *place))
        return self.post(f"edit{inner}", *place, **sent_fields(page.content.decode(), "row-form") | said)

    def move(self, kind, name, to):
        inner, *place = self.row(kind, name)
        return self.post(f"move{inner}", *place, to=to)

    def delete(self, kind, name):
        inner, *place = self.row(kind, name)
        page = self.client.get(self.address(f"delete{inner}", *place)).context
        return self.post(f"delete{inner}", *place, version=page["version"])

    def upload(self, *files, newest=None):
        seen = self.client.get(self.address("add-picture")).context["newest"] if newest is None else newest
        return self.post("add-picture", picture=files, newest=seen)

    def delete_picture(self, name):
        version = seen_version(self.draft.pictures.get(name=name), self.draft.points.all())
        return self.post("delete-picture", name, version=version)

    def place(self, name, **fields):
        page = self.client.get(self.address("place-points", name)).context
        return self.post("place-points", name, frame=page["frame"], seen=page["seen"], **fields)

    def replace(self, **text):
        return self.post("replace", version=self.client.get(self.address("replace"), text).context["version"], **text)

    def grid(self, name, was, column, cell):
        """Save a grid with one cell of one row said otherwise."""
        rows = self.client.get(self.address(name)).context["rows"]
        row = next(row for row in rows if row["was"] == was)
        cells = {cell["name"]: cell["value"] for cell in row["cells"]} | {column: cell}
        fields = {f"row-0-{key}": value for key, value in cells.items()}
        return self.post(name, **fields | {"row-0-was": was, "row-0-version": row["version"]})

    def picture(self, **fields):
        return self.post(
            "edit-picture", "a.png", version=picture_version(self.draft.pictures.get(name="a.png")), **fields
        )


def read_parts(hand):
    page = hand.post("parts-import", paste="Ref;Value\nR1;2k2\nR8;1k").context
    return hand.post("parts-import", rows=page["rows_text"], plan=page["preview"].key, save="1")


def read_words(hand):
    text = "# Cold\n\n1. Fit R1 anew.\n\n# Box\n\n1. Close it.\n\n2. Pack it.\n"
    page = hand.post("text-import", paste=text).context
    fields = {"corrected": "1", "save": "1", "draft": page["preview"].key, "paste": text}
    return hand.post("text-import", **fields | {f"stage-{n}-keep": "1" for n in range(2)})


def import_over(hand):
    toml = GUIDE.replace("Undone", "Done").replace("Look at", "Gaze at")
    raw = zipped(
        guide__toml=toml, guide__de__toml=GERMAN.replace("Kalt", "Eiskalt"), a__png=png("red"), c__png=png("blue")
    )
    page = hand.client.post(reverse("guides:import"), {"guide": SimpleUploadedFile("guide.zip", raw)})
    return hand.post("import-over", **{key: page.context[key] for key in ("token", "version")})


def copy_stage(hand):
    kit = factories.make_kit(designer=hand.draft.kit.designers.get())
    other = factories.make_revision(kit=kit, issued=False, stages=0)
    make_picture(other, "own.png", png("green"))
    step = {"key": "do", "text": "Do it.", "picture": "own.png"}
    apply_tables(other, as_tables(other) | {"stage": [{"key": "more", "title": "More", "step": [step]}]})
    return hand.post("copy-from", source=other.pk, copy=["stage:more"])


def propose(hand):
    page = hand.client.get(hand.address("proposals")).context
    changes = [line["change"].token for row in page["changes"] for line in row["lines"] if not line["change"].barred]
    names = [line["p"].name for row in page["stages"] for line in row["lines"]]
    assert changes or names
    return hand.post("proposals", add=names, change=changes[:2], version=page["version"])


def take_figure(hand):
    compute_figures(hand.draft, 100)
    check = hand.draft.stages.get(key="cold").checks.get(key="rail")
    page = hand.client.get(hand.address("edit-inner", "cold", "check", check.pk)).context
    return hand.post("circuit-take", check.pk, **{"as": "numbers", "version": page["take_version"]})


HEAD = {"name": "Other", "mains_volts": "120", "mains_hertz": "60", "taps": "120"}
EDITS = {  # name: (kind, how)
    "the head": ("guide", lambda h: h.begun("edit-head", **HEAD)),
    "a part added": ("add", lambda h: h.post("add", "part", ref="R5", kind="resistor", value="1k", quantity="1")),
    "a stage added": ("add", lambda h: h.post("add", "stage", key="end", title="End", power="off", minutes="5")),
    "a step added": ("add", lambda h: h.post("add-inner", "cold", "step", key="new", text="New.", photo="none")),
    "a part edited": ("edit", lambda h: h.edit("part", "R1", value="2k2")),
    "a part renamed": ("edit", lambda h: h.edit("part", "R1", ref="R7")),
    "a point edited": ("edit", lambda h: h.edit("point", "tp", words="a tag")),
    "a stage renamed, its translation with it": ("edit", lambda h: h.edit("stage", "cold", key="first")),
    "a step edited": ("edit", lambda h: h.edit("step", "fit", text="Fit R1 well.")),
    "a check edited": ("edit", lambda h: h.edit("check", "rail", title="The rail")),
    "a stage moved": ("move", lambda h: h.move("stage", "hot", "up")),
    "a step moved among checks": ("move", lambda h: h.move("step", "look", "up")),
    "a part moved": ("move", lambda h: h.move("part", "R2", "-2")),
    "a point moved": ("move", lambda h: h.move("point", "tp", "up")),
    "a part deleted": ("delete", lambda h: h.delete("part", "R9")),
    "a point deleted": ("delete", lambda h: h.delete("point", "ht.main")),
    "a stage deleted": ("delete", lambda h: h.delete("stage", "cold")),
    "a step deleted": ("delete", lambda h: h.delete("step", "fit")),
    "a check deleted": ("delete", lambda h: h.delete("check", "rail")),
    "a figure taken": ("figure", take_figure),
    "a spreadsheet": ("parts-import", read_parts),
    "the parts grid": ("parts-grid", lambda h: h.grid("parts-grid", "R2", "value", "220k")),
    "the checks grid": ("checks-grid", lambda h: h.grid("checks-grid", "cold/rail", "band", "5%")),
    "wiring": ("wiring", lambda h: h.post("wiring", **{"was-R9.a": "ht.raw", "end-R9.a": "ht.main"})),
    "a point renamed in the wiring": (
        "wiring",
        lambda h: h.post(
            "wiring", **{f"{p}-{e}": v for e in ("R1.b", "R2.a") for p, v in (("was", "ht.main"), ("end", "ht.new"))}
        ),
    ),
    "a list of wires": ("wiring", lambda h: h.post("wire-list", wires="J1.1, ht.main\nJ1.2, gnd")),
    "marks": ("picture", lambda h: h.picture(marks="", **RING)),
    "a turn": ("picture", lambda h: h.picture(frame="", left="0", top="0", right="100", bottom="100", turn="1")),
    "a crop": ("picture", lambda h: h.picture(frame="", left="0", top="0", right="80", bottom="100", turn="0")),
    "pictures added and replaced": (
        "picture-add",
        lambda h: h.upload(SimpleUploadedFile("a.png", png("red")), SimpleUploadedFile("new.png", png("red"))),
    ),
    "a picture deleted": ("picture-delete", lambda h: h.delete_picture("b.png")),
    "a placed point": ("map", lambda h: h.place("b.png", point="tp", across="10", down="20")),
    "a point taken off": ("map", lambda h: h.place("b.png", **{"point": "ht.main", "take-off": ""})),
    "a block": (
        "block",
        lambda h: h.begun("block", "regulator", **BLOCK),
    ),
    "proposals": ("proposals", propose),
    "a document": ("text-import", read_words),
    "a guide file with pictures and translations": ("guide-import", import_over),
    "words replaced": ("replace", lambda h: h.replace(find="R1", put="the first")),
    "a stage copied": ("copy", copy_stage),
}  # fmt: skip
RING = {"mark-0-what": "ring", "mark-0-across": "5", "mark-0-down": "9"}
BLOCK = {"ref-u": "U1", "ref-cin": "C1", "ref-cout": "C2", "value-u": "12 V", "value-cin": "100n 50 V"}
BLOCK |= {"value-cout": "1u 50 V", "ask-in": "raw", "ask-out": "heaters"}


def test_no_kind_of_edit_is_left_out_here():
    assert {kind for kind, _how in EDITS.values()} == set(SENTENCES)


@pytest.mark.lengthy
@pytest.mark.parametrize("name", EDITS)
def test_undo_restores_the_guide_before_each_edit(client, draft, name):
    client.force_login(draft.kit.designers.get())
    hand, (kind, how) = Hand(client, draft), EDITS[name]
    before = exported(draft)
    answer = how(hand)
    assert answer.status_code == 302, answer.context and answer.context.get("form") and answer.context["form"].errors
    assert exported(draft) != before
    assert [edit.what for edit in draft.edits.all()] == [kind]
    assert client.get(hand.address("undo")).status_code == 200
    hand.post("undo", edit=draft.edits.get().pk)
    assert exported(draft) == before and not draft.edits.exists()


@pytest.mark.lengthy
def test_many_edits_are_undone_one_by_one_to_the_first(client, draft):
    client.force_login(draft.kit.designers.get())
    hand, states = Hand(client, draft), []
    for name in ("words replaced", "a step moved among checks", "pictures added and replaced", "a stage deleted"):
        states.append(exported(draft))
        EDITS[name][1](hand)
    for state in reversed(states):
        hand.post("undo", edit=draft.edits.first().pk)
        assert exported(draft) == state


@pytest.mark.lengthy
def test_the_fiftieth_edit_is_undone_and_no_more_are_kept(client, draft):
    """Edits are kept up to the stated number, the oldest going first."""
    client.force_login(draft.kit.designers.get())
    hand = Hand(client, draft)
    first = draft.edits.model.objects.bulk_create(
        draft.edits.model(revision=draft, what="edit", before=as_tables(draft), after_key="x")
        for _n in range(MOST_UNDOABLE)
    )[0]
    hand.edit("point", "tp", words="a tag")
    assert draft.edits.count() == MOST_UNDOABLE and not draft.edits.filter(pk=first.pk).exists()
