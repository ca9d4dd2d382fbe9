"""What the demo's circuit gives, worked out on another core while the caller makes the database and plays the
builds."""

from concurrent.futures import Future, ProcessPoolExecutor
from multiprocessing import get_context

import django

from builds.guides.circuit.compute import compute
from builds.guides.circuit.content import build_content, make_key
from builds.guides.circuit.stored import compute_figures
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.store import unsaved_content
from builds.guides.models import CircuitFigures, Revision
from builds.review.demo.plan import BATCH, BATCH_FAULT, FAULTS
from checks.circuit import part_from_mapping
from checks.diagnosis import fault_list
from checks.diagnosis.dictionary import simulate_build

FIGURE_SAMPLES = 2000  # enough for a look round; a worker draws 10,000


class OtherCore:
    """A fresh process, not a copy of this one: it must not hold this one's database."""

    def __init__(self):
        self._pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=django.setup)
        self._figures: dict[str, Future] = {}
        self._builds: dict[int, Future] = {}

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._pool.shutdown(cancel_futures=True)

    def begin_guide(self, data: dict, numbers) -> None:
        """Begin the figures and the builds of a guide that is read (read_guide) and has no rows yet."""
        content = unsaved_content(data)
        self._figures[make_key(content)] = self._pool.submit(compute, content, samples=FIGURE_SAMPLES)
        self._begin_builds(content, numbers)

    def begin_builds(self, revision: Revision, numbers) -> None:
        self._begin_builds(build_content(revision, load_guide(revision)), numbers)

    def _begin_builds(self, content: dict, numbers) -> None:
        """Draw good parts at random for builds of these numbers, with each one's own fault in them."""
        parts = [part_from_mapping(part) for part in content["parts"]]
        listed = {fault.key: fault for fault in fault_list(parts)}
        for number in numbers:
            faults = [BATCH_FAULT] if number in BATCH else [listed[FAULTS[number]]] if number in FAULTS else []
            self._builds[number] = self._pool.submit(
                simulate_build, parts, content["stages"], content["mains"], number, faults
            )

    def keep_figures(self, draft: Revision) -> None:
        """Keep the figures begun for this guide, or compute them here where it is another."""
        key = make_key(build_content(draft, load_guide(draft)))
        if key in self._figures:
            CircuitFigures.objects.get_or_create(key=key, defaults={"detail": self._figures[key].result()})
        else:
            compute_figures(draft, FIGURE_SAMPLES)

    def readings(self, number: int) -> dict[str, float]:
        """What this build reads at every check the circuit knows."""
        return self._builds[number].result()
