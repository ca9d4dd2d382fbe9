"""The guide file: in, out, and what it refuses."""

import copy
import io
import tomllib
import zipfile

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from builds.guides.circuit.stored import compute_figures
from builds.guides.demo.files import demo_zip
from builds.guides.guide_file import GuideErrors, as_data, read_guide, store_guide, write_guide, write_zip
from builds.guides.guide_file.compare import differences
from builds.guides.guide_file.write import normalise
from builds.guides.revisions import clone, issue
from tests import factories

pytestmark = pytest.mark.django_db

SMALL = """format = 1
[kit]
key = "small"
name = "Small"
revision = "A"

[[part]]
ref = "R1"
kind = "resistor"
value = "4k7"
joins = ["a", "chassis"]

[[stage]]
key = "one"
title = "One"
[[stage.step]]
key = "do"
text = "Do it."
parts = ["R1"]
[[stage.check]]
key = "look"
title = "Look"
measure = "dc volts"
red = "a"
expected = "300 V"
band = "8%"
stop_above = "400 V"
"""


def troubles(text):
    with pytest.raises(GuideErrors) as caught:
        read_guide(text.encode())
    return [str(t) for t in caught.value.problems]


@pytest.mark.lengthy
def test_the_demo_guide_comes_out_as_it_went_in():
    data = read_guide(demo_zip())
    revision = store_guide(data, factories.make_designer())
    assert as_data(revision) == normalise(data)
    assert normalise(read_guide(write_zip(revision))) == normalise(data)


@pytest.mark.lengthy
def test_the_demo_guide_is_as_large_as_a_real_one():
    data = read_guide(demo_zip())
    assert len(data["part"]) >= 45 and len(data["stage"]) == 9
    assert sum(len(s.get("step", [])) for s in data["stage"]) >= 70
    assert sum(len(s.get("check", [])) for s in data["stage"]) >= 45


@pytest.mark.lengthy
def test_the_demo_guide_never_sends_a_probe_to_live_mains():
    for stage in read_guide(demo_zip())["stage"]:
        for check in stage.get("check", []):
            said = f"{check['red']} {check.get('black', '')}"
            assert "mains." not in said
            if "plug" in said:
                assert "pulled out of the wall" in said and stage.get("power", "off") == "off"


@pytest.mark.lengthy
def test_every_node_of_the_demo_joins_two_things():
    """A node with one connection is a loose wire. Jack and mains nodes end at the outside world."""
    ends = {}

    def count(joins):
        for node in joins.values() if isinstance(joins, dict) else joins:
            if isinstance(node, dict | list):
                count(node)
            else:
                ends[node] = ends.get(node, 0) + 1

    for part in read_guide(demo_zip())["part"]:
        count(part.get("joins", []))
        for winding in part.get("winding", []):
            count(winding["joins"])
    assert not [n for n, times in ends.items() if times < 2]


