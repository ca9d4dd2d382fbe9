"""A reading that was posted: judged and stored by the one rule, whichever page it came from."""

from contextlib import suppress
from dataclasses import dataclass

from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from builds.bench import access
from builds.bench.gates import locks, sittings
from builds.bench.gates.facts import load_facts
from builds.bench.gates.locks import CheckLock
from builds.bench.models import Build, PowerOn, Reading
from builds.bench.offline import receipts
from builds.bench.offline.arrival import Arrival, find_arrival, is_judged_by_other, mark_entry_saved
from builds.bench.offline.judging import make_key
from builds.bench.offline.power_then import was_live
from builds.bench.readings.bench_then import bench_at
from builds.bench.readings.context import ReadingContext, build_context
from builds.bench.readings.entry_keys import UsedKey, posted_key
from builds.bench.readings.forms import ReadingForm
from builds.bench.readings.taking import add_reading, find_first_entry
from builds.bench.readings.worked_out import figures_resting_on
from builds.bench.views.next_up import make_safe_url
from builds.bench.views.stage import OpenStage, mark_done, open_stage
from builds.bench.views.unsaved import refused_stop_page
from builds.guides.models import Check
from builds.ui.messages import bench as texts
from checks.errors import ChecksError
from checks.outcomes import Outcome


@dataclass
class AtCheck:
    """A check that may be worked on now: the open stage and what its readings rest on, for the whole request."""

    opened: OpenStage
    check: Check
    reading: ReadingContext
    taken: Reading | None = None  # just now

    @classmethod
    def of(cls, opened: OpenStage, check: Check, bench: Build | None = None) -> "AtCheck":
        """`bench`: the build with the meter and mains of another moment (bench_then)."""
        mains = opened.sitting.mains_volts if opened.sitting and opened.stage.is_powered else None
        return cls(opened, check, build_context(bench or opened.build, check, mains))


@dataclass
class PostedReading:
    """What became of a post: `taken`, or why not: a `lock`, the `answer` of a gate, or what `form` says. `orders_off`:
    it is past a stop limit, and `answer` says so."""

    at: AtCheck
    form: ReadingForm
    taken: Reading | None = None
    lock: CheckLock | None = None
    answer: HttpResponse | None = None
    orders_off: bool = False


def find_check(stage, key):
    for row in stage.checks.all():
        if row.key == key:
            return row
    raise Http404(_("This stage has no such check."))


def make_safe_first(opened: OpenStage, arrival: Arrival | None = None):
    """The way to make safe where this stage, done and open again, is read without power and power is on record. A
    reading kept on a phone goes by the record as it was then."""
    if opened.stage.is_powered or opened.build.finished_at or not opened.power.needs_made_safe:
        return None
    if arrival and arrival.is_late and not was_live(opened.build, arrival.at):
        return None
    return redirect(make_safe_url(opened.build, opened.stage))


def post_reading(request, pk, key, check, auto_id="id_%s") -> PostedReading:
    """Take the reading of this post. The build is held meanwhile."""
    with transaction.atomic():
        build = access.locked_build(request.user, pk)
        opened = open_stage(request, build, key, load_facts(build, posted_key(request.POST)))
        row = find_check(opened.stage, check)
        arrival = find_arrival(request)
        bench = bench_at(build, arrival) if arrival.is_late else build
        at = AtCheck.of(opened, row, bench)
        if not at.reading.measure.is_read:
            raise Http404(_("You cannot type a reading here: this figure is calculated or recorded."))
        posted = PostedReading(at, ReadingForm(request.POST, context=at.reading, auto_id=auto_id))
        first = _first(request, at, posted.form)
        if first:  # a double tap, or sent again: show what the first post made
            posted.at, posted.taken = AtCheck.of(_open_anyway(opened), row), first
            mark_entry_saved(request, first.at, _outcome(posted.at, first))
            return posted
        posted.answer = opened.answer or make_safe_first(opened, arrival)
        posted.lock = None if posted.answer else _lock(opened, row, arrival)
        if (posted.answer or posted.lock) and not _awaits_made_safe(opened) and _is_past_stop(at, posted.form):
            _put_stop_first(request, posted)
        if not posted.answer and not posted.lock and posted.form.is_valid():
            posted.taken = at.taken = _take(request, at, posted.form, arrival, bench)
    if posted.taken:
        taken, is_stopped = posted.taken, opened.facts.stops
        mark_entry_saved(request, taken.at, _outcome(at, taken) if is_stopped else taken.outcome)
    return posted


