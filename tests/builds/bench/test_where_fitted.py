"""From a check to the steps that fit the parts it is about."""

import pytest
from django.urls import reverse

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.guides import revisions
from builds.guides.guide_file import read_guide, store_guide
from tests import factories
from tests.builds.guides.test_circuit import GUIDE

pytestmark = pytest.mark.django_db
STEP = """
[[stage.step]]
key = "fit"
text = "Solder the divider."
parts = ["R1", "R2"]
[[stage.check]]
"""


@pytest.fixture
def build():
    text = GUIDE.replace("[[stage.check]]\n", STEP.lstrip(), 1)
    return factories.make_build(
        revision=revisions.issue(store_guide(read_guide(text.encode()), factories.make_designer()))
    )


def test_a_checks_page_leads_to_the_parts_at_its_probes(client, build):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    stage = build.revision.stages.get(checks__key="mid")
    acknowledge(open_sitting(build), stage, 230.0 if stage.is_powered else None)
    page = client.get(reverse("bench:check", args=[build.pk, stage.key, "mid"])).content.decode()
    assert "Where was it fitted?" in page
    find = reverse("bench:find", args=[build.pk])
    joined = {ref for ref, part in revision_parts(build) if "mid" in str(part)}
    assert len(joined) >= 2
    assert all((f'href="{find}?q={ref}"' in page) is (ref in joined) for ref, _part in revision_parts(build))
    assert reverse("bench:stage", args=[build.pk, stage.key]) in client.get(f"{find}?q=R1").content.decode()


def revision_parts(build):
    return [(part.ref, part.detail.get("joins")) for part in build.revision.parts.all()]
