"""The page of a real installation: systemd accepts its units, and its commands, settings and limits are the site's."""

import os
import re
import shlex
import shutil
import sqlite3
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.management import get_commands, load_command_class

from builds.environment import VARIABLES
from tests.builds.operations.mail_server import mail_server

PAGE = (settings.BASE_DIR / "builds/operations/DEPLOYMENT.md").read_text()
UNIT = re.compile(r"`/etc/systemd/system/(kit-builds[a-z-]*\.(?:service|timer))`")


def units() -> dict[str, str]:
    """Name -> text of each unit on the page: the one named last before its block."""
    parts = re.split(r"```ini\n(.*?)```", PAGE, flags=re.S)
    return {UNIT.findall(before)[-1]: text for before, text in zip(parts[::2], parts[1::2], strict=False)}


def test_every_unit_that_is_switched_on_is_on_the_page():
    assert set(units()) == {
        "kit-builds.service",
        "kit-builds-work.service",
        "kit-builds-backup.service",
        "kit-builds-backup.timer",
    }


def missing(program: str) -> bool:
    """On a machine of CI nothing is missing: a test that cannot run there fails."""
    return not shutil.which(program, path=f"{os.environ['PATH']}:/usr/sbin") and not os.environ.get("CI")


@pytest.mark.skipif(missing("systemd-analyze"), reason="no systemd here")
@pytest.mark.parametrize("name", [*units(), "wrong.service"])
def test_systemd_accepts_the_units(name, tmp_path):
    """`systemd-analyze verify`, with this machine's Python in place of the installation's."""
    for unit, text in units().items():
        ours = text.replace("/srv/kit-builds/.venv/bin/python", sys.executable).replace("User=kit-builds", "User=root")
        (tmp_path / unit).write_text(ours.replace("/srv/kit-builds", str(settings.BASE_DIR)))
    (tmp_path / "wrong.service").write_text("[Service]\nExecStart=no/absolute/path\nRestart=sometimes\n")
    command = ["systemd-analyze", "verify", "--man=no", str(tmp_path / name)]
    ran = subprocess.run(command, capture_output=True, text=True)
    said = [line for line in ran.stderr.splitlines() if name in line]
    assert bool(said) == (name == "wrong.service"), ran.stderr


def shell_lines() -> list[str]:
    return [line for block in re.findall(r"```sh\n(.*?)```", PAGE, re.S) for line in block.splitlines()]


def commands() -> list[list[str]]:
    """The words of each of the site's commands in the blocks and units of the page."""
    lines = [line for line in shell_lines() if "$*" not in line] + "".join(units().values()).splitlines()
    results = [re.search(r"(?:manage\.py|\brun)((?: [^;|#'()]+)+)", line) for line in lines]
    return [shlex.split(match[1]) for match in results if match]


def test_every_command_on_the_page_is_taken_as_it_stands_there():
    named = set(re.findall(r"manage\.py ([a-z_]+)", PAGE))
    assert named <= {text[0] for text in commands()} and len(commands()) > 10
    for name, *text in commands():
        parser = load_command_class(get_commands()[name], name).create_parser("manage.py", name)
        parser.parse_args(text)  # ends the test where an option is not there


def test_a_shell_reads_every_block():
    blocks = re.findall(r"```sh\n(.*?)```", PAGE, re.S)
    ran = [subprocess.run(["sh", "-n"], input=b.replace("<", "").replace(">", ""), text=True) for b in blocks]
    assert len(ran) > 6 and all(one.returncode == 0 for one in ran)


def test_the_settings_on_the_page_are_there():
    named = set(re.findall(r"^([A-Z_]{4,})=", PAGE, re.M))
    assert len(named) > 10 and named <= set(VARIABLES)


def test_the_proxy_leaves_it_to_the_site_to_refuse_a_large_body_and_keeps_none():
    megabytes = int(re.search(r"client_max_body_size (\d+)m;", PAGE)[1])
    assert 2 * settings.BODY_MAX_BYTES <= megabytes * 2**20 < 2**30
    assert "proxy_request_buffering off;" in PAGE


