"""The proxy of the deployment page, run as it stands there, with TLS, before the site's own server."""

import http.client
import os
import re
import socket
import ssl
import subprocess
import sys
import time
from types import SimpleNamespace

import pytest
from django.conf import settings

from builds.environment import VARIABLES
from tests.builds.operations.mail_server import certificate
from tests.builds.operations.test_deployment import PAGE, missing

HOST = "kits.example.org"
STRANGER = "127.0.0.2"  # an address of this machine that is no proxy of the site's
pytestmark = [pytest.mark.slow, pytest.mark.skipif(missing("nginx"), reason="no nginx here")]


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


def configuration(folder, plain: int, secret: int, site: int) -> str:
    """The block of the page, with this test's ports and certificate, in the frame that the page asks for."""
    (block,) = re.findall(r"```nginx\n(.*?)```", PAGE, re.S)
    pem, key = certificate(folder, HOST)
    for there, here in (
        ("listen 80;", f"listen 127.0.0.1:{plain};"),
        ("listen 443 ssl http2;", f"listen 127.0.0.1:{secret} ssl http2;"),
        (f"/etc/ssl/{HOST}.pem", pem),
        (f"/etc/ssl/private/{HOST}.key", key),
        ("http://127.0.0.1:8000", f"http://127.0.0.1:{site}"),
    ):
        assert there in block
        block = block.replace(there, str(here))
    frame = f"daemon off; pid {folder}/pid; error_log {folder}/log; worker_rlimit_nofile 16384;"
    paths = "".join(
        f"{kind}_temp_path {folder}/{kind}; " for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    return f"{frame}\nevents {{ worker_connections 8192; }}\nhttp {{ access_log off; {paths}\n{block} }}\n"


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("proxy")
    folder.chmod(0o755)
    at = SimpleNamespace(plain=free_port(), secret=free_port(), own=free_port(), folder=folder)
    (folder / "nginx.conf").write_text(configuration(folder, at.plain, at.secret, at.own))
    page = dict(re.findall(r"^([A-Z_]{4,})=([^#\n]*)$", PAGE.partition("first_designer")[0], re.M))
    own = {name: value for name, value in os.environ.items() if name not in VARIABLES} | page
    own |= {"DATA_DIR": str(folder / "data"), "DJANGO_SETTINGS_MODULE": "builds.settings"}
    manage = [sys.executable, str(settings.BASE_DIR / "manage.py"), "serve", "--processes", "1"]
    proxy = ["nginx", "-c", str(folder / "nginx.conf")]
    with (folder / "said").open("wb") as said:
        running = [
            subprocess.Popen([*manage, "--bind", f"127.0.0.1:{at.own}"], env=own, stdout=said, stderr=said),
            subprocess.Popen(proxy, env=os.environ | {"PATH": f"{os.environ['PATH']}:/usr/sbin"}, stderr=said),
        ]
        try:
            _wait(at, running)
            yield at
        finally:
            for process in running:
                process.terminate()
            for process in running:
                process.wait(30)


def _wait(at, running) -> None:
    until = time.monotonic() + 60
    while time.monotonic() < until and all(process.poll() is None for process in running):
        try:
            if ask(at, "GET", "/healthz").status == 200:
                return
        except OSError:
            pass
        time.sleep(0.2)
    raise RuntimeError((at.folder / "said").read_text() + (at.folder / "log").read_text())


def ask(at, method: str, path: str, headers=None, body=None):
    """From an address that is no proxy, with the certificate looked at."""
    context = ssl.create_default_context(cafile=at.folder / f"{HOST}.pem")
    line = http.client.HTTPSConnection(
        "127.0.0.1", at.secret, timeout=30, source_address=(STRANGER, 0), context=context
    )
    line.request(method, path, body, {"Host": HOST} | (headers or {}))
    return line.getresponse()


def test_a_page_comes_over_tls_with_cookies_that_go_nowhere_else(site):
    answer = ask(site, "GET", "/sign-in/")
    assert answer.status == 200
    assert (
        "Secure" in answer.headers["Set-Cookie"] and "max-age=31536000" in answer.headers["Strict-Transport-Security"]
    )


def test_a_request_without_tls_is_redirected_to_https(site):
    line = http.client.HTTPConnection("127.0.0.1", site.plain, timeout=30)
    line.request("GET", "/sign-in/", headers={"Host": HOST})
    answer = line.getresponse()
    assert (answer.status, answer.headers["Location"]) == (301, f"https://{HOST}/sign-in/")


@pytest.mark.parametrize("said", [{}, {"X-Forwarded-For": "127.0.0.1"}, {"X-Forwarded-For": "127.0.0.1, 127.0.0.1"}])
def test_a_forged_forwarded_address_does_not_open_the_metrics(site, said):
    assert ask(site, "GET", "/metrics", said).status == 404


def test_another_name_is_not_served(site):
    assert ask(site, "GET", "/sign-in/", {"Host": "elsewhere.example"}).status == 400
    assert ask(site, "GET", "/sign-in/", {"X-Forwarded-Host": "elsewhere.example"}).status == 200


@pytest.mark.parametrize("length", [20 * 2**20, 300 * 2**20, 3000 * 2**20])
def test_a_large_post_of_a_stranger_is_refused_before_it_is_sent(site, length):
    """Only its head is sent; whoever waits for the body would wait for ever."""
    context = ssl.create_default_context(cafile=site.folder / f"{HOST}.pem")
    bare = socket.create_connection(("127.0.0.1", site.secret), 30, (STRANGER, 0))
    with context.wrap_socket(bare, server_hostname=HOST) as line:
        line.sendall(f"POST /sign-in/ HTTP/1.1\r\nHost: {HOST}\r\nContent-Length: {length}\r\n\r\nx".encode())
        assert line.recv(100).split()[1] == b"413"


def test_forty_connections_that_say_nothing_stop_nobody(site):
    slow = [socket.create_connection(("127.0.0.1", site.secret), 30, ("127.0.0.3", 0)) for _one in range(40)]
    try:
        assert ask(site, "GET", "/sign-in/").status == 200
    finally:
        for line in slow:
            line.close()
