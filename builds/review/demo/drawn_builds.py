"""What the demo's builds read, drawn on another core while the caller solves the kit's figures and plays them."""

from concurrent.futures import Future, ProcessPoolExecutor
from multiprocessing import get_context

from builds.guides.circuit.content import content_of
from builds.guides.circuit.specs import specs_of
from builds.guides.guide_cache import load_guide
from builds.guides.models import Revision
from builds.review.demo.plan import BATCH, BATCH_FAULT, FAULTS
from checks.diagnosis import fault_list
from checks.diagnosis.dictionary import simulate_build


class DrawnBuilds:
    """A fresh process, not a copy of this one: it must not hold this one's database."""

    def __init__(self):
        self._pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"))
        self._begun: dict[tuple[int, int], Future] = {}

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._pool.shutdown(cancel_futures=True)

    def begin(self, revision: Revision, numbers) -> None:
        """Draw good parts at random for builds of these numbers, with each one's own fault in them."""
        guide = load_guide(revision)
        content, parts = content_of(revision, guide), specs_of(guide)
        listed = {fault.key: fault for fault in fault_list(parts)}
        for number in numbers:
            faults = [BATCH_FAULT] if number in BATCH else [listed[FAULTS[number]]] if number in FAULTS else []
            self._begun[revision.pk, number] = self._pool.submit(
                simulate_build, parts, content["stages"], content["mains"], number, faults
            )

    def readings(self, revision: Revision, number: int) -> dict[str, float]:
        """What this build reads at every check the circuit knows."""
        return self._begun[revision.pk, number].result()
