"""One build of the demo, played through the same code that builders use."""

from dataclasses import replace
from datetime import timedelta
from random import Random
from uuid import UUID, uuid5

from django.utils import timezone

from builds.accounts.models import Meter, Person
from builds.bench.gates.gating import concede
from builds.bench.models import Build, MadeSafe, Message, PowerOn, Sitting, Snag, StageVisit, Tick
from builds.bench.photos.storage import save_photo
from builds.bench.readings.frequency import find_hertz
from builds.bench.readings.mains import find_line
from builds.bench.readings.taking import take_reading
from builds.guides.figures import band_for, find_exponent
from builds.guides.guide_cache import load_guide
from builds.guides.models import Revision
from builds.review.demo.photos import draw_photo
from builds.review.demo.plan import (
    AC_HERTZ,
    ALONE,
    BATCH,
    ONE_SIDED,
    READS,
    SEVERE,
    SINGLE,
    SNAGS,
    STUCK,
)
from builds.review.demo.valves import SWAPS, fit_valves, swap_valve
from builds.ui.messages.meter import PRESET_NAMES
from checks.meter import PRESETS
from checks.outcomes import Outcome
from checks.quantity import format_quantity

SPACE = UUID("5f2b1c1e-53f1-4d0a-9c8e-6f0f6a3b7d11")


