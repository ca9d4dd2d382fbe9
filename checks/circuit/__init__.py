"""What a kit's circuit should read, computed from its parts list.

parts = [part_from_mapping(row) for row in guide["part"]] predict(parts, Condition(not_fitted=frozenset({"V1"})),
[("ht.reservoir", "chassis", "dc volts"), ("V2.7", "chassis", "dc volts")])
"""

from checks.circuit.netlist.conditions import Condition, read_condition
from checks.circuit.netlist.parts import PartSpec, part_from_mapping
from checks.circuit.netlist.signal import Signal, Stated, as_probed, stated_signal
from checks.circuit.netlist.tolerances import AssumedTolerance, assumed_tolerances
from checks.circuit.netlist.transistors import AssumedFigure, assumed_figures
from checks.circuit.prediction.nominal import Predicted, devices_misused, heaters_off_rating, predict
from checks.circuit.prediction.probes import Probe
from checks.circuit.prediction.scatter import Scatter, predict_scatter
from checks.circuit.ratings.component_stress import Stress, component_stresses
from checks.circuit.ratings.inrush import Inrush, inrush_currents
from checks.circuit.ratings.rectifier_stress import list_unrated
from checks.circuit.ratings.stop_limits import RatedLimit, StopLimits, stop_limits_from_ratings
from checks.circuit.validation.problems import (
    HOPELESS,
    SHORTS,
    circuit_errors,
    parts_list_errors,
    parts_list_warnings,
    solving_errors,
)

__all__ = [
    "HOPELESS",
    "SHORTS",
    "AssumedFigure",
    "AssumedTolerance",
    "Condition",
    "PartSpec",
    "Predicted",
    "Probe",
    "Scatter",
    "Signal",
    "Stated",
    "stated_signal",
    "as_probed",
    "Stress",
    "assumed_figures",
    "assumed_tolerances",
    "read_condition",
    "Inrush",
    "inrush_currents",
    "parts_list_warnings",
    "part_from_mapping",
    "predict",
    "predict_scatter",
    "circuit_errors",
    "component_stresses",
    "devices_misused",
    "heaters_off_rating",
    "parts_list_errors",
    "list_unrated",
    "RatedLimit",
    "StopLimits",
    "solving_errors",
    "stop_limits_from_ratings",
]
