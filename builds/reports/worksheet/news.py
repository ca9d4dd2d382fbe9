"""What stands at the head of a worksheet beside the guide: an order to switch off, power on record, corrections."""

from django.utils.translation import gettext as _

from builds.bench.diagnosis.overloads import must_power_be_off
from builds.bench.gates import gating
from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, Erratum
from builds.guides.models import Stage
from builds.reports.stop_words import stop_words
from builds.ui.messages.advice import find_the_fault
from builds.ui.messages.bench import power_reason
from builds.ui.rich_text import to_text


class SheetNews:
    """For every stage of one build. A handful of queries, however many stages."""

    def __init__(self, build: Build):
        self.facts = load_facts(build)
        self.power = gating.find_power(build, self.facts)
        self.orders = self._orders(build)
        self.errata = list(
            Erratum.objects.filter(revision=build.revision_id, withdrawn_at=None).select_related(
                "step", "check_row", "part", "correction"
            )
        )

    def of(self, stage: Stage) -> tuple[str, ...]:
        lines = [*self.orders]
        if self.power.needs_made_safe and not stage.is_powered and not lines:
            lines.append(power_reason())
        lines += [self._corrected(erratum) for erratum in self.errata if erratum.stage_id == stage.pk]
        return tuple(lines)

    def _orders(self, build: Build) -> list[str]:
        """No live reading is taken while a reading that said switch off stands, or one that may mean an overload."""
        orders = stop_words(build, self.power)
        if not orders and must_power_be_off(build, self.facts):
            orders = find_the_fault(self.power.needs_made_safe)
        return [orders] if orders else []

    def _corrected(self, erratum: Erratum) -> str:
        params = {
            "about": erratum.about,
            "words": " ".join(filter(None, (to_text(erratum.words), erratum.figures_text))),
        }
        return _("The guide was corrected, %(about)s: %(words)s") % params
