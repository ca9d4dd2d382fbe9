"""What may be wrong with a kit, in order of likelihood, and which reading to take next.

prepared = prepare(parts, stages)                 # once per circuit: what every fault would read
ranking = rank(prepared, observations)            # after each reading
advice = next_reading(prepared, ranking, observations, allowed)
"""

from checks.diagnosis.coverage import Coverage, coverage
from checks.diagnosis.dictionary import Prepared, prepare
from checks.diagnosis.fault import Fault, Move
from checks.diagnosis.learning import updated_priors
from checks.diagnosis.listing import fault_list
from checks.diagnosis.next_measurement import Suggestion, next_reading
from checks.diagnosis.ranking import Observation, Ranking, rank

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
