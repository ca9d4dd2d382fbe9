"""Requests with awkward values in every field, address, query and header: each is answered, none by a server error."""

import json
from random import Random
from urllib.parse import quote, urlencode

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client

from tests.access.book import BOOK
from tests.access.calls import CALLS, TOKEN
from tests.access.cast import make_cast
from tests.test_access import CALLED, address

pytestmark = pytest.mark.django_db

AWKWARD = (
    *("", " ", "0", "-1", "²", "٣", "９", "1e999", "-1e999", "nan", "inf", "--5", "+-5", "1" * 4000, "0x10", "1_000"),
    *("4k7", "1m", "OL", "−OL", "0L", "12V6", "1.234,5", "%", "%s", "%(n)s", "{}", "{{ 7 }}", "{% now %}", "${7}"),
    *("\x00", "a\x00b", "\r\n", "\t", "\ud7ff", "￿", "\u202e", "e\u0301", "🔌" * 300, "ß", "İ", "ﬁona"),
    *("<script>", "'", '"', "`", "\\", "/", "../../etc/passwd", ";", "|", "&amp;", "=1+1", "@x", "null", "None", "on"),
    *("[]", "{}", "[[[[", '{"a": {"a": 1}}', "a" * 70_000, "2026-02-30", "2026-02-30T25:61", "25:61", "9" * 20),
    *("9223372036854775808", "-9223372036854775809", "2147483648", "1e400 V", "-1e308", "1e-400", "1" * 4301, "½", "Ⅷ"),
    *(
        "0000-01-01",
        "0001-01-01T00:00",
        "9999-12-31T23:59",
        "99999-01-01",
        "2026-01-01T00:00+25:00",
        "s" * 300,
        "\ud800",
    ),
    *("R1", "V1.12", "mains.live", "chassis", "R1–R9999", "stage-1", "=the load", "model", "300 V", "1..2", ".", ","),
)
BYTES = (
    b"",
    b"\x00" * 500,
    b"%PDF-1.4",
    b"\x89PNG\r\n\x1a\n" + b"\xff" * 300,
    b"PK\x03\x04" + b"\x00" * 60,
    b"RIFF\xff\xff\xff\xffWAVEfmt \x10\x00\x00\x00" + b"\xff" * 40,
    b"fLaC" + b"\x00" * 80,
    b"GIF89a" + b"\xff" * 20,
    b"[kit]\nname = 5\n[[part]]\n",
    b'[kit]\nname = "\xff"\n',
    "ref;value\nR1–R4;4k7\n".encode("utf-16"),
    b"a,b,c\n" * 300,
)
JSONS = (  # bodies of programs, each with something in it that few expect
    *("", "null", "[]", '"typed"', "NaN", "{", '{"typed": 1e400}', '{"typed": {"typed": "5"}}', "[" * 5000, "9" * 5000),
    *('{"typed": "\\ud800", "entry_key": "\\ud800"}', '{"typed": "5\\u0000"}', '{"typed": "5", "unit": "\\udfff"}'),
    *('{"typed": "5", "typed": 5}', '{"typed": "5", "sure": "\\ud83d"}', '{"typed": "5", "is_slip": "\\u0000"}'),
)
FIELDS = (
    *("typed", "unit", "entry_key", "seen", "confirm", "meter", "mains", "words", "kind", "stage", "place", "photos"),
    *("shown", "found", "source", "copy", "target", "page", "q", "by", "sort", "next", "text", "file", "table", "data"),
    *("key", "title", "expected", "at_most", "at_least", "tolerance", "stop_above", "stop_below", "red", "black"),
    *("ref", "value", "name", "letter", "version", "joins", "pins", "setting", "reason", "when", "at", "type", "make"),
    *("token", "edit", "into", "code", "password", "address", "serial", "builder", "people", "role", "scopes", "left"),
)
HEADERS = {
    "Accept-Language": ("de", "xx-yy", "*", "de;q=nan", "\x7f" * 50),
    "HX-Target": ("", "x" * 500, "'"),
    "HX-Current-URL": ("http://[", "javascript:1", "http://elsewhere.example/"),
    "Referer": ("http://[", "//elsewhere.example", "\x7f"),
    "If-None-Match": ('"', "*", 'W/"x"'),
    "If-Modified-Since": ("yesterday", "Thu, 99 Foo 9999 99:99:99 GMT"),
    "If-Match": ("*", '"x', "W/", '"' * 300),
    "If-Unmodified-Since": ("Mon, 01 Jan 0000 00:00:00 GMT", "0"),
    "If-Range": ('"', "yesterday"),
    "Last-Event-ID": ("9" * 400, "\xff", ""),
    "Accept": ("*/*;q=1e400", "text/" + "x" * 500, ";;;,,,", "application/json; charset=²"),
    "Host": ("testserver:99999999", "testserver:²", "[::1", "a b", "elsewhere.example"),
    "X-Request-ID": ("\x7f", "x" * 5000),
    "HX-Prompt": ("%ED%A0%80", "\xff"),
    "Origin": ("null", "http://[", "file://"),
    "Range": ("bytes=-1", "bytes=5-1", "bytes=0-99999999999999", "bytes=" + "9" * 5000 + "-", "bytes=²-"),
    "Authorization": ("Bearer", "Bearer ²", "Basic !!!!"),
    "X-Forwarded-For": ("999.1.1.1", "a, b", "::1%x"),
    "Cookie": ("sessionid=\x7f; django_language=xx", "csrftoken=;;;", "time_zone=Nowhere/Land"),
}


