"""The parts list of a build, by bag or by stage, with what was found at unpacking."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from builds.bench.models import Build, PartFound
from builds.guides.guide_cache import load_guide
from builds.ui.drawings.printed_codes import printed_codes
from builds.ui.drawings.resistor import list_colours
from builds.ui.part_values import written_value
from checks.serials import natural


@dataclass(frozen=True)
class PartLine:
    """One part as the list shows it; `picture` is that of the step that fits it."""

    part: object
    colours: tuple[str, ...]
    rating: str
    picture: str
    is_found: bool


@dataclass(frozen=True)
class Group:
    title: str
    lines: tuple[PartLine, ...]

    @property
    def number_found(self) -> int:
        return sum(line.is_found for line in self.lines)


def group_parts(build: Build, by: str) -> list[Group]:
    """The parts in the order of their bags' numbers, or of the stages that fit them first."""
    guide = load_guide(build.revision)
    in_box = set(build.parts_found.values_list("part_id", flat=True))
    pictures = {
        ref: step.picture for stage in guide.stages for step in stage.steps.all() if step.picture for ref in step.parts
    }
    lines = [
        PartLine(part, list_colours(part), rating_text(part), pictures.get(part.ref, ""), part.pk in in_box)
        for part in sorted(guide.parts.values(), key=lambda row: natural(row.ref))
    ]
    return _by_stage(guide, lines) if by == "stage" else _by_bag(lines)


def _by_bag(lines) -> list[Group]:
    bags: dict[str, list] = {}
    for line in lines:
        bags.setdefault(line.part.bag, []).append(line)
    names = sorted(bags, key=lambda bag: (bag == "", natural(bag)))
    return [Group(_("Bag %(bag)s") % {"bag": n} if n else _("Without a bag"), tuple(bags[n])) for n in names]


def _by_stage(guide, lines) -> list[Group]:
    first: dict[str, int] = {}
    for number, stage in enumerate(guide.stages):
        for step in stage.steps.all():
            for ref in step.parts:
                first.setdefault(ref, number)
    groups = [
        Group(stage.title, tuple(line for line in lines if first.get(line.part.ref) == number))
        for number, stage in enumerate(guide.stages)
    ]
    rest = tuple(line for line in lines if line.part.ref not in first)
    return [group for group in (*groups, Group(_("In no step"), rest)) if group.lines]


def rating_text(part) -> str:
    """Value and ratings on one line, and what a small capacitor bears instead of its value."""
    detail = part.detail
    tolerance = part.tolerance if part.tolerance[:1] in ("", "-", "−", "±") else f"±{part.tolerance}"
    ratings = [written_value(part.kind, part.value), detail.get("type", ""), tolerance]
    ratings += [str(detail[key]) for key in ("power", "volts", "amps") if detail.get(key)]
    text, codes = " ".join(filter(None, ratings)), printed_codes(part)
    return _("%(part)s, may be marked %(codes)s") % {"part": text, "codes": ", ".join(codes)} if codes else text


@transaction.atomic
def save_parts_check(build: Build, person, shown: set[int], ticked: set[int]) -> None:
    """Keep the ticks of the parts that were shown; others stay as they are. The same wish twice changes nothing."""
    own = set(build.revision.parts.filter(pk__in=shown).values_list("pk", flat=True))
    build.parts_found.filter(part_id__in=own - ticked).delete()
    there = set(build.parts_found.values_list("part_id", flat=True))
    PartFound.objects.bulk_create(
        [PartFound(build=build, part_id=pk, by=person) for pk in sorted((own & ticked) - there)], ignore_conflicts=True
    )
