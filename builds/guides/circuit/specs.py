"""The rows of a parts list as the parts that checks.circuit works with."""

from builds.guides.guide_cache import Guide
from checks.circuit import PartSpec, part_from_mapping
from checks.errors import ChecksError


def build_mapping(part) -> dict:
    """A part's row as the guide file writes it."""
    return {"ref": part.ref, "kind": part.kind, "value": part.value, "tolerance": part.tolerance, **part.detail}


def list_specs(guide: Guide) -> list[PartSpec]:
    """The parts of a guide for the circuit. Raises ChecksError naming the part that cannot be one."""
    return [part_from_mapping(build_mapping(part)) for part in guide.parts.values()]


def spec_or_none(mapping: dict) -> PartSpec | None:
    try:
        return part_from_mapping(mapping)
    except ChecksError:
        return None


def specs_or_none(guide: Guide) -> list[PartSpec]:
    """The parts that can be read; a guide may leave its circuit incomplete."""
    specs = (spec_or_none(build_mapping(part)) for part in guide.parts.values())
    return [spec for spec in specs if spec]
