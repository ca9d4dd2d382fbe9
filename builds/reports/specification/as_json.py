"""The specification sheet as JSON."""


def specification_json(found) -> dict:
    """Figures in SI units as named; ranges are null below three builds."""
    return {
        "format": "specification-1",
        "kit": found.revision.kit.key,
        "name": found.revision.name,
        "revision": found.revision.letter,
        "mains": {"volts": found.revision.mains_volts, "hertz": found.revision.mains_hertz},
        "made_at": found.made_at.isoformat(),
        "reference": found.reference and found.reference.serial,
        "figures": [
            {
                "check": figure.check.key,
                "stage": figure.check.stage.key,
                "title": figure.check.title,
                "measure": figure.check.measure,
                "unit": figure.check.unit,
                "median": figure.median,
                "low_10": figure.low,
                "high_90": figure.high,
                "builds": figure.builds,
                "measured_on": sorted(figure.serials),
                "conditions": list(figure.conditions),
            }
            for figure in found.figures
        ],
        "builds": [
            {
                "serial": build.serial,
                "mains": build.mains,
                "instrument": build.instrument,
                "valves": [dict(zip(("ref", "type", "make", "code"), valve, strict=True)) for valve in build.valves],
            }
            for build in found.measured_on
        ],
        "valves": [{"ref": ref, "type": kind, "alternatives": other} for ref, kind, other in found.valves],
    }
