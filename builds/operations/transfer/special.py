"""What is more than a copy when a row is read in."""

import hashlib
from dataclasses import dataclass, field

from django.apps import apps
from django.db.models import F, Q

from builds.guides.guide_file import GuideErrors, read_guide
from builds.guides.guide_file.write import write_guide
from builds.guides.models import CircuitFigures, Revision
from builds.operations.transfer.errors import TransferError
from builds.operations.transfer.files import picture_names_fit


@dataclass
class PutOff:
    """Columns that are filled once all rows are there: links within a table, and the states that freeze a revision."""

    links: list[tuple[str, int, str, int]] = field(default_factory=list)
    states: list[tuple[int, str]] = field(default_factory=list)  # (revision's number in the file, state)

    def later(self, label: str, row: int, name: str, other: int) -> None:
        self.links.append((label, row, name, other))

    def carry_out(self, ids: dict[str, dict[int, int]]) -> None:
        for label, row, name, other in self.links:
            if type(other) is not int or other not in ids[label]:
                raise TransferError(f"{label}: {name} refers to a row that is not in the file.")
            rows = apps.get_model(label)._base_manager.filter(pk=ids[label][row])
            rows.update(**{f"{name}_id": ids[label][other]})
        for row, state in self.states:
            Revision.objects.filter(pk=ids["guides.Revision"][row]).update(state=state)


def _kit(going, _row, made):
    made.key = going.key
    made.full_clean(exclude=["contact"])
    return made


def _revision(going, row, made):
    """Added as a draft, since nothing can be added to an issued one."""
    if made.state != Revision.State.DRAFT and made.issued_at is None:
        raise TransferError(f"Revision {made.letter} is issued but has no date of issue.")
    going.put_off.states.append((row["id"], made.state))
    made.state = Revision.State.DRAFT
    return made


def _figures(going, row, made):
    """Figures are looked up by the hash of a circuit, for all kits: those of a file may not answer for another kit's.
    The same figures that are here already are shared; others get a key that no circuit has."""
    there = CircuitFigures.objects.filter(key=made.key).first()
    if there is not None and there.detail == made.detail:
        going.ids["guides.CircuitFigures"][row["id"]] = there.pk
        return None
    made.key = hashlib.sha256(f"{going.files.mark} {made.key}".encode()).hexdigest()
    return made


def _picture(_going, _row, made):
    if not picture_names_fit(made):
        raise TransferError(f"{made.name[:60]!r} is not an accepted name for a picture.")
    return made


def _event(going, _row, made):
    made.kit = going.key
    return made


def _issued_changes(going, _row, made):
    """A change list names decisions and snags by their numbers."""
    try:
        for change in made.listed["changes"]:
            change["decision"] = going.number("review.Decision", change["decision"]) or 0
            for snag in change["snags"]:
                snag["id"] = going.number("bench.Snag", snag["id"]) or 0
    except (KeyError, TypeError) as error:
        raise TransferError("A change list in the file cannot be read.") from error
    return made


SPECIAL = {
    "guides.Kit": _kit,
    "guides.Revision": _revision,
    "guides.CircuitFigures": _figures,
    "guides.Picture": _picture,
    "accounts.Event": _event,
    "review.IssuedChanges": _issued_changes,
}
BENCH: tuple[str, ...] = (
    *("Acknowledgement", "Tick", "StageVisit", "MeterCheck", "Reading", "CheckStatus", "Concession", "Carried"),
    *("PartFound", "Snag", "Photo", "Recording", "Sheet", "PowerOn"),
)
TO_REVISION = {"stage": "stage", "step": "step__stage", "check_row": "check_row__stage", "part": "part"}


def refuse_strange_places(kit) -> None:
    """Raise TransferError where a row of a build names a place in a guide that the build is not built from."""
    for name in BENCH:
        model = apps.get_model("bench", name)
        own = "sitting__build" if name == "Acknowledgement" else "build"
        strange = Q()
        for column, path in TO_REVISION.items():
            if any(f.name == column for f in model._meta.fields):
                strange |= Q(**{f"{column}__isnull": False}) & ~Q(**{f"{path}__revision": F(f"{own}__revision")})
        if model._base_manager.filter(**{f"{own}__revision__kit": kit}).filter(strange).exists():
            raise TransferError(f"A row of {name} refers to a place in a guide that is not its build's.")


def refuse_strange_guides(kit) -> None:
    """Raise TransferError for an issued guide that would be refused if it were uploaded."""
    for revision in kit.revisions.exclude(state=Revision.State.DRAFT).order_by("pk"):
        if problem := _problem(revision):
            raise TransferError(
                f"The guide of revision {revision.letter} breaks a rule of this site. {problem} "
                "Take it over --as-it-is if you trust it."
            )


def _problem(revision: Revision) -> str:
    known = frozenset(revision.pictures.values_list("name", flat=True))
    try:
        read_guide(write_guide(revision).encode(), known=known)
    except GuideErrors as errors:
        return str(errors.problems[0])
    except (TypeError, ValueError, LookupError, AttributeError, RecursionError) as error:  # rows that no guide has
        return f"It cannot be written: {error!r:.200}"
    return ""
