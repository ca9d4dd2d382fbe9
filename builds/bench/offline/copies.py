"""The copy of a build that its builder's phone keeps: the notebook to judge and gate by, and the pages to read."""

from functools import cached_property
from hashlib import sha256

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.diagnosis.overloads import must_power_be_off
from builds.bench.forms import MadeSafeForm, SnagForm
from builds.bench.gates import gating, sittings, stops
from builds.bench.gates.discharge import compute_discharge
from builds.bench.gates.facts import load_facts
from builds.bench.offline.judging import grammar, rules_for, safe_rules
from builds.bench.offline.keys import born, list_entry_keys
from builds.bench.offline.pages import stage_part
from builds.bench.readings.context import build_context
from builds.ui.messages import bench as texts
from checks.safety import TOUCH_DC

EDITION = 3  # of what a notebook and a copy hold
START_VOLTS = 450.0  # V: the wait is worked out from here at least (views.safe)


class WorkAtHand:
    """A build with all that its copy and notebook are made from."""

    def __init__(self, request, pk):
        self.build = access.own_build(request.user, pk)
        self.facts = load_facts(self.build)
        self.power = gating.find_power(self.build, self.facts)
        self.sitting = sittings.current_sitting(self.build)
        self.states = gating.stage_states(self.build, self.facts)

    @property
    def tag(self) -> str:
        """Changes with anything that the copy or the notebook shows."""
        build, sitting = self.build, self.sitting
        meter = build.meter and (build.meter.pk, build.meter.spec)
        shown = (
            EDITION,
            build.pk,
            build.builder_id,
            build.revision_id,
            build.revision.corrected_at,
            build.mains_volts,
            build.finished_at,
            build.given_up_at,
            self.entries,
            meter,
            sitting and (sitting.pk, sitting.mains_volts),
            get_language(),
            sorted(map(repr, vars(self.facts).items())),
        )
        return sha256(repr(shown).encode()).hexdigest()[:16]

    @cached_property
    def entries(self) -> int:
        return list_entry_keys(self.build).count()

    @property
    def guide_tag(self) -> str:
        """Changes with the pages of the guide that show no state of the build."""
        revision, facts = self.build.revision, self.facts
        figures = revision.corrected_at and revision.corrected_at.timestamp()
        return f"{revision.pk}-{figures}-{get_language()}-{sorted(facts.errata)}-{sorted(facts.corrected)}"

    def may_work_on(self, state: gating.StageState) -> bool:
        """May readings be taken and steps ticked here now, as an open page of the stage would let them be?"""
        if self.build.finished_at or self.build.given_up_at or self.power.stop_unanswered or state.is_shut:
            return False
        stage = state.stage
        return stage.pk not in self.facts.errata and sittings.ready_for(self.sitting, stage, self.facts)

    def may_switch_on(self, state: gating.StageState) -> bool:
        """May the builder, once the kit is made safe, say on the phone alone that it is switched on again? Only in a
        live stage whose cautions are read, with no stop and no overload to be found first."""
        return state.stage.is_powered and not self.is_to_be_off and self.may_work_on(state)

    @cached_property
    def is_to_be_off(self) -> bool:
        return bool(self.facts.stops) or must_power_be_off(self.build, self.facts)

    def build_context(self, check, stage):
        mains = self.sitting.mains_volts if self.sitting and stage.is_powered else None
        return build_context(self.build, check, mains)

    @property
    def stop(self) -> dict | None:
        """The stop that stands, answered or not."""
        if self.power.stop_check is None:
            return None
        reading = stops.stop_reading(self.build, self.power)
        return {
            "title": reading.check_row.title,
            "typed": reading.typed,
            "isOpen": self.power.stop_unanswered,
        }


@signed_in
@require_safe
def notebook(request, pk):
    """What the phone judges and gates by while it has no connection."""
    at_hand = WorkAtHand(request, pk)
    if request.headers.get("If-None-Match") == at_hand.tag:
        return HttpResponse(status=304)
    build, rules = at_hand.build, {}
    for state in filter(at_hand.may_work_on, at_hand.states):
        for check in state.stage.checks.all():
            is_corrected = check.pk in at_hand.facts.in_words
            check_rules = rules_for(at_hand.build_context(check, state.stage), is_corrected)
            if check_rules:
                rules[f"{state.stage.key}/{check.key}"] = check_rules
    wait = compute_discharge(build.revision, START_VOLTS)
    answer = JsonResponse(
        {
            "person": request.user.pk,
            "build": build.pk,
            "tag": at_hand.tag,
            "born": born(build),
            "entries": at_hand.entries,
            "name": f"{build.revision.name} {build.serial}",
            "grammar": grammar(),
            "rules": rules,
            "safe": safe_rules(build),
            "stop": at_hand.stop,
            "live": at_hand.power.needs_made_safe,
            "switchOn": [state.stage.key for state in at_hand.states if at_hand.may_switch_on(state)],
            "pages": [reverse(name, args=args) for name, *args in _pages(build)],
            "guide": at_hand.guide_tag,
            "shut": at_hand.power.stop_check is not None or not at_hand.power.needs_made_safe,
            "wait": wait and round(wait.seconds),
        }
    )
    answer["ETag"] = at_hand.tag
    answer["Cache-Control"] = "no-store"
    return answer


def _pages(build) -> list[tuple]:
    """Pages to read that a phone keeps as they are, beside the copy."""
    own = [("bench:map", build.pk), ("bench:parts", build.pk), ("bench:schematic-file", build.pk)]
    return [*own, ("accounts:safety",), ("accounts:glossary",)]


@signed_in
@require_safe
def copy(request, pk):
    """The whole guide of the build in one page, a part for each address below the build's."""
    at_hand = WorkAtHand(request, pk)
    build = at_hand.build
    discharge = compute_discharge(build.revision, START_VOLTS)
    parts = [stage_part(at_hand, state) for state in at_hand.states]
    answer = render(
        request,
        "bench/offline/copy.html",
        {
            "build": build,
            "own": reverse("bench:build", args=[build.pk]),
            "safe_path": reverse("bench:make-safe", args=[build.pk]),
            "stop_path": reverse("bench:stop", args=[build.pk]),
            "parts": parts,
            "states": at_hand.states,
            "power": at_hand.power,
            "stopped": stops.active_stop(build, at_hand.power),
            "form": MadeSafeForm(),
            "safe_key": safe_rules(build)["key"],
            "snag_form": SnagForm(stage=at_hand.states[0].stage) if at_hand.states else None,
            "limit": TOUCH_DC,
            "discharge": discharge,
            "discharge_sentence": discharge and texts.discharge_sentence(discharge, START_VOLTS, TOUCH_DC),
        },
    )
    answer["Cache-Control"] = "no-store"
    return answer
