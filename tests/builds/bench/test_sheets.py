"""A filled worksheet entered later: times kept, and every line judged as if it had been typed then."""

import re
from datetime import datetime, timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates import gating
from builds.bench.models import MadeSafe, PowerOn, Reading, Sheet, Tick
from builds.guides.models import Step
from tests import factories

pytestmark = pytest.mark.django_db
DAY = (timezone.now() - timedelta(days=1)).date()


def at(clock: str) -> datetime:
    hour, minute = map(int, clock.split(":"))
    return timezone.make_aware(datetime(DAY.year, DAY.month, DAY.day, hour, minute))


def build_of(client, **more):
    """A build with an unpowered and a powered stage of two checks and a step each."""
    revision = factories.make_revision(**{"stages": 2, "checks": 2, "steps": 1, "gate": False} | more)
    build = factories.make_build(revision=revision)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return build


def enter(client, build, key="stage-2", **lines):
    """Post the sheet of a stage. `lines`: name of a field with _ for -, or check_2_1="300 V @ 14:05"."""
    data = {"entry_key": str(uuid4()), "day": DAY.isoformat(), "read": "on", "mains": "230"}
    for name, text in lines.items():
        row = name.replace("_", "-")
        if "@" not in text:
            data[name] = text
            continue
        typed, clock = (part.strip() for part in text.split("@"))
        data |= {f"{row}-done" if typed == "done" else f"{row}-typed": typed, f"{row}-at": clock}
    return client.post(reverse("bench:sheet", args=[build.pk, key]), data)


def test_readings_keep_the_times_written_on_the_sheet(client):
    build = build_of(client)
    answer = enter(client, build, check_2_1="301 V @ 14:05", check_2_2="299 V @ 14:07", made_safe="2.1 @ 14:20")
    assert answer.status_code == 302
    rows = list(Reading.objects.order_by("at").values_list("check_row__key", "at", "outcome", "mains_volts"))
    assert rows == [("check-2-1", at("14:05"), "in band", 230.0), ("check-2-2", at("14:07"), "in band", 230.0)]
    assert MadeSafe.objects.get().at == at("14:20") and PowerOn.objects.get().at == at("14:05")
    assert Sheet.objects.get().readings.count() == 2 and Sheet.objects.get().entered_at > at("14:20")
    assert not gating.find_power(build).needs_made_safe


def test_a_browser_lets_a_sheet_go_that_is_not_filled_to_its_end(client):
    """HTML: a form with an empty `required` field is not sent (WHATWG HTML, constraint validation)."""
    page = client.get(reverse("bench:sheet", args=[build_of(client).pk, "stage-2"])).content.decode()
    fields = re.findall(r"<input[^>]*-typed[^>]*>", page)
    assert len(fields) == 3 and not [field for field in fields if "required" in field]


def test_a_sheet_sent_again_adds_nothing_and_says_what_was_held_back(client):
    """The first answer was lost on its way: what the bench refused then is not saved now, and is not called saved."""
    build = build_of(client)
    key = str(uuid4())
    lines = {"check_2_1": "470 V @ 14:05", "check_2_2": "299 V @ 14:06", "entry_key": key}
    first, again = enter(client, build, **lines), None
    MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True)
    again = enter(client, build, **lines)
    assert (first.status_code, again.status_code) == (409, 409) and Reading.objects.count() == 1
    assert "Entry-Kept" not in again and 'value="299 V"' in again.content.decode()


def test_a_sheet_taken_to_its_end_is_answered_alike_when_it_comes_again(client):
    build = build_of(client)
    lines = {"check_2_1": "301 V @ 14:05", "made_safe": "2.1 @ 14:20", "entry_key": str(uuid4())}
    assert [enter(client, build, **lines).status_code for _ in range(2)] == [302, 302]
    assert (Reading.objects.count(), MadeSafe.objects.count(), Sheet.objects.count()) == (1, 1, 1)


def test_a_line_corrected_under_a_key_that_was_used_is_not_called_saved(client):
    build = build_of(client)
    key = str(uuid4())
    enter(client, build, check_2_1="301 V @ 14:05", made_safe="2.1 @ 14:20", entry_key=key)
    assert enter(client, build, check_2_1="310 V @ 14:05", made_safe="2.1 @ 14:20", entry_key=key).status_code == 409
    assert Reading.objects.get().typed == "301 V"


def test_a_live_sheet_without_a_made_safe_reading_leaves_the_kit_live(client):
    """Entering paper at a desk is no reason to believe that the kit was discharged."""
    build = build_of(client)
    enter(client, build, check_2_1="301 V @ 14:05")
    assert gating.find_power(build).needs_made_safe


@pytest.mark.parametrize("clock", ["14:05", "14:04"])
def test_a_made_safe_reading_of_the_same_minute_as_a_live_one_is_refused(clock, client):
    """Nobody knows which came last: hands would go into a kit that may have had power after."""
    build = build_of(client)
    enter(client, build, check_2_1="301 V @ 14:05", made_safe=f"2.1 @ {clock}")
    if clock == "14:05":
        assert not MadeSafe.objects.exists() and not Reading.objects.exists()
    else:
        assert gating.find_power(build).needs_made_safe  # power came after it


