"""Samples that were lost, repeated or held while a recording was made, and when.

A lost sample turns the phase of a tone by the turn that the tone makes in it, from one moment to the next and for good;
so does one in silence that of the hum. Of a sweep each sample follows from those before it (linear prediction, fitted
anew every few milliseconds), and a joint is one that does not. A joint that makes less of a step than noise is not
seen, and changes no figure. What silence shows besides: `standstills`.
"""

import itertools
import math
from dataclasses import dataclass, field

import numpy as np

from checks.tone.flutter import moving_phase
from checks.tone.sources import STEP_SECONDS, Signal, SignalPlan
from checks.tone.standstills import StandstillDetector
from checks.tone.steadiness import SwingWatch, unsteadiness

HUMS = (50.0, 100.0, 60.0, 120.0)  # hertz of mains lines whose phase is followed through silence
TURNS, SHORTEST = 8, 0.02  # of the tone in a frame, and seconds a frame takes at least
SIDE = 3  # frames before and after a jump whose middles are compared
SURE = 9.0  # robust standard deviations from which a jump is one
LEAST = 0.1  # of the turn in one sample, which a jump has at least
COHERENT = 0.3  # radians: a line whose phase scatters more from frame to frame is noise
IN_A_ROW = 6  # loud frames beside a loud one, which noise hardly ever has
BESIDE_LINE = 0.25  # of the strongest line of the hum, below which a line may be what leaks from that one into noise
STEADY = 0.15  # radians of the same, within which a line's level tells of the recorder's gain
TOGETHER_BY_CHANCE = 1e-4  # of noise alone having steps of phase that lie so close together
MOST_OF = 0.75  # of the steps, that lie together: the rest may be crackles
ORDER, FITTED = 10, 1024  # coefficients of the prediction, and samples it is fitted to
PIECE = 0.05  # seconds over which the worst error is taken: two turns of the mains
BESIDE, WORST = 10, 3.0  # pieces on either side, and times their worst errors, from which a sample does not follow
LOWEST = 40.0  # hertz of a sweep, below which a transformer bends it more than a joint
BOUNDARY = 0.15  # seconds on either side of where a step begins, that its joint takes
LOUDEST = 8  # steps before the last one ends, by whose distortion power is judged
LEAST_BEND = 0.1  # of what a lost sample bends a sine by at its crest
TOGETHER, ALIKE = 0.2, 0.15  # seconds, and share of the angle, by which two lines of the hum agree on a jump


@dataclass
class PhaseTracker:
    """The phase of lines from frame to frame, collected from blocks of shape (samples, channels)."""

    rate: int
    channels: int
    hertz: float
    levels: list[np.ndarray] = field(default_factory=list)

    def __post_init__(self):
        self.frame = round(self.rate * max(SHORTEST, TURNS / self.hertz))
        time = np.arange(self.frame) / self.rate
        probe = np.hanning(self.frame) * np.exp(-2j * math.pi * self.hertz * time)
        pair = np.column_stack([probe.real, probe.imag])
        self.probe = np.einsum("sp,cd->scdp", pair, np.eye(self.channels)).reshape(-1, 2 * self.channels)
        self.rest = np.zeros((0, self.channels))

    def add(self, block: np.ndarray) -> None:
        first = (self.frame - len(self.rest)) % self.frame if len(self.rest) else 0
        if len(self.rest) + len(block) < self.frame:
            self.rest = np.concatenate([self.rest, block])
            return
        if first:
            self._take(np.concatenate([self.rest, block[:first]]))
        count = (len(block) - first) // self.frame
        self._take(block[first : first + count * self.frame])
        self.rest = block[first + count * self.frame :].copy()

    def _take(self, frames: np.ndarray) -> None:
        """Whole frames of shape (frames x samples, channels)."""
        pairs = frames.reshape(-1, self.frame * self.channels) @ self.probe  # of each channel, where samples lie
        self.levels.append((pairs[:, ::2] + 1j * pairs[:, 1::2]).T)

    def jumps(self, channel: int) -> list[tuple[float, float]]:
        """(seconds, radians) of the phase's jumps."""
        levels = np.concatenate([frames[channel] for frames in self.levels])
        at = _jumps(levels, 2 * math.pi * self.hertz * self.frame / self.rate, 2 * math.pi * self.hertz / self.rate)
        return [((frame + 0.5) * self.frame / self.rate, radians) for frame, radians in at]

    def moving(self, channel: int) -> tuple[float, float]:
        """How far the line's frequency moves, as `moving_phase` tells."""
        levels = np.concatenate([frames[channel] for frames in self.levels]) if self.levels else np.zeros(0)
        return moving_phase(levels, self.hertz, self.frame / self.rate)

    def level(self, channel: int) -> float:
        """The middle level of the line, of what a full sine would have; 0 where there is none yet."""
        levels = [frames[channel] for frames in self.levels]
        return 4 * float(np.median(np.abs(np.concatenate(levels)))) / self.frame if levels else 0.0

    def swing(self, channel: int) -> float:
        """How far the line's level swings or steps, where more than an amplifier's; 1 where even the loudest quarter is
        noise."""
        levels = np.concatenate([frames[channel] for frames in self.levels]) if self.levels else np.zeros(0)
        if len(levels) < 8:
            return 1.0
        loud = np.abs(levels) >= np.quantile(np.abs(levels), 0.75)
        steps = _wrapped(np.diff(np.angle(levels)) - 2 * math.pi * self.hertz * self.frame / self.rate)
        steps = steps[loud[1:] & loud[:-1]]
        if len(steps) < IN_A_ROW or _scatter(steps) > STEADY or chance_together(steps) > TOGETHER_BY_CHANCE:
            return 1.0
        return unsteadiness(np.abs(levels))


