"""Templates keep to the strict content policy, and htmx to what the policy lets it do."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent / "templates"
TEMPLATES = sorted(ROOT.rglob("*.html"))
FORBIDDEN = {
    "inline style": r"\sstyle=",
    "style element": r"<style",
    "inline script": r"<script(?![^>]*\ssrc=)",
    "event attribute": r"\son[a-z]+=",
    "htmx script attribute": r"hx-on",
    "htmx js value": r"js:",
    "htmx trigger filter": r'hx-trigger="[^"]*\[',
    "unescaped": r"\|safe\b|autoescape off",
}


def test_there_are_templates_to_look_at():
    assert len(TEMPLATES) > 40


@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_template_breaks_the_content_policy_by(what):
    wrong = [str(p.relative_to(ROOT)) for p in TEMPLATES if re.search(FORBIDDEN[what], p.read_text())]
    assert not wrong


def test_every_posting_form_carries_the_token():
    for path in TEMPLATES:
        for form in re.findall(r"<form[^>]*method=\"post\".*?</form>", path.read_text(), re.DOTALL):
            assert "csrf_token" in form, path


STYLES = sorted((ROOT.parent / "static").rglob("*.css"))


def test_a_line_of_a_stylesheet_holds_one_rule_and_fits_the_page():
    assert len(STYLES) > 1
    for path in STYLES:
        for number, line in enumerate(path.read_text().splitlines(), 1):
            assert len(line) <= 120, (path.name, number)
            assert line.count("{") <= 1, (path.name, number)


SCRIPTS = sorted(p for p in (ROOT.parent / "static").rglob("*.js") if p.parent.name != "vendor")


def test_a_line_of_a_script_fits_the_page():
    long = {
        f"{path.name}:{number}"
        for path in SCRIPTS
        for number, line in enumerate(path.read_text().splitlines(), 1)
        if len(line) > 120
    }
    assert len(SCRIPTS) > 30
    assert not long


def test_a_line_of_a_template_fits_the_page():
    long = {
        f"{path.relative_to(ROOT)}:{number}"
        for path in TEMPLATES
        for number, line in enumerate(path.read_text().splitlines(), 1)
        if len(line) > 120
    }
    assert not long


def test_no_template_chooses_a_class_by_comparing_words():
    """Classes come with the row or from a filter, where one table says them."""
    compared = r'class="[^">]*\{% (?:el)?if [^%]*(?:==|!=| in )[^%]*%\}'
    wrong = [str(p.relative_to(ROOT)) for p in TEMPLATES if re.search(compared, p.read_text())]
    assert not wrong
    assert re.search(compared, '<p class="line{% if row.state == "done" %} is-done{% endif %}">')


def test_no_template_does_arithmetic():
    """Adding up, or comparing with a fraction, is for Python: a threshold there is a second place for a rule."""
    sums = r"widthratio|\|add:(?:\"-?\d|-?\d|[\w.]*counter)|\{% (?:el)?if [^%]*[<>]=? *\d*\.\d"
    wrong = [str(p.relative_to(ROOT)) for p in TEMPLATES if re.search(sums, p.read_text())]
    assert not wrong
    assert all(re.search(sums, text) for text in ("{{ n|add:1 }}", '{{ page|add:"-1" }}', "{% if share > 0.5 %}"))
