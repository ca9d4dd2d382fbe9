"""A guide carries translations of its texts; gaps and texts that have changed since fall back to the guide's own."""

import copy
import re

import pytest
import tomlkit
from django.db import DatabaseError, transaction
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builds.guides.demo.files import demo_zip
from builds.guides.editor.meanwhile import differences_version
from builds.guides.editor.replacing import replace_in, replaced
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import GuideErrors, as_data, read_guide, store_guide, write_zip
from builds.guides.guide_file.compare import differences, table_differences
from builds.guides.guide_file.translations import TEXTS, list_texts
from builds.guides.guide_file.unpack import unpack
from builds.guides.guide_file.write import as_tables, normalise
from builds.guides.guide_texts import load_guide_in, stale_translations
from builds.guides.models import Picture, Revision, Step
from builds.guides.objections import objections_to
from builds.guides.pictures.draw import shown_picture
from builds.guides.pictures.translated import choose_image
from builds.guides.revisions import clone, issue
from builds.reports.guide.pictures import print_copies
from tests import factories
from tests.builds.guides.test_guide_file import SMALL, WORDS, zipped
from tests.builds.guides.test_picture_changes import png

pytestmark = pytest.mark.django_db

GUIDE = SMALL + (
    '[[stage.check.hint]]\nwhen = "low"\ntext = "R1 is open."\n'
    '[[stage.check]]\nkey = "earth"\ntitle = "Earth"\nmeasure = "continuity"\nat_most = "0.5R"\n'
    'red = "=the earth pin of the plug, pulled out of the wall"\n'
)
GERMAN = """format = 1
[kit]
name = "Klein"
[stage.one]
title = "Eins"
[stage.one.step.do]
text = "Tu es."
[stage.one.check.look]
title = "Messen"
hint = ["R1 ist unterbrochen."]
[stage.one.check.earth]
red = "=der Erdstift des Steckers, aus der Dose gezogen"
"""


def zip_of(german=GERMAN, guide=GUIDE):
    return zipped(guide__toml=guide, guide__de__toml=german)


def refusals(german):
    with pytest.raises(GuideErrors) as caught:
        read_guide(zip_of(german))
    return [(t.line, t.key) for t in caught.value.problems]


@pytest.fixture
def draft():
    return store_guide(read_guide(zip_of()), factories.make_designer())


def texts(guide):
    (stage,) = guide.stages
    look = stage.checks.all()[0]
    return stage.title, stage.steps.all()[0].text, look.title, look.hints[0]["text"], look.note


def test_a_reader_of_the_language_sees_it_and_every_other_the_guides_own(draft):
    assert texts(load_guide_in(draft, "de")) == ("Eins", "Tu es.", "Messen", "R1 ist unterbrochen.", "")
    assert texts(load_guide_in(draft, "de-at"))[0] == "Eins"
    for language in ("en-gb", "fr", "", None):
        assert texts(load_guide_in(draft, language))[0] == "One"


def test_gaps_fall_back_and_the_guide_itself_is_left_alone(draft):
    revision = issue(draft)
    german = load_guide_in(revision, "de")
    earth = german.stages[0].checks.all()[1]
    assert (earth.title, german.probes.pair(earth)[0].location) == (
        "Earth",
        "der Erdstift des Steckers, aus der Dose gezogen",
    )
    assert earth.stage is german.stages[0] and earth.pk == load_guide(revision).stages[0].checks.all()[1].pk
    assert texts(load_guide(revision))[0] == "One"
    assert german is load_guide_in(revision, "de")  # worked out once


def test_translations_survive_out_and_in_again_and_a_clone(draft):
    data = read_guide(write_zip(draft))
    assert normalise(data)["translations"] == normalise(as_data(draft))["translations"] != {}
    assert clone(draft).translations == draft.translations


def test_a_text_that_changed_since_is_shown_as_it_is_now_and_told_of(draft):
    Step.objects.filter(stage__revision=draft).update(text="Do it twice.")
    assert texts(load_guide_in(draft, "de"))[:2] == ("Eins", "Do it twice.")
    assert stale_translations(draft, load_guide(draft)) == {"de": 1}
    assert "stale-translation" in [o.code for o in objections_to(draft)]
    assert "Tu es." not in write_zip_text(draft)


