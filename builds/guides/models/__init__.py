"""Kits and their guides. The rows keep what the guide file says, as it was typed."""

from builds.guides.models.corrections import FigureCorrection
from builds.guides.models.figures import CircuitFigures, StoredFaultDictionary
from builds.guides.models.history import DraftEdit
from builds.guides.models.kits import Kit, KitQuerySet, Picture, Revision, RevisionQuerySet, picture_path
from builds.guides.models.offers import KitOffer
from builds.guides.models.roles import KitRole, find_role
from builds.guides.models.rows import MEASURES, UNITS, Check, Part, Point, Stage, Step

__all__ = [
    "Check",
    "CircuitFigures",
    "DraftEdit",
    "FigureCorrection",
    "StoredFaultDictionary",
    "Kit",
    "KitOffer",
    "KitRole",
    "KitQuerySet",
    "MEASURES",
    "Part",
    "Picture",
    "Point",
    "Revision",
    "RevisionQuerySet",
    "Stage",
    "Step",
    "UNITS",
    "picture_path",
    "find_role",
]