class Fuzzer:
    """Draws requests, makes each in a savepoint that is taken back, and keeps what was answered by 500 or more."""

    def __init__(self, cast, seed: int):
        self.cast, self.random, self.failed = cast, Random(seed), []
        self.answers: dict[int, int] = {}
        self.signed_in = {role: self._cookies(person) for role, person in cast.roles.items()}

    def _cookies(self, person) -> str:
        """What keeps somebody signed in; a request that signs them out is taken back like all it did."""
        client = Client()
        if person:
            client.force_login(person)
        return client.cookies.output(header="")

    def client_of(self, role) -> Client:
        """A client of their own for each request, since some of them are given other cookies."""
        client = Client(raise_request_exception=False)
        client.cookies.load(self.signed_in[role])
        return client

    def value(self):
        draw = self.random.random()
        if draw < 0.08:
            body = self.random.choice(BYTES)
            name = self.random.choice(("x.png", "x.wav", "x.csv", "x.toml", "x.zip", "x.docx", "x", "\u202egnp.exe"))
            return SimpleUploadedFile(name, body)
        if draw < 0.2:
            return [self.random.choice(AWKWARD) for _ in range(self.random.randint(0, 4))]
        return self.random.choice(AWKWARD)

    def fields(self, call) -> dict:
        """The rightful fields with some of them bent, and some that nobody asked for."""
        known = call.data(self.cast) if callable(call.data) else dict(call.data or {})
        for name in list(known):
            if self.random.random() < 0.4:
                known[name] = self.value()
        for _ in range(self.random.randint(0, 4)):
            known[self.random.choice(FIELDS)] = self.value()
        return known

    def url(self, name) -> str:
        url = address(name, self.cast)
        if self.random.random() < 0.25:
            pieces = url.split("/")
            at = self.random.randrange(len(pieces))
            pieces[at] = quote(self.random.choice(AWKWARD)[:300], safe="", errors="surrogatepass")
            url = "/".join(pieces)
        if self.random.random() < 0.3:
            query = {self.random.choice(FIELDS): self.random.choice(AWKWARD)[:2000] for _ in range(2)}
            url += "?" + urlencode(query, errors="surrogatepass")
        return url if url.startswith("/") else f"/{url}"

    def headers(self) -> dict:
        names = self.random.sample(sorted(HEADERS), self.random.randint(0, 2))
        results = {name: self.random.choice(HEADERS[name]) for name in names}
        return results | ({"HX-Request": "true"} if self.random.random() < 0.4 else {})

    def one(self):
        name = self.random.choice(CALLED)
        call = CALLS[name]
        rightful = self.random.random() < 0.7 and call.whose != TOKEN
        role = call.role if rightful else self.random.choice(sorted(self.cast.roles))
        method = call.method if self.random.random() < 0.7 else self.random.choice(("get", "post", "head", "put"))
        url, headers = self.url(name), self.headers()
        if call.whose == TOKEN and self.random.random() < 0.8:
            headers["Authorization"] = f"Bearer {self.cast.secrets[call.role]}"
        point = transaction.savepoint()
        try:
            status = self._ask(self.client_of(role), method, url, self.fields(call), headers).status_code
        finally:
            transaction.savepoint_rollback(point)
        self.answers[status] = self.answers.get(status, 0) + 1
        if status >= 500 and status != 507:
            self.failed.append((name, role, method, url[:300], headers))

    def _ask(self, client, method, url, data, headers):
        if method in ("get", "head"):
            flat = (
                {k: _sendable(v) for k, v in data.items() if not hasattr(v, "read")}
                if self.random.random() < 0.5
                else {}
            )
            return getattr(client, method)(url, flat, headers=headers)
        if method == "put" or self.random.random() < 0.05:
            kind = self.random.choice(
                ("application/json", "text/plain", "multipart/form-data; boundary=x", "multipart/form-data", "")
            )
            return client.generic(method.upper(), url, self.random.choice(BYTES), content_type=kind, headers=headers)
        if "Authorization" in headers and self.random.random() < 0.5:
            return client.post(url, self._json(data), content_type="application/json", headers=headers)
        return client.post(url, {k: _sendable(v) for k, v in data.items()}, headers=headers)

    def _json(self, data) -> str:
        if self.random.random() < 0.5:
            return self.random.choice(JSONS)
        return json.dumps({k: v for k, v in data.items() if not hasattr(v, "read")})


