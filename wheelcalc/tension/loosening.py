"""Tension of one spoke without any meter: pluck it, loosen its nipple by counted turns, pluck it again.

What a turn takes from the tension comes from the structure of the wheel; the ratio of the pitches says what share of
the tension that is. The ends come out with it. The force per turn decides: 5 % of it are 5 to 12 % of the tension where
nothing is known of the ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wheelcalc.arrays import Floats
from wheelcalc.tension.calibration import LENGTH_SIGMA, PITCH_SIGMA
from wheelcalc.tension.stepped import Segments, pitch, signed_tension
from wheelcalc.tension.tone import SPOKE_STEEL_DENSITY, checked, floats
from wheelcalc.wheel import give
from wheelcalc.wheel.constants import SPOKE_STEEL_MODULUS, SPOKE_THREAD_PITCH
from wheelcalc.wheel.errors import InputError

# C: a turn counted by the flats of the key.
TURN_SIGMA = 0.02  # turns
# C, a guess: stiffness of a guessed rim section, thread pitch and twist of the wire together.
STIFFNESS_SIGMA = 0.03  # of the force per turn
# C: a bent wire that is nearly slack no longer sounds like a string.
LEAST_TENSION = 100.0  # N
# D: an end hold put at its limit while any from 0 to 1 is equally likely is wrong by 1 / sqrt(3), root mean square.
HOLD_MOST = 0.58
STEP = 0.125  # turns
ITERATIONS = 40
LARGEST_STEP = 0.7
NEWTON = 6  # steps: from a start a tenth off, round-off
LEAST_REST = 0.05  # ours, of what a turn stretches: the ends give less than all of it, whatever was said of them


@dataclass(frozen=True)
class Loosened:
    """What the pitches of one spoke at counted turns say.

    Parameters
    ----------
    tension, tension_sigma : before it was loosened [N]
    end_hold, end_hold_sigma : 0 (ends turn freely) to 1 (clamped)
    length_factor : on the free length, as far as the pitches ask for it
    misfit : root mean square of the pitches' misfits over their sigmas; above 1.5 a reading or a count is wrong (chance of
        it without a mistake, with three readings: 1 in 100)
    """

    tension: float
    tension_sigma: float
    end_hold: float
    end_hold_sigma: float
    length_factor: float
    misfit: float


@dataclass(frozen=True)
class Experiment:
    """A spoke to be plucked after each loosening, and how well everything is known.

    Parameters
    ----------
    segments : lengths and diameters [mm], head to nipple
    force_per_turn : what a turn takes from what sounds [N]: a spoke's own tension, or the mean of a touching pair's
    force_sigma : of it, as a share
    end_give : what the ends of the spoke give for 1000 N more at about 1000 N [mm]; a slacker spoke then loses less to a turn
    at : tension at which a turn takes `force_per_turn` [N]
    pitch_sigma : of each pitch, as a share
    length_sigma : of the free length [mm]
    turn_sigma : of each counted loosening [turns]
    hold_known : end hold and its standard uncertainty, where something is known of it beforehand; makes the tension surer
    youngs_modulus : [N/mm2]
    density : [t/mm3]
    """

    segments: Segments
    force_per_turn: float
    force_sigma: float = STIFFNESS_SIGMA
    end_give: float = 0.0
    at: float = give.AT
    pitch_sigma: float = PITCH_SIGMA
    length_sigma: float = LENGTH_SIGMA
    turn_sigma: float = TURN_SIGMA
    hold_known: tuple[float, float] | None = None
    youngs_modulus: float = SPOKE_STEEL_MODULUS
    density: float = SPOKE_STEEL_DENSITY

    def __post_init__(self) -> None:
        checked(self.force_per_turn, "force_per_turn", 1.0, 1e5, "above 1 N")

    def _turned_to(self, tension: Floats) -> Floats:
        """Turns of the nipple from slack to a tension, the rest of the wheel as straight as at `at`."""
        ends = give.compliance(self.end_give, self.at) / SPOKE_THREAD_PITCH
        rest = np.maximum(1 / self.force_per_turn - ends, LEAST_REST / self.force_per_turn)
        return np.asarray(rest * tension + give.given(self.end_give, tension) / SPOKE_THREAD_PITCH)

    def _per_turn(self, tension: Floats) -> Floats:
        """What one turn more adds at a tension [N]."""
        ends = give.compliance(self.end_give, self.at) - give.compliance(self.end_give, tension)
        return np.asarray(
            1 / np.maximum(1 / self.force_per_turn - ends / SPOKE_THREAD_PITCH, LEAST_REST / self.force_per_turn)
        )

    def _after(self, tension: Floats, tightened: Floats) -> Floats:
        """Tension after a nipple is tightened by turns [N], broadcast; Newton's method."""
        wanted = self._turned_to(tension) + tightened
        moved = np.maximum(tension + self._per_turn(tension) * tightened, 1.0)
        for _ in range(NEWTON):
            moved = np.maximum(moved - (self._turned_to(moved) - wanted) * self._per_turn(moved), 1.0)
        return moved

    def tension(self, turns: ArrayLike, pitch_hz: ArrayLike) -> Loosened:
        """Tension before loosening, and the end hold, from the pitches after each loosening.

        Parameters
        ----------
        turns : loosened in all, at each pitch; 0 first, rising
        pitch_hz : [Hz]

        Raises
        ------
        InputError
            If there are fewer than two, or the pitch does not fall as the nipple is loosened.

        Notes
        -----
        Least squares by Gauss and Newton. Unknown: last tension, end hold (0 to 1), free length and force per turn; the
        last two (and the end hold by `hold_known`) are held to what is known of them, so that the errors come out whole.
        """
        loosened, hz = _checked_readings(turns, pitch_hz)
        unknowns = self._start(hz)
        sigma = self._pitch_sigmas(loosened, math.exp(unknowns[0]))
        for _ in range(ITERATIONS):
            misfits, slopes = self._misfits(unknowns, loosened, hz, sigma)
            moved = _moved(unknowns, misfits, slopes)
            done = np.max(np.abs(moved - unknowns)) < 1e-9
            unknowns = moved
            if done:
                break
        return self._result(unknowns, loosened, *self._misfits(unknowns, loosened, hz, sigma))

    def best_turns(self, tension: float, end_hold: float = 0.5) -> tuple[float, Floats, Floats]:
        """How far to loosen a spoke for the surest answer.

        Parameters
        ----------
        tension : expected [N]
        end_hold : expected

        Returns
        -------
        The best last loosening [turns], the ones compared (eighths, until LEAST_TENSION is left), and the standard
        uncertainty of the tension that each would give [N]; plucked at 0, half of it, and all of it.

        Raises
        ------
        InputError
            If an eighth of a turn would already leave the spoke slack.
        """
        most = (tension - LEAST_TENSION) / self.force_per_turn
        if most < STEP:
            raise InputError(
                "tension",
                f"found {tension:.0f} N; with {self.force_per_turn:.0f} N to a turn an eighth leaves it slack",
            )
        compared = floats(STEP * np.arange(1, math.floor(most / STEP) + 1))
        sigmas = np.array([self._expected_sigma(tension, end_hold, float(last)) for last in compared])
        return float(compared[np.argmin(sigmas)]), compared, sigmas

    def _expected_sigma(self, tension: float, end_hold: float, last: float) -> float:
        turns = np.array([0.0, last / 2, last])
        left = float(self._after(np.array(tension), np.array(-last)))
        unknowns = np.array([math.log(left), end_hold, 0.0, 0.0])
        hz = self._model(unknowns, turns)
        sigma = self._pitch_sigmas(turns, math.exp(unknowns[0]))
        return self._result(unknowns, turns, *self._misfits(unknowns, turns, hz, sigma)).tension_sigma

    def _pitch_sigmas(self, turns: Floats, last_tension: float) -> Floats:
        """Of each pitch, as a share: its own, and that of the count of turns."""
        left = max(last_tension, LEAST_TENSION) + self.force_per_turn * (turns[-1] - turns)
        counted = np.where(turns > 0, self.force_per_turn * self.turn_sigma / (2 * left), 0.0)
        return np.hypot(self.pitch_sigma, counted)

    def _start(self, hz: Floats) -> Floats:
        """Unknowns to start from: log of last tension, end hold, logs of factors on free length and force per turn."""
        guess = signed_tension(self.segments, hz[-1], youngs_modulus=self.youngs_modulus, density=self.density)
        return np.array([math.log(max(float(guess), LEAST_TENSION / 4)), 0.5, 0.0, 0.0])

    def _model(self, unknowns: Floats, turns: Floats) -> Floats:
        """Pitches after each loosening [Hz], for unknowns of shape (..., 4)."""
        last, hold, longer, stiffer = np.moveaxis(unknowns[..., None], -2, 0)
        tension = self._after(np.exp(last), np.exp(stiffer) * (turns[-1] - turns))
        lengths = floats(self.segments[0]) * np.exp(longer)[..., None]
        wire = (lengths, self.segments[1])
        return pitch(wire, tension, hold, youngs_modulus=self.youngs_modulus, density=self.density)

    def _misfits(self, unknowns: Floats, turns: Floats, hz: Floats, sigma: Floats) -> tuple[Floats, Floats]:
        """Misfits over their sigmas, of the pitches and then of what is known beforehand, and their slopes."""
        step = 1e-4 * np.array([1.0, -1.0 if unknowns[1] > 0.5 else 1.0, 1.0, 1.0])
        values = self._model(np.vstack([unknowns, unknowns + np.diag(step)]), turns)
        slopes = (values[1:] - values[0]) / step[:, None] / (hz * sigma)
        length_sigma = self.length_sigma / float(np.sum(floats(self.segments[0])))
        hold, hold_sigma = self.hold_known or (0.0, math.inf)
        known = np.diag([0.0, 1 / hold_sigma, 1 / length_sigma, 1 / self.force_sigma])[1:]
        off = known @ (unknowns - np.array([0.0, hold, 0.0, 0.0]))
        return np.concatenate([(values[0] / hz - 1) / sigma, off]), np.vstack([slopes.T, known])

    def _result(self, unknowns: Floats, turns: Floats, misfits: Floats, slopes: Floats) -> Loosened:
        hold_known = np.diag([0.0, 1 / HOLD_MOST**2, 0.0, 0.0])
        covariance = np.linalg.inv(slopes.T @ slopes + hold_known)
        last, back = np.exp(unknowns[0]), np.exp(unknowns[3]) * turns[-1]
        first = float(self._after(last, back))
        force = float(self._per_turn(np.array(first)))
        by_unknown = np.array([last * force / self._per_turn(last), 0.0, 0.0, force * back])
        return Loosened(
            tension=first,
            tension_sigma=math.sqrt(by_unknown @ covariance @ by_unknown),
            end_hold=float(unknowns[1]),
            end_hold_sigma=math.sqrt(covariance[1, 1]),
            length_factor=math.exp(unknowns[2]),
            misfit=math.sqrt(float(np.mean(misfits[: turns.size] ** 2))),
        )


