"""What may be wrong with a kit, in order of likelihood, and which reading to take next.

prepared = prepare(parts, stages)                 # once per circuit: what every fault would read
ranking = rank(prepared, observations)            # after each reading
advice = next_reading(prepared, ranking, observations, allowed)
"""

from checks.faults.coverage import Coverage, coverage
from checks.faults.fault import Fault, Move
from checks.faults.learning import updated_priors
from checks.faults.listing import fault_list
from checks.faults.predict import Prepared, prepare
from checks.faults.rank import Observation, Ranking, rank
from checks.faults.suggest import Suggestion, next_reading

__all__ = [
    "Coverage",
    "Fault",
    "Move",
    "Observation",
    "Prepared",
    "Ranking",
    "Suggestion",
    "coverage",
    "fault_list",
    "next_reading",
    "prepare",
    "rank",
    "updated_priors",
]