def _sendable(value):
    """As a form carries it: UTF-8, in which half a pair of UTF-16 cannot be written."""
    if isinstance(value, list):
        return [_sendable(one) for one in value]
    return "" if value is None else value.encode("utf-8", "replace").decode() if isinstance(value, str) else value


@pytest.fixture
def cast(monkeypatch):
    people = make_cast()
    for view in ("builds.bench.views.extras", "builds.review.views.decide.faults"):
        monkeypatch.setattr(f"{view}.load_fault_dictionary", lambda revision: BOOK)
    return people


def fuzzed(cast, seed, requests) -> Fuzzer:
    fuzzer = Fuzzer(cast, seed)
    for _ in range(requests):
        fuzzer.one()
    return fuzzer


@pytest.mark.slow
def test_no_awkward_request_is_answered_by_a_server_error(cast):
    fuzzer = fuzzed(cast, 7, 400)
    assert not fuzzer.failed, fuzzer.failed[:5]
    assert fuzzer.answers.get(200, 0) + fuzzer.answers.get(302, 0) > 100, "most requests never reached a page"


@pytest.mark.endurance
@pytest.mark.parametrize("seed", range(10))
def test_three_thousand_awkward_requests_ten_times_over(cast, seed):
    fuzzer = fuzzed(cast, 1000 + seed, 3000)
    assert not fuzzer.failed, fuzzer.failed


@pytest.mark.lengthy
def test_the_fuzzer_notices_a_server_error(cast, monkeypatch):
    monkeypatch.setattr("builds.bench.views.unpacking.group_parts", lambda *_: 1 / 0)
    monkeypatch.setattr("tests.access.test_fuzz.CALLED", ["bench:parts"])
    fuzzer = fuzzed(cast, 1, 20)
    assert fuzzer.failed and all(name == "bench:parts" for name, *_ in fuzzer.failed)
