"""Static files: a year under a name that goes with their content, a minute under their own, packed."""

import gzip
import re
from pathlib import Path

import pytest
from django.templatetags.static import static
from django.test import Client

from builds.ui import static_files
from builds.ui.smaller import smaller_css, smaller_js
from builds.ui.static_files import hashed_name, packed_copies


@pytest.fixture
def client(settings):
    settings.DEBUG = False
    return Client()


def test_a_page_names_its_stylesheet_by_what_is_in_it(client, db):
    page = client.get("/sign-in/").content.decode()
    names = re.findall(r'(?:href|src)="/static/([^"]+)"', page)
    assert names and all(static_files.HASHED.fullmatch(name) for name in names)


def test_a_hashed_name_is_kept_for_a_year_and_its_own_name_for_a_minute(client):
    hashed, own = client.get(static("app.css")), client.get("/static/app.css")
    assert hashed["Cache-Control"] == "max-age=31536000, public, immutable"
    assert own["Cache-Control"] == "max-age=60, public"
    assert hashed.getvalue() == own.getvalue() == smaller_css(Path("static/app.css").read_text()).encode()


def test_a_name_with_another_hash_is_refused(client):
    """An old page must not be given a new file under the old file's name, to be kept for a year."""
    wrong = static("app.css").replace("app.", "app.0")[:-5] + ".css"
    assert client.get(wrong).status_code == 404
    assert client.get("/static/app.000000000000.css").status_code == 404


def test_a_browser_that_takes_gzip_gets_the_same_bytes_packed(client):
    answer = client.get(static("vendor/htmx.min.js"), headers={"Accept-Encoding": "gzip"})
    assert answer["Content-Encoding"] == "gzip" and answer["Vary"] == "Accept-Encoding"
    packed = answer.getvalue()
    assert gzip.decompress(packed) == Path("static/vendor/htmx.min.js").read_bytes()
    assert len(packed) < 0.4 * len(gzip.decompress(packed))
    plain = client.get(static("vendor/htmx.min.js"), headers={"Accept-Encoding": "identity"})
    assert "Content-Encoding" not in plain


def test_the_packed_copy_goes_with_the_content(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    file = tmp_path / "a.css"
    file.write_text("a { color: red }" * 40)
    first = packed_copies(file)
    file.write_text("a { color: blue }" * 40)
    second = packed_copies(file)
    assert first != second and b"blue" in gzip.decompress(second[1].read_bytes())


def test_a_data_folder_that_cannot_be_written_to_serves_plain_files(settings, tmp_path):
    (tmp_path / "packed").write_text("a file where the folder would be")
    settings.DATA_DIR = tmp_path
    assert packed_copies(Path("static/app.css")) is None


def test_collecting_writes_both_names(settings, tmp_path):
    from django.core.management import call_command

    settings.STATIC_ROOT = tmp_path
    call_command("collectstatic", interactive=False, verbosity=0)
    assert (tmp_path / "app.css").exists() and (tmp_path / hashed_name("app.css")).exists()


def test_a_stylesheet_keeps_its_rules_and_its_words_when_it_shrinks():
    css = '/* a */\na::before { content: "x ;  y /"; color : red ; }\n.b > .c , .d { width: calc(1rem + 2px); }\n'
    assert smaller_css(css) == 'a::before{content: "x ;  y /";color : red}.b > .c,.d{width: calc(1rem + 2px)}'
    whole = Path("static/app.css").read_text()
    small = smaller_css(whole)
    assert small.count("{") == whole.count("{") and small.count(";") + small.count("}") >= whole.count(";")
    assert re.findall(r'"[^"]*"', small) == re.findall(r'"[^"]*"', without_comments(whole))


def without_comments(text: str) -> str:
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)


def test_a_script_loses_its_comments_and_nothing_else():
    assert (
        smaller_js('// why\n  a = "// not a comment";\n\n  b(); // stays\n') == 'a = "// not a comment";\nb(); // stays'
    )


def test_no_script_has_text_that_runs_over_lines():
    """Leading spaces are taken off every line as it is sent: inside such a text they would be content."""
    for path in Path("static").rglob("*.js"):
        if "vendor" not in path.parts:
            assert all(line.count("`") % 2 == 0 for line in path.read_text().splitlines()), path