def write_zip_text(revision):
    return unpack(write_zip(revision))[1]["de"]


@pytest.mark.parametrize(
    ("old", "new", "line", "key"),
    [
        ("[stage.one.step.do]", "[stage.one.step.done]", 7, "stage.one.step.done.text"),
        ('title = "Eins"', "minutes = 5", 5, "stage.one.minutes"),
        ('title = "Eins"', "title = 5", 5, "stage.one.title"),
        ('title = "Eins"', f'title = "{"x" * 121}"', 5, "stage.one.title"),
        ('hint = ["R1 ist unterbrochen."]', "hint = []", 10, "stage.one.check.look.hint"),
        ('title = "Messen"', 'red = "=die Anode"', 9, "stage.one.check.look.red"),
        ("=der Erdstift", "der Erdstift", 12, "stage.one.check.earth.red"),
        ("=der Erdstift des Steckers", "=die Phase der Netzbuchse", 12, "stage.one.check.earth.red"),
        ('title = "Eins"', 'title = "Ei\\u0000ns"', 5, "stage.one.title"),
    ],
)
def test_what_is_no_text_of_the_guide_is_refused_with_its_line(old, new, line, key):
    assert refusals(GERMAN.replace(old, new, 1)) == [(line, f"guide.de.toml, {key}")]


def test_a_broken_translation_names_its_file():
    assert refusals("format = 2\n") == [(1, "guide.de.toml")]
    assert refusals("format = 1\n[kit\n")[0][1] == "guide.de.toml"


def test_a_changed_translation_is_a_difference(draft):
    other = clone(draft)
    rows = [[path, "Tu es zweimal." if path[-1] == "text" else text, of] for path, text, of in other.translations["de"]]
    Revision.objects.filter(pk=other.pk).update(translations={"de": rows})
    (changed,) = differences(draft, Revision.objects.get(pk=other.pk))
    assert (changed.key, changed.after) == ("stage.one.step.do.text", "Tu es zweimal.")


def test_translations_are_frozen_with_the_revision(draft):
    issue(draft)
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        Revision.objects.filter(pk=draft.pk).update(translations=None)


def test_the_builder_reads_the_guide_in_their_language(client, draft):
    build = factories.make_build(revision=issue(draft))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("bench:stage", args=[build.pk, "one"])
    for language, title in (("en-gb", "One"), ("de", "Eins")):
        type(build.builder).objects.filter(pk=build.builder.pk).update(language=language)
        assert title in client.get(address, follow=True).content.decode()


@pytest.mark.lengthy
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_translation_survives_the_round_trip(drawn):
    data = read_guide(GUIDE.encode())
    given_texts: dict = {"format": 1}
    for path, source in list_texts(data).items():
        if path[-1] in ("red", "black") or not drawn.draw(st.booleans()):
            continue
        text = drawn.draw(WORDS)
        table = given_texts
        for part in path[:-1]:
            table = table.setdefault(part, {})
        table[path[-1]] = [text] * len(source) if isinstance(source, list) else text
    read = read_guide(zip_of(tomlkit.dumps(given_texts)))
    read["kit"] = copy.deepcopy(read["kit"]) | {"key": f"kit-{factories.next_number()}"}
    revision = store_guide(read, factories.make_designer(name=f"Designer {factories.next_number()}"))
    again = read_guide(write_zip(revision))
    assert sorted(again["translations"].get("de", [])) == sorted(read["translations"]["de"])


def test_every_table_of_a_guide_that_holds_texts_may_be_translated():
    assert set(TEXTS) == {"kit", "picture", "point", "part", "fault", "stage", "step", "check"}


@pytest.mark.lengthy
def test_the_demonstration_preamplifier_is_wholly_german_for_a_german_builder():
    data = read_guide(demo_zip("line-preamp"))
    sources, german = list_texts(data), {tuple(path): text for path, text, _of in data["translations"]["de"]}
    assert set(german) == set(sources)
    made = store_guide(data, factories.make_designer())
    assert stale_translations(made, load_guide(made)) == {}
    assert load_guide_in(made, "de").stages[0].title == "Auspacken und zählen" != load_guide(made).stages[0].title


