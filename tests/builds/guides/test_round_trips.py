"""What is exported imports the same, and what the editor and its grids save exports the same."""

import pytest
from django.http import QueryDict
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builds.guides.demo.files import demo_zip
from builds.guides.editor import checks_grid, parts_grid
from builds.guides.editor.edits import row_version
from builds.guides.editor.forms import FORMS
from builds.guides.guide_file import read_guide, store_guide, write_zip
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.compare import table_differences
from builds.guides.guide_file.write import as_tables, normalise
from builds.guides.points_map.places import list_places, put_point, seen_now
from tests import factories
from tests.builds.guides.sent_form import sent_fields
from tests.builds.guides.test_every_undo import GUIDE, png, zipped

pytestmark = [pytest.mark.django_db, pytest.mark.lengthy]
few = settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
SHARE = st.integers(0, 10_000).map(lambda n: n / 10_000)
PLACE = st.tuples(SHARE, SHARE)
PICTURES = ("a.png", "b.png", "c.png")


@pytest.fixture
def draft():
    raw = zipped(guide__toml=GUIDE, **{name.replace(".", "__"): png() for name in PICTURES})
    return store_guide(read_guide(raw), factories.make_designer())


def exported_again(draft) -> dict:
    """The tables of a draft after its file went out and over it in again."""
    data = read_guide(write_zip(draft))
    apply_tables(draft, data)
    again = read_guide(write_zip(draft))
    assert normalise(again) == normalise(data)
    return as_tables(draft)


CLICKS = st.lists(
    st.tuples(
        st.sampled_from(["ht.main", "tp", "ht.raw"]), st.sampled_from(PICTURES), st.none() | st.tuples(SHARE, SHARE)
    ),
    max_size=12,
)


@few
@given(clicks=CLICKS)
def test_places_on_pictures_are_where_they_were_put_and_go_out_and_in(draft, clicks):
    person, expected = draft.kit.designers.get(), {}
    for node, picture, at in clicks:
        put_point(draft, person, node, node, picture, at, seen_now(draft, node, picture))
        expected[node, picture] = at
    results = {(point.node, name): at for point in draft.points.all() for name, at in list_places(point).items()}
    assert {key: results.get(key) for key in expected} == expected
    before = as_tables(draft)
    assert exported_again(draft) == before


def posted(rows: list[tuple[str, str, dict]]) -> QueryDict:
    """A grid as it is sent: (key, version, cells) of each row."""
    post = QueryDict(mutable=True)
    for n, (was, version, cells) in enumerate(rows):
        post.update({f"row-{n}-was": was, f"row-{n}-version": version})
        post.update({f"row-{n}-{name}": cell for name, cell in cells.items()})
    return post


def check_lines(draft):
    tables = as_tables(draft)
    pairs = [(stage, check) for stage in tables["stage"] for check in stage.get("check", [])]
    return {checks_grid.make_name(*pair): checks_grid.list_cells(pair[1]) for pair in pairs}


WORDS = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=20)
FIGURES = st.builds("{}{}".format, st.integers(1, 999), st.sampled_from(["", "k", "M", " Ω", "R"]))


@few
@given(title=WORDS, expected=FIGURES, band=st.sampled_from(["5%", "2 %", "10%"]), note=st.just("") | WORDS)
def test_what_the_checks_grid_saves_is_what_its_cells_say_and_is_exported(draft, title, expected, band, note):
    lines = check_lines(draft)
    name, said = "cold/rail", {"title": title, "expected": expected, "band": band, "note": note}
    rows = [(key, row_version(cells), cells | (said if key == name else {})) for key, cells in lines.items()]
    state, _rows = checks_grid.save_grid(draft, draft.kit.designers.get(), posted(rows))
    assert state.is_good, (state.errors, state.general)
    assert check_lines(draft) == lines | {name: lines[name] | said}
    before = as_tables(draft)
    assert exported_again(draft) == before


