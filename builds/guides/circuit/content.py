"""What of a guide the circuit model works on, and the hash that tells whether it has changed."""

import hashlib
import json

from builds.guides.circuit.specs import build_mapping
from builds.guides.guide_cache import Guide
from checks.measures import MODELLED

VERSION = 23  # of the model's arithmetic: raise it when figures would come out differently


def build_content(revision, guide: Guide) -> dict:
    """Parts, mains, and for each stage its condition and the probes of its checks; no words."""
    return content_of_rows(revision, guide.parts.values(), [(stage, stage.checks.all()) for stage in guide.stages])


def content_of_rows(revision, parts, stages) -> dict:
    """The same of rows that need not be saved: parts, and (stage, its checks) in order."""
    return {
        "version": VERSION,
        "mains": {"volts": revision.mains_volts, "hertz": revision.mains_hertz, "taps": revision.taps},
        "parts": [_part(part) for part in parts],
        "stages": [_stage(stage, checks) for stage, checks in stages],
    }


def _part(part) -> dict:
    """What is in the circuit; other types that its socket may hold, and how it is fitted, are not."""
    return {key: value for key, value in build_mapping(part).items() if key not in ("alternatives", "video")}


def _stage(stage, checks) -> dict:
    content = {
        "key": stage.key,
        "power": stage.power,
        "not_fitted": stage.not_fitted,
        "supply": stage.supply,
        "checks": [_probe(check) for check in checks],
    }
    return content | ({"settings": stage.settings} if stage.settings else {})


def _probe(check) -> dict:
    table = {
        "key": check.key,
        "measure": check.measure,
        "red": check.red,
        "black": check.black,
        "through": check.through,
    }
    return table | ({"signal": check.signal} if check.signal else {})


def make_key(content: dict) -> str:
    return hashlib.sha256(json.dumps(content, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def can_compute(probe: dict) -> bool:
    """Is it a reading the circuit has something to say about? Words in place of a node are none."""
    return probe["measure"] in MODELLED and not (probe["red"].startswith("=") or probe["black"].startswith("="))
