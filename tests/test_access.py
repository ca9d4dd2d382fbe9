"""Every address, called by everybody in every way: nobody sees or changes what is not theirs; who may, can."""

from copy import deepcopy
from shutil import copytree

import pytest
from django.conf import settings as django_settings
from django.contrib.messages import ERROR, get_messages
from django.db import connection, transaction
from django.test import Client, override_settings
from django.test.client import ClientHandler
from django.urls import URLPattern, get_resolver, reverse

from tests.access.book import BOOK
from tests.access.calls import ANYONE, BUILD, CALLS, DESIGNERS, HAVE, KIT, MAKERS, OWN, OWNER, SITE, TOKEN, arguments
from tests.access.cast import make_cast
from tests.access.headers import FILES, faults_of, is_file
from tests.settings import NEVER_COMMITS, quick

pytestmark = pytest.mark.django_db
METHODS = ("get", "head", "post", "put", "patch", "delete", "options")
WAYS = [(method, False) for method in METHODS] + [("get", True), ("post", True)]  # (method, by htmx?)
PLAINLY = [("get", False), ("post", False)]
KNOWN = {401, 403, 404, 405}  # refusals
HANDLER = ClientHandler(enforce_csrf_checks=False)  # with the site's middleware, loaded once for all calls
SIGNS_IN = ("django_session", "axes_", "accounts_callcount")  # tables that a refused call may write to: it is counted


def patterns():
    """(name, pattern) of every address of the site."""
    found = []

    def walk(resolver, space):
        for entry in resolver.url_patterns:
            if isinstance(entry, URLPattern):
                found.append((f"{space}:{entry.name}" if space else entry.name, entry))
            else:
                walk(entry, entry.namespace or space)

    walk(get_resolver(), "")
    return found


PATTERNS = dict(patterns())
NAMES = sorted(PATTERNS)
CALLED = sorted(set(NAMES) & set(CALLS))


@pytest.fixture(scope="module")
def made_once(django_db_setup, django_db_blocker, tmp_path_factory):
    """The cast and the folder of its files, made once: every test is a savepoint in the transaction that holds it."""
    folder = tmp_path_factory.mktemp("cast")
    with django_db_blocker.unblock(), transaction.atomic():
        with override_settings(**quick(folder)), pytest.MonkeyPatch.context() as patch:
            patch.setattr(*NEVER_COMMITS)
            made = make_cast()
            made.sessions = {person.pk: cookie_of(person) for person in everybody(made)}
        yield made, folder
        transaction.set_rollback(True)


@pytest.fixture
def cast(made_once, monkeypatch, settings):
    """The cast, with a fault and a place to measure that need no circuit to be solved."""
    made, folder = made_once
    copytree(folder, settings.MEDIA_ROOT)
    for view in ("builds.bench.views.extras", "builds.review.views.decide.faults"):
        monkeypatch.setattr(f"{view}.load_fault_dictionary", lambda revision: BOOK)
    return deepcopy(made)


def address(name, cast) -> str:
    known = arguments(cast, name) | {k: v(cast) if callable(v) else v for k, v in CALLS[name].at.items()}
    return reverse(name, kwargs={k: known[k] for k in PATTERNS[name].pattern.converters})


def everybody(cast):
    return [*filter(None, cast.roles.values()), cast.editor, cast.reader]


def cookie_of(person) -> str:
    client = Client()
    client.force_login(person)
    return client.cookies[django_settings.SESSION_COOKIE_NAME].value


def signed_in(cast, person) -> Client:
    """A client with the session that this person was given once; a test that ends it is rolled back."""
    client = Client()
    client.handler = HANDLER
    if person:
        client.cookies[django_settings.SESSION_COOKIE_NAME] = cast.sessions[person.pk]
    return client


class Writes:
    """Counts what a call changes in the database, beside sessions, counted sign-ins and counted calls."""

    def __init__(self):
        self.found = []

    def __call__(self, execute, sql, params, many, context):
        words = sql.lstrip().upper()
        if words.startswith(("INSERT", "UPDATE", "DELETE")) and not any(table in sql for table in SIGNS_IN):
            self.found.append(sql)
        return execute(sql, params, many, context)


