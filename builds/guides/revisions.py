"""The life of a revision: cloned as a draft, issued (frozen), withdrawn."""
from django.db import transaction
from django.utils import timezone

from builds.guides.guide_file.store import store_rows
from builds.guides.guide_file.write import as_data
from builds.guides.models import Revision


class NotReady(ValueError):
    """Why a revision cannot be issued, as a sentence."""


def next_letter(kit) -> str:
    """The letter after the last: B after A, AA after Z; for other names the name with a 2 behind it."""
    letters = list(kit.revisions.values_list("letter", flat=True))
    last = max(letters, key=lambda x: (len(x), x), default="")
    if not last:
        return "A"
    if not (last.isalpha() and last.isupper()):
        return f"{last[:6]}2" if f"{last[:6]}2" not in letters else f"{last[:5]}3"
    return last[:-1] + chr(ord(last[-1]) + 1) if last[-1] != "Z" else last[:-1] + "AA"


@transaction.atomic
def issue(revision: Revision) -> Revision:
    """Freeze a draft for ever. Raises NotReady when there is nothing to build from."""
    if not revision.is_draft:
        raise NotReady(f"Revision {revision.letter} is {revision.state} already.")
    stages = revision.stages.prefetch_related("steps", "checks")
    empty = [s.title for s in stages if not (s.steps.all() or s.checks.all())]
    if not stages:
        raise NotReady("A guide needs at least one stage before it can be issued.")
    if empty:
        raise NotReady(f"These stages have neither steps nor checks: {', '.join(empty)}.")
    uncautioned = [s.title for s in stages if s.is_powered and not s.cautions]
    if uncautioned:
        raise NotReady(f"These powered stages show no cautions: {', '.join(uncautioned)}.")
    revision.state, revision.issued_at = Revision.State.ISSUED, timezone.now()
    revision.save(update_fields=["state", "issued_at"])
    return revision


def withdraw(revision: Revision) -> Revision:
    if revision.state != Revision.State.ISSUED:
        raise NotReady("Only an issued revision can be withdrawn.")
    revision.state = Revision.State.WITHDRAWN
    revision.save(update_fields=["state"])
    return revision


@transaction.atomic
def clone(revision: Revision, letter: str = "") -> Revision:
    """A new draft with the same guide; `letter` defaults to the next free one."""
    data = as_data(revision)
    draft = Revision.objects.create(
        kit=revision.kit, letter=letter or next_letter(revision.kit), name=revision.name, summary=revision.summary,
        mains_volts=revision.mains_volts, mains_hertz=revision.mains_hertz, taps=revision.taps, cloned_from=revision)
    store_rows(draft, data)
    return draft