def _moved(unknowns: Floats, misfits: Floats, slopes: Floats) -> Floats:
    """Unknowns one step closer to the least squares, with the end hold kept from 0 to 1."""
    free = np.ones(4, dtype=bool)
    step = floats(np.linalg.lstsq(slopes, -misfits, rcond=None)[0])
    if (unknowns[1] == 0 and step[1] < 0) or (unknowns[1] == 1 and step[1] > 0):
        free[1] = False
        step = np.zeros(4)
        step[free] = np.linalg.lstsq(slopes[:, free], -misfits, rcond=None)[0]
    moved = unknowns + step * min(1.0, LARGEST_STEP / max(float(np.max(np.abs(step))), LARGEST_STEP))
    moved[1] = np.clip(moved[1], 0.0, 1.0)
    return moved


def _checked_readings(turns: ArrayLike, pitch_hz: ArrayLike) -> tuple[Floats, Floats]:
    """Turns and pitches as arrays, refused where they cannot be those of a spoke that was loosened."""
    loosened = np.atleast_1d(
        checked(turns, "pluck.loosened", 0.0, 20.0, "turns loosened, 0 or above")
    )  # C: catches slips only
    hz = np.atleast_1d(checked(pitch_hz, "pluck.loosened", 1.0, 1e5, "a pitch above 1 Hz"))
    if loosened.shape != hz.shape or loosened.size < 2:
        raise InputError(
            "pluck.loosened", f"found {loosened.size} turns and {hz.size} pitches; give two or more of each"
        )
    if loosened[0] != 0 or np.any(np.diff(loosened) <= 0):
        raise InputError("pluck.loosened", "the turns must start at 0 and rise, all counted from the start")
    if np.any(np.diff(hz) >= 0):
        raise InputError("pluck.loosened", "the pitch must fall with every loosening; check the spoke and the readings")
    return loosened, hz
