"""The page of a real installation: systemd accepts its units, and its commands, settings and limits are the site's."""

import re
import shutil
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.management import get_commands

from builds.environment import VARIABLES

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


@pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="no systemd here")
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


def test_the_commands_on_the_page_are_there():
    named = set(re.findall(r"manage\.py ([a-z_]+)", PAGE))
    assert named and named <= set(get_commands())


def test_the_settings_on_the_page_are_there():
    named = set(re.findall(r"^([A-Z_]{4,})=", PAGE, re.M))
    assert len(named) > 10 and named <= set(VARIABLES)


def test_the_proxy_lets_through_what_the_site_takes_and_hardly_more():
    megabytes = int(re.search(r"client_max_body_size (\d+)m;", PAGE)[1])
    assert settings.BODY_MAX_BYTES <= megabytes * 2**20 <= settings.BODY_MAX_BYTES + 5 * 2**20


def test_the_proxys_braces_and_semicolons_are_in_order():
    (proxy,) = re.findall(r"```nginx\n(.*?)```", PAGE, re.S)
    bare = [re.sub(r"#.*", "", line).strip() for line in proxy.splitlines()]
    assert proxy.count("{") == proxy.count("}")
    assert all(line.endswith((";", "{", "}")) for line in bare if line)