def ask(client, url, method, htmx=False, data=None, token=""):
    headers = {"HX-Request": "true"} if htmx else {}
    if token:
        headers["Authorization"] = f"Bearer {token}"
    return getattr(client, method)(url, data or {}, headers=headers)


def test_every_address_has_its_rightful_call():
    assert set(CALLS) == set(NAMES), "give each new address its call in tests/access/calls.py"


@pytest.mark.parametrize("name", CALLED)
def test_every_view_says_who_may_call_it(name):
    mark = getattr(PATTERNS[name].callback, "access", None)
    assert mark in ("anyone", "signed in", "designers", "token")
    assert (mark == "anyone") == (CALLS[name].whose == ANYONE)


@pytest.mark.parametrize("name", CALLED)
def test_every_view_answers_whoever_may_call_it(name, cast):
    call = CALLS[name]
    client = signed_in(cast, cast.roles[call.role])
    data = call.data(cast) if callable(call.data) else call.data
    if call.whose == TOKEN:
        client, token = signed_in(cast, None), cast.secrets[call.role]
    else:
        token = ""
    answer = ask(client, address(name, cast), call.method, call.htmx, data, token)
    assert answer.status_code == call.success, answer.content[:2000].decode(errors="replace")
    if answer.status_code == 302 and call.whose != ANYONE:
        assert not answer["Location"].startswith(reverse("accounts:sign-in"))
    said = [str(m) for m in get_messages(answer.wsgi_request) if m.level >= ERROR]
    assert not said
    assert not faults_of(answer, call.whose != ANYONE)  # kept by nobody and shown on no other site
    assert is_file(answer) == (name in FILES), "add a new file to FILES of tests/access/headers.py"


KEPT_ASIDE = (  # what an answer may leave behind that nobody has seen or done: figures worked out and jobs that do so,
    *("review_keptfinding", "review_cachedcorrelations", "jobs_job", "guides_circuitfigures"),
    *("otp_totp_totpdevice", "accounts_device"),  # a key not yet in force; sessions that had ended
)
LOOKED_AT = [n for n in CALLED if CALLS[n].method == "get" and CALLS[n].success == 200]


@pytest.mark.parametrize("name", LOOKED_AT)
def test_whoever_may_see_a_page_may_ask_for_its_head(name, cast):
    """HEAD is GET without the body (RFC 9110, 9.1, 9.3.2), and safe (9.2.1): nothing counts as seen or used."""
    call, url, writes = CALLS[name], address(name, cast), Writes()
    token = cast.secrets[call.role] if call.whose == TOKEN else ""
    client = signed_in(cast, None if token else cast.roles[call.role])
    with connection.execute_wrapper(writes):
        head = ask(client, url, "head", call.htmx, fields_of(call, cast), token)
    assert head.status_code == 200 and not head.getvalue()
    assert not [sql for sql in writes.found if not any(table in sql for table in KEPT_ASIDE)]
    whole = ask(client, url, "get", call.htmx, fields_of(call, cast), token)
    assert head["Content-Type"] == whole["Content-Type"] and whole.getvalue()
    assert not faults_of(head, call.whose != ANYONE)


SHARED = [n for n in CALLED if CALLS[n].whose in (OWN, BUILD, DESIGNERS, MAKERS) and CALLS[n].method == "get"]


@pytest.mark.parametrize("name", SHARED)
def test_everybody_who_shares_a_page_can_see_it(name, cast):
    """Its builder and each co-designer, or whoever is signed in: refused to one of them, it would prove nothing."""
    call, url = CALLS[name], address(name, cast)
    for role in sorted(HAVE[call.whose]):
        answer = ask(signed_in(cast, cast.roles[role]), url, "get", call.htmx)
        assert answer.status_code == call.success, role


