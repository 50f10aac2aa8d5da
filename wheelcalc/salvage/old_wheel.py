"""The old wheel as the gauge: its spokes once reached from the old hub to this rim, so they measure the rim."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.measuring.assemble import erd_to_spoke_end
from wheelcalc.measuring.statistics import Mean, weighted_mean
from wheelcalc.salvage.cases import Case, Loading, guessed, wheel_of
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES


@dataclass(frozen=True)
class Gauged:
    """Effective rim diameter, to the spoke end, from the old wheel [mm].

    Parameters
    ----------
    erd, sigma : mean of both sides and its standard uncertainty
    sides : what each side's spokes say, with error
    chance : that the readings' errors alone make the sides differ so much or more
    shares : reading -> what it adds to `sigma` (they add as squares), largest first
    """

    erd: float
    sigma: float
    sides: Mapping[str, Dimension]
    chance: float
    shares: Mapping[str, float]

    @property
    def within(self) -> float:
        """What `erd` is sure to, 19 times in 20 [mm]."""
        return NINETEEN_IN_TWENTY * self.sigma

    def named(self, share: str) -> str:
        """Return the build file's key of a share of the error."""
        place, _, side = share.partition(".")
        own = {"length": f"old_wheel.lengths ({side})", "end": f"old_wheel.end_position ({side})"}
        if place in own:
            return own[place]
        return "old_wheel.tension" if place == "tension" else f"old_wheel.{share}" if place == "hub" else share

    @property
    def apart(self) -> float:
        """What the left side says less what the right one says [mm]."""
        return float(self.sides["left"].value - self.sides["right"].value)


def rim_radius(span: Floats, hub_radius: Floats, angle_rad: Floats, offset: Floats) -> Floats:
    """Radius of the spoke end at the rim from a spoke's span, hub hole centre to end [mm]; arrays broadcast.

    Notes
    -----
    The law of cosines solved for the far side: with D^2 = span^2 - offset^2,
    R = r cos a + sqrt(D^2 - r^2 sin^2 a) (D).

    Raises
    ------
    InputError
        If the spoke is too short to reach past its own flange.
    """
    under_root = span**2 - offset**2 - (hub_radius * np.sin(angle_rad)) ** 2
    if np.any(under_root <= 0):
        text = (
            f"found a spoke of {float(np.min(span)):.1f} mm from hole to end; it does not reach past this hub's flange"
        )
        raise InputError("old_wheel.lengths", f"{text}: check the old hub and its crosses")
    return np.asarray(hub_radius * np.cos(angle_rad) + np.sqrt(under_root))


def gauge(case: Case, loading: Loading) -> Gauged:
    """Return the rim's erd as the old wheel's spokes tell it, bare (or tensioned, where `rim.measured` says so).

    Parameters
    ----------
    case : the old wheel
    loading : tensions and shrinking of a wheel

    Notes
    -----
    A slack spoke of length L whose end sits e beyond the intended end spans L + stretch - e; the rim under tension is
    smaller than the bare one by what it shrinks. First-order propagation over every uncertain reading (JCGM 100:2008,
    5.1.2), the same reading moved for both sides at once, so that what they share counts as shared.
    """
    build = case.build.having({"rim.erd": None})
    base = {**build, **{f"length.{s}": case.lengths[s] for s in SIDES}}
    base |= {f"end.{s}": Dimension(case.seen(s), case.end_sigma(s)) for s in SIDES}
    centre = _erds(Build(base), loading)
    moves = {key: _move(key, base, loading) for key, entry in base.items() if _uncertain(key, entry)}
    matrix = np.array(list(moves.values())).reshape(len(moves), 2)
    covariance = matrix.T @ matrix
    sigmas = np.sqrt(np.diag(covariance))
    weights = sigmas**-2 / (sigmas**-2).sum()
    differ = float(covariance[0, 0] + covariance[1, 1] - 2 * covariance[0, 1])
    shares = {key: abs(float(weights @ move)) for key, move in moves.items()}
    return Gauged(
        erd=float(weights @ centre),
        sigma=math.sqrt(float(weights @ covariance @ weights)),
        sides={side: Dimension(float(centre[i]), float(sigmas[i])) for i, side in enumerate(SIDES)},
        chance=math.erfc(abs(float(centre[0] - centre[1])) / math.sqrt(2 * differ)),
        shares=dict(sorted(shares.items(), key=lambda item: -item[1])),
    )


def _uncertain(key: str, entry: Dimension) -> bool:
    return entry.sigma > 0 and key.startswith(
        ("hub.", "length.", "end.", "tension.", "rim.hole_", "frame.wheel_offset")
    )


def _move(key: str, base: Mapping[str, Dimension], loading: Loading) -> Floats:
    """What one standard uncertainty of a reading does to both sides' erd [mm]."""
    entry = base[key]
    above, below = (
        _erds(Build({**base, key: replace(entry, value=entry.value + step)}), loading)
        for step in (entry.sigma, -entry.sigma)
    )
    return np.asarray((above - below) / 2)


def _erds(build: Build, loading: Loading) -> Floats:
    """Effective rim diameter by the spokes of each side, left and right [mm]."""
    lengths = {side: build[f"length.{side}"] for side in SIDES}
    rough = guessed(build, lengths)
    for _ in range(2):  # the second time stretch and shrinking are those of the rim found
        wheel = wheel_of(rough)
        tensions, shrink = loading(rough, wheel)
        stretch = wheel.stretches(tensions)
        erds = []
        for side in SIDES:
            mask, flange = wheel.lacing.on(side), wheel.hub.flange(side)
            hole = flange.hole_diameter / 2 if flange.spoke_head == "elbow" else 0.0
            span = lengths[side].value + hole + stretch[mask] - build.number(f"end.{side}")
            angle = np.radians(wheel.lacing.angle_deg[mask])
            radius = rim_radius(span, np.asarray(flange.pcd / 2), angle, wheel.offsets[mask])
            erds.append(2 * float(radius.mean() + shrink))
        rough = rough.having({"rim.erd": sum(erds) / 2})
    return np.array(erds)


def measured_erd(build: Build) -> Dimension | None:
    """Return the erd that was measured, to the spoke end, a later washer not counted; None where none was."""
    if "rim.erd" not in build:
        return None
    washer = build.nipple.washer
    return Dimension(erd_to_spoke_end(build) - 2 * washer, build.sigma("rim.erd"))


def combined(gauged: Gauged, measured: Dimension | None) -> Mean:
    """Weighted mean of what the old wheel says and what was measured, and whether they agree."""
    both = [Dimension(gauged.erd, gauged.sigma), *([measured] if measured else [])]
    return weighted_mean([each.value for each in both], [each.sigma for each in both])
