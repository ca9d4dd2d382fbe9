"""The interface for programs: by token alone, as its person sees things, and with the one rule for readings.

The document is checked against what OpenAPI 3.1.0 asks of one (info, paths, responses) and its schemas, which are JSON
Schema 2020-12, against the answers, by the package jsonschema."""

import json
import os
import re
import subprocess
import sys
from datetime import timedelta
from uuid import uuid4

import jsonschema
import pytest
from django.conf import settings as project
from django.db import OperationalError, connection
from django.urls import reverse
from django.utils import timezone

from builds.accounts import limits
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Reading
from builds.operations.api.document import DOCUMENT
from builds.operations.api.tokens import make
from builds.operations.models import AccessToken
from builds.operations.urls import urlpatterns
from tests import factories
from tests.dangers.test_nothing_can_be_written import NothingIsWritten

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision():
    return factories.make_revision(stages=1, gate=False)


@pytest.fixture
def build(revision):
    build = factories.make_build(revision=revision)
    acknowledge(open_sitting(build), revision.stages.first(), None)
    return build


def bearer(person, *scopes) -> dict:
    return {"Authorization": f"Bearer {make(person, 'a program', scopes)}"}


def post(client, build, headers, **fields):
    url = reverse("operations:api-post-reading", args=[build.pk, "stage-1", "check-1-1"])
    sent = {"typed": "300", "unit": "V", "entry_key": str(uuid4())} | fields
    return client.post(url, json.dumps(sent), content_type="application/json", headers=headers)


def schema_of(path: str, method: str = "get", status: str = "200") -> dict:
    return DOCUMENT["paths"][path][method]["responses"][status]["content"]["application/json"]["schema"]


def test_the_document_names_every_address_of_the_interface():
    served = {"/" + str(p.pattern) for p in urlpatterns if str(p.pattern).startswith("api/")}
    plain = {
        path.replace("<int:", "{").replace("<slug:", "{").replace("<str:", "{").replace(">", "}") for path in served
    }
    assert plain == set(DOCUMENT["paths"])
    assert DOCUMENT["openapi"].startswith("3.1") and {"title", "version"} <= set(DOCUMENT["info"])
    for methods in DOCUMENT["paths"].values():
        for operation in methods.values():
            assert operation["responses"] and all("description" in answer for answer in operation["responses"].values())


METHODS = {"get", "put", "post", "delete", "options", "head", "patch", "trace"}
OPERATION = {"summary", "parameters", "requestBody", "responses"}


@pytest.mark.parametrize("path", sorted(DOCUMENT["paths"]))
def test_every_operation_keeps_the_rules_of_openapi(path):
    """OpenAPI 3.1.0, 4.8.8 to 4.8.17: fields of an operation, path templates and their parameters, media types,
    responses; 4.8.24: schemas are JSON Schema 2020-12, checked against its meta-schema."""
    for method, operation in DOCUMENT["paths"][path].items():
        assert method in METHODS and set(operation) <= OPERATION and operation["summary"]
        parameters = operation.get("parameters", [])
        assert {p["name"] for p in parameters if p["in"] == "path"} == set(re.findall(r"{(\w+)}", path))
        assert len({(p["name"], p["in"]) for p in parameters}) == len(parameters)
        for parameter in parameters:
            assert parameter["in"] in ("path", "query") and (
                parameter["in"] == "query" or parameter["required"] is True
            )
            _check_schema(parameter["schema"])
        for status, answer in operation["responses"].items():
            assert re.fullmatch("[1-5][0-9][0-9]", status) and answer["description"]
            for media in answer.get("content", {}).values():
                _check_schema(media["schema"])
        for media in operation.get("requestBody", {"content": {}})["content"].values():
            _check_schema(media["schema"])


def _check_schema(schema: dict) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)
    assert set(schema.get("required", ())) <= set(schema.get("properties", ()))


def test_the_schemes_that_are_asked_for_are_described():
    asked = {name for rule in DOCUMENT["security"] for name in rule}
    assert asked == set(DOCUMENT["components"]["securitySchemes"])
    assert set(DOCUMENT) == {"openapi", "info", "security", "components", "paths"}


def test_refusals_are_as_the_document_says(client, revision, build, monkeypatch):
    path = "/api/v1/builds/{pk}/stages/{stage}/checks/{check}/readings"
    reading, writing = bearer(build.builder, "read"), bearer(build.builder, "write-readings")
    stranger = bearer(factories.make_builder(), "write-readings")
    results = {
        401: post(client, build, {}),
        403: post(client, build, reading),
        404: post(client, build, stranger),
        400: post(client, build, writing, sure="off"),
        422: post(client, build, writing, typed="apples"),
    }
    monkeypatch.setitem(limits.LIMITS, "api", limits.Limit(1, timedelta(days=3650)))
    results[429] = [post(client, build, writing) for _n in range(2)][1]
    for status, answer in results.items():
        assert answer.status_code == status
        jsonschema.validate(answer.json(), schema_of(path, "post", str(status)))


