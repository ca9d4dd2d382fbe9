"""What a part is besides its columns: fields and small tables, from which the same part comes back."""

import tomllib
from pathlib import Path

import pytest
from django.http import QueryDict
from django.urls import reverse

from builds.guides.editor.own_fault_rows import FaultsField
from builds.guides.editor.part_detail import Wrong, to_detail, to_fields
from builds.guides.editor.part_fields import FIELDS, KEYS
from builds.guides.guide_file import shape
from builds.guides.guide_file.write import as_tables
from builds.guides.models import Part
from tests import factories
from tests.builds.guides.part_fields import posted, rows_of

DEMOS = sorted(Path("builds/guides/demo").glob("*/guide.toml"))
PARTS = [row for demo in DEMOS for row in tomllib.loads(demo.read_text())["part"]]
BACKEND = "django.contrib.auth.backends.ModelBackend"


def detail_of(row: dict) -> dict:
    return {key: value for key, value in row.items() if key not in shape.PART_COLUMNS}


def test_every_key_of_a_part_has_a_field():
    elsewhere = {"video"}  # of steps and stages as well: three fields of the form itself
    assert {*shape.PART} - {*shape.PART_COLUMNS} - elsewhere <= {*FIELDS, *KEYS}


def test_every_part_of_the_demo_guides_comes_back_as_it_was():
    assert len(PARTS) > 80
    for row in PARTS:
        assert to_detail(to_fields(row), row["kind"], row) == detail_of(row), row["ref"]


@pytest.mark.parametrize("kind", ["twin triode", "pentode", "resistor", "mains transformer", "diode", "electrolytic"])
def test_a_part_typed_anew_is_the_part_of_the_file(kind):
    """Nothing to stand on: the same figures and nodes as the guide file's, if in another shape."""
    row = next(row for row in PARTS if row["kind"] == kind)
    made = to_detail(to_fields(row), kind, {})
    assert to_fields({"kind": kind, **made}) == to_fields(row)


@pytest.mark.parametrize(
    ("field", "rows"),
    [
        ("ends", [{"terminal": "", "pin": "", "point": "x"}]),
        ("ends", [{"terminal": "a", "pin": "", "point": "x"}, {"terminal": "a", "pin": "", "point": "y"}]),
        ("ends", [{"terminal": "a", "pin": "1", "point": "x"}]),  # a resistor has no pins
        ("limits", [{"name": "anode_watts", "value": "twelve"}]),
        ("limits", [{"name": "", "value": "12"}]),
        ("model", [{"name": "mu", "value": "1"}, {"name": "mu", "value": "2"}]),
        ("alternatives", [{"type": "", "note": "none", "figures": ""}]),
        ("alternatives", [{"type": "X", "note": "", "figures": "mu much"}]),
    ],
)
def test_a_row_that_cannot_be_read_is_refused_at_its_table(field, rows):
    with pytest.raises(Wrong) as caught:
        to_detail({field: rows}, "resistor", {})
    assert caught.value.field == field


def test_a_decimal_comma_is_a_point():
    assert to_detail({"limits": [{"name": "anode_watts", "value": "2,75"}]}, "pentode", {}) == {
        "limits": {"anode_watts": 2.75}
    }


def test_faults_come_back_as_they_were():
    field, rows = (
        FaultsField(),
        [
            {"key": "r8", "words": "R8 is 1.8 kΩ", "part": "R8", "becomes": "1k8", "weight": 4, "look": "Brown, grey"},
            {"key": "v2", "words": "Weak", "part": "V2", "becomes": "weak", "weight": 0.5},
        ],
    )
    data = QueryDict(mutable=True)
    data.update(rows_of("own_faults", field.prepare_value(rows)))
    assert field.clean(field.widget.value_from_datadict(data, {}, "own_faults")) == rows
    with pytest.raises(Exception, match="number"):
        field.clean([{"key": "x", "weight": "often"}])


@pytest.mark.lengthy
@pytest.mark.django_db
def test_a_valve_is_edited_without_a_word_of_the_files_language(client):
    draft = factories.make_revision(issued=False, stages=0)
    row = next(row for row in PARTS if row.get("type") == "EL84")
    Part.objects.create(
        revision=draft, position=1, ref="V2", kind="pentode", detail=detail_of(row), bag=row.get("bag", "")
    )
    client.force_login(draft.kit.designers.get(), backend=BACKEND)
    address = reverse("guides:edit", args=[draft.kit.key, draft.letter, "part", draft.parts.get().pk])
    page = client.get(address)
    text = page.content.decode()
    assert "joins =" not in text and "[[" not in text and 'name="detail"' not in text
    fields = posted("", ref="V2", kind="pentode", quantity="1", bag=row.get("bag", ""))
    fields |= posted(_toml(row), ref="V2", kind="pentode", quantity="1", bag=row.get("bag", ""))
    version = {"version": page.context["version"]}
    limits = {f"limits-{n}-value": "9" for n in range(9) if fields.get(f"limits-{n}-name") == "anode_watts"}
    assert client.post(address, fields | version | limits).status_code == 302
    part = as_tables(draft)["part"][0]
    assert part["limits"] == row["limits"] | {"anode_watts": 9}
    assert part["joins"] == row["joins"] and part["pins"] == row["pins"]
    answer = client.post(address, fields | version)  # from the page as it was before
    assert answer.status_code == 409 and answer.context["clashes"]


def _toml(row: dict) -> str:
    import tomlkit

    return tomlkit.dumps(detail_of(row))