def _jumps(levels: np.ndarray, turn: float, sample: float) -> list[tuple[int, float]]:
    """(frame, radians) in which the phase jumps for good: SIDE frames before and after it stand apart."""
    if len(levels) < 8 * SIDE or not np.abs(levels).all():
        return []
    steps = _wrapped(np.diff(np.angle(levels)) - turn)
    steps = _wrapped(steps - np.median(steps))
    if 1.4826 * float(np.median(np.abs(steps))) > COHERENT:
        return []
    phase = np.cumsum(np.concatenate([[0.0], steps - _running_median(steps, 4 * SIDE)]))
    middles = np.median(np.lib.stride_tricks.sliding_window_view(phase, SIDE), axis=1)
    radians = middles[SIDE + 1 :] - middles[: -SIDE - 1]
    moved = np.abs(radians)
    sigma = 1.4826 * np.maximum(_running_median(moved, 8 * SIDE), np.median(moved))
    jumping = np.flatnonzero(moved > np.maximum(SURE * sigma, LEAST * sample))
    groups = np.split(jumping, np.flatnonzero(np.diff(jumping) > SIDE) + 1) if len(jumping) else []
    tops = [group[moved[group] > 0.9 * moved[group].max()] for group in groups]
    best = [int(round(float(top.mean()))) for top in tops]
    return [(at + SIDE, float(radians[at])) for at in best]


def _scatter(steps: np.ndarray) -> float:
    return 1.4826 * float(np.median(np.abs(steps - np.median(steps))))


def chance_together(angles: np.ndarray) -> float:
    """At most how likely it is that MOST_OF as many random angles lie on as short an arc as those of these that lie
    closest: C(n, k) k (w/2π)^(k-1) bounds it for k of n angles on an arc w (order statistics on the circle)."""
    count, inside = len(angles), math.ceil(MOST_OF * len(angles))
    ordered = np.sort(np.mod(angles, 2 * math.pi))
    ordered = np.concatenate([ordered, ordered + 2 * math.pi])
    arc = float((ordered[inside - 1 : inside - 1 + count] - ordered[:count]).min())
    return min(1.0, math.comb(count, inside) * inside * (arc / (2 * math.pi)) ** (inside - 1))


def _wrapped(radians):
    return (radians + math.pi) % (2 * math.pi) - math.pi


def _running_median(values: np.ndarray, half: int) -> np.ndarray:
    padded = np.pad(values, half, mode="reflect" if len(values) > half else "edge")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1)


def joints(samples: np.ndarray, rate: int, hertz=0.0) -> list[float]:
    """Seconds at which a sample of a smooth signal, shape (samples,), does not follow from those before it. `hertz` is
    its frequency, one or one for each piece: a lost sample bends a sine at its crest by its square."""
    size = round(PIECE * rate)
    worst = _worst_errors(samples, size)
    if len(worst) < 2 * BESIDE:
        return []
    peaks = np.abs(samples[: len(worst) * size]).reshape(-1, size).max(axis=1)
    bend = peaks * np.minimum(2 * math.pi * np.asarray(hertz) / rate, 1.0) ** 2
    least = np.maximum(WORST * _running_median(worst, BESIDE), LEAST_BEND * bend)
    return [float((piece + 0.5) * PIECE) for piece in np.flatnonzero(worst > least + 1e-12)]


