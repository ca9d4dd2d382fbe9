"""The unit beside the field, and the question before a reading that is a thousand times off is judged."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.models import MeterCheck, Reading
from builds.guides.models import Check, Part, Point
from tests import factories

pytestmark = pytest.mark.django_db
TEST_RESISTOR = {"ref": "TR1", "kind": "test resistor", "value": "100k", "tolerance": "1%"}


@pytest.fixture
def build():
    revision = factories.make_revision(checks=2, steps=0, issued=False, parts=(TEST_RESISTOR,))
    Check.objects.filter(key="check-1-1").update(measure="resistance", expected="100 kΩ", band="5%", stop_above="")
    Check.objects.filter(key="check-1-2").update(
        measure="resistance", expected="", band="", at_least="100 kΩ", stop_above=""
    )
    return factories.make_build(revision=revision)


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return client


def post(phone, build, typed, check="check-1-1", **more):
    address = reverse("bench:reading", args=[build.pk, "stage-1", check])
    return phone.post(address, {"typed": typed, "entry_key": str(uuid4()), **more})


@pytest.mark.lengthy
def test_no_unit_of_ohms_is_chosen_beforehand(phone, build):
    """The digits of a good 100 kΩ and of a 100 Ω resistor in its place are the same."""
    for key in ("check-1-1", "check-1-2"):
        form = phone.get(reverse("bench:check", args=[build.pk, "stage-1", key])).context["form"]
        assert form.fields["unit"].initial == ""
    answer = post(phone, build, "100")
    assert (answer.status_code, answer.context["form"].errors.as_data()["unit"][0].code) == (422, "which-unit")
    assert not Reading.objects.exists()


def test_a_bare_figure_counts_in_the_chosen_unit_and_is_kept_with_it(phone, build):
    post(phone, build, "99.1", unit="kΩ")
    reading = Reading.objects.get()
    assert (reading.typed, reading.value, reading.outcome) == ("99.1 kΩ", 99.1e3, "in band")


def test_what_no_meter_shows_is_asked_about_and_nothing_is_logged_yet(phone, build):
    answer = post(phone, build, "99.1", unit="MΩ")
    assert answer.status_code == 422 and not Reading.objects.exists()
    assert [typed for _words, typed in answer.context["form"].ask["answers"]] == ["99.1 MΩ", "99.1 kΩ"]


@pytest.mark.parametrize(("typed", "outcome"), [("99.1 kΩ", "in band"), ("99.1 MΩ", "out of band")])
def test_a_confirmed_unit_is_judged_without_asking_again(phone, build, typed, outcome):
    post(phone, build, typed, sure="on")
    assert Reading.objects.get().outcome == outcome


def test_the_wrong_resistor_is_never_talked_into_a_pass(phone, build):
    """100 Ω for 100 kΩ is one colour ring (IEC 60062: brown black brown against brown black yellow)."""
    post(phone, build, "100", unit="Ω")
    assert Reading.objects.get().outcome == "out of band"


def test_a_short_where_much_is_asked_is_never_talked_into_a_pass(phone, build):
    without = post(phone, build, "150", check="check-1-2")
    assert without.status_code == 422 and without.context["form"].errors.as_data()["unit"][0].code == "which-unit"
    post(phone, build, "150", check="check-1-2", unit="Ω")
    assert Reading.objects.get().outcome == "out of band"


def test_a_stop_is_not_delayed_by_a_question(phone, build):
    Check.objects.filter(key="check-1-1").update(measure="dc volts", expected="3 V", band="10%", stop_above="5 V")
    assert post(phone, build, "300")["Location"] == reverse("bench:stop", args=[build.pk])


def test_the_meter_check_takes_a_wrong_piece_for_what_it_reads(phone, build):
    address = reverse("bench:meter-check", args=[build.pk])
    form = {"piece": "TR1", "TR1-typed": "105", "TR1-entry_key": str(uuid4())}
    assert phone.post(address, form).status_code == 422 and not MeterCheck.objects.exists()
    phone.post(address, form | {"TR1-unit": "Ω"})
    assert MeterCheck.objects.get().trim == "out of trim"


@pytest.mark.lengthy
def test_a_current_is_told_in_volts_too_and_listed_as_a_current(phone, build):
    """45 mA across 180 Ω is 8.1 V, by Ohm's law."""
    Part.objects.create(revision=build.revision, position=9, ref="R10", kind="resistor", value="180", tolerance="5%")
    Check.objects.filter(key="check-1-1").update(
        measure="current", expected="45 mA", band="20%", through="R10", stop_above="70 mA"
    )
    page = phone.get(reverse("bench:check", args=[build.pk, "stage-1", "check-1-1"])).content.decode()
    assert all(volts in page for volts in ("8.10\xa0V", "6.48\xa0V to 9.72\xa0V", "12.6\xa0V"))
    assert page.index("8.10\xa0V") < page.index("45.0\xa0mA through R10")  # what the meter shows leads
    post(phone, build, "8.45")
    assert "46.9 mA" in phone.get(reverse("bench:stage", args=[build.pk, "stage-1"])).content.decode()


@pytest.mark.lengthy
def test_a_reading_corrected_for_the_meters_load_says_so(phone, build):
    """100 kΩ under a 10 MΩ meter: 1 % of what is shown is missing."""
    Check.objects.filter(key="check-1-1").update(
        measure="dc volts", expected="100 V", band="2%", source_resistance="100k"
    )
    post(phone, build, "95.0")
    page = phone.get(reverse("bench:check", args=[build.pk, "stage-1", "check-1-1"])).content.decode()
    assert "95.0 V typed; 96.0 V without your meter’s load." in page


def test_too_close_to_call_gives_one_order(phone, build):
    Check.objects.filter(key="check-1-1").update(
        measure="dc volts",
        expected="",
        band="",
        low="270 V",
        high="330 V",
        hints=[{"when": "high", "text": "R4 open.", "next": "check-1-2"}],
    )
    post(phone, build, "329.8")
    page = phone.get(reverse("bench:check", args=[build.pk, "stage-1", "check-1-1"])).content.decode()
    assert "too close to call" in page and page.lower().count("measure again") == 1
    assert "?measure=1" in page
    assert "Measure next" not in page and "Measure once more" not in page


def test_a_snag_tells_the_probes_in_the_words_of_the_check(phone, build):
    check = Check.objects.get(key="check-1-1")
    Check.objects.filter(pk=check.pk).update(red="ht.preamp", black="=the shell of the input socket")
    Point.objects.create(revision=build.revision, position=1, node="ht.preamp", words="the preamplifier's B+")
    row = build.snags.create(stage=check.stage, check_row=check, kind="reading", words="Low.", by=build.builder)
    page = phone.get(reverse("bench:snag", args=[build.pk, row.pk])).content.decode()
    assert "red on the preamplifier&#x27;s B+, black on the shell of the input socket" in page
    assert "Your message" in page and "Your answer" not in page
