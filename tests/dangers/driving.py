"""Types an entry into the reading field of a check and returns the outcome, in the table's codes.

The response is read by structure: the stored outcome, the codes of form errors, the question asked. `answer` works
below HTTP, with the form and functions that the view uses, and stores nothing. `answer_by_post` posts the form and
rolls back.
"""

from uuid import uuid4

from django.db import transaction
from django.urls import reverse

from builds.accounts.models import Meter
from builds.bench.models import Reading
from builds.bench.readings.context import build_context
from builds.bench.readings.forms import ReadingForm
from builds.guides.models import Check
from checks.errors import ChecksError
from checks.meter import Accuracy, MeterSpec
from checks.outcomes import Outcome
from tests import factories

METER = MeterSpec("digital", Accuracy(0.5, 3), Accuracy(1, 3), Accuracy(1, 3), input_ohms=10e6)
FIGURES = {
    "earth": {"measure": "resistance", "at_most": "500 mΩ"},
    "r100k": {"measure": "resistance", "expected": "100 kΩ", "band": "10%"},
    "winding": {"measure": "resistance", "expected": "12 Ω", "low": "9 Ω", "high": "15 Ω"},
    "insulation": {"measure": "resistance", "at_least": "20 MΩ"},
    "bplus": {"measure": "dc volts", "low": "285 V", "high": "335 V", "stop_above": "400 V"},
    "grid": {"measure": "dc volts", "low": "-500 mV", "high": "300 mV"},
    "heater": {"measure": "ac volts", "low": "6.0 V", "high": "6.6 V", "stop_above": "7.5 V"},
    "bias": {"measure": "dc volts", "low": "-34 V", "high": "-28 V", "stop_above": "-20 V"},
}
JUDGED = {
    Outcome.IN_BAND.value: "pass",
    Outcome.TOO_CLOSE.value: "too_close",
    Outcome.OUT_OF_BAND.value: "out",
    Outcome.SWITCH_OFF.value: "stop",
}
ERRORS = {
    "digits": "ask_digits",
    "lone-one": "ask_digits",
    "which-unit": "ask_unit",
    "units-differ": "ask_unit",
    "milli": "ask_unit",
    "not-shown": "ask_unit",
}  # codes of errors on the field; every other one refuses
NOT_OFFERED = "not offered"  # a button the page does not have


def make_bench():
    """A build with the eight checks in a stage without power, and its checks by key."""
    revision = factories.make_revision(stages=1, checks=0, steps=0, issued=False)
    stage = revision.stages.get()
    Check.objects.bulk_create(
        [
            Check(stage=stage, position=n, key=key, title=key, red="a", **figures)
            for n, (key, figures) in enumerate(FIGURES.items(), 1)
        ]
    )
    builder = factories.make_builder()
    meter = Meter.objects.create(owner=builder, name="6000 counts", spec=METER.as_dict())
    build = factories.make_build(revision=revision, builder=builder, meter=meter)
    return build, {check.key: check for check in stage.checks.select_related("stage")}


def sent(build, check, typed: str, button: str | None) -> dict:
    """What a browser sends: the button pressed, or the one pressed beforehand."""
    context = build_context(build, check, None)
    unit = ReadingForm(context=context).fields["unit"].initial or "" if button is None else button
    return {"typed": typed, "entry_key": str(uuid4()), **({"unit": unit} if unit else {})}


def answer(build, check, typed: str, button: str | None = None) -> str:
    form = ReadingForm(sent(build, check, typed, button), context=build_context(build, check, None))
    if not form.is_valid():
        return _asked_or_refused(form)
    text = form.cleaned_data["typed"]
    try:
        judged = build_context(build, check, None).judged(text)
        meant = judged.likely_typing_error()
        if meant:
            form.put_question(meant, text)
            return _question(build, check, form.ask)
        return JUDGED[judged.verdict.outcome.value]
    except ChecksError as error:
        return ERRORS.get(error.code, "refuse")


def answer_by_post(client, build, check, typed: str, button: str | None = None) -> str:
    data = sent(build, check, typed, button)
    with transaction.atomic():
        got = client.post(reverse("bench:reading", args=[build.pk, check.stage.key, check.key]), data)
        result = _answered(build, check, got, data["entry_key"])
        transaction.set_rollback(True)
    return result


def _answered(build, check, got, entry_key: str) -> str:
    kept = Reading.objects.filter(entry_key=entry_key).first()
    if got.status_code == 302:
        assert kept is not None
        assert (got["Location"] == reverse("bench:stop", args=[build.pk])) == (kept.outcome == Outcome.SWITCH_OFF.value)
        return JUDGED[kept.outcome]
    assert (got.status_code, kept) == (422, None)
    form = got.context["form"]
    return _question(build, check, form.ask) if form.ask else _asked_or_refused(form)


def _asked_or_refused(form) -> str:
    errors = form.errors.as_data()
    codes = {name: [error.code for error in result] for name, result in errors.items()}
    assert codes, "refused without an error message"
    if "unit" in codes:
        return NOT_OFFERED if "invalid_choice" in codes["unit"] else "ask_unit"
    return next((ERRORS[code] for code in codes.get("typed", ()) if code in ERRORS), "refuse")


def _question(build, check, ask: dict) -> str:
    """A slip is asked about. The outcome says so if the first, prominent answer is the one that passes."""
    _words, first = ask["answers"][0]
    passes = build_context(build, check, None).judged(first).verdict.outcome is Outcome.IN_BAND
    return "ask_sure, pass first" if passes else "ask_sure"