@pytest.mark.lengthy
def test_heaters_of_the_demo_sit_on_the_noval_pins():
    """ECC83: 4, 5 and centre 9; EL84: 4 and 5 (maker's data sheets, from memory; two facts agree)."""
    parts = {p["ref"]: p for p in read_guide(demo_zip())["part"]}
    assert parts["V1"]["pins"]["heater"] == ["4", "5"] and parts["V1"]["pins"]["heater_centre"] == "9"
    assert parts["V2"]["pins"]["heater"] == ["4", "5"] and parts["V2"]["pins"]["anode"] == "7"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'kind = "resistor"',
            'kind = "resister"',
            "line 9, part R1 kind: “resister”",
        ),
        ('value = "4k7"', 'value = "4k7k"', "line 10, part R1 value"),
        ('value = "4k7"', 'valeu = "4k7"', "Did you mean value?"),
        ('stop_above = "400 V"', 'stop_above = "310 V"', "is inside the band"),
        ('band = "8%"', "", "Give the band in one way"),
        ('parts = ["R1"]', 'parts = ["R9"]', "line 19, stage one, step do parts: R9 "),
        ('measure = "dc volts"', 'measure = "volts"', "line 23, stage one, check look measure: “volts”"),
        ('key = "do"', 'key = "Do it"', "takes lower-case letters, digits and hyphens"),
        ("format = 1", "format = 2", "line 1, format: "),
        ('title = "One"', 'title = "One"\npower = "on"', "must show cautions"),
        ('title = "One"', "title = 1", "must be text"),
        ('red = "a"', 'red = "a"\npicture = "x.png"', "line 25, stage one, check look picture: "),
    ],
)
def test_a_mistake_is_told_with_its_place(old, new, said):
    problems = troubles(SMALL.replace(old, new, 1))
    assert any(said in t for t in problems), problems


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'title = "One"',
            f'title = "{"x" * 121}"',
            "line 15, stage one title: This is 121",
        ),
        ('name = "Small"', f'name = "{"x" * 121}"', "line 4, kit name: This is 121 characters long"),
        ('key = "small"', f'key = "{"x" * 61}"', "line 3, kit key: This is 61 characters long"),
        ('key = "small"', 'key = "builds"', "line 3, kit key: “builds” is reserved for the addresses of this site"),
        ('ref = "R1"', f'ref = "{"R" * 21}"', "is 21 characters long"),
        (
            'text = "Do it."',
            'text = "Do\\u0000it."',
            "line 18, stage one, step do text: This has a character that is not text, U+0000",
        ),
        ('title = "One"', "title = '  '", "is missing"),
        (
            'title = "One"',
            'title = "One"\nminutes = -5',
            "line 16, stage one minutes: -5",
        ),
        ('title = "One"', 'title = "One"\nminutes = 99999999999999999999', "Accepted: 0 to 9999"),
        ('title = "One"', 'title = "One"\nnot_fitted = [["V1"]]', "must be a list of texts"),
        ('parts = ["R1"]', "parts = [{ a = 1 }]", "must be a list of texts"),
        ('key = "one"', 'key = ["one"]', "must be text"),
        ('ref = "R1"', 'ref = ["R1"]', "must be text"),
        ('joins = ["a", "chassis"]', 'joins = ["a", 3]', "line 11, part R1 joins: "),
        (
            'joins = ["a", "chassis"]',
            'joins = ["a", "b"]\nlimits = { watts = 1979-05-27 }',
            "line 12, part R1 limits: Dates",
        ),
        (
            'joins = ["a", "chassis"]',
            'joins = ["a", "b"]\nlimits = { watts = nan }',
            "line 12, part R1 limits: This number",
        ),
        ('red = "a"', 'red = "a"\nmains_exponent = inf', "Accepted: -4 to 4"),
        ('red = "a"', 'red = "a"\nmains_exponent = nan', "Accepted: -4 to 4"),
        ('revision = "A"', 'revision = "A"\ntaps = [115, "x"]', "line 6, kit taps: “x”"),
        ('revision = "A"', 'revision = "A"\nmains = { volt = 230 }', "line 6, kit mains"),
        ('title = "One"', 'title = "One"\nsupply = { lamp = "-60 W" }', "must be above zero"),
        (
            'kind = "resistor"',
            'kind = "resistor"\nwinding = [{ name = "ht", taps = { t = 0.2 } }]',
            "part R1 taps: A winding has no taps here",
        ),
    ],
)
def test_what_could_not_be_kept_or_given_back_is_told_with_its_place(old, new, said):
    problems = troubles(SMALL.replace(old, new, 1))
    assert any(said in t for t in problems), problems


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("x = " + "[" * 5000, "too deep"),
        ("x = " + "9" * 5000, "too large"),
        ("[kit.mains]\nx = " + "[" * 30 + "]" * 30, "nested"),
    ],
)
def test_toml_made_to_break_a_reader_is_refused(more, said):
    assert any(said in t for t in troubles(SMALL + more))


def test_words_that_look_like_the_head_of_a_table_do_not_shift_the_lines():
    text = SMALL.replace('title = "One"', 'title = "One" # not """\nintro = """\n[[stage.check]]\nmeasure = "x"\n"""')
    assert (
        "line 27, stage one, check look measure"
        in troubles(text.replace('measure = "dc volts"', 'measure = "volts"'))[0]
    )