def test_a_stop_ends_the_entry_and_nothing_typed_after_it_is_lost(client):
    build = build_of(client)
    answer = enter(client, build, check_2_1="470 V @ 14:05", check_2_2="299 V @ 14:06")
    assert answer.status_code == 409 and [r.check_row.key for r in Reading.objects.all()] == ["check-2-1"]
    assert (
        reverse("bench:stop", args=[build.pk]) in answer.content.decode() and 'value="299 V"' in answer.content.decode()
    )
    assert gating.find_power(build).stop_unanswered
    assert client.get(reverse("bench:sheet", args=[build.pk, "stage-2"]))["Location"] == reverse(
        "bench:stop", args=[build.pk]
    )


ORDER = "Switch off. Unplug. Keep your hands out until it is discharged."


@pytest.mark.parametrize(
    "wrong",
    [{"check_2_2": "3oo V @ 14:06"}, {"check_2_2": "299 V @ later"}, {"day": "someday"}, {"mains": "12"}, {"read": ""}],
)
def test_a_sheet_that_cannot_be_saved_says_switch_off_for_a_stop_that_it_holds(client, wrong):
    build = build_of(client)
    answer = enter(client, build, **{"check_2_1": "470 V @ 14:05"} | wrong)
    page = answer.content.decode()
    assert answer.status_code == 422 and not Reading.objects.exists()
    assert ORDER in page and "The reading of “Check 2.1” is past its stop limit." in page
    assert page.index(ORDER) < page.index('data-outbox="sheet"') and answer["Entry-Outcome"] == "x"


@pytest.mark.parametrize(
    "lines", [{"check_2_1": "301 V @ 14:05"}, {"check_2_1": "470 V @ 14:05", "made_safe": "2 @ 14:20"}]
)
def test_a_sheet_without_a_stop_or_made_safe_after_it_gives_no_order(client, lines):
    page = enter(client, build_of(client), check_2_2="3oo V @ 14:06", **lines)
    assert page.status_code == 422 and ORDER not in page.content.decode() and "Entry-Outcome" not in page


def test_a_made_safe_reading_before_the_stop_or_above_the_touch_limit_takes_no_order_back(client):
    for typed, clock in (("2", "14:01"), ("180", "14:20")):
        lines = {"check_2_1": "470 V @ 14:05", "made_safe": f"{typed} @ {clock}", "check_2_2": "3oo V @ 14:06"}
        assert ORDER in enter(client, build_of(client), **lines).content.decode()


def test_what_lies_after_a_stop_and_its_made_safe_reading_is_held_back_too(client):
    """A stop stands until its own check reads well: the bench would have refused the next live check."""
    build = build_of(client)
    answer = enter(client, build, check_2_1="470 V @ 14:05", made_safe="2 @ 14:20", check_2_2="299 V @ 14:30")
    assert answer.status_code == 409 and MadeSafe.objects.get().at == at("14:20")
    assert not Reading.objects.filter(check_row__key="check-2-2").exists()


@pytest.mark.parametrize("is_live", [True, False])
def test_a_step_done_after_made_safe_counts_as_power_unless_made_safe_follows(is_live, client):
    """It may have been the one that switched on."""
    build = build_of(client)
    after = {"step_2_1": "done @ 14:30"} if is_live else {"step_2_1": "done @ 14:10"}
    answer = enter(client, build, check_2_1="301 V @ 14:05", made_safe="2 @ 14:20", **after)
    assert answer.status_code == 302 and Tick.objects.exists()
    assert gating.find_power(build).needs_made_safe is is_live


def test_a_shut_stage_takes_no_sheet(client):
    build = build_of(client, gate=True)
    answer = enter(client, build, check_2_1="301 V @ 14:05")
    assert answer.status_code == 409 and not Reading.objects.exists() and not Sheet.objects.exists()


def test_a_gate_is_judged_line_by_line(client):
    """The sheets of a gate and of the stage behind it, in the order of their times: each opens the next."""
    build = build_of(client, gate=True)
    first = enter(
        client, build, "stage-1", step_1_1="done @ 09:00", check_1_1="300 V @ 09:10", check_1_2="300 V @ 09:11"
    )
    assert first.status_code == 302 and Tick.objects.get().at == at("09:00")
    assert enter(client, build, check_2_1="301 V @ 14:05").status_code == 302


@pytest.fixture
def hands_in_between(client):
    """A build whose live stage has a reading, a step that puts hands in, and a reading."""
    revision = factories.make_revision(stages=2, checks=2, steps=1, gate=False, issued=False)
    powered = revision.stages.get(key="stage-2")
    Step.objects.filter(stage=powered).update(hands_in=True, place=1)
    powered.checks.filter(key="check-2-1").update(place=0)
    powered.checks.filter(key="check-2-2").update(place=2)
    build = factories.make_build(revision=revision)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return build


