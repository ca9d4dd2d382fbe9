"""Checks under a test tone and of ripple, proposed from the circuit: what capacitors do shows nowhere else."""

from dataclasses import replace

from django.utils.translation import gettext as _

from builds.guides.plain_letters import as_key
from builds.guides.proposals.candidates import Kit
from builds.guides.proposals.proposal import Proposal
from builds.guides.proposals.stages import Places, is_whole, signal_stage
from checks.circuit import Probe, as_probed, predict_scatter, read_condition, stated_signal
from checks.circuit.netlist.signal import RIPPLE
from checks.circuit.netlist.wires import CHASSIS
from checks.circuit.prediction.signal_paths import TONES, SignalPath, signal_paths
from checks.quantity import format_quantity

MOST = 5  # signal checks proposed at once
SAMPLES = 400  # as for the others
LEAST = 0.005  # V: less is lost in a meter's last digits
PAD_BELOW = 0.02  # V, from which a generator's own level control is too coarse
PAD = 101  # 10 kΩ in series, 100 Ω across


def signal_proposals(specs, stages: list[dict], added: list[dict], places: Places, mains: dict, kit: Kit):
    """All that are worth ranking. A stage of their own is put into `stages` and `added` where the guide has none with
    the controls set. Raises ChecksError as the circuit does."""
    at = next(n for n, stage in enumerate(stages) if stage["key"] == places.full)
    powered = [stage for stage in stages[at:] if is_whole(stage)]
    offered = [{ref: float(share) for ref, share in (stage.get("settings") or {}).items()} for stage in powered]
    bare = read_condition(stages[at], mains)
    paths = signal_paths(specs, bare, kit.mains.nodes, offered)
    settings = dict(paths[0].settings) if paths else {}
    stage = next((s for s, own in zip(powered, offered, strict=True) if own == settings), None)
    if stage is None:
        stage = signal_stage(stages, settings)
        stages.append(stage)
        added.append(stage)
    taken = {row["key"] for row in (*stage.get("step", []), *stage.get("check", []))}
    rows = [_tone(path, hertz, len(paths) > 1, taken) for path in paths for hertz in TONES]
    rows += [_ripple(rail, taken) for rail in kit.rails()]
    return list(_predicted(specs, stage, mains, rows))


def _predicted(specs, stage: dict, mains: dict, rows: list[dict]):
    """Yield the proposals that the circuit gives a figure worth reading."""
    condition = read_condition(stage, mains)
    under: dict = {}
    for row in rows:
        stated = stated_signal(row["signal"])
        probe = Probe(row["red"], CHASSIS, row["measure"], "", *as_probed(stated))
        under.setdefault(stated and stated.signal, []).append((row, probe))
    for signal, measured in under.items():
        spreads = predict_scatter(
            specs, replace(condition, signal=signal), [p for _row, p in measured], samples=SAMPLES
        )
        for (row, _probe), spread in zip(measured, spreads, strict=True):
            low, high = spread.low, spread.high
            if spread.nominal is not None and low is not None and high is not None and spread.nominal >= LEAST:
                yield Proposal(stage["key"], row, spread.nominal, low, high, "V", is_signal=True)


def _tone(path: SignalPath, hertz: float, is_one_of_many: bool, taken: set[str]) -> dict:
    typed = format_quantity(hertz, "Hz", 1)
    signal = {"into": path.into, "level": format_quantity(path.level, "V", 1), "frequency": typed}
    if path.load_ohms:
        signal |= {"load": f"{path.load_ohms:g} Ω", "load_at": path.out}
    title = _("%(place)s at %(frequency)s") if is_one_of_many else _("Output at %(frequency)s")
    row = {
        "key": _key(f"tone {path.out} {hertz:g} hz", taken),
        "title": title % {"place": path.out, "frequency": typed},
        "measure": "ac volts",
        "red": path.out,
        "expected": "model",
        "figure_from": "model",
        "signal": signal,
    }
    if path.level < PAD_BELOW:
        row["note"] = _(
            "Use a divider: 10 kΩ in series with the generator and 100 Ω across the input. "
            "Set %(level)s at the generator, read with the meter."
        ) % {"level": format_quantity(path.level * PAD, "V", 3)}
    return row


def _ripple(rail: str, taken: set[str]) -> dict:
    return {
        "key": _key(f"ripple {rail}", taken),
        "title": _("Ripple at %(rail)s") % {"rail": rail},
        "measure": "ac volts",
        "red": rail,
        "expected": "model",
        "figure_from": "model",
        "signal": {"of": RIPPLE},
    }


def _key(title: str, taken: set[str]) -> str:
    plain = as_key(title) or "signal"
    key = next(name for name in (plain, *(f"{plain}-{n}" for n in range(2, 99))) if name not in taken)
    taken.add(key)
    return key