def _worst_errors(samples: np.ndarray, piece: int) -> np.ndarray:
    count = len(samples) // piece
    errors = np.zeros(count * piece)
    for start in range(ORDER, len(errors) - FITTED + 1, FITTED // 2):
        part = samples[start - ORDER : start + FITTED]
        before = np.lib.stride_tricks.sliding_window_view(part[:-1], ORDER)
        square = before.T @ before
        square[np.diag_indices(ORDER)] += 1e-12 * np.trace(square) + 1e-300
        residuals = part[ORDER:] - before @ np.linalg.solve(square, before.T @ part[ORDER:])
        quarter = slice(FITTED // 4, FITTED - FITTED // 4)
        errors[start : start + FITTED][quarter] = residuals[quarter]
    return np.abs(errors).reshape(count, piece).max(axis=1)


def joints_of_sweep(samples: np.ndarray, begins: int, plan: SignalPlan) -> list[float]:
    """Seconds of the joints in a recorded sweep that begins at a sample, without its fades and its lowest octaves."""
    growth = plan.seconds / math.log(plan.hertz[1] / plan.hertz[0])
    slow = max(0.0, growth * math.log(LOWEST / plan.hertz[0]))
    first = begins + round(max(2 * PIECE, slow) * plan.rate)
    last = begins + round((plan.seconds - 2 * PIECE) * plan.rate)
    part = samples[first : max(first, last)]
    middles = (first - begins) / plan.rate + PIECE * (0.5 + np.arange(len(part) // round(PIECE * plan.rate)))
    hertz = plan.hertz[0] * np.exp(middles / growth)
    return [first / plan.rate + at for at in joints(part, plan.rate, hertz)]


def losses_of_steps(samples: np.ndarray, end: int, plan: SignalPlan) -> list[float]:
    """Seconds at which the phase of a stepped level jumps: the tone goes on through all of its steps."""
    first = _first_of_steps(end, plan)
    tracker = _tracker_of_steps(samples, first, end, plan)
    return [first / plan.rate + BOUNDARY + at for at, _radians in tracker.jumps(0)]


def moving_of_steps(samples: np.ndarray, end: int, plan: SignalPlan) -> tuple[float, float]:
    """How far the frequency of the last, loudest steps moves, as PhaseTracker.moving tells."""
    first = max(0, end - round(LOUDEST * STEP_SECONDS * plan.rate))
    return _tracker_of_steps(samples, first, end, plan).moving(0)


def _tracker_of_steps(samples: np.ndarray, first: int, end: int, plan: SignalPlan) -> PhaseTracker:
    tracker = PhaseTracker(plan.rate, 1, plan.exact_hertz[0])
    tracker.add(samples[first + round(BOUNDARY * plan.rate) : end - round(BOUNDARY * plan.rate), None])
    return tracker


def _first_of_steps(end: int, plan: SignalPlan) -> int:
    return max(0, end - round(STEP_SECONDS * len(plan.levels) * plan.rate))


def joints_of_steps(samples: np.ndarray, end: int, plan: SignalPlan) -> list[float]:
    """Seconds of the joints within the steps, the last of which ends at a sample; each begins with one."""
    first = _first_of_steps(end, plan)
    times = [first / plan.rate + at for at in joints(samples[first:end], plan.rate, plan.exact_hertz[0])]
    return [at for at in times if BOUNDARY < (end / plan.rate - at) % STEP_SECONDS < STEP_SECONDS - BOUNDARY]


class LossWatch:
    """Watches every channel of a tone, two tones or silence for losses; fed like a SpectrumMaker."""

    def __init__(self, rate: int, channels: int, plan: SignalPlan):
        is_silence = plan.signal is Signal.SILENCE
        lines = HUMS if is_silence else plan.exact_hertz
        self.trackers = [PhaseTracker(rate, channels, hertz) for hertz in lines if hertz < 0.45 * rate]
        self.finders = [StandstillDetector(rate) for _ in range(channels)] if is_silence else []
        self.swings = SwingWatch(rate, channels) if is_silence else None

    def add(self, block: np.ndarray) -> None:
        if self.swings:
            self.swings.add(block)
        for tracker in self.trackers:
            tracker.add(block)
        for channel, finder in enumerate(self.finders):
            finder.add(block[:, channel])

    def losses(self, channel: int) -> list[float]:
        """Seconds from the first sample that was fed."""
        jumps = [jump for tracker in self.trackers for jump in tracker.jumps(channel)]
        if not self.finders:
            return sorted(at for at, _radians in jumps)
        return sorted([*_agreed(jumps), *self.finders[channel].losses()])

    def moving(self, channel: int) -> tuple[float, float]:
        """How far the worst of the tones that were played moves, as `moving_phase` tells; nothing in silence."""
        phases = [] if self.finders else [tracker.moving(channel) for tracker in self.trackers]
        return max((one for one, _off in phases), default=0.0), max((off for _one, off in phases), default=0.0)

    def swing(self, channel: int) -> float:
        """How many times louder the hiss or the hum of a silence is at one time than at another."""
        if not self.swings:
            return 1.0
        levels = [tracker.level(channel) for tracker in self.trackers]
        lines = [t for t, level in zip(self.trackers, levels, strict=True) if level > BESIDE_LINE * max(levels)]
        return max(self.swings.swing(channel), *(tracker.swing(channel) for tracker in lines), 1.0)

    def drift(self, channel: int) -> float:
        """The share by which the hiss of a silence grew or fell bit by bit."""
        return self.swings.drift(channel) if self.swings else 0.0


def _agreed(jumps: list[tuple[float, float]]) -> list[float]:
    """The jumps of hum that two lines show at once, a harmonic by twice the angle: a crackle moves each as it likes."""
    return [
        (one + other) / 2
        for (one, angle), (other, turned) in itertools.permutations(jumps, 2)
        if abs(one - other) < TOGETHER
        and min(abs(_wrapped(turned - times * angle)) for times in (1, 2)) < ALIKE * abs(angle)
    ]