def _outcome(at: AtCheck, taken: Reading) -> str:
    """What a phone is told of a reading that it sent later: a figure worked out from it may say to switch off."""
    return Outcome.SWITCH_OFF.value if says_stop(at, taken) else taken.outcome


def says_stop(at: AtCheck, taken: Reading) -> bool:
    """Does this reading, or a figure worked out from it, say to switch off?"""
    if taken.outcome == Outcome.SWITCH_OFF:
        return True
    stops = at.opened.facts.stops
    return bool(stops) and any(check.pk in stops for check in figures_resting_on(at.check))


def _awaits_made_safe(opened: OpenStage) -> bool:
    """Is the page of a stop what this post is answered with anyway?"""
    return opened.power is not None and opened.power.stop_unanswered


def _is_past_stop(at: AtCheck, form: ReadingForm) -> bool:
    try:
        judged = at.reading.judged(form.cleaned_data["typed"]) if form.is_valid() else None
    except ChecksError:
        return False
    return judged is not None and judged.result[2].outcome is Outcome.SWITCH_OFF


def _put_stop_first(request, posted: PostedReading) -> None:
    """Whatever else comes before this reading, a kit that stands past a stop limit is switched off first. In a stage
    that is open the reading is taken. In one that is shut it would shut the way back to its own check: there the order
    is given, and what is stored is that the kit had power."""
    opened, data = posted.at.opened, posted.form.cleaned_data
    if opened.state is not None and not opened.state.is_shut:
        posted.answer = posted.lock = None
        return
    if opened.state is not None:  # the build has not ended
        _note_power(request, opened, data["entry_key"])
    judged = posted.at.reading.judged(data["typed"])
    posted.answer, posted.orders_off = refused_stop_page(request, opened, judged), True


def _note_power(request, opened: OpenStage, key) -> None:
    why, at = PowerOn.Why.AGAIN, find_arrival(request).at
    with suppress(UsedKey):  # then it was noted before
        sittings.switch_on(opened.build, opened.stage, why, by=request.user, entry_key=key, at=at)


def _lock(opened: OpenStage, row, arrival: Arrival) -> CheckLock | None:
    """Why the reading may not be taken. One kept on a phone was taken live if the kit was live then."""
    lock = locks.lock_of_check(row, opened.stage, opened.facts, opened.power)
    is_past = lock and lock.is_power and arrival.is_late and was_live(opened.build, arrival.at)
    return None if is_past else lock


def _first(request, at: AtCheck, form):
    """The reading that an earlier post of this entry made. Where its key is another entry's, the form asks again."""
    if at.opened.facts.reading is None:
        return None
    typed, is_slip = form.data.get("typed", ""), False
    if form.is_valid():
        typed, is_slip = form.cleaned_data["typed"], form.cleaned_data["is_slip"]
    try:
        return find_first_entry(at.opened.facts, at.opened.build, at.check, typed, is_slip, request.user)
    except UsedKey as error:
        form.ask_again(error)
        return None


def _open_anyway(opened: OpenStage) -> OpenStage:
    """The same stage for showing what was stored, whether or not it may still be worked on."""
    opened.sitting = opened.sitting or sittings.current_sitting(opened.build)
    return opened


def _is_by_other_figures(request, at: AtCheck, judged: ReadingContext) -> bool:
    """Did a phone keep this reading by figures that are not those of its moment, as far as the site knows? A stop is a
    stop by either; what an erratum changes is dealt with where passing is (is_changed_since)."""
    if judged.result[2].outcome is Outcome.SWITCH_OFF or at.check.pk in at.opened.facts.corrected:
        return False
    return is_judged_by_other(request, make_key(at.reading))


def _take(request, at: AtCheck, form, arrival: Arrival, bench: Build):
    opened, data = at.opened, form.cleaned_data
    opened.sitting = sittings.extend_sitting(opened.build, opened.sitting, arrival.at)
    try:
        judged = at.reading.judged(data["typed"])
        meant = None if data["sure"] else judged.likely_typing_error()
        if meant:
            form.put_question(meant, data["typed"])
            return None
        if "HTTP_ENTRY_JUDGE" in request.META and _is_by_other_figures(request, at, judged):
            form.add_error("typed", texts.judged_by_other())
            return None
    except ChecksError as error:
        form.refuse(error)
        return None
    taken, opened.facts = add_reading(
        bench,
        judged,
        data["typed"],
        opened.facts,
        by=request.user,
        entry_key=data["entry_key"],
        at=arrival.at,
        is_slip=data["is_slip"],
    )
    if arrival.is_late:
        receipts.record_late(opened.build, arrival, "reading")
    mark_done(opened)
    return taken
