"""The builder's side: builds and everything done to them. Readings are only ever added."""

from builds.bench.models.build import Acknowledgement, Build, BuildQuerySet, PastBench, Sitting, StageVisit, Tick
from builds.bench.models.confirmed import ConfirmedFault
from builds.bench.models.errata import Erratum, ErratumSeen, Halt
from builds.bench.models.extras import ExtraReading
from builds.bench.models.meter_checks import MeterCheck
from builds.bench.models.moves import Carried, Move, MoveOffer, PartSwap
from builds.bench.models.parts_found import PartFound
from builds.bench.models.photos import Photo, photo_path
from builds.bench.models.power import PowerOn
from builds.bench.models.readings import (
    OUTCOMES,
    SHOWN_OUTCOME,
    CheckStatus,
    Concession,
    MadeSafe,
    Reading,
    mark_outdated,
    mark_stopped,
)
from builds.bench.models.receipts import Receipt
from builds.bench.models.recordings import Recording, recording_path
from builds.bench.models.sheets import Sheet
from builds.bench.models.snags import Message, Snag
from builds.bench.models.valves import FittedValve, ValveTest

__all__ = [
    "Acknowledgement",
    "Build",
    "BuildQuerySet",
    "Carried",
    "Concession",
    "ConfirmedFault",
    "Erratum",
    "ErratumSeen",
    "ExtraReading",
    "FittedValve",
    "ValveTest",
    "Halt",
    "MadeSafe",
    "Message",
    "MeterCheck",
    "Move",
    "MoveOffer",
    "OUTCOMES",
    "SHOWN_OUTCOME",
    "mark_outdated",
    "mark_stopped",
    "PartFound",
    "PartSwap",
    "PastBench",
    "Photo",
    "photo_path",
    "PowerOn",
    "Reading",
    "Receipt",
    "Sheet",
    "Recording",
    "recording_path",
    "Sitting",
    "Snag",
    "StageVisit",
    "CheckStatus",
    "Tick",
]