LIVE = {"check_2_1": "301 V @ 14:05", "step_2_1": "done @ 14:10", "check_2_2": "300 V @ 14:20"}
BEFORE_HANDS = "made_safe.step_2_1"  # the line above that step


def test_a_step_that_puts_hands_in_is_refused_while_the_sheet_has_power_on(client, hands_in_between):
    assert enter(client, hands_in_between, **LIVE).status_code == 409
    assert not Tick.objects.exists() and Reading.objects.count() == 1


@pytest.mark.parametrize(("line", "taken"), [("2.1 @ 14:08", True), ("75 @ 14:08", False), ("2.1 @ 14:12", False)])
def test_hands_go_in_after_the_made_safe_line_above_their_step(client, hands_in_between, line, taken):
    answer = enter(client, hands_in_between, **LIVE, **{BEFORE_HANDS: line, "made_safe": "2.4 @ 14:30"})
    assert answer.status_code == (302 if taken else 409)
    assert Tick.objects.exists() == taken and Reading.objects.count() == (2 if taken else 1)
    assert gating.find_power(hands_in_between).needs_made_safe is not taken


def test_a_live_reading_after_the_made_safe_line_above_a_step_leaves_the_kit_live(client, hands_in_between):
    assert enter(client, hands_in_between, **LIVE, **{BEFORE_HANDS: "2.1 @ 14:08"}).status_code == 302
    assert gating.find_power(hands_in_between).needs_made_safe


@pytest.mark.parametrize(
    ("line", "kept"),
    [("3oo @ 14:05", 0), ("301 V @ ", 0), ("301 V @ 25:00", 0)],
)
def test_a_line_that_cannot_be_read_saves_nothing_of_the_sheet(line, kept, client):
    build = build_of(client)
    answer = enter(client, build, check_2_1=line, check_2_2="299 V @ 14:06")
    assert answer.status_code == 422 and Reading.objects.count() == kept and not PowerOn.objects.exists()


@pytest.mark.lengthy
def test_a_time_before_the_newest_entry_is_refused(client):
    """What is known now would be asked about a moment when it was not known."""
    build = build_of(client)
    enter(client, build, check_2_1="301 V @ 14:05")
    for clock in ("14:04", "14:05"):
        assert enter(client, build, check_2_2=f"299 V @ {clock}").status_code == 422
    assert enter(client, build, check_2_2="299 V @ 14:06").status_code == 302


def test_a_time_to_come_is_refused(client):
    build = build_of(client)
    data = {"entry_key": str(uuid4()), "day": (timezone.localdate() + timedelta(days=1)).isoformat(), "read": "on"}
    data |= {"check-2-1-typed": "301 V", "check-2-1-at": "14:05"}
    assert client.post(reverse("bench:sheet", args=[build.pk, "stage-2"]), data).status_code == 422
    assert not Reading.objects.exists()


def test_the_cautions_are_confirmed_with_the_sheet(client):
    build = build_of(client)
    assert enter(client, build, check_2_1="301 V @ 14:05", read="").status_code == 422
    assert not Reading.objects.exists()


def test_a_double_tap_saves_the_sheet_once(client):
    build = build_of(client)
    key = str(uuid4())
    for _tap in range(2):
        enter(client, build, check_2_1="301 V @ 14:05", check_2_2="299 V @ 14:07", entry_key=key)
    assert Reading.objects.count() == 2 and Sheet.objects.count() == 1


def test_entering_a_sheet_begins_no_session_at_the_bench(client):
    """The cautions of the sheet were read then; whoever goes live now reads them now."""
    build = build_of(client)
    enter(client, build, check_2_1="301 V @ 14:05")
    check = client.get(reverse("bench:check", args=[build.pk, "stage-2", "check-2-2"]))
    assert check["Location"] == reverse("bench:cautions", args=[build.pk, "stage-2"])


def test_a_sheet_gets_the_verdict_that_typing_then_would_have(client):
    build = build_of(client)
    enter(client, build, check_2_1="345 V @ 14:05")
    other = build_of(client, stages=2)
    from builds.bench.readings.taking import take_reading

    check = other.revision.stages.get(key="stage-2").checks.get(key="check-2-1")
    typed = take_reading(other, check, "345 V", by=other.builder, mains_volts=230.0)
    sheet = Reading.objects.get(build=build)
    names = ("outcome", "reason", "low", "high", "u", "probability", "deviation")
    assert [getattr(sheet, n) for n in names] == [getattr(typed, n) for n in names]


def test_a_reading_from_paper_says_so_among_all_readings(client):
    build = build_of(client)
    enter(client, build, check_2_1="301 V @ 14:05")
    shown = client.get(reverse("bench:readings", args=[build.pk])).context["shown"]
    latest = {line.check.key: line.latest for stage in shown for line in stage.checks if line.latest}
    assert latest["check-2-1"].is_from_paper
