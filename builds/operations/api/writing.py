"""Readings posted by a program, such as a logging meter: judged and saved by the one rule of the bench."""

import json
import logging

from django.http import Http404, JsonResponse, QueryDict
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from builds.accounts.not_saved import WRITE_ERRORS, warn_owner
from builds.bench.diagnosis.advice import order_to_switch_off
from builds.bench.gates.gating import find_power
from builds.bench.views.posted_reading import post_reading
from builds.bench.views.unsaved import judge_only
from builds.operations.api.reading import reading_json
from builds.operations.api.tokens import needs_token, problem
from builds.operations.models import AccessToken
from builds.ui.messages.bench import by_figures_as_issued
from checks.outcomes import OFF, Outcome

FLAGS = ("is_slip", "sure")
FIELDS = ("typed", "unit", "entry_key", *FLAGS)
log = logging.getLogger(__name__)


@needs_token(AccessToken.WRITE)
@require_POST
def post(request, pk, stage, check):
    """The same entry key and content again is the same reading. A stop says to switch off, saved or not."""
    fields = _fields(request)
    if fields is None:
        return problem(
            400, "body", _("Send typed, unit and entry_key as text, as JSON or as a form. is_slip and sure are “on”.")
        )
    request.POST = fields
    try:
        posted = post_reading(request, pk, stage, check)
    except WRITE_ERRORS as error:
        log.exception("a reading could not be written")
        warn_owner(error)
        return _not_saved(request, pk, stage, check)
    if posted.taken:
        return _taken(posted)
    if posted.orders_off:
        return _order(409)
    if posted.lock:
        return problem(409, f"locked-{posted.lock.reason.value}", _("This check cannot be read now. Open its page."))
    if posted.answer:
        return problem(409, "gate", _("Something else must be done first. Open the build's page and follow it."))
    errors = {name: [str(e) for e in field_errors] for name, field_errors in posted.form.errors.items()}
    if posted.form.ask:
        errors["typed"] = [
            _("Did you mean %(meant)s? Send that value, or send sure=on to confirm yours.")
            % {"meant": posted.form.ask["meant"]}
        ]
    return problem(422, "refused", _("The reading was not saved."), fields=errors)


def _fields(request) -> QueryDict | None:
    """What was sent, if it is an entry. A flag that says something else than "on" is asked about, since "off" would
    count as set in a form."""
    fields = _sent(request)
    return fields if fields is not None and all(set(fields.getlist(f)) <= {"", "on"} for f in FLAGS) else None


def _sent(request) -> QueryDict | None:
    if request.content_type != "application/json":
        return request.POST
    try:
        sent = json.loads(request.body)
    except (ValueError, RecursionError):
        return None
    if not isinstance(sent, dict) or not all(isinstance(sent.get(name, ""), str) for name in FIELDS):
        return None
    fields = QueryDict(mutable=True)
    fields.update({name: sent[name] for name in FIELDS if name in sent})
    return fields


def _taken(posted) -> JsonResponse:
    """As on the page: whether to switch off leads, and nothing is praised while a stop or an overload stands."""
    reading, opened = posted.taken, posted.at.opened
    stop = reading.outcome == Outcome.SWITCH_OFF
    order = "" if stop else order_to_switch_off(opened.build, posted.at.check, reading, opened.facts)
    switch_off = stop or bool(order and find_power(opened.build, opened.facts).needs_made_safe)
    is_corrected = reading.check_row_id in opened.facts.in_words and reading.outcome not in OFF
    state = opened.facts.check_states.get(reading.check_row_id)
    is_settled = bool(state and state.passed and reading.outcome == Outcome.TOO_CLOSE)  # nothing more to measure
    text = order or (by_figures_as_issued() if is_corrected else reading.finding if is_settled else reading.explanation)
    content = {"saved": True, "switch_off": switch_off, "text": text}
    return JsonResponse(content | {"reading": reading_json(reading)}, status=201)


def _not_saved(request, pk, stage, check) -> JsonResponse:
    try:
        judged = judge_only(request, pk, stage, check)
    except Http404:
        judged = None
    if judged is not None and judged.verdict.outcome is Outcome.SWITCH_OFF:
        return _order(503)
    return JsonResponse({"saved": False, "switch_off": False, "text": _("The reading was not saved.")}, status=503)


def _order(status: int) -> JsonResponse:
    """To switch off, after a reading that was not saved."""
    text = _("Switch off. Unplug. The reading was not saved.")
    return JsonResponse({"saved": False, "switch_off": True, "text": text}, status=status)
