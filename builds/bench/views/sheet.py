"""Entering a filled worksheet of a stage: one fast form, the times of day kept, judged as if typed then."""

from uuid import uuid4

from django import forms
from django.contrib import messages
from django.db import transaction
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods

from builds.accounts.access import signed_in
from builds.accounts.cautions import cautions_for
from builds.bench import access
from builds.bench.forms import CautionsForm
from builds.bench.gates.facts import load_facts
from builds.bench.gates.gating import find_power
from builds.bench.models import Sheet
from builds.bench.offline import receipts
from builds.bench.offline.arrival import attach_outcome, find_arrival, mark_entry_saved
from builds.bench.readings.entry_keys import UsedKey, posted_key
from builds.bench.sheets.entering import Entered, enter, newest_if_too_early, note_saved
from builds.bench.sheets.lines import TypedSheet, read_sheet
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.stage import open_stage
from builds.ui.messages import sheets as texts
from checks.outcomes import Outcome


class SheetForm(CautionsForm):
    """The head of the sheet: the day, the cautions, the mains voltage that is written on it."""

    day = forms.DateField(
        label=gettext_lazy("Date on the sheet"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args, build, stage, **kwargs):
        super().__init__(*args, nominal=build.mains_volts, **kwargs)
        self.fields["read"].label = _("I read the cautions of this sheet before I began, and followed them.")
        self.fields["mains"].label = _("Mains voltage on the sheet, from a plug-in meter")
        if not (stage.cautions or stage.is_powered):
            del self.fields["read"]
        if not stage.is_powered:
            del self.fields["mains"]

    def clean_day(self):
        day = self.cleaned_data["day"]
        if day > timezone.localdate():
            raise forms.ValidationError(_("This date is in the future."), code="future")
        return day


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def sheet(request, pk, key):
    """Nothing is saved while a line cannot be read; then line by line, until the bench would have refused one."""
    if request.method != "POST":
        opened = open_stage(request, access.own_build(request.user, pk), key)
        if opened.answer and not opened.wants_cautions:
            return opened.answer
        return _empty(request, opened)
    with transaction.atomic():
        build = access.locked_build(request.user, pk)
        opened = open_stage(request, build, key, load_facts(build))
        if opened.answer and not opened.wants_cautions:
            return htmx_redirect(request, opened.answer)
        form = SheetForm(request.POST, build=build, stage=opened.stage)
        head_is_right = form.is_valid()
        typed = _read(opened, form, request.POST)
        sent_before = head_is_right and not typed.has_errors and _sent_before(typed)
        objection = "" if not head_is_right or typed.has_errors or sent_before else _against(typed)
        if not head_is_right or typed.has_errors or objection:
            return _shown(request, opened, form, typed, message=objection, status=422)
        try:
            entered = enter(typed, opened.facts, by=request.user)
        except UsedKey as error:
            form.ask_again(error)
            return _shown(request, opened, form, typed, status=422)
    if entered.held is None:
        receipts.record_late(build, find_arrival(request), "sheet")
        is_open = find_power(build).stop_unanswered  # a figure worked out from its readings may say so too
        mark_entry_saved(request, timezone.now(), Outcome.SWITCH_OFF.value if is_open else "")
    return _answer(request, opened, form, typed, entered)


def _empty(request, opened):
    """`again`: the key of a sheet that this phone sent and that was not taken to its end."""
    initial = {"day": timezone.localdate(), "entry_key": uuid4()}
    form = SheetForm(build=opened.build, stage=opened.stage, initial=initial)
    typed = _read(opened, form, None)
    if again := posted_key(request.GET, "again"):
        typed.key = again
        note_saved(typed)
    return _shown(request, opened, form, typed)


def _sent_before(typed: TypedSheet) -> bool:
    return Sheet.objects.filter(entry_key=typed.key, build=typed.build).exists()


def _read(opened, form, posted) -> TypedSheet:
    data = form.cleaned_data if form.is_bound and hasattr(form, "cleaned_data") else {}
    return read_sheet(
        TypedSheet(
            opened.build,
            opened.stage,
            data.get("entry_key") or uuid4(),
            data.get("day") or timezone.localdate(),
            data.get("mains"),
            posted and posted.dict(),
        )
    )


def _against(typed: TypedSheet) -> str:
    """What stands against the sheet as a whole; empty where nothing does."""
    if not typed.filled:
        return _("Nothing is filled in yet. Type at least one reading with its time.")
    newest = newest_if_too_early(typed)
    return texts.too_early(newest) if newest else ""


def _answer(request, opened, form, typed: TypedSheet, entered: Entered):
    saved = ngettext(
        "%(count)s line of the sheet is saved with its time.",
        "%(count)s lines of the sheet are saved with their times.",
        entered.taken,
    ) % {"count": entered.taken}
    if entered.held is None:
        messages.success(request, saved)
        # a stop that stands takes that page over
        return htmx_redirect(request, redirect("bench:stage", opened.build.pk, opened.stage.key))
    form.renew_key()
    assert entered.line is not None  # the one that is held
    message = f"{saved} {texts.held(entered.held, entered.line.time_typed)}"
    return _shown(request, opened, form, typed, message=message, entered=entered, status=409)


def _shown(request, opened, form, typed: TypedSheet, *, message="", entered=None, status=200):
    stops = typed.stops if entered is None else []
    answer = render(
        request,
        "bench/sheet.html",
        {
            "build": opened.build,
            "stage": opened.stage,
            "form": form,
            "lines": typed.lines,
            "said": message,
            "entered": entered,
            "cautions": cautions_for(opened.stage.cautions),
            "power": opened.power,
            "has_errors": typed.has_errors,
            "stops": stops,
        },
        status=status,
    )
    if stops:  # the phone that sent it keeps it, and is to know
        attach_outcome(answer, Outcome.SWITCH_OFF)
    return answer