@pytest.mark.lengthy
def test_the_demonstrations_german_keeps_every_order_to_switch_off_and_every_part():
    """An order to make safe, a reference or a pin that a translation loses is a danger nobody sees."""
    data = read_guide(demo_zip("line-preamp"))
    sources = list_texts(data)
    for path, text, _of in data["translations"]["de"]:
        before, after = str(sources[tuple(path)]), str(text)
        if "Switch off. Unplug." in before:
            assert after.startswith("Ausschalten. Netzstecker ziehen.")
        part = re.compile(r"\b(?:[A-Z]{1,2}\d+)\b|\d+(?:[.,]\d+)?")
        assert sorted(x.replace(",", ".") for x in part.findall(before)) == sorted(
            x.replace(",", ".") for x in part.findall(after)
        ), path


MARKED = (
    '[[picture]]\nname = "a.png"\n'
    'mark = [{ what = "words", at = [0.1, 0.5], text = "the red tag" }, '
    '{ what = "number", at = [0.5, 0.5], text = "1" }]\n'
)
MARKED_GERMAN = GERMAN + '[picture."a.png"]\nwords = ["die rote Fahne"]\n'


def with_picture(german=MARKED_GERMAN):
    return zipped(guide__toml=GUIDE + MARKED, guide__de__toml=german, a__png=png())


@pytest.mark.parametrize(
    "text", ['"die rote Fahne"', '["a", "b"]', "[]", '[""]', "[1]", f'["{"x" * 61}"]', '["a\\u0000"]']
)
def test_words_on_a_picture_are_a_list_of_as_many_texts_as_it_has_words(text):
    with pytest.raises(GuideErrors) as caught:
        read_guide(with_picture(GERMAN + f'[picture."a.png"]\nwords = {text}\n'))
    assert [problem.key for problem in caught.value.problems] == ["guide.de.toml, picture.a.png.words"]


def test_words_on_a_picture_go_out_and_in_with_the_translation():
    data = read_guide(with_picture())
    draft = store_guide(data, factories.make_designer())
    assert normalise(read_guide(write_zip(draft))) == normalise(data)


@pytest.mark.lengthy
def test_a_builder_sees_the_words_on_a_picture_in_their_language(client):
    draft = store_guide(read_guide(with_picture()), factories.make_designer())
    build = factories.make_build(revision=issue(draft))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    picture = reverse("bench:picture", args=[build.pk, "a.png"])
    own = client.get(picture)
    german = client.get(picture, headers={"accept-language": "de"})
    shown = [b"".join(answer.streaming_content) for answer in (own, german)]
    assert own["ETag"] != german["ETag"] and shown[0] != shown[1]
    expected = shown_picture(
        png(),
        {
            "mark": [
                mark | {"text": "die rote Fahne"} if mark["what"] == "words" else mark
                for mark in tomlkit.parse(MARKED)["picture"][0]["mark"]
            ]
        },
    )[0]
    assert shown[1] == expected  # numbers stay as they are


def test_translated_words_are_in_the_printed_guide(tmp_path):
    draft = store_guide(read_guide(with_picture()), factories.make_designer())
    copies = [
        print_copies(guide.pictures, folder)["a.png"][0].read_bytes()
        for guide, folder in ((load_guide(draft), tmp_path), (load_guide_in(draft, "de"), tmp_path))
    ]
    assert copies[0] != copies[1]


def test_words_drawn_otherwise_since_are_shown_as_the_designer_has_them():
    draft = store_guide(read_guide(with_picture()), factories.make_designer())
    picture = draft.pictures.get()
    marks = [mark | {"text": "another"} if mark["what"] == "words" else mark for mark in picture.changes["mark"]]
    Picture.objects.filter(pk=picture.pk).update(changes={"mark": marks})
    assert choose_image(load_guide_in(draft, "de").pictures["a.png"]).name == picture.shown.name
    assert stale_translations(draft, load_guide(draft)) == {"de": 1}


def test_words_on_a_picture_are_found_and_replaced_and_its_numbers_stay():
    draft = store_guide(read_guide(with_picture()), factories.make_designer())
    for find, put in (("1", "2"), ("red", "blue")):
        tables = as_tables(draft)
        shown = differences_version(table_differences(tables, replaced(tables, find, put)))
        replace_in(draft, draft.kit.designers.get(), find, put, shown=shown)
    assert [mark["text"] for mark in draft.pictures.get().changes["mark"]] == ["the blue tag", "1"]
