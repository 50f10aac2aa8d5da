"""Of `fit`: the chainline in front and behind, the chain's angle in every gear."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from wheelcalc.arrays import Bools, Floats
from wheelcalc.bike import chainline
from wheelcalc.bike.ends import SAME_FAMILY, Outcomes, Unchecked, unknown
from wheelcalc.bike.width import Spacing
from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.findings import Finding, Level, gravest

# C: between the 410 of a racing frame and the 450 of a tourer; the chain's angles move by 5 % over that range, a
# bracket that turns with the frame by some tenths of a millimetre.
CHAINSTAY_UNKNOWN = 430.0
SAME_CHAINLINE = 0.5  # mm, C: a rule's error on crank.chainline


@dataclass(frozen=True)
class Chain:
    """Where the chain runs [mm, right of the bike's middle plane]; what is unknown is None.

    Parameters
    ----------
    front : chainline of the rings
    rear : chainline of the cogs with the bare hub
    rear_fitted : the same with the spacers fitted or proposed
    sigma : standard uncertainty of the error
    angles_deg : of the chain in every gear, bare hub, shape (rings, cogs)
    angles_fitted_deg : the same with the spacers
    crossed : cross-chained gears, same shape
    chainstay : the angles are counted with
    rings, cogs : places of ring 1 .. and cog 1 .. with the spacers
    """

    front: float | None
    rear: float | None
    rear_fitted: float | None
    sigma: float
    angles_deg: Floats | None
    angles_fitted_deg: Floats | None
    crossed: Bools | None
    chainstay: float
    rings: Floats | None
    cogs: Floats | None

    @property
    def error(self) -> float | None:
        """Front less rear with the bare hub [mm]."""
        return None if self.front is None or self.rear is None else self.front - self.rear

    @property
    def error_fitted(self) -> float | None:
        """Front less rear with the spacers [mm]."""
        return None if self.front is None or self.rear_fitted is None else self.front - self.rear_fitted

    def marks(self, most_deg: float) -> list[list[str]]:
        """Mark the gears with the spacers: x cross-chained, s steeper than `most_deg`; a list of cogs for each ring."""
        if self.angles_fitted_deg is None or self.crossed is None:
            return []
        steep = chainline.too_steep(self.angles_fitted_deg, most_deg)
        return np.char.add(np.where(self.crossed, "x", ""), np.where(steep, "s", "")).tolist()  # type: ignore[no-any-return]

    def as_json(self) -> dict[str, Any]:
        """Return the contract's keys, and the same with the spacers."""
        return {
            "front_mm": self.front,
            "rear_mm": self.rear,
            "error_mm": self.error,
            "error_sigma_mm": self.sigma,
            "gears": _gears(self.angles_deg, self.crossed),
            "with_spacers": {
                "rear_mm": self.rear_fitted,
                "error_mm": self.error_fitted,
                "gears": _gears(self.angles_fitted_deg, self.crossed),
            },
        }


def _gears(angles: Floats | None, crossed: Bools | None) -> list[dict[str, Any]]:
    if angles is None or crossed is None:
        return []
    return [
        {"ring": ring + 1, "cog": cog + 1, "angle_deg": float(angle), "crossed": bool(crossed[ring, cog])}
        for (ring, cog), angle in np.ndenumerate(angles)
    ]


def bare_error(build: Build) -> float | None:
    """Chainline error of the hub without spacers [mm], None where it cannot be known."""
    front, rear = front_chainline(build), _rear(build, Spacing(0.0, 0.0))
    return None if front is None or rear is None else front - rear


def chain_of(build: Build, spacers: Spacing) -> Chain | None:
    """Return the chain's run; None where nothing of it is known.

    Raises
    ------
    InputError
        If the crank's standard is none of the table's, or the cogs do not fit on the hub.
    """
    front, rear = front_chainline(build), _rear(build, Spacing(0.0, 0.0))
    if build.position == "front" or (front is None and rear is None):
        return None
    chainstay = build.frame.chainstay or CHAINSTAY_UNKNOWN
    fitted = _rear(build, spacers)
    rings = None if front is None else _ring_places(build, front)
    bare, moved = (None if each is None else _cogs(build).positions(each) for each in (rear, fitted))
    angles = [
        None if rings is None or cogs is None else chainline.chain_angles_deg(rings, cogs, chainstay)
        for cogs in (bare, moved)
    ]
    far = int(build.limits.crossed_cogs)
    return Chain(
        front=front,
        rear=rear,
        rear_fitted=fitted,
        sigma=_sigma(build),
        angles_deg=angles[0],
        angles_fitted_deg=angles[1],
        crossed=None if rings is None or bare is None else chainline.cross_chained(len(rings), len(bare), far),
        chainstay=chainstay,
        rings=rings,
        cogs=moved,
    )


def _standard(build: Build) -> Mapping[str, Any] | None:
    if "crank.standard" not in build:
        return None
    with under("crank.standard"):
        return tables.row("chainlines", "name", build.crank.standard)


def front_chainline(build: Build) -> float | None:
    """Front chainline [mm]: measured, else of the crank's standard, else None."""
    standard = _standard(build)
    if "crank.chainline" in build:
        return build.crank.chainline
    return None if standard is None else float(standard["chainline"])


def rings_of(build: Build) -> int:
    """Count the rings: as given, else as the standard has them, else one."""
    standard = _standard(build)
    if build.given("crank.rings") or standard is None:
        return build.crank.rings
    return int(standard.get("rings", 1))


def _ring_places(build: Build, front: float) -> Floats | None:
    count = rings_of(build)
    if count > 1 and "crank.ring_pitch" not in build:
        return None
    return chainline.Rings(front, count, (build.crank.ring_pitch or 0.0) if count > 1 else 0.0).positions


def rear_keys(build: Build) -> tuple[str, ...]:
    """Return the keys that are missing for the rear chainline."""
    keys = ["hub.over_locknut", "cogs.locknut_to_smallest", "cogs.count"]
    if build.several_cogs:
        keys.append("cogs.pitch")
    return unknown(build, *keys)


def _cogs(build: Build) -> chainline.Cogs:
    count = build.cogs.count
    pitch = build.cogs.pitch if count > 1 else 0.0
    return chainline.Cogs(count, pitch, build.cogs.locknut_to_smallest)


def _rear(build: Build, spacers: Spacing) -> float | None:
    if rear_keys(build):
        return None
    offset = build.frame.wheel_offset
    return chainline.rear_chainline(build.hub.over_locknut, _cogs(build), *spacers, offset)


def _sigma(build: Build) -> float:
    """Standard uncertainty of the chainline error [mm]: half the hub's width counts (JCGM 100:2008, 5.1.2)."""
    return math.hypot(
        build.sigma("crank.chainline"), build.sigma("hub.over_locknut") / 2, build.sigma("cogs.locknut_to_smallest")
    )


def chain_width(build: Build) -> float | None:
    """Width of a chain for so many cogs, over its rivets [mm]; the widest of the table's range."""
    if "cogs.count" not in build:
        return None
    count = build.cogs.count
    for row in tables.load("chains"):
        # The table begins at 6 cogs; fewer take the same chain.
        if row["name"] == "outer width" and row.get("cogs") == max(count, 6):
            value = row["value"]
            return float(value[-1] if isinstance(value, list) else value)
    return None


def unchecked(build: Build) -> Outcomes:
    """Name what is missing for the chain's run."""
    if build.position == "front" or build.hub.drive == "none":
        return
    lacking = rear_keys(build)
    if front_chainline(build) is None:
        lacking = (*lacking, "crank.chainline")
    if lacking:
        yield Unchecked("whether the chain runs straight", lacking)
    elif rings_of(build) > 1 and "crank.ring_pitch" not in build:
        yield Unchecked("the chain's angle in every gear", ("crank.ring_pitch",))


def assumptions(build: Build, chain: Chain | None) -> list[str]:
    """Say what was taken for the chain's run."""
    said = []
    standard = _standard(build)
    if chain and standard is not None and "crank.chainline" not in build:
        spread = standard.get("range")
        said.append(
            f"Front chainline of {standard['name']}: {standard['chainline']:g} mm ({standard['label']}, {standard['source']})"
            + (f"; seen from {spread[0]:g} to {spread[1]:g}, so measure crank.chainline." if spread else ".")
        )
    if chain and chain.angles_deg is not None and "frame.chainstay" not in build:
        said.append(
            f"frame.chainstay is not given: {CHAINSTAY_UNKNOWN:g} mm taken for the chain's angles (410 to 450 are usual)."
        )
    return said


def limits_of_drive(build: Build) -> dict[Level, float]:
    """Return the limits of the chainline error for this drive [mm]."""
    fixed = build.hub.drive == "fixed"
    kind = "fixed" if fixed else "derailleur" if build.has_derailleur else "single"
    limits = build.limits.levels(f"chainline_{kind}")
    if kind == "derailleur" and paired_by_the_trade(build):
        return {"caution": build.limits.chainline_pair_caution, "note": limits["caution"]}
    return limits


def paired_by_the_trade(build: Build) -> bool:
    """Whether the table of chainlines names this front chainline and this width of hub together."""
    front = front_chainline(build)
    if front is None or "hub.over_locknut" not in build:
        return False
    return any(
        low <= front <= high and any(abs(build.hub.over_locknut - width) <= SAME_FAMILY for width in widths)
        for low, high, widths in map(_pairing, tables.load("chainlines"))
    )


def _pairing(row: Mapping[str, Any]) -> tuple[float, float, list[float]]:
    """Front chainlines from and to, and the rear widths that a row goes with; 142 is 135 with longer caps (P, NB)."""
    low, high = row.get("range", [row["chainline"]] * 2)
    widths = [float(each) for each in re.findall(r"\d+(?:\.\d+)?", row["rear"]) if "offset" not in row["rear"]]
    return low - SAME_CHAINLINE, high + SAME_CHAINLINE, [*widths, *([142.0] if 135.0 in widths else [])]


def findings(build: Build, chain: Chain | None) -> Outcomes:
    """Judge the chainline error with the spacers fitted or proposed."""
    yield from unchecked(build)
    error = chain.error_fitted if chain else None
    if chain is None or error is None:
        return
    limits = limits_of_drive(build)
    level = gravest(abs(error), limits)
    if level is None:
        return
    side, other = ("right", "left") if error > 0 else ("left", "right")
    yield Finding(
        level,
        "chainline-error",
        f"The chain runs {abs(error):.1f} mm out of line: the rings (chainline {chain.front:.1f}) stand further {side} than the cogs "
        f"({chain.rear_fitted:.1f}); limit {limits[level]:g} mm for this drive"
        + ("; a fixed chain that comes off locks the wheel." if build.hub.drive == "fixed" else ".")
        + (
            " The trade itself pairs such a crank with such a hub."
            if level == "note" and paired_by_the_trade(build)
            else ""
        ),
        f"Any one of these would do it: {' or '.join(moves(error, side, other))}.",
    )


def moves(error: float, side: str, other: str) -> list[str]:
    """Say what each move alone must be to take an error away [mm]."""
    need = chainline.corrections(error)
    thick = abs(need["hub spacer from left to right"])
    return [
        f"ring or crank {abs(need['ring to the right']):.1f} mm to the {other}",
        f"the cogs {abs(need['cogs to the right']):.1f} mm to the {side} on their body",
        f"{thick:.1f} mm of hub spacer from {side} to {other}, where there is as much (hub and rim move by it)",
    ]


def refuse_implausible(build: Build) -> None:
    """Refuse a chain that cannot be, before anything is computed.

    Raises
    ------
    InputError
        Naming both keys.
    """
    if rear_keys(build) or build.position == "front":
        return
    _rear(build, Spacing(0.0, 0.0))
    stack = _cogs(build)
    flange = build.hub.right.locknut_to_flange if "hub.right.locknut_to_flange" in build else None
    largest = stack.locknut_to_smallest + (stack.count - 1) * stack.pitch
    if flange is not None and largest >= flange:
        text = f"found {stack.count} cogs {stack.pitch:g} mm apart from {stack.locknut_to_smallest:g} mm: the largest sits {largest:g} mm"
        raise InputError(
            "cogs.count",
            f"{text} from the locknut, past the flange at hub.right.locknut_to_flange = {flange:g} mm; measure them again",
        )
