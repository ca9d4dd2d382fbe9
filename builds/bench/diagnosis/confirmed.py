"""Causes confirmed at a revision's benches, given only to the checks that they move."""

from collections import defaultdict
from dataclasses import dataclass

from builds.bench.diagnosis.causes import moves_check
from builds.bench.diagnosis.observations import make_name
from builds.bench.models import ConfirmedFault
from builds.guides.circuit.fault_dictionary import load_fault_dictionary
from checks.diagnosis import Prepared


@dataclass(frozen=True)
class ConfirmedCauses:
    """`rows` are (serial, fault key, sentence); `prepared` the kit's fault dictionary, if there is one."""

    rows: tuple[tuple[str, str, str], ...]
    prepared: Prepared | None

    @classmethod
    def of(cls, revision) -> "ConfirmedCauses":
        """One query; two more where anything is confirmed."""
        rows = ConfirmedFault.objects.filter(build__revision=revision, taken_back_at=None)
        confirmed = tuple((row.build.serial, row.fault, row.sentence) for row in rows.select_related("build"))
        return cls(confirmed, load_fault_dictionary(revision) if confirmed else None)

    def of_check(self, check) -> dict[str, list[str]]:
        """Serial -> the causes that change what this check reads. A check of which the circuit knows nothing
        is moved by none of its faults; a fault that is on no list any more is given to every check its build missed."""
        by_check = defaultdict(list)
        for serial, key, sentence in self.rows:
            if self._may_move(key, make_name(check)):
                by_check[serial].append(sentence)
        return by_check

    def _may_move(self, key: str, name: str) -> bool:
        if self.prepared is None:
            return True
        fault = next((f for f in self.prepared.faults if f.key == key), None)
        if fault is None:
            return True
        return moves_check(self.prepared, fault, name)
