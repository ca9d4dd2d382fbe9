"""The German catalogue: complete for the builder's side, with the same placeholders, compiled, and up to date."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import polib
import pytest

ROOT = Path(__file__).resolve().parent.parent
CATALOGUE = ROOT / "builds" / "locale" / "de" / "LC_MESSAGES" / "django.po"
BUILDERS = (
    "templates/base.html",
    "templates/_field.html",
    "templates/bench/",
    "templates/accounts/",
    "templates/notifications/",
    "templates/jobs/",
    "templates/drawings/",
    "builds/bench/",
    "builds/accounts/",
    "builds/notifications/",
    "builds/jobs/",
    "builds/ui/",
)
PLACEHOLDER = re.compile(r"%\(\w+\)[-+0-9.]*[a-z]|%%|\{\w*\}|<[^>]+>")


@pytest.fixture(scope="module")
def catalogue():
    return polib.pofile(str(CATALOGUE))


def is_builders(entry) -> bool:
    return any(path.startswith(BUILDERS) for path, _line in entry.occurrences)


def texts_of(entry) -> list[tuple[str, str]]:
    """(source, translation) of an entry; each plural form against the form it stands for."""
    if not entry.msgid_plural:
        return [(entry.msgid, entry.msgstr)]
    return [(entry.msgid if int(n) == 0 else entry.msgid_plural, text) for n, text in entry.msgstr_plural.items()]


def test_every_text_of_the_builders_side_is_translated(catalogue):
    entries = [entry for entry in catalogue if not entry.obsolete and is_builders(entry)]
    assert len(entries) > 300
    missing = [entry.msgid for entry in entries if not entry.translated()]
    assert not missing


def test_translations_keep_the_placeholders_and_the_markup(catalogue):
    wrong = []
    for entry in (entry for entry in catalogue if entry.translated()):
        for source, text in texts_of(entry):
            if sorted(PLACEHOLDER.findall(source)) != sorted(PLACEHOLDER.findall(text)) and not _one(entry, text):
                wrong.append((source, text))
    assert not wrong


def _one(entry, text) -> bool:
    """A singular form may leave its count out ("ein Foto")."""
    return bool(entry.msgid_plural) and text == entry.msgstr_plural.get(0)


def test_the_compiled_catalogue_is_the_one_that_is_read(catalogue):
    compiled = polib.mofile(str(CATALOGUE.with_suffix(".mo")))
    read, written = (
        {(e.msgctxt, e.msgid): e.msgstr for e in rows} for rows in (compiled, catalogue.translated_entries())
    )
    assert read == written


@pytest.mark.lengthy
@pytest.mark.skipif(not shutil.which("xgettext"), reason="gettext's tools are not installed (CI has them)")
def test_the_catalogue_has_every_text_of_the_code(catalogue, tmp_path):
    copy = tmp_path / "tree"
    ignored = shutil.ignore_patterns(".git", "var", ".venv", "node_modules", "*.mo", "__pycache__")
    for folder in ("builds", "checks", "templates", "static"):
        shutil.copytree(ROOT / folder, copy / folder, ignore=ignored)
    shutil.copy(ROOT / "manage.py", copy)
    command = [sys.executable, "manage.py", "makemessages", "-l", "de", "--no-obsolete", "-v0"]
    subprocess.run(command, cwd=copy, check=True, capture_output=True)
    fresh = polib.pofile(str(copy / CATALOGUE.relative_to(ROOT)))
    have = {(e.msgctxt, e.msgid) for e in catalogue if not e.obsolete}
    assert [e.msgid for e in fresh if (e.msgctxt, e.msgid) not in have] == []
