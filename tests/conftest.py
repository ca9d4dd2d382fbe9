"""Fixtures that all tests share."""

import gc
import os
from pathlib import Path

import pytest
from django.conf import settings as site
from django.db import connections
from django.utils import translation
from hypothesis import settings

from builds.ui.static_files import HashedFilesMiddleware
from tests import browser_search as browser
from tests import statements
from tests.quick_flush import quick_flush
from tests.settings import NEVER_COMMITS, quick, quick_database
from tests.solved_once import folder_of_this_code, solve_once

LEFT_OUT = pytest.StashKey[int]()
DATABASES = {"db", "transactional_db", "live_server", "django_db_setup"}  # fixtures; without, pytest-django refuses

# A folder that several runs of one state of the code share (.ci/run): circuits solved, and what each test asked.
STORE = Path(os.environ["TEST_STORE"]) if "TEST_STORE" in os.environ else None

# A deadline would make every property a timed test, and a busy machine fail it.
settings.register_profile("steady", deadline=None, print_blob=True)
settings.load_profile("steady")

# Nearly all that lives was imported or collected: to look through it every 700 objects is a sixth of a test's time.
gc.set_threshold(100_000, 20, 50)
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's loop and Django's checks
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the workers have the cores already; they inherit this


@pytest.fixture(autouse=True)
def sites_language():
    """A request leaves its language active in the thread; no test inherits it."""
    translation.activate("en-gb")
    yield
    translation.activate("en-gb")


@pytest.fixture(autouse=True)
def own_files(request, settings, tmp_path, monkeypatch):
    """Photos of a test go to its own folder; passwords are hashed quickly; background work is done at once."""
    for name, value in quick(tmp_path / "media").items():
        setattr(settings, name, value)
    mark = request.node.get_closest_marker("django_db")
    if mark and not mark.kwargs.get("transaction"):
        monkeypatch.setattr(*NEVER_COMMITS)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings):
    for connection in connections.all():
        quick_database(connection.settings_dict)


@pytest.fixture(scope="session", autouse=True)
def static_files_packed_once():
    """Every client of every test has a handler of its own; what is served from static/ is worked out for the first."""
    packed, work_out = {}, HashedFilesMiddleware.add_files_from_finders

    def add_once(middleware):
        if not packed:
            work_out(middleware)
            packed.update(middleware.files)
        middleware.files.update(packed)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(HashedFilesMiddleware, "add_files_from_finders", add_once)
        yield


@pytest.fixture(scope="session")
def run_folder(tmp_path_factory) -> Path:
    """A folder that all workers of this run share, and no other run."""
    mine = tmp_path_factory.getbasetemp()
    return mine.parent if os.environ.get("PYTEST_XDIST_WORKER") else mine


@pytest.fixture(scope="session", autouse=True)
def circuits_solved_once():
    with pytest.MonkeyPatch.context() as patch:
        solve_once(patch, STORE / "solved" if STORE else folder_of_this_code(site.BASE_DIR / "var" / "solved"))
        yield


@pytest.fixture(scope="session", autouse=True)
def tables_emptied_quickly():
    with quick_flush():
        yield


def pytest_configure(config):
    config.addinivalue_line("markers", "browser: needs a Chromium browser")
    config.addinivalue_line("markers", "appearance: how pages look and sound in a browser, whatever the database")
    config.addinivalue_line("markers", "database: given to every test that may ask a database; no other one can")
    config.addinivalue_line("markers", "concurrent: several writers at once; repeated on every database, always")
    config.addinivalue_line(
        "markers", "slow: a simulation or a walk over the whole site; CI runs them, `pytest` alone does not"
    )
    config.addinivalue_line(
        "markers", "lengthy: takes a fifth of a second or, in a browser, several; CI runs them, `pytest` alone does not"
    )
    config.addinivalue_line("markers", "endurance: many minutes of cuts and restarts, run by hand on a quiet machine")
    if STORE and is_sqlite():
        worker = os.environ.get("PYTEST_XDIST_WORKER", "alone")
        config.pluginmanager.register(statements.Noted(STORE / "statements", worker))


def is_sqlite() -> bool:
    return site.DATABASES["default"]["ENGINE"].endswith(("sqlite", "sqlite3"))  # the site's own, or Django's


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    for item in items:
        if item.get_closest_marker("django_db") or DATABASES & set(getattr(item, "fixturenames", ())):
            item.add_marker("database")
    leave_out_browser_tests(config, items)
    if STORE and not is_sqlite():
        leave_out_what_was_asked_enough(config, items)


def pytest_collection_finish():
    gc.freeze()  # modules and tests stay to the end


def leave_out_what_was_asked_enough(config, items):
    """After a run on SQLite another database is asked each statement by a few tests, not by all (statements.py)."""
    noted = statements.noted(STORE / "statements")
    repeatable = [item for item in items if not is_concurrent(item) and not item.get_closest_marker("appearance")]
    asked = {item.nodeid: noted[item.nodeid] for item in repeatable if noted.get(item.nodeid)}
    dear = {item.nodeid for item in items if item.get_closest_marker("browser")}
    left_out = set(asked) - statements.repeated(asked, dear)
    config.hook.pytest_deselected(items=[item for item in items if item.nodeid in left_out])
    items[:] = [item for item in items if item.nodeid not in left_out]


def is_concurrent(item) -> bool:
    """Is this about several writers at once: marked so, or really committing without a browser?"""
    commits = "transactional_db" in item.fixturenames or (
        (mark := item.get_closest_marker("django_db")) and mark.kwargs.get("transaction")
    )
    return bool(item.get_closest_marker("concurrent") or (commits and not item.get_closest_marker("browser")))


def leave_out_browser_tests(config, items):
    """Without a browser its tests cannot run: they are left out and counted, never shown as passed."""
    if browser.found():
        return
    left_out = [item for item in items if item.get_closest_marker("browser")]
    if left_out and os.environ.get("CI"):
        raise pytest.UsageError(f"{browser.MISSING} CI does not go on without its browser tests.")
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]
        config.stash[LEFT_OUT] = len(left_out)


def pytest_terminal_summary(terminalreporter, config):
    if left_out := config.stash.get(LEFT_OUT, 0):
        terminalreporter.section("browser tests that did not run")
        terminalreporter.write_line(f"{left_out} browser tests did not run. {browser.MISSING} {browser.REMEDY}")


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_teardown(item):
    """No page stays open behind a test: it would go on asking the server, and take its share of a busy machine."""
    opened = getattr(item, "funcargs", {}).get("browser")
    for context in opened.contexts if opened else ():
        context.close()
    return (yield)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    path = browser.found()
    own = {} if path == browser.PLAYWRIGHTS else {"executable_path": path}
    return {**browser_type_launch_args, **own, "headless": True, "args": browser.FLAGS}
