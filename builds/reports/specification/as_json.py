"""The specification sheet as JSON."""


def specification_json(sheet) -> dict:
    """Figures in SI units as named; ranges are null below three builds."""
    return {
        "format": "specification-1",
        "kit": sheet.revision.kit.key,
        "name": sheet.revision.name,
        "revision": sheet.revision.letter,
        "mains": {"volts": sheet.revision.mains_volts, "hertz": sheet.revision.mains_hertz},
        "made_at": sheet.made_at.isoformat(),
        "reference": sheet.reference and sheet.reference.serial,
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
            for figure in sheet.figures
        ],
        "builds": [
            {
                "serial": build.serial,
                "mains": build.mains,
                "instrument": build.instrument,
                "valves": [dict(zip(("ref", "type", "make", "code"), valve, strict=True)) for valve in build.valves],
            }
            for build in sheet.measured_on
        ],
        "valves": [{"ref": ref, "type": kind, "alternatives": other} for ref, kind, other in sheet.valves],
    }
