"""A programme with something to tell, for all reports."""

import pytest

from builds.bench.models import Snag
from builds.bench.readings.taking import take_reading
from tests import factories


@pytest.fixture
def revision():
    """Eight builds: check 1.1 reads high for all, 1.2 for one only; one snag that is a spreadsheet's nightmare."""
    made = factories.make_revision(stages=2, checks=3)
    first, second, third = made.stages.first().checks.all()
    for n in range(8):
        build = factories.make_build(revision=made, builder=factories.make_builder())
        take_reading(build, first, f"{345 + n % 3}", by=build.builder)
        take_reading(build, second, "240" if n == 5 else f"{300 + n % 3}", by=build.builder)
        take_reading(build, third, "300", by=build.builder)
    Snag.objects.create(
        build=build,
        stage=made.stages.first(),
        check_row=first,
        kind="reading",
        words='=HYPERLINK("x") & <b>4.7 kΩ ±5 % µ</b>',
        by=build.builder,
    )
    return made


@pytest.fixture
def desk(client, revision):
    """The designer's browser."""
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    return client
