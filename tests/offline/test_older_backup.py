"""An older backup put back on the server: what the phone let go of since is missing there, and is sent again once."""

import json
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.offline.bench import KEPT, Phone
from tests.offline.maker import LIVE, Builder
from tests.offline.test_restarts import COUNT, MAKE, Row, server  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.slow]
LET_GO = "import('/static/offline/store.js').then((store) => store.all()).then((all) => all.length === 0)"


def stored(server) -> dict:  # noqa: F811
    return json.loads(server.manage("shell", "-v0", given=COUNT).strip().splitlines()[-1])


def put_back(server, backup: Path):  # noqa: F811
    """As a keeper of the site does it: stopped, the file of the backup in the place of the database, started."""
    server.kill()
    database = Path(server.environment["DATABASE_URL"].removeprefix("sqlite:///"))
    for rest in database.parent.glob(f"{database.name}*"):
        rest.unlink()
    shutil.copy(backup / "database.sqlite3", database)
    server.start()
    server.wait()


def test_what_an_older_backup_lacks_is_sent_again_once(browser, server, picture, tmp_path):  # noqa: F811
    pk, name = server.manage("shell", "-v0", given=MAKE).strip().splitlines()[-1].split(" ", 1)
    build = Row(int(pk), name)
    server.start()
    server.wait()
    phone = Phone(browser, server.address, build)
    phone.open(build)
    phone.ready(build)
    builder = Builder(phone, build, None, picture)
    builder.reading("check-1-1", "311")
    made = server.manage("backup", str(tmp_path / "backups"))
    builder.reading("check-1-2", "250")
    phone.open_to_work(build, "stages/stage-1/")
    builder._press("step-1-1")
    phone.settled()
    phone.open(build, "stages/stage-1/snags/new/")
    phone.page.check("[name=kind][value=other]")
    phone.page.check("[name=severity][value=slowed]")
    phone.page.fill("[name=words]", "The tag is bent.")
    phone.page.set_input_files("[name=photo]", picture)
    phone.page.click("main form button.big")
    phone.settled()
    phone.open_to_work(build, f"stages/stage-2/checks/{LIVE}/?measure=1")
    phone.page.click(".switch-on:not([hidden]) button")
    phone.settled()
    phone.read(build, LIVE, "455")
    before = stored(server)
    assert [row[1] for row in before["readings"]] == ["311", "250", "455"] and before["photos"] == before["on"] == 1
    phone.open(build)
    phone.until(LET_GO)

    put_back(server, Path(made.split("Backed up to ")[1].splitlines()[0]))
    assert [row[1] for row in stored(server)["readings"]] == ["311"]
    phone.open(build)
    phone.page.wait_for_url("**/stop/")  # what it sent says so again
    phone.until(f"({KEPT})().then((entries) => entries.every((one) => one.isLost))")
    after = stored(server)
    assert after == {**before, "photos": 0}
    phone.go("/not-sent/")
    expect(phone.page.locator("#not-sent-list .entry")).to_have_count(1)
    expect(phone.page.locator("#not-sent-list .entry")).to_contain_text("no longer has this photo")
    phone.open(build)
    phone.settled()
    assert stored(server) == after and phone.said == []
    phone.context.close()
