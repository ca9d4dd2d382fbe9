"""What the web server takes from strangers: little, from few connections, and nothing on trust of a cookie's name."""

import socket
import threading
import time
from types import SimpleNamespace
from wsgiref.util import is_hop_by_hop

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from waitress import wasyncore
from waitress.adjustments import Adjustments

from builds.accounts.seen import SEEN, is_known
from builds.operations import server
from builds.operations.body_limits import ANONYMOUS
from tests import factories

pytestmark = pytest.mark.django_db
LARGE = str(20 * 2**20)
FORGED = ("sessionid=abcdefghijklmnop", f"{SEEN}=x", f"{SEEN}=IngiOg:1abcde:x; sessionid=y", "")


def parsed(headers: dict, body: bytes = b""):
    """A post as far as the server reads it."""
    lines = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    parser = server.Parser(Adjustments(max_request_body_size=server.MOST + 1))
    head = f"POST /sign-in/ HTTP/1.1\r\nHost: x\r\n{lines}\r\n".encode() + body
    assert parser.received(head) == len(head) or not parser.is_refused, "the body would be read as the next request"
    return parser


def is_refused(headers: dict) -> bool:
    """Is a post left to the site without its body, as one of a length that no limit of the site lets through?"""
    parser = parsed(headers)
    assert not parser.is_refused or int(parser.headers["CONTENT_LENGTH"]) > settings.BODY_MAX_BYTES
    return parser.is_refused


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
    assert is_refused(length | {"Cookie": cookies})
    assert is_refused(length | {"Cookie": cookies, "Authorization": "Bearer x"})


def test_a_builders_photos_are_taken():
    cookies = cookies_of_a_builder()
    assert not is_refused({"Content-Length": LARGE, "Cookie": cookies})
    assert not is_refused({"Content-Length": str(settings.BODY_MAX_BYTES), "Cookie": cookies})
    assert is_refused({"Content-Length": str(settings.BODY_MAX_BYTES + 1), "Cookie": cookies})


def test_small_forms_of_strangers_are_taken():
    assert not is_refused({"Content-Length": str(ANONYMOUS)})


@pytest.mark.parametrize("length", [LARGE, str(300 * 2**20)])
def test_nobody_who_is_refused_is_told_to_go_on_sending(length):
    """RFC 9110, 10.1.1: a server that answers at once with a final status does not send 100 (Continue)."""
    parser = parsed({"Content-Length": length, "Expect": "100-continue"}, b"POST / HTTP/1.1\r\n\r\n")
    assert parser.is_refused and parser.completed and not parser.expect_continue
    assert parser.get_body_stream().read() == b""


def test_a_body_of_no_stated_length_is_refused_once_it_is_too_long(monkeypatch):
    monkeypatch.setattr(server, "MOST", 1000)
    parser = parsed({"Transfer-Encoding": "chunked", "Cookie": cookies_of_a_builder()})
    parser.adj.max_request_body_size = 1000
    assert not parser.is_refused
    parser.received(b"400\r\n" + b"x" * 0x400 + b"\r\n")
    assert parser.is_refused and parser.completed and parser.get_body_stream().read() == b""


@pytest.fixture
def served():
    """The server on a port of its own, before a site that answers with what it was given."""

    def site(environ, start_response):
        start_response("413 x", [("Content-Length", "20")])
        return [environ.get("CONTENT_LENGTH", "").encode().ljust(20)]

    web = server.create_server(site, host="127.0.0.1", port=0, threads=1, ident=None)
    web.channel_class = server.Channel
    thread = threading.Thread(target=web.run, daemon=True)
    thread.start()
    yield web.effective_port
    wasyncore.close_all(web._map)
    thread.join(10)


def test_whoever_sends_his_whole_body_before_he_reads_still_gets_the_answer(served):
    """As browsers do. Where the server closes at once, its kernel resets the connection (RFC 9112, 9.6)."""
    body = b"x" * 2**22
    with socket.create_connection(("127.0.0.1", served), 30) as line:
        line.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: %d\r\n\r\n" % len(body))
        for start in range(0, len(body), 2**18):
            line.sendall(body[start : start + 2**18])
            time.sleep(0.01)
        answer = line.makefile("rb").read()
    assert answer.startswith(b"HTTP/1.1 413") and str(server.TOO_MUCH).encode() in answer


@pytest.mark.parametrize("body", [b"", b"typed=300"], ids=["none", "short"])
def test_whoever_asks_to_go_on_and_has_sent_all_there_is_gets_the_answer(served, body):
    """To a request without a body no 100 is owed (RFC 9110, 10.1.1): told to go on, a client would wait, and the server
    for it."""
    length = f"Content-Length: {len(body)}\r\n" if body else ""
    with socket.create_connection(("127.0.0.1", served), 10) as line:
        line.sendall(
            f"POST / HTTP/1.1\r\nHost: x\r\nExpect: 100-continue\r\nConnection: close\r\n{length}\r\n".encode() + body
        )
        lines = iter(line.makefile("rb").readline, b"")
        statuses = [text.split()[1] for text in lines if text.startswith(b"HTTP/1.1 ") and text.split()[1] != b"100"]
        assert statuses[:1] == [b"413"]


def test_a_connection_that_was_refused_is_not_read_for_ever(served, monkeypatch):
    monkeypatch.setattr(server, "READ_ON", 0.0)
    with socket.create_connection(("127.0.0.1", served), 30) as line:
        line.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 9999999\r\n\r\n")
        line.makefile("rb").read()
        with pytest.raises(OSError):
            for _ in range(600):
                line.sendall(b"x" * 1000)
                time.sleep(0.01)


@pytest.mark.parametrize(
    ("kind", "said"),
    [("multipart/form-data; boundary=x", "241"), ("application/x-www-form-urlencoded", "6")],
    ids=["files", "plain"],
)
def test_what_is_too_large_is_answered_in_the_persons_language_with_what_is_accepted(kind, said):
    client, builder = Client(), factories.make_builder()
    builder.language = "de"
    builder.save()
    client.force_login(builder)
    answer = client.post("/safety/", "x", content_type=kind, CONTENT_LENGTH=str(server.TOO_MUCH))
    page = answer.content.decode()
    assert answer.status_code == 413 and 'lang="de"' in page
    assert not any(map(is_hop_by_hop, answer.headers))  # the server refuses such a header (PEP 3333): a 500 instead
    assert f" {said} MB" in page


def test_a_stranger_is_told_to_sign_in():
    answer = Client().post("/sign-in/", "x", content_type="text/plain", CONTENT_LENGTH=str(server.TOO_MUCH))
    assert answer.status_code == 413 and reverse("accounts:sign-in") in answer.content.decode()
    assert not any(map(is_hop_by_hop, answer.headers))


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