@pytest.mark.lengthy
def test_answers_are_as_the_document_says(client, revision, build):
    factories.add_reading(build=build, check=factories.checks_of(revision=revision)[0])
    headers = bearer(revision.kit.designers.get(), "read")
    key = revision.kit.key
    for path, args in [
        ("/api/v1/kits", {}),
        ("/api/v1/builds", {}),
        ("/api/v1/builds/{pk}/readings", {"pk": build.pk}),
        ("/api/v1/kits/{kit}/{letter}/readings", {"kit": key, "letter": "A"}),
        ("/api/v1/kits/{kit}/{letter}/findings", {"kit": key, "letter": "A"}),
    ]:
        answer = client.get(path.format(**args), headers=headers)
        assert answer.status_code == 200, path
        jsonschema.validate(answer.json(), schema_of(path))
    assert client.get("/api/v1/builds", headers=headers).json()["count"] == 1


def test_nobody_enters_without_a_token_and_no_cookie_is_one(client, build):
    client.force_login(build.builder)
    for headers in ({}, {"Authorization": "Bearer x"}, {"Authorization": "Basic x"}):
        assert client.get("/api/v1/builds", headers=headers).status_code == 401
    assert post(client, build, {}).status_code == 401 and not Reading.objects.exists()


@pytest.mark.parametrize("change", [{"withdrawn_at": timezone.now()}, {"expires_at": timezone.now() - timedelta(1)}])
def test_a_token_that_was_withdrawn_or_is_old_opens_nothing(client, build, change):
    headers = bearer(build.builder, "read")
    assert client.get("/api/v1/builds", headers=headers).status_code == 200
    AccessToken.objects.update(**change)
    assert client.get("/api/v1/builds", headers=headers).status_code == 401


def test_a_token_of_a_closed_account_opens_nothing(client, build):
    headers = bearer(build.builder, "read")
    type(build.builder).objects.filter(pk=build.builder_id).update(is_active=False)
    assert client.get("/api/v1/builds", headers=headers).status_code == 401


def test_only_the_hash_of_a_token_is_kept(build):
    token = make(build.builder, "x", ["read"])
    assert token not in str(AccessToken.objects.values().get())


def test_a_token_does_only_what_its_scopes_say(client, build):
    assert post(client, build, bearer(build.builder, "read")).status_code == 403
    assert client.get("/api/v1/builds", headers=bearer(build.builder, "write-readings")).status_code == 403
    assert not Reading.objects.exists()


def test_a_token_sees_what_its_person_sees(client, revision, build):
    stranger = bearer(factories.make_designer(), "read", "write-readings")
    assert client.get("/api/v1/builds", headers=stranger).json()["items"] == []
    for path in (f"/api/v1/builds/{build.pk}/readings", f"/api/v1/kits/{revision.kit.key}/A/findings"):
        assert client.get(path, headers=stranger).status_code == 404
    assert post(client, build, stranger).status_code == 404
    assert post(client, build, bearer(revision.kit.designers.get(), "write-readings")).status_code == 404


def test_a_reading_is_judged_and_saved_as_on_the_page(client, build):
    answer = post(client, build, bearer(build.builder, "write-readings"))
    jsonschema.validate(
        answer.json(), schema_of("/api/v1/builds/{pk}/stages/{stage}/checks/{check}/readings", "post", "201")
    )
    assert answer.status_code == 201 and answer.json()["reading"]["outcome"] == "in band"
    assert Reading.objects.get().by == build.builder


def test_the_same_entry_twice_is_one_reading_and_other_content_asks(client, build):
    headers, key = bearer(build.builder, "write-readings"), str(uuid4())
    first, again = [post(client, build, headers, entry_key=key) for _n in range(2)]
    assert first.json()["reading"]["id"] == again.json()["reading"]["id"]
    assert post(client, build, headers, entry_key=key, typed="310").status_code == 422
    assert Reading.objects.count() == 1


@pytest.mark.parametrize("typed", ["²", "--5", "9" * 4000, "", "1e999", "300 apples"])
def test_what_is_no_reading_is_refused_in_words(client, build, typed):
    answer = post(client, build, bearer(build.builder, "write-readings"), typed=typed)
    assert answer.status_code == 422 and answer.json()["error"]["fields"]
    assert not Reading.objects.exists()


@pytest.mark.parametrize("body", [b"[]", b"{", b'{"typed": 300}', b"[" * 60_000])
def test_a_body_that_is_no_entry_is_refused(client, build, body):
    url = reverse("operations:api-post-reading", args=[build.pk, "stage-1", "check-1-1"])
    headers = bearer(build.builder, "write-readings")
    assert client.post(url, body, content_type="application/json", headers=headers).status_code == 400