def test_a_step_written_within_its_stage_is_told_by_the_line_of_the_stage():
    text = SMALL.replace('title = "One"', 'title = "One"\nstep = [{ key = "a", txt = "b" }]').replace(
        '[[stage.step]]\nkey = "do"\ntext = "Do it."\nparts = ["R1"]\n', ""
    )
    assert troubles(text)[0].startswith("line 13, stage one, step a txt")


def test_what_a_desktop_adds_to_a_zip_is_left_out():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in ("__MACOSX/._guide.toml", ".DS_Store", "kit/guide.toml"):
            archive.writestr(name, SMALL if name.endswith("/guide.toml") else b"\0")
    assert read_guide(out.getvalue())["kit"]["key"] == "small"


def test_two_guides_in_one_zip_are_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in ("a/guide.toml", "b/guide.toml"):
            archive.writestr(name, SMALL)
    with pytest.raises(GuideErrors, match="two files of the same name"):
        read_guide(out.getvalue())


def test_broken_toml_names_its_line():
    assert "line 3" in troubles(SMALL.replace('key = "small"', "key = small"))[0]


def test_all_mistakes_are_told_at_once():
    assert len(troubles(SMALL.replace('value = "4k7"', 'value = "x"').replace('band = "8%"', 'band = "?"'))) == 2


@pytest.mark.parametrize("raw", [b"\xff\xfe\x00bad", b"PK\x03\x04garbage", b""])
def test_what_is_no_guide_is_refused(raw):
    with pytest.raises(GuideErrors):
        read_guide(raw)


def zipped(**files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, raw in files.items():
            archive.writestr(name.replace("__", "."), raw)
    return out.getvalue()


def test_a_picture_is_checked_by_decoding_it():
    with pytest.raises(GuideErrors, match="cannot be read as a PNG or JPEG"):
        read_guide(zipped(guide__toml=SMALL, x__png=b"not a picture"))


@pytest.mark.lengthy
def test_a_bomb_is_refused_before_it_is_unpacked():
    with pytest.raises(GuideErrors, match="60 MB"):
        read_guide(zipped(guide__toml=SMALL, x__png=b"\0" * 61_000_000))


@pytest.mark.lengthy
def test_a_picture_of_enormous_size_is_refused():
    out = io.BytesIO()
    Image.new("1", (9000, 9000)).save(out, "PNG")
    with pytest.raises(GuideErrors, match="pixels"):
        read_guide(zipped(guide__toml=SMALL, x__png=out.getvalue()))


def test_a_letter_is_imported_once():
    designer = factories.make_designer()
    store_guide(read_guide(SMALL.encode()), designer)
    with pytest.raises(GuideErrors, match="already has a revision"):
        store_guide(read_guide(SMALL.encode()), designer)
    with pytest.raises(GuideErrors, match="already taken"):
        store_guide(read_guide(SMALL.replace('"A"', '"B"').encode()), factories.make_designer())


WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=40).filter(str.strip)


@pytest.mark.lengthy
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    title=WORDS,
    text=WORDS,
    minutes=st.integers(0, 500),
    optional=st.booleans(),
    exponent=st.sampled_from([0, 1.0, 0.5]),
    letter=st.from_regex(r"[A-Z]{1,6}", fullmatch=True),
)
def test_any_guide_survives_the_round_trip(title, text, minutes, optional, exponent, letter):
    data = copy.deepcopy(tomllib.loads(SMALL))
    data["kit"]["revision"] = letter
    stage = data["stage"][0]
    stage |= {"title": title, "minutes": minutes}
    stage["step"][0]["text"] = text
    stage["check"][0] |= {"optional": optional, "mains_exponent": exponent, "note": text}
    read = read_guide(tomlkit.dumps(data).encode())
    designer = factories.make_designer(name=f"Designer {factories.next_number()}")
    read["kit"]["key"] = f"kit-{factories.next_number()}"
    revision = store_guide(read, designer)
    assert normalise(read_guide(write_guide(revision).encode())) == normalise(read)


