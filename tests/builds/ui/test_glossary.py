"""The glossary, and the links to it from the first place of each word on a page."""

import re

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from builds.ui.glossing import gloss
from builds.ui.messages.glossary import terms
from tests import factories


def test_every_entry_has_its_own_key_and_says_something():
    entries = terms()
    assert len({term.key for term in entries}) == len(entries) > 25
    assert all(term.word and len(term.meaning) > 20 for term in entries)
    ways = [way.casefold() for term in entries for way in term.also]
    assert len(ways) == len(set(ways))  # no word leads to two entries


def test_the_first_place_of_a_word_is_linked_and_no_other():
    seen = set()
    html = gloss("<p>Measure B+ at the reservoir. B+ can kill.</p>", seen)
    assert html.count("#b-plus") == 1 and html.index("#b-plus") < html.index("can kill")
    assert "#b-plus" not in gloss("<p>B+ again</p>", seen)


@pytest.mark.parametrize(
    "text",
    [
        '<a href="/x/">the gate</a>',
        "<code>bias</code>",
        "<h2>Bias</h2>",
        '<img alt="the gate">',
        "grids-and-things of GRIDLOCK",
        "1B+2",
    ],
)
def test_no_link_is_made_inside_a_link_code_heading_or_another_word(text):
    assert 'class="term"' not in gloss(text, set())


@pytest.mark.lengthy
@given(st.text(alphabet="abgint B+HTOL<>&;/ ", max_size=60))
def test_glossing_a_text_adds_only_links(text):
    from django.utils.html import escape

    linked = gloss(escape(text), set())
    assert re.sub(r'<a class="term"[^>]*>|</a>', "", linked) == escape(text)


@pytest.mark.django_db
def test_anybody_reads_the_glossary_and_a_stage_links_to_it(client):
    page = client.get(reverse("accounts:glossary")).content.decode()
    assert all(f'id="{term.key}"' in page for term in terms())
    revision = factories.make_revision(stages=1, issued=False)
    revision.stages.update(intro="Set the bias. The bias is negative.")
    build = factories.make_build(revision=revision)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    stage = client.get(reverse("bench:stage", args=[build.pk, "stage-1"])).content.decode()
    assert stage.count("/glossary/#bias") == 1
