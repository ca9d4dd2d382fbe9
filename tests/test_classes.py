"""Every class of the stylesheet is used, and every class used is styled or is a hook of a script or a test."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TAG = re.compile(r"\{%.*?%\}", re.DOTALL)
VALUE = re.compile(r"\{\{.*?\}\}", re.DOTALL)
ATTRIBUTE = re.compile(r'\sclass="((?:[^"{]|\{%.*?%\}|\{\{.*?\}\})*)"', re.DOTALL)
BODY = re.compile(r"\{% block page_class %\}(.*?)\{% endblock", re.DOTALL)
# Read by tests/dangers/page_scan.py, which knows advice from its class.
HOOKS = {"advice"}


def texts(folder: str, ending: str) -> str:
    files = (p for p in (ROOT / folder).rglob(f"*{ending}") if "vendor" not in p.parts and "htmx" not in p.name)
    return "\n".join(p.read_text() for p in files)


def styled() -> set[str]:
    css = re.sub(r"/\*.*?\*/", "", texts("static", ".css"), flags=re.DOTALL)
    selectors = re.sub(r"\{[^{}]*\}", " ", css)
    return set(re.findall(r"\.(-?[A-Za-z_][\w-]*)", re.sub(r'"[^"]*"|url\([^)]*\)', "", selectors)))


def in_templates() -> tuple[set[str], set[str]]:
    """Whole classes, and the beginnings of those that a value ends ("is-")."""
    whole, begun = set(), set()
    pages = texts("templates", ".html")
    for attribute in ATTRIBUTE.findall(pages) + BODY.findall(pages):
        for name in VALUE.sub("\0", TAG.sub(" ", attribute)).split():
            start, value, _rest = name.partition("\0")
            (begun if value else whole).add(start)
    return whole, begun - {""}


def words_of(folder: str, ending: str) -> set[str]:
    return set(re.findall(r"[A-Za-z][\w-]*", texts(folder, ending)))


def test_the_stylesheet_and_the_templates_are_read():
    whole, begun = in_templates()
    assert len(styled()) > 200 and len(whole) > 200 and "is-" in begun


@pytest.mark.lengthy
def test_every_class_of_the_stylesheet_is_used():
    whole, begun = in_templates()
    elsewhere = words_of("static", ".js") | words_of("builds", ".py")
    unused = styled() - whole - elsewhere
    assert not {name for name in unused if not name.startswith(tuple(begun))}


def test_every_class_used_is_styled_or_a_hook_of_a_script():
    whole, _begun = in_templates()
    assert not whole - styled() - words_of("static", ".js") - HOOKS


@pytest.mark.parametrize("sheet", ["app.css", "designer.css"])
def test_every_block_of_the_stylesheet_is_closed_before_the_next(sheet):
    """A brace lost in a merge nests all layers below it in another, and their rules lose."""
    depth = 0
    for number, line in enumerate((ROOT / "static" / sheet).read_text().splitlines(), 1):
        assert depth == 0 or not line.startswith("@"), number
        depth += line.count("{") - line.count("}")
    assert depth == 0


BUILDERS = ("bench", "accounts", "drawings", "notifications", "jobs")  # folders of templates that builders meet
BUILDERS_TOO = ("reports/worksheet.html", "reports/_worksheet_stage.html", "guides/_marked.html")


# :not(…) whole, and a choice within :is(…) or :has(…): neither says what an element must have
LEFT_OPEN = re.compile(r":(?:not\((?:[^()]|\([^()]*\))*\)|(?:is|has)\([^()]*,[^()]*\))")


def selectors(sheet: str) -> list[str]:
    """Every selector of a stylesheet, without what it leaves open."""
    css = re.sub(r"/\*.*?\*/", "", (ROOT / "static" / sheet).read_text(), flags=re.DOTALL)
    heads = [head.strip() for head in re.findall(r"[^{};]+(?=\{)", css)]
    return [one for head in heads if head[0] != "@" for one in LEFT_OPEN.sub("", LEFT_OPEN.sub("", head)).split(",")]


def test_what_a_builders_page_uses_is_not_in_the_designers_stylesheet():
    """A builder's phone never loads it."""
    templates = ROOT / "templates"
    pages = [path for folder in BUILDERS for path in (templates / folder).rglob("*.html")]
    pages += [*templates.glob("*.html"), *(templates / name for name in BUILDERS_TOO)]
    met = {name for page in pages for name in re.findall(r"[A-Za-z][\w-]*", page.read_text())}
    found = [set(re.findall(r"\.([A-Za-z][\w-]*)", one)) for one in selectors("designer.css")]
    assert len(found) > 150
    assert [classes for classes in found if not classes - met] == []