@pytest.mark.lengthy
def test_the_second_demo_guide_leaves_its_figures_to_the_circuit_and_round_trips(db):
    data = read_guide(demo_zip("line-preamp"))
    checks = [c for s in data["stage"] for c in s.get("check", [])]
    assert len(data["part"]) >= 45 and len(data["stage"]) == 9 and len(checks) >= 40
    assert sum(c.get("expected") == "model" for c in checks) >= 30
    draft = store_guide(data, factories.make_designer())
    compute_figures(draft, 200)
    revision = issue(draft)
    assert normalise(read_guide(write_zip(revision))) == normalise(data)
    assert all(c["reason"] == "" if "reason" in c else True for c in revision.figures.detail["checks"].values())
    assert not [s for s in revision.figures.detail["stresses"] if s["over"]]


MIXED = (
    SMALL.replace('title = "One"', 'title = "One"\norder = ["do", "look", "close"]')
    + '[[stage.step]]\nkey = "close"\ntext = "Close it."\nhands_in = true\n'
)


def test_steps_and_checks_of_a_stage_keep_one_order():
    data = read_guide(MIXED.encode())
    revision = store_guide(data, factories.make_designer())
    assert [item.key for item in revision.stages.get().items] == ["do", "look", "close"]
    assert [step.hands_in for step in revision.stages.get().steps.all()] == [False, True]
    assert normalise(read_guide(write_guide(revision).encode())) == normalise(data)
    assert [item.key for item in clone(revision).stages.get().items] == ["do", "look", "close"]


def test_a_stage_without_an_order_has_its_steps_and_then_its_checks():
    text = SMALL + '[[stage.step]]\nkey = "close"\ntext = "Close it."\n'
    revision = store_guide(read_guide(text.encode()), factories.make_designer())
    assert [item.key for item in revision.stages.get().items] == ["do", "close", "look"]
    assert "order" not in write_guide(revision)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"look", "close"]', '"look", "shut"]', "line 16, stage one order: “shut” is neither"),
        ('"look", "close"]', '"look", "close", "do"]', "line 16, stage one order: “do” is named more than once"),
        ('"look", "close"]', '"look"]', "line 16, stage one order: The order leaves out close"),
        ('"look", "close"]', '"look", 3]', "line 16, stage one order: This must be a list of texts"),
        (
            'key = "close"',
            'key = "look"',
            "line 16, stage one order: A step and a check of this stage are both called “look”",
        ),
        ("hands_in = true", 'hands_in = "yes"', "hands_in: This must be true or false"),
    ],
)
def test_an_order_names_every_step_and_check_once(old, new, message):
    assert any(message in trouble for trouble in troubles(MIXED.replace(old, new)))


@pytest.mark.lengthy
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_order_and_hands_in_marks_survive_the_round_trip_and_a_clone(drawn):
    steps = [
        {"key": f"s{n}", "text": "Do it.", "hands_in": drawn.draw(st.booleans())}
        for n in range(drawn.draw(st.integers(0, 4)))
    ]
    look = tomllib.loads(SMALL)["stage"][0]["check"][0]
    checks = [look | {"key": f"c{n}"} for n in range(drawn.draw(st.integers(0, 4)))]
    order = drawn.draw(st.permutations([row["key"] for row in (*steps, *checks)]))
    data = tomllib.loads(SMALL)
    data["stage"][0] |= {"step": steps, "check": checks, "order": list(order)}
    read = read_guide(tomlkit.dumps(data).encode())
    read["kit"]["key"] = f"kit-{factories.next_number()}"
    revision = store_guide(read, factories.make_designer(name=f"Designer {factories.next_number()}"))
    assert [item.key for item in revision.stages.get().items] == list(order)
    assert normalise(read_guide(write_guide(revision).encode())) == normalise(read)
    draft = clone(revision)
    assert [item.key for item in draft.stages.get().items] == list(order)
    assert not differences(revision, draft)


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["five-watt", "line-preamp"])
def test_the_demo_fits_valves_after_made_safe_and_tests_earth_and_isolation_before_plugging_in(name):
    stages = {stage["key"]: stage for stage in read_guide(demo_zip(name))["stage"]}
    steps = stages["valves-in"]["step"]
    fitting = next(n for n, step in enumerate(steps) if "V1" in step.get("parts", []))
    assert steps[fitting]["hands_in"] and "made safe" in steps[fitting - 1]["text"]
    assert stages["sign-off"]["order"][-3:] == ["final-earth", "final-isolation", "play"]
