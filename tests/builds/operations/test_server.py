"""What the web server takes from strangers: little, from few connections, and nothing on trust of a cookie's name."""

import socket
from types import SimpleNamespace

import pytest
from django.test import Client
from waitress.adjustments import Adjustments

from builds.accounts.seen import SEEN, is_known
from builds.operations import server
from builds.operations.body_limits import ANONYMOUS
from tests import factories

pytestmark = pytest.mark.django_db
LARGE = str(20 * 2**20)
FORGED = ("sessionid=abcdefghijklmnop", f"{SEEN}=x", f"{SEEN}=IngiOg:1abcde:x; sessionid=y", "")


def refusal(headers: dict):
    """What the head of a post is refused with, before its body is read."""
    lines = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    parser = server.Parser(Adjustments())
    parser.received(f"POST /sign-in/ HTTP/1.1\r\nHost: x\r\n{lines}\r\n".encode())
    return parser.error


def cookies_of_a_builder() -> str:
    client = Client()
    client.force_login(factories.make_builder())
    client.get("/safety/")
    return "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())


@pytest.mark.parametrize(
    "length", [{"Content-Length": LARGE}, {"Transfer-Encoding": "chunked"}], ids=["long", "chunked"]
)
@pytest.mark.parametrize("cookies", FORGED)
def test_a_large_body_with_a_made_up_cookie_is_refused_by_its_head(cookies, length):
    assert refusal(length | {"Cookie": cookies}).code == 413
    assert refusal(length | {"Cookie": cookies, "Authorization": "Bearer x"}).code == 413


def test_a_builders_photos_are_taken():
    assert refusal({"Content-Length": LARGE, "Cookie": cookies_of_a_builder()}) is None


def test_small_forms_of_strangers_are_taken():
    assert refusal({"Content-Length": str(ANONYMOUS)}) is None


def test_a_cookie_signed_for_something_else_makes_no_browser_known():
    from django.core import signing

    assert not is_known(f"{SEEN}={signing.dumps('builder 1', salt='other')}")


def test_a_program_is_given_no_cookie():
    from builds.operations.api.tokens import make
    from builds.operations.models import AccessToken

    secret = make(factories.make_builder(), "meter", [AccessToken.READ])
    answer = Client().get("/api/v1/kits", headers={"Authorization": f"Bearer {secret}"})
    assert answer.status_code == 200 and not answer.cookies


def connected(address: str, others: list[str]):
    channels = {n: SimpleNamespace(addr=(other, 1)) for n, other in enumerate(others)}
    waiting = SimpleNamespace(active_channels=channels, add_channel=lambda channel: None)
    mine, theirs = socket.socketpair()
    try:
        adjustments = Adjustments()
        return server.Channel(waiting, mine, (address, 2), adjustments, map={}).will_close
    finally:
        mine.close(), theirs.close()


def test_one_address_cannot_have_all_the_connections(settings):
    many = ["192.0.2.1"] * (server.OF_ONE_ADDRESS + 1)
    assert connected("192.0.2.1", many)
    assert not connected("192.0.2.2", many)
    network = [f"2001:db8::{n:x}" for n in range(server.OF_ONE_ADDRESS + 1)]
    assert connected("2001:db8::ffff", network) and not connected("2001:db8:0:1::1", network)
    settings.TRUSTED_PROXIES = ["192.0.2.1"]
    assert not connected("192.0.2.1", many)  # everybody comes from there


@pytest.mark.parametrize(("soft", "hard", "raised", "most"), [(1024, 524288, 8192, 2000), (1024, 1024, None, 512)])
def test_connections_leave_files_for_the_database(monkeypatch, soft, hard, raised, most):
    asked = []
    monkeypatch.setattr(server.resource, "getrlimit", lambda _kind: (soft, hard))
    monkeypatch.setattr(server.resource, "setrlimit", lambda _kind, both: asked.append(both[0]))
    assert server.most_connections() == most
    assert asked == ([raised] if raised else [])