@pytest.mark.parametrize("grid", [checks_grid, parts_grid])
@pytest.mark.parametrize("guide", ["five-watt", "line-preamp"])
def test_a_grid_that_nobody_touched_changes_nothing(guide, grid):
    made = store_guide(read_guide(demo_zip(guide)), factories.make_designer())
    before = as_tables(made)
    lines = check_lines(made) if grid is checks_grid else {p["ref"]: parts_grid.list_cells(p) for p in before["part"]}
    rows = [(key, row_version(cells), cells) for key, cells in lines.items()]
    state, _rows = grid.save_grid(made, made.kit.designers.get(), posted(rows))
    assert state.is_good and state.saved == 0 and len(rows) > 40
    assert as_tables(made) == before and not made.edits.exists()


@few
@given(value=FIGURES, bag=st.just("") | WORDS, note=st.just("") | WORDS, quantity=st.integers(1, 999))
def test_what_the_parts_grid_saves_is_what_its_cells_say_and_is_exported(draft, value, bag, note, quantity):
    cells = {p["ref"]: parts_grid.list_cells(p) for p in as_tables(draft)["part"]}
    said = {"value": value, "bag": bag, "note": note, "quantity": str(quantity)}
    rows = [("R2", row_version(cells["R2"]), cells["R2"] | said)]
    state, _rows = parts_grid.save_grid(draft, draft.kit.designers.get(), posted(rows))
    assert state.is_good, (state.errors, state.general)
    now = parts_grid.list_cells(next(p for p in as_tables(draft)["part"] if p["ref"] == "R2"))
    assert now == cells["R2"] | said | {"quantity": "" if quantity == 1 else str(quantity)}
    before = as_tables(draft)
    assert exported_again(draft) == before


def unlike(rows) -> list:
    """One of the rows for each set of things that it says."""
    return list({shape: row for row, shape in rows}.values())


@pytest.mark.parametrize("kind", FORMS)
@pytest.mark.parametrize("guide", [pytest.param("five-watt", marks=pytest.mark.slow), "line-preamp"])
def test_a_form_that_nobody_touched_saves_the_row_as_it_was(guide, kind):
    """Of every way in which the rows of the guide are written, one."""
    made = store_guide(read_guide(demo_zip(guide)), factories.make_designer())
    before, kinds = as_tables(made), {}
    stages = [*made.stages.all()]
    kinds["part"] = [(part, (part.kind, *part.detail)) for part in made.parts.all()]
    kinds["point"] = [(point, bool(point.picture)) for point in made.points.all()]
    kinds["stage"] = [(s, (s.power, bool(s.supply), bool(s.settings), bool(s.video), s.gate)) for s in stages]
    kinds["step"] = [
        (s, (s.photo, s.hands_in, bool(s.video), bool(s.picture))) for st in stages for s in st.steps.all()
    ]
    kinds["check"] = [
        (c, (c.measure, c.figure_from, *(bool(getattr(c, name)) for name in CHECK_KEYS)))
        for stage in stages
        for c in stage.checks.all()
    ]
    assert kinds[kind]
    for row in unlike(kinds[kind]):
        siblings = type(row).objects.filter(
            **({"stage": row.stage} if kind in ("step", "check") else {"revision": made})
        )
        sent = sent_fields(str(FORMS[kind](None, instance=row, siblings=siblings)))
        post = QueryDict(mutable=True)
        for name, value in sent.items():
            post.setlist(name, value if isinstance(value, list) else [value])
        form = FORMS[kind](post, instance=type(row).objects.get(pk=row.pk), siblings=siblings)
        assert form.is_valid(), (kind, str(row), form.errors)
        form.save()
    changes = table_differences(before, as_tables(made))
    assert [(change.where, change.key, change.before, change.after) for change in changes] == []
    assert as_tables(made) == before


CHECK_KEYS = ("formula", "recording", "signal", "hints", "marker", "read_with", "through", "low", "at_least", "at_most")
