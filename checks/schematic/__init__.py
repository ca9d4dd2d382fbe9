"""A drawn schematic from a parts list: symbols placed in the order signals flow, joined by wires and flags."""

from checks.schematic.drawing import draw
from checks.schematic.model import Component, Schematic, Section, SectionKind

__all__ = ["Component", "Schematic", "Section", "SectionKind", "draw"]