@pytest.mark.parametrize("name", ["typed", "unit", "entry_key", "sure", "is_slip"])
@pytest.mark.parametrize("odd", ["\ud800", "5\udfff", "5\x00"], ids=["half", "half behind", "nul"])
def test_text_that_no_database_keeps_is_refused(client, build, name, odd):
    """JSON can write half a pair of UTF-16 (RFC 8259, 8.2), which UTF-8 cannot."""
    answer = post(client, build, bearer(build.builder, "write-readings"), **{name: odd})
    assert answer.status_code in (400, 422) and not build.readings.exists()


@pytest.mark.parametrize("flag", ["sure", "is_slip"])
@pytest.mark.parametrize("value", ["off", "no", "true", "1", " "])
def test_a_flag_that_does_not_say_on_is_not_taken_as_set(client, build, flag, value):
    headers = bearer(build.builder, "write-readings")
    assert post(client, build, headers, **{flag: value}).status_code == 400
    url = reverse("operations:api-post-reading", args=[build.pk, "stage-1", "check-1-1"])
    assert (
        client.post(url, {"typed": "300", "entry_key": str(uuid4()), flag: value}, headers=headers).status_code == 400
    )
    assert not Reading.objects.exists()


def test_a_stop_says_to_switch_off_and_shuts_what_follows(client, build):
    headers = bearer(build.builder, "write-readings")
    answer = post(client, build, headers, typed="500")
    assert (answer.status_code, answer.json()["switch_off"]) == (201, True)
    after = post(client, build, headers)
    assert after.status_code == 409 and Reading.objects.count() == 1


def test_a_stop_that_cannot_be_saved_says_to_switch_off(client, build):
    headers = bearer(build.builder, "write-readings")
    AccessToken.objects.get()
    with connection.execute_wrapper(NothingIsWritten(OperationalError("database is locked"))):
        answer = post(client, build, headers, typed="500")
    assert answer.status_code == 503
    assert (answer.json()["saved"], answer.json()["switch_off"]) == (False, True)


def test_lists_come_in_pages_and_unchanged_ones_are_not_sent_again(client, revision, build, monkeypatch):
    from builds.operations.api import reading

    monkeypatch.setattr(reading, "PAGE", 2)
    factories.add_readings(rows=[(build, c, [(300.0, "in band")]) for c in factories.checks_of(revision=revision)])
    headers = bearer(build.builder, "read")
    url = f"/api/v1/builds/{build.pk}/readings"
    first = client.get(url, headers=headers)
    second = client.get(f"{url}?page=2", headers=headers).json()
    assert (first.json()["count"], len(first.json()["items"]), len(second["items"])) == (3, 2, 1)
    assert first.json()["next"].endswith(f"{url}?page=2") and second["next"] is None
    assert client.get(url, headers={**headers, "If-None-Match": first["ETag"]}).status_code == 304


def test_a_token_is_made_with_the_password_and_shown_once(client, build):
    client.force_login(build.builder)
    url, data = reverse("operations:tokens"), {"name": "meter", "scopes": ["read"], "old_password": "wrong"}
    assert client.post(url, data).status_code == 422 and not AccessToken.objects.exists()
    made = client.post(url, data | {"old_password": factories.PASSWORD}).context["made"]
    assert made and made not in client.get(url).content.decode()
    client.post(reverse("operations:withdraw-token", args=[AccessToken.objects.get().pk]))
    assert client.get("/api/v1/builds", headers={"Authorization": f"Bearer {made}"}).status_code == 401


@pytest.mark.lengthy
@pytest.mark.django_db(transaction=True)
def test_the_example_loads_readings_of_all_pages_into_pandas(live_server, settings, monkeypatch):
    from tests.clearing import clear_though_frozen

    monkeypatch.setattr("builds.operations.api.reading.PAGE", 4)
    settings.SITE_URL = live_server.url
    try:
        revision = factories.make_revision(stages=1)
        for values in ((290.0, 301.0, 312.0), (294.0, 305.0, 316.0), (298.0, 300.0, 302.0)):
            build = factories.make_build(revision=revision)
            for check, value in zip(factories.checks_of(revision=revision), values, strict=True):
                factories.add_reading(build=build, check=check, value=value)
        token = make(revision.kit.designers.get(), "pandas", ["read"])
        command = [sys.executable, "builds/operations/readings_with_pandas.py", live_server.url, revision.kit.key, "A"]
        environment = {**os.environ, "KIT_BUILDS_TOKEN": token}
        run = subprocess.run(command, cwd=project.BASE_DIR, env=environment, capture_output=True, text=True)
        assert run.returncode == 0, run.stderr
        rows = [line.split()[-5:] for line in run.stdout.splitlines() if "check-1-" in line]
        assert [(row[0], *map(float, row[1:])) for row in rows] == [  # the middle of each three, worked out by hand
            ("check-1-1", 3, 294, 290, 298),
            ("check-1-2", 3, 301, 300, 305),
            ("check-1-3", 3, 312, 302, 316),
        ]
    finally:
        clear_though_frozen()
