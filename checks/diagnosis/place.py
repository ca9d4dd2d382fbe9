"""A place to measure at, as the ranking knows it."""

from dataclasses import dataclass

from checks.circuit.prediction.probes import Probe


@dataclass(frozen=True)
class Place:
    """A reading that could be taken: a check of the guide, or one that the guide does not have (`check` empty). Nobody
    is sent to an extra one with the power on; it is there to tell a designer what such a check would show. `title`: the
    check's, as the guide has it; `part`: the one that an extra reading is taken end to end of, empty for a pin to
    chassis."""

    stage: str
    check: str
    probe: Probe
    power: str
    title: str = ""
    part: str = ""

    @property
    def is_powered(self) -> bool:
        return self.power == "on"

    @property
    def name(self) -> str:
        if self.check:
            return f"{self.stage}/{self.check}"
        under = f" {self.probe.under} {self.probe.hertz:g}" if self.probe.under else ""
        return f"{self.power} {self.probe.red} {self.probe.black}{under}"
