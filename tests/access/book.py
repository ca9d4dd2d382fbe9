"""A list of faults with one fault and one place to measure, where a whole circuit would take long to solve."""

from types import SimpleNamespace

from checks.circuit.prediction.probes import Probe
from checks.diagnosis.fault import Fault
from checks.diagnosis.place import Place

PLACE = Place("stage-1", "", Probe("a", "b"), "off", "R1")
FAULT = Fault("R1 short", "R1 is a short", "short", ("R1",), 1.0)
BOOK = SimpleNamespace(places=(PLACE,), faults=(FAULT,))
