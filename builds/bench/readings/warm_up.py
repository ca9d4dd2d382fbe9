"""The wait after switching on until valves have warmed up: a counter beside the live checks that have them."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from builds.bench.gates.facts import Facts
from builds.bench.valves.fitting import sockets

SECONDS = 60  # until cathodes and supply are steady (common practice; a heater alone takes 10 s to 30 s)
SHOWN_FOR = timedelta(minutes=10)  # after power went on record: then they are warm


@dataclass(frozen=True)
class WarmUp:
    seconds: int
    since: datetime  # when power went on record: a new spell of power begins a new wait


def find_warm_up(build, stage, facts: Facts) -> WarmUp | None:
    """None without power, without a valve in its socket, or once it has been on for long."""
    since = facts.last_power
    if since is None or not stage.is_powered or timezone.now() - since > SHOWN_FOR:
        return None
    if facts.last_safe is not None and facts.last_safe >= since:
        return None
    has_valves = any(part.ref not in stage.not_fitted for part in sockets(build))
    return WarmUp(SECONDS, since) if has_valves else None
