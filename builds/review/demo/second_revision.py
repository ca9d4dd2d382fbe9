"""The demo's revision B: decisions on the findings of A, and what the draft became."""

from builds.bench.models import Snag
from builds.guides.models import Revision
from builds.guides.revisions import issue
from builds.review.changes.decide import accept_check, accept_snag, decline_change
from builds.review.changes.open_findings import open_findings
from builds.review.demo.plan import C9_TEXT
from builds.review.demo.triage import triage_demo
from builds.review.demo.valves import note_batches


def issue_second_revision(first: Revision, designer) -> Revision:
    """Two findings accepted, one rejected, one deferred."""
    row = next(r for r in open_findings(first) if r.check.key == "v-preamp")
    draft = accept_check(
        first,
        row.check,
        row.figures,
        by=designer,
        finding=row.finding.kind,
        basis=row.basis,
        reason="The drop across R3 was left out of the table. The circuit and the builds agree.",
    ).draft
    snags = {
        (s.build.serial, s.step.key if s.step else ""): s
        for s in Snag.objects.filter(build__revision=first).select_related("build", "stage", "step")
    }
    accept_snag(first, snags["FW-002", "r10c9"], C9_TEXT, by=designer, reason="It never said which end of C9 is plus.")
    decline_change(
        first,
        "rejected",
        snag=snags["FW-011", "c1"],
        by=designer,
        reason="One can out of round; the clip opens with a finger.",
    )
    batch = next(r for r in open_findings(first) if r.check.key == "o-v1-3")
    decline_change(
        first,
        "deferred",
        check=batch.check,
        by=designer,
        finding=batch.finding.kind,
        basis=batch.basis,
        reason="Waiting for the supplier to answer about the bag of R8 and R11.",
    )
    triage_demo(first, designer)
    note_batches(first, designer)
    return issue(draft)