@pytest.mark.parametrize("name", sorted(FILES))
def test_a_file_is_kept_by_nobody_however_it_is_asked_for(name, cast):
    """Refused, in part, and by who has it already; who may no longer see it is told nothing by what they have."""
    call, url = CALLS[name], address(name, cast)
    mine, stranger = signed_in(cast, cast.roles[call.role]), signed_in(cast, cast.stranger)
    refused = ask(stranger, url, call.method, data=fields_of(call, cast))
    assert refused.status_code in (403, 404) and not faults_of(refused, is_private=True)
    mine.defaults["HTTP_RANGE"] = "bytes=0-0"
    part = ask(mine, url, call.method, data=fields_of(call, cast))
    assert part.status_code == 200 and not faults_of(part, is_private=True)
    if tag := part.get("ETag"):
        again = mine.get(url, headers={"If-None-Match": tag})
        assert again.status_code == 304 and not faults_of(again, is_private=True)
        assert stranger.get(url, headers={"If-None-Match": tag}).status_code in (403, 404)


@pytest.mark.parametrize(
    "ways", [pytest.param(PLAINLY, id="plainly"), pytest.param(WAYS, id="in-every-way", marks=pytest.mark.lengthy)]
)
@pytest.mark.parametrize("name", CALLED)
def test_every_view_refuses_all_others(name, ways, cast):
    call, url = CALLS[name], address(name, cast)
    for role in sorted(set(cast.roles) - HAVE[call.whose]):
        client, writes = signed_in(cast, cast.roles[role]), Writes()
        for method, htmx in ways:
            with connection.execute_wrapper(writes):
                answer = ask(client, url, method, htmx)
            where = (role, method, htmx, answer.status_code)
            if role == "anonymous" and call.whose != TOKEN:
                assert answer.status_code == 302, where
                assert answer["Location"].startswith(reverse("accounts:sign-in")), where
            else:
                assert answer.status_code in KNOWN, where
            assert cast.revision.kit.name.encode() not in answer.content, where
        assert not writes.found, role


@pytest.mark.parametrize("name", [n for n in CALLED if CALLS[n].whose == KIT])
def test_an_editor_does_what_an_owner_does_and_a_reader_changes_nothing(name, cast):
    call, url, client, writes = CALLS[name], address(name, cast), signed_in(cast, cast.reader), Writes()
    with connection.execute_wrapper(writes):
        answer = ask(client, url, "post", call.htmx, fields_of(call, cast))
    assert answer.status_code in KNOWN and not writes.found
    if call.method == "get":
        assert ask(client, url, "get", call.htmx).status_code == call.success
    answer = ask(signed_in(cast, cast.editor), url, call.method, call.htmx, fields_of(call, cast))
    assert answer.status_code == call.success


def fields_of(call, cast):
    """The fields of one post: made anew for each, since a file that was sent is read to its end."""
    return call.data(cast) if callable(call.data) else call.data


@pytest.mark.slow  # every page three times for everybody who may see it; who may not is asked above
@pytest.mark.parametrize("name", CALLED)
def test_no_way_of_calling_breaks_a_page(name, cast):
    """PUT, PATCH and DELETE do nothing anywhere; the rest answers its own people without an error of the server."""
    call, url = CALLS[name], address(name, cast)
    for role in sorted(HAVE[call.whose]):
        client = signed_in(cast, cast.roles[role])
        for method, htmx in WAYS:
            answer = ask(client, url, method, htmx)
            assert answer.status_code < 500, (role, method, htmx)
            if method in ("put", "patch", "delete"):
                assert answer.status_code in KNOWN | {302}, (role, method, answer.status_code)


@pytest.mark.parametrize("name", [n for n in CALLED if CALLS[n].whose not in (ANYONE, OWN, OWNER, SITE, TOKEN)])
def test_a_row_of_another_is_the_same_as_no_row(name, cast):
    """Other people's builds and kits answer as those that do not exist: nobody learns which there are."""
    url = address(name, cast)
    empty = url.replace(f"/{cast.revision.kit.key}/", "/no-such-kit/").replace(f"/{cast.build.pk}/", "/999999/")
    client = signed_in(cast, cast.roles["other designer"])
    for method in ("get", "post"):
        assert ask(client, url, method).status_code == ask(client, empty, method).status_code