class PlayedBuild:
    """One build of the demo, played through the same code that builders use; `drawn`: what the circuit makes it
    read."""

    def __init__(self, revision: Revision, designer, number: int, plan, drawn: dict[str, float]):
        self.revision, self.designer, self.number = revision, designer, number
        self.nominal, self.line, preset, self.stages = plan
        self.random = Random(number)
        self.now = timezone.now() - timedelta(days=30 - number)
        name = f"Builder {number:02d}"
        self.builder = Person.objects.filter(display_name=name).first() or Person(display_name=name)
        if self.builder.pk is None:
            self.builder.set_unusable_password()
            self.builder.save()
        self.drawn = drawn
        self.is_live = False
        meter_name, spec = str(PRESET_NAMES[preset]), PRESETS[preset]
        self.spec = replace(spec, ac_hertz=AC_HERTZ.get(preset, spec.ac_hertz))
        meter = Meter.objects.create(owner=self.builder, name=meter_name, spec=self.spec.as_dict())
        self.build = Build.objects.create(
            revision=revision,
            serial=f"FW-{number:03d}",
            builder=self.builder,
            meter=meter,
            mains_volts=self.nominal,
            mains_hertz=60 if self.nominal < 200 else 50,
            started_at=self.now if self.stages else None,
        )

    def later(self, minutes):
        self.now += timedelta(minutes=minutes)
        return self.now

    def run(self):
        stages = list(self.revision.stages.prefetch_related("steps", "checks"))
        if self.stages:
            Sitting.objects.create(build=self.build, begun_at=self.now, seen_at=self.now, ended_at=self.now)
        for stage in stages[: self.stages]:
            if self._stage(stage):
                break
        if self.stages == len(stages):
            self.build.finished_at = self.now
            self.build.save(update_fields=["finished_at"])
        self._snags(stages)

    def _stage(self, stage) -> bool:
        """Play one stage; True when the build is stuck in it."""
        if not stage.is_powered and self.is_live:
            self._made_safe()
        visit = StageVisit.objects.create(build=self.build, stage=stage, opened_at=self.now)
        if stage.is_powered:
            self._power_on(stage, PowerOn.Why.CAUTIONS)
        for step in stage.steps.all():
            if step.hands_in and self.is_live:
                self._made_safe()
            Tick.objects.create(build=self.build, step=step, at=self.later(self.random.uniform(2, 8)))
            if step.photo == step.Photo.REQUIRED:
                self._photo(stage, step)
        if stage.is_powered and "V1" not in stage.not_fitted and not self.build.valves.exists():
            fit_valves(self.build, self.number, self.later(3))
        for check in stage.checks.all():
            if check.formula or check.recording:  # taken with what it rests on, or from a recording
                continue
            if check.optional and not self._reaches(check):
                continue
            self._check(check)
            if STUCK.get(self.number) == check.key:
                return True
        visit.done_at = self.now
        visit.save(update_fields=["done_at"])
        return False

    def _reaches(self, check) -> bool:
        """Does the meter's manual state AC volts at the frequency that this check is read under?"""
        hertz = find_hertz(load_guide(self.revision).checks.get(check.key, check))
        return check.measure != "ac volts" or not self.spec.frequency_doubt(hertz)

    def _made_safe(self):
        MadeSafe.objects.create(build=self.build, typed="2.1 V", volts=2.1, is_safe=True, at=self.later(4))
        self.is_live = False

    def _power_on(self, stage, why):
        PowerOn.objects.create(build=self.build, stage=stage, why=why, by=self.builder, at=self.later(1))
        self.is_live = True

    def _check(self, check):
        for typed in SINGLE.get(self.number, {}).get(check.key, []):
            self._read(check, typed)
            if STUCK.get(self.number) == check.key:
                return
            if check.stage.is_powered:
                self._made_safe()
            if (self.number, check.key) in SWAPS:
                self._swap_valve(check)
        taken = self._read(check, self._typed(check))
        if STUCK.get(self.number) == check.key:
            return
        if taken.outcome == Outcome.TOO_CLOSE:
            taken = self._read(check, taken.typed)
        if taken.outcome == Outcome.OUT_OF_BAND:
            concede(
                self.build,
                check,
                by=self.designer,
                reason="Seen, and safe to go on. I am looking into the figure.",
                at=self.later(30),
            )

    def _swap_valve(self, check):
        """Another valve, and what was read at its socket read again."""
        for again in swap_valve(self.build, *SWAPS[self.number, check.key], self.later(20)):
            self._check(again)

    def _read(self, check, typed):
        powered = check.stage.is_powered
        if powered and not self.is_live:
            self._power_on(check.stage, PowerOn.Why.AGAIN)
        key = uuid5(SPACE, f"{self.number}/{check.key}/{typed}/{self.now}")
        return take_reading(
            self.build,
            check,
            typed,
            by=self.builder,
            entry_key=key,
            at=self.later(self.random.uniform(1, 4)),
            mains_volts=self.line if powered else None,
        )

    def _typed(self, check) -> str:
        """What this build's meter shows: its own circuit's value at this line, or the guide's where the circuit says
        nothing."""
        place = f"{check.stage.key}/{check.key}"
        usual = ONE_SIDED.get(check.key, self.drawn.get(place, band_for(check).expected))
        centre = READS.get((self.number, check.key), usual)
        if centre is None:
            return "OL"
        if self.number in BATCH:
            centre *= ALONE.get(check.key, 1.0)
        line = find_line(self.build, float(self.line) if self.line else float(self.nominal))
        value = (
            centre
            * line.factor ** find_exponent(check)
            * (1 + self.random.gauss(0, 0.003 if place in self.drawn else 0.012))
        )
        if check.through:
            return format_quantity(value * 180, "V", 3)
        if check.unit == "Ω" and abs(value) < 1:  # as a meter shows it: no meter writes mΩ
            return f"{value:.2f} Ω"
        return format_quantity(value, check.unit, 4 if abs(value) >= 100 else 3)

    def _photo(self, stage, step):
        save_photo(
            draw_photo("photo.jpg", self.build.serial, step.key),
            build=self.build,
            stage=stage,
            step=step,
            by=self.builder,
            at=self.now,
        )

    def _snags(self, stages):
        by_key = {stage.key: stage for stage in stages}
        for number, stage_key, step, check, kind, text in SNAGS:
            if number != self.number:
                continue
            stage = by_key[stage_key]
            target = {"step": stage.steps.get(key=step)} if step else {"check_row": stage.checks.get(key=check)}
            snag = Snag.objects.create(
                build=self.build,
                stage=stage,
                kind=kind,
                words=text,
                by=self.builder,
                severity=SEVERE.get((number, check or step), "slowed"),
                at=self.later(5),
                **target,
            )
            save_photo(
                draw_photo("snag.jpg", self.build.serial, text[:24]),
                build=self.build,
                stage=stage,
                snag=snag,
                by=self.builder,
                at=self.now,
            )
            if kind == "part":
                Message.objects.create(
                    snag=snag, by=self.designer, at=self.later(300), words="Thank you. Two 1.5 kilohm are in the post."
                )
                Snag.objects.filter(pk=snag.pk).update(state=Snag.State.ANSWERED)
