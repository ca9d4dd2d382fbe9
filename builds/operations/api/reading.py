"""What programs may read: kits, builds, readings and findings, as their person sees them on the pages."""

import hashlib
import json

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from builds.accounts.links import site
from builds.bench.access import visible_build
from builds.bench.models import Build, Reading, mark_outdated
from builds.guides.access import designers_revision
from builds.guides.corrected import list_corrections, standing
from builds.guides.models import Kit
from builds.operations.api.document import DOCUMENT
from builds.operations.api.tokens import needs_token
from builds.operations.models import AccessToken
from builds.review.changes.open_findings import open_findings
from builds.ui.paging import page_number

PAGE = 200
READ = AccessToken.READ


def answer(request, value) -> HttpResponse:
    """JSON with a tag of its content: what has not changed is not sent again."""
    content = json.dumps(value, ensure_ascii=False).encode()
    etag = f'"{hashlib.sha256(content).hexdigest()[:32]}"'
    response = get_conditional_response(request, etag=etag) or HttpResponse(content, content_type="application/json")
    response["ETag"], response["Cache-Control"] = etag, "private, no-cache"
    return response


def _pages(request, rows, as_json):
    page = Paginator(rows, PAGE).get_page(page_number(request))
    following = f"{site(request.path)}?page={page.next_page_number()}" if page.has_next() else None
    return answer(request, {"count": page.paginator.count, "next": following, "items": [as_json(r) for r in page]})


@needs_token(READ)
@require_safe
def document(request):
    return answer(request, DOCUMENT)


@needs_token(READ)
@require_safe
def kits(request):
    rows = Kit.objects.designed_by(request.user).prefetch_related("revisions").order_by("key")
    return _pages(request, rows, _kit)


def _kit(kit) -> dict:
    revisions = [{"letter": r.letter, "state": r.state} for r in kit.revisions.all()]
    return {"key": kit.key, "name": kit.name, "revisions": revisions}


@needs_token(READ)
@require_safe
def builds(request):
    rows = Build.objects.visible_to(request.user).with_guide().order_by("pk").distinct()
    return _pages(request, rows, _build)


def _build(build) -> dict:
    return {
        "id": build.pk,
        "kit": build.revision.kit.key,
        "revision": build.revision.letter,
        "serial": build.serial,
        "mains_volts": build.mains_volts,
        "started_at": _moment(build.started_at),
        "finished_at": _moment(build.finished_at),
        "readings": site(reverse("operations:api-readings", args=[build.pk])),
    }


@needs_token(READ)
@require_safe
def readings(request, pk):
    build = visible_build(request.user, pk)
    return _pages(request, _with_check(build.readings.all()), _as_corrected(build.revision))


@needs_token(READ)
@require_safe
def revision_readings(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    rows = Reading.objects.filter(build__revision=revision)
    return _pages(request, _with_check(rows), _as_corrected(revision))


def _with_check(rows):
    return mark_outdated(rows).select_related("build", "check_row__stage").order_by("pk")


def _as_corrected(revision):
    """reading_json, with the moment at which each check's figures changed last. No query where none did."""
    changed = {}
    for pk, rows in list_corrections(revision).items() if revision.corrected_at else ():
        changed[pk] = max(row.withdrawn_at or row.at for row in rows)
    return lambda reading: reading_json(reading, changed.get(reading.check_row_id))


def reading_json(reading, changed_at=None) -> dict:
    """SI units; `value` as the meter showed it, in `value_unit`: volts of a current across its resistor, whose `u`,
    `low` and `high` are amps. `outcome` and `reason` are codes. `outdated`: a valve was changed or tested since, so
    that the check is to be read again. `figures_corrected`: `low`, `high` and `outcome` are by figures that an erratum
    has corrected since, or by corrected ones that were withdrawn."""
    return {
        "id": reading.pk,
        "build": reading.build_id,
        "serial": reading.build.serial,
        "stage": reading.check_row.stage.key,
        "check": reading.check_row.key,
        "measure": reading.check_row.measure,
        "attempt": reading.attempt,
        "typed": reading.typed,
        "value": reading.value,
        "value_unit": reading.unit,
        "u": reading.u,
        "low": reading.low,
        "high": reading.high,
        "outcome": reading.outcome,
        "reason": reading.reason,
        "outdated": getattr(reading, "is_outdated", False),
        "figures_corrected": changed_at is not None and _judged_before(reading, changed_at),
        "at": _moment(reading.at),
    }


def _judged_before(reading, changed_at) -> bool:
    """One that was judged again keeps the moment at which it was taken: by the figures that made it a stop."""
    if reading.params.get("judged_again"):
        return standing(reading.check_row).correction is None
    return reading.at < changed_at


@needs_token(READ)
@require_safe
def findings(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    rows = [_finding(row) for row in open_findings(revision)]
    return answer(request, {"count": len(rows), "next": None, "items": rows})


def _finding(row) -> dict:
    return {
        "stage": row.check.stage.key,
        "check": row.check.key,
        "title": row.check.title,
        "finding": str(row.finding.kind),
        "probability": row.finding.probability,
        "builds": row.n,
        "decision": row.decision.state if row.decision else None,
        "corrected": row.corrected or None,
    }


def _moment(at) -> str | None:
    return at.isoformat() if at else None
