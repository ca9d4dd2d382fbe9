"""What the circuit does to the signals that a guide states: gain, response, impedances, stage by stage, and its limits.

Nominal figures for the designer; nothing is judged by them.
"""

from dataclasses import asdict, replace

from checks.circuit import read_condition, stated_signal
from checks.circuit.prediction.signals import solve_signal_point
from checks.circuit.signals.large_signal import class_a_power, find_clipping
from checks.circuit.signals.response import frequency_response, stage_gains
from checks.errors import ChecksError

MIDDLE = 1000.0  # Hz


def compute_responses(parts, stages, mains) -> list[dict]:
    """A row for each input, load and pair of points that a stage reads under a tone."""
    rows = []
    for stage in stages:
        for signal, red, black in _asked(stage):
            try:
                operating = solve_signal_point(parts, replace(read_condition(stage, mains), signal=signal))
                rows.append({"stage": stage["key"], "red": red, "black": black} | _row(operating, signal, red, black))
            except ChecksError:
                continue  # why there is no figure stands at the check itself
    return rows


def _asked(stage) -> list[tuple]:
    probes = [p for p in stage["checks"] if stage["power"] == "on" and p.get("signal")]
    stated = [(stated_signal(p["signal"]), p["red"], p["black"]) for p in probes]
    return list(dict.fromkeys((s.signal, red, black) for s, red, black in stated if s and s.signal.into))


def _row(operating, signal, red: str, black: str) -> dict:
    response = frequency_response(operating, red, black, MIDDLE)
    clip = find_clipping(operating, MIDDLE)
    loaded = signal.load_ohms and signal.load_at == red and black == "chassis"
    power = class_a_power(operating, red, signal.load_ohms, MIDDLE) if loaded else None
    return {
        "into": signal.into,
        "load_ohms": signal.load_ohms,
        "gain": abs(response.gain),
        "decibels": response.decibels,
        "corners": [response.low_3, response.low_1, response.high_1, response.high_3],
        "input_ohms": abs(response.input_ohms),
        "output_ohms": abs(response.output_ohms),
        "stages": [_stage(row) for row in stage_gains(operating, MIDDLE)],
        "clipping": asdict(clip) if clip else None,
        "watts": power.watts if power else None,
        "output_volts": power.output_volts if power else None,
    }


def _stage(row) -> dict:
    return {"ref": row.ref, "section": row.section, "gain": abs(row.gain), "to_cathode": abs(row.to_cathode)}
