"""What a kit's circuit should read, computed from its parts list.

parts = [part_from_mapping(row) for row in guide["part"]] predict(parts, Condition(not_fitted=frozenset({"V1"})),
[("ht.reservoir", "chassis", "dc volts"), ("V2.7", "chassis", "dc volts")])
"""

from checks.circuit.conditions import Condition, condition_of
from checks.circuit.mistakes import doubts, problems, slips, unsolved
from checks.circuit.parts import PartSpec, part_from_mapping
from checks.circuit.predict import Predicted, predict
from checks.circuit.probes import Probe
from checks.circuit.ratings import Stress, ratings
from checks.circuit.rectifier_ratings import unrated
from checks.circuit.tolerance import Scatter, predict_scatter

__all__ = [
    "Condition",
    "PartSpec",
    "Predicted",
    "Probe",
    "Scatter",
    "Stress",
    "condition_of",
    "doubts",
    "part_from_mapping",
    "predict",
    "predict_scatter",
    "problems",
    "ratings",
    "slips",
    "unrated",
    "unsolved",
]
