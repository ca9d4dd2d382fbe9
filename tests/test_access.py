"""Every address, called by everybody: nobody sees or changes what is not theirs."""

import pytest
from django.urls import URLPattern, get_resolver, reverse

from builds.bench.models import Snag
from tests import factories

pytestmark = pytest.mark.django_db
PUBLIC = {
    "accounts:sign-in",
    "accounts:sign-out",
    "accounts:safety",
    "accounts:forgotten",
    "accounts:forgotten-sent",
    "accounts:invitation",
    "notifications:stop",
}
OWN = {
    "home",
    "accounts:meters",
    "accounts:preferences",
    "notifications:mail",
    "bench:builds",
}  # everybody signed in has one of these
DESIGNERS = {
    "review:programmes",
    "guides:kits",
    "guides:import",
    "guides:new-kit",
}  # any designer has these, with their own rows only


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


NAMES = sorted({name for name, _ in patterns()})


@pytest.fixture
def cast():
    designer, other = factories.make_designer(), factories.make_designer()
    builder, stranger = factories.make_builder(), factories.make_builder()
    revision = factories.make_revision(designer=designer)
    draft = factories.make_revision(kit=revision.kit, letter="B", issued=False)
    build = factories.make_build(revision=revision, builder=builder)
    stage = revision.stages.first()
    check, step = stage.checks.first(), stage.steps.first()
    factories.add_reading(build=build, check=check)
    snag = Snag.objects.create(build=build, stage=stage, kind="other", words="A snag", by=builder)
    return {
        "designer": designer,
        "other designer": other,
        "builder": builder,
        "stranger": stranger,
        "revision": revision,
        "draft": draft,
        "build": build,
        "stage": stage,
        "check": check,
        "step": step,
        "snag": snag,
    }


def values(name, cast):
    """The address's arguments, pointing at real rows of the cast."""
    kit = cast["revision"].kit.key
    build, stage = cast["build"].pk, cast["stage"].key
    known = {
        "kit": kit,
        "letter": "A",
        "other": "B",
        "stage": stage,
        "key": stage,
        "step": cast["step"].key,
        "name": "x.png",
        "form": "toml",
        "kind": "voltage" if "chart" in name else "stage",
        "size": "thumb",
        "photo": 1,
        "confirmed": 1,
        "erratum": 1,
        "swap": 1,
        "token": "x" * 32,
        "snag": cast["snag"].pk,
        "pk": build,
        "check": cast["check"].key,
    }
    if name.startswith("guides:"):
        known |= {"pk": cast["stage"].pk}
        if name.endswith("-inner"):
            known |= {"kind": "step", "pk": cast["step"].pk}
    if name in ("guides:circuit-take", "guides:circuit-of"):
        known["pk"] = cast["check"].pk
    if name in ("review:check",):
        known["pk"] = cast["check"].pk
    if name == "review:decide-check":
        known["pk"] = cast["check"].pk
    if name in ("review:snag", "review:decide-snag", "review:merge", "review:take-apart"):
        known["pk"] = cast["snag"].pk
    if name.startswith("review:") and name != "review:check":
        known["check"] = cast["check"].pk
    return known


def address(name, cast):
    pattern = next(p for n, p in patterns() if n == name)
    known = values(name, cast)
    return reverse(
        name,
        kwargs={k: known[k] for k in pattern.pattern.converters}
        | {k: known[k] for k in _inherited(name) if k in known},
    )


def _inherited(name):
    return ()


@pytest.mark.parametrize("name", NAMES)
def test_every_view_says_who_may_call_it(name):
    pattern = next(p for n, p in patterns() if n == name)
    assert getattr(pattern.callback, "access", None) in ("anyone", "signed in", "designers"), name
    assert (pattern.callback.access == "anyone") == (name in PUBLIC)


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", [n for n in NAMES if n not in PUBLIC])
def test_nobody_signed_out_gets_in(name, method, cast, client):
    answer = getattr(client, method)(address(name, cast))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("accounts:sign-in"))


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", [n for n in NAMES if n not in PUBLIC | OWN])
@pytest.mark.parametrize("who", ["stranger", "other designer"])
def test_strangers_find_nothing(name, method, who, cast, client):
    client.force_login(cast[who])
    answer = getattr(client, method)(address(name, cast))
    if name in DESIGNERS and who == "other designer":
        assert answer.status_code in (200, 405, 422)
        assert cast["revision"].kit.name not in answer.content.decode()
    else:
        assert answer.status_code in (403, 404, 405), (name, answer.status_code)


@pytest.mark.parametrize(
    "name",
    [n for n in NAMES if n.startswith(("review:", "guides:"))]
    + [
        "reports:summary",
        "reports:pdf",
        "reports:csv",
        "reports:json",
        "reports:packing-slip",
        "reports:stage",
        "reports:stage-pdf",
        "reports:changes-csv",
        "reports:archive",
        "reports:make-archive",
        "reports:fetch-archive",
    ],
)
def test_a_builder_sees_no_designers_page(name, cast, client):
    client.force_login(cast["builder"])
    for method in ("get", "post"):
        assert getattr(client, method)(address(name, cast)).status_code in (403, 404, 405)


@pytest.mark.parametrize(
    "name",
    [
        n
        for n in NAMES
        if n.startswith("bench:") and n not in ("bench:builds", "bench:photo", "bench:picture", "bench:charts")
    ],
)
def test_a_designer_may_not_act_as_the_builder(name, cast, client):
    client.force_login(cast["designer"])
    for method in ("get", "post"):
        assert getattr(client, method)(address(name, cast)).status_code in (404, 405)


@pytest.mark.parametrize("name", NAMES)
def test_nobody_gets_a_broken_page(name, cast, client):
    for who in ("designer", "builder"):
        client.force_login(cast[who])
        assert client.get(address(name, cast)).status_code < 500