def test_the_proxys_braces_and_semicolons_are_in_order():
    (proxy,) = re.findall(r"```nginx\n(.*?)```", PAGE, re.S)
    bare = [re.sub(r"#.*", "", line).strip() for line in proxy.splitlines()]
    assert proxy.count("{") == proxy.count("}")
    assert all(line.endswith((";", "{", "}")) for line in bare if line)


def block_with(*text: str) -> str:
    (block,) = [b for b in re.findall(r"```sh\n(.*?)```", PAGE, re.S) if all(word in b for word in text)]
    return block


def on_this_machine(text: str, folder) -> str:
    """The page's commands with folders of this test, its Python and no other user, and nothing for systemd to do."""
    own = {
        "/srv/kit-builds/.venv/bin/python": sys.executable,
        ".venv/bin/python": sys.executable,
        "/srv/kit-builds": str(settings.BASE_DIR),
        "/etc/kit-builds.env": f"{folder}/env",
        "/var/lib/": f"{folder}/lib/",
        "/var/backups/": f"{folder}/backups/",
        "su -s /bin/sh kit-builds -c": "sh -c",
        "install -d -o kit-builds": "install -d",
        "systemctl": ": systemctl",
        "kit-builds-…": "kit-builds-*",
    }
    # In one pass: what takes a place here may hold another's text.
    return re.sub("|".join(map(re.escape, own)), lambda found: own[found[0]], text)


@pytest.mark.slow
def test_from_the_first_designer_to_a_restored_backup_by_the_pages_own_commands(tmp_path):
    """As they stand there, one after the other: settings, first designer, the backup's unit, restoring."""
    (tmp_path / "env").write_text(on_this_machine(block_with("ALLOWED_HOSTS", "OWNER_EMAIL"), tmp_path))
    (tmp_path / "lib/kit-builds").mkdir(parents=True)
    (tmp_path / "backups").mkdir()
    (backup,) = re.findall(r"^ExecStart=(.*)$", units()["kit-builds-backup.service"], re.M)
    first = "\n".join(line for line in block_with("first_designer").splitlines() if "sendtestemail" not in line)
    script = [f"set -eu; cd {settings.BASE_DIR}", first, backup, block_with("run restore")]
    clean = {name: value for name, value in os.environ.items() if name not in VARIABLES}
    ran = subprocess.run(
        ["sh", "-c", on_this_machine("\n".join(script), tmp_path)],
        env=clean | {"DESIGNER_PASSWORD": "slow-quiet-valve-9", "DJANGO_SETTINGS_MODULE": "builds.settings"},
        capture_output=True,
        text=True,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "The backup is complete." in ran.stdout
    for folder in ("kit-builds-old", "kit-builds"):  # what was there, and what was restored in its place
        with sqlite3.connect(tmp_path / "lib" / folder / "builds.sqlite3") as rows:
            assert rows.execute("SELECT display_name, runs_site FROM accounts_person").fetchall() == [("Your name", 1)]


@pytest.mark.slow
@pytest.mark.parametrize("is_trusted", [True, False])
def test_a_trial_letter_goes_out_over_tls_and_no_password_to_a_server_that_is_not_trusted(is_trusted, tmp_path):
    """The page's own command and form of EMAIL_URL, to a mail server on this machine."""
    (line,) = [line for line in shell_lines() if "sendtestemail" in line]
    (mail,) = [line.partition("=")[2] for line in shell_lines() if line.startswith("EMAIL_URL=")]
    with mail_server(tmp_path) as (port, pem, letters):
        url = mail.replace("mail.example.org:587", f"localhost:{port}").replace("password", "p%40ss")
        own = {"EMAIL_URL": url, "EMAIL_FROM": "site@kits.example", "DATA_DIR": str(tmp_path)}
        own |= {"SSL_CERT_FILE": str(pem)} if is_trusted else {}
        command = ["sh", "-c", on_this_machine(line, tmp_path)]
        ran = subprocess.run(command, env=os.environ | own, cwd=settings.BASE_DIR, capture_output=True, text=True)
    if is_trusted:
        ((login, letter),) = letters
        assert ran.returncode == 0 and login == "\0user\0p@ss"
        assert "To: you@example.org" in letter and "From: site@kits.example" in letter
    else:
        assert ran.returncode and "CERTIFICATE_VERIFY_FAILED" in ran.stderr and not letters
