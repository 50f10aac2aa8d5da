"""The table that every pattern becomes: which spoke joins which hub hole to which rim hole, and where both sit.

Angles are seen from the right, grow in the direction of forward rotation and are 0 at the valve hole. Rim hole i of N
sits at (i - 1/2) 360/N. The hub is one rigid body: hole 1 of the flange that rim hole 1 serves, then the next hole
forward of it on the other flange is that one's hole 1. It is turned so that the mean difference between hub hole and
rim hole over the wheel is zero.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, TypeVar

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES, one_of

BySide = int | Mapping[str, int]
Words = str | Mapping[str, str]

T = TypeVar("T", int, str)

TRAILING, RADIAL, LEADING = 1, 0, -1
DIRECTION = {TRAILING: "trailing", RADIAL: "radial", LEADING: "leading"}
HEADS = ("leading", "trailing", "alternate", "all", "none")
LETTER = {"left": "L", "right": "R"}

# D: seen in the wheel's plane a k-cross spoke crosses exactly k others of its own flange while 360 k / n is at most
# 108 degrees (segments intersected by a polygon library; past 90 on flanges of up to 18 holes); from 112.5 up it fails.
WIDEST_CROSSING_DEG = 108.0

# D: past about 85 degrees a spoke dips into the hub's hole circle and may pass behind the elbow of a radial neighbour.
WIDEST_CROWS_FOOT_DEG = 80.0

# D: a middling wheel, to rank starts by their opening at the valve only: hub radius over rim radius, and 50 mm of the
# way from rim to hub as a share of it.
HUB_OF_RIM, DEPTH_OF_WAY = 0.075, 0.18


@dataclass(frozen=True, eq=False)
class Lacing:
    """Spokes in rim-hole order, one array entry each.

    Parameters
    ----------
    pattern : the pattern's name
    rim_holes, left_holes, right_holes : holes drilled in the rim and in each flange
    first_hole : side of the flange that rim hole 1 serves
    rim_hole, hub_hole : numbered from 1
    is_right : whether the spoke belongs to the right flange
    crosses : spokes of its own flange that it passes
    lean : 1 trailing, -1 leading, 0 radial
    head_in : whether the head sits on the face toward the other flange
    rim_angle_deg, hub_angle_deg : where its two ends sit
    """

    pattern: str
    rim_holes: int
    left_holes: int
    right_holes: int
    first_hole: str
    rim_hole: Ints
    is_right: Bools
    hub_hole: Ints
    crosses: Ints
    lean: Ints
    head_in: Bools
    rim_angle_deg: Floats
    hub_angle_deg: Floats

    def __len__(self) -> int:
        return len(self.rim_hole)

    def __repr__(self) -> str:
        passed = {side: sorted(set(self.crosses[self.on(side)].tolist())) for side in SIDES}
        said = " / ".join(",".join(map(str, passed[side])) or "-" for side in SIDES)
        counts = f"{self.left_holes} left, {self.right_holes} right"
        return f"<Lacing: {self.pattern}, crosses {said} (left / right), {len(self)} spokes, {counts} hub holes>"

    @property
    def columns(self) -> dict[str, Any]:
        """What each spoke joins and how it lies, by name, in rim-hole order."""
        return {
            "rim_hole": self.rim_hole,
            "side": self.sides,
            "hub_hole": self.hub_hole,
            "crosses": self.crosses,
            "direction": self.directions,
            "heads": self.heads,
        }

    def on(self, side: str) -> Bools:
        """Mask of the spokes of a side."""
        return self.is_right if side == "right" else ~self.is_right

    def holes_of(self, side: str) -> int:
        """Holes drilled in a flange."""
        return self.right_holes if side == "right" else self.left_holes

    @property
    def sides(self) -> list[str]:
        """Side of each spoke."""
        return ["right" if right else "left" for right in self.is_right]

    @property
    def directions(self) -> list[str]:
        """Direction of each spoke: trailing, leading or radial."""
        return [DIRECTION[int(lean)] for lean in self.lean]

    @property
    def heads(self) -> list[str]:
        """Where each head sits: in or out."""
        return ["in" if head else "out" for head in self.head_in]

    @property
    def hub_labels(self) -> list[str]:
        """Hub hole of each spoke as it is called: R4, L12."""
        return [f"{LETTER[side]}{hole}" for side, hole in zip(self.sides, self.hub_hole, strict=True)]

    @property
    def angle_deg(self) -> Floats:
        """Hub hole ahead of rim hole, of each spoke, (n,) [degrees]."""
        return self.hub_angle_deg - self.rim_angle_deg

    @property
    def empty_rim_holes(self) -> list[int]:
        """Rim holes that no spoke serves."""
        return sorted(set(range(1, self.rim_holes + 1)) - set(self.rim_hole.tolist()))

    def unused_hub_holes(self, side: str) -> list[int]:
        """Holes of a flange without a spoke."""
        return sorted(set(range(1, self.holes_of(side) + 1)) - set(self.hub_hole[self.on(side)].tolist()))


class Counts(NamedTuple):
    """Holes of rim and hub, and how the flanges stand to each other.

    Parameters
    ----------
    rim, left, right : spoke holes
    first_hole : side of the flange that rim hole 1 serves
    phase : "staggered" (half a pitch of the flange with more holes apart) or "aligned"
    gap : whole pitches of that flange between hole 1 of the first flange and hole 1 of the other, 0 unless the
        rim is drilled so that more than one of the first flange's rim holes come before the other's
    """

    rim: int
    left: int
    right: int
    first_hole: str = "right"
    phase: str = "staggered"
    gap: int = 0

    def __post_init__(self) -> None:
        one_of("first_hole", self.first_hole, SIDES)
        one_of("phase", self.phase, ("staggered", "aligned"))

    def of(self, side: str) -> int:
        """Holes of a flange."""
        return self.right if side == "right" else self.left

    @property
    def second_start_deg(self) -> float:
        """Hole 1 of the flange that rim hole 1 does not serve, ahead of hole 1 of the one that it does [degrees]."""
        half = 0.5 if self.phase == "staggered" else 0.0
        return (half + self.gap) * 360 / max(self.left, self.right)

    def hole_angles_deg(self, is_right: Bools, hub_hole: Ints) -> Floats:
        """Hub holes' angles from hole 1 of the first flange [degrees], before the hub is turned into the wheel."""
        pitch = np.where(is_right, 360 / self.right, 360 / self.left)
        second = is_right != (self.first_hole == "right")
        return np.asarray((hub_hole - 1) * pitch + np.where(second, self.second_start_deg, 0.0))


def rim_angles_deg(rim_hole: Ints, holes: int) -> Floats:
    """Angle of rim holes: (i - 1/2) 360/N."""
    return np.asarray((rim_hole - 0.5) * 360 / holes)


def joined(
    pattern: str,
    counts: Counts,
    rim_hole: Ints,
    is_right: Bools,
    hub_hole: Ints,
    *,
    lean: Ints,
    crosses: Ints,
    head_in: Bools,
    about_deg: Floats | float = 0.0,
) -> Lacing:
    """Return the table with the hub turned to where the mean difference over the wheel is zero.

    `about_deg` says about how far each hub hole lies ahead, so that it is not taken for one half a circle away.
    """
    rim_angle = rim_angles_deg(rim_hole, counts.rim)
    ahead = turned(counts.hole_angles_deg(is_right, hub_hole) - rim_angle, about_deg)
    return Lacing(
        pattern=pattern,
        rim_holes=counts.rim,
        left_holes=counts.left,
        right_holes=counts.right,
        first_hole=counts.first_hole,
        rim_hole=rim_hole,
        is_right=is_right,
        hub_hole=hub_hole,
        crosses=crosses,
        lean=lean,
        head_in=head_in,
        rim_angle_deg=rim_angle,
        hub_angle_deg=rim_angle + ahead,
    )


def turned(ahead_deg: Floats, about_deg: Floats | float = 0.0) -> Floats:
    """Differences between hub and rim holes [degrees] after the hub is turned so that their mean is 0; within half a circle."""
    direction = np.exp(1j * np.radians(ahead_deg - about_deg)).sum()
    start = np.degrees(np.angle(direction)) if abs(direction) > 1e-6 else 0.0
    near = wrapped(ahead_deg - start)
    return wrapped(near - near.mean())


def wrapped(angle_deg: Floats) -> Floats:
    """Angles brought into -180 to 180 degrees."""
    return np.asarray(angle_deg - 360 * np.round(angle_deg / 360))


def in_pairs(lacing: Lacing, closer_deg: Mapping[str, float]) -> Lacing:
    """Return the lacing on flanges whose seats come in pairs, one trailing and one leading spoke each.

    Parameters
    ----------
    closer_deg : for each side, how much closer the two seats of a pair lie than evenly spread ones; negative: where
        the two spokes of a pair cross each other instead of running apart

    Notes
    -----
    Evenly spread seats brought together in pairs move half of that each: where the spokes run apart, the trailing
    one's seat is the rear one and moves forward, further ahead of its rim hole; where they cross, back (D).
    """
    closer = np.where(lacing.is_right, closer_deg["right"], closer_deg["left"])
    return replace(lacing, hub_angle_deg=lacing.hub_angle_deg + lacing.lean * closer / 2)


def hole_one_deg(lacing: Lacing, side: str) -> float:
    """Angle of hole 1 of a flange in the finished wheel [degrees]; of seats in pairs, where evenly spread ones would have it."""
    mask = lacing.on(side)
    starts = lacing.hub_angle_deg[mask] - (lacing.hub_hole[mask] - 1) * 360 / lacing.holes_of(side)
    return float(starts[0] + wrapped(starts - starts[0]).mean())


def own_turn(is_right: Bools) -> Ints:
    """Place of each rim hole among those of its own flange, from 1."""
    return np.where(is_right, np.cumsum(is_right), np.cumsum(~is_right))


def gap_between(is_right: Bools, counts: Counts) -> int:
    """Find the gap at which a radial wheel, hub hole j to the j-th rim hole of its flange, is the most radial."""
    most = max(counts.left, counts.right)
    rim_hole = np.arange(1, len(is_right) + 1)
    best, least = 0, np.inf
    for gap in range(most):
        moved = Counts(counts.rim, counts.left, counts.right, counts.first_hole, counts.phase, gap)
        ahead = moved.hole_angles_deg(is_right, own_turn(is_right)) - rim_angles_deg(rim_hole, counts.rim)
        uneven = float((turned(ahead) ** 2).sum())
        if uneven < least - 1e-6:
            best, least = gap, uneven
    return best


def crossings_in_order(is_right: Bools, rim_angle_deg: Floats, angle_deg: Floats) -> Ints:
    """How many spokes of its own flange each spoke crosses, from the order of their ends round rim and hub.

    Two spokes between two circles cross where the one that is ahead at the rim is behind at the hub (D). It agrees
    with straight lines while no spoke dips into the hub circle, about 85 degrees.
    """
    count = np.zeros(len(rim_angle_deg), dtype=np.int64)
    ahead_at_rim = wrapped(rim_angle_deg[:, None] - rim_angle_deg[None])
    same = is_right[:, None] == is_right[None]
    np.fill_diagonal(same, False)
    for turn in (-360, 0, 360):
        rim = ahead_at_rim + turn
        hub = rim + angle_deg[:, None] - angle_deg[None]
        count += (same & (rim * hub < -1e-9)).sum(axis=1)
    return count


def per_side(value: T | Mapping[str, T], name: str = "crosses") -> dict[str, T]:
    """One value for both sides, or one each; `name` is what a missing one is called by."""
    if isinstance(value, Mapping):
        for side in SIDES:
            if side not in value:
                raise InputError(f"{name}.{side}", "is missing; one value would do for both sides, or one for each")
        return {side: value[side] for side in SIDES}
    return dict.fromkeys(SIDES, value)


def most_crosses(flange_holes: int, widest_deg: float = WIDEST_CROSSING_DEG) -> int:
    """Most crosses that a flange of so many holes can be laced with."""
    return int(widest_deg * flange_holes / 360 + 1e-9)


def check_crosses(k: int, flange_holes: int, *, in_pairs: bool = True, widest_deg: float = WIDEST_CROSSING_DEG) -> None:
    """Refuse crosses that a flange with so many spokes cannot have; `in_pairs`: leading and trailing by turns."""
    if k < 0:
        raise InputError("", f"found {k}; 0 is radial, the least there is")
    if k > 0 and in_pairs and flange_holes % 2:
        text = f"found {k} with {flange_holes} spokes on a flange"
        raise InputError("", f"{text}; crossed spokes go in pairs and need an even count, 0 (radial) would do")
    most = most_crosses(flange_holes, widest_deg)
    if k > most:
        text = f"found {k}; a spoke would have to pass the far side of the hub"
        raise InputError("", f"{text}; {flange_holes} spokes on this flange allow {most} at most")


def heads_on_a_side(rule: str, lean: Ints) -> Bools:
    """Which heads of one flange sit in, from the rule's word and the spokes' directions in rim-hole order."""
    one_of("heads_in", rule, HEADS)
    if rule in ("all", "none"):
        return np.full(len(lean), rule == "all")
    if rule == "alternate" or not lean.any():
        return np.asarray(np.arange(len(lean)) % 2 == 0)
    return np.asarray(lean == (LEADING if rule == "leading" else TRAILING))


def heads(rules: Mapping[str, str], is_right: Bools, lean: Ints) -> Bools:
    """Which heads sit in, over both sides."""
    head_in = np.empty(len(lean), dtype=bool)
    for side in SIDES:
        mask = is_right == (side == "right")
        head_in[mask] = heads_on_a_side(rules[side], lean[mask])
    return head_in


def opening(rim_first: Floats, hub_first: Floats, rim_last: Floats, hub_last: Floats) -> Floats:
    """Opening between the spokes beside the valve in a middling wheel of radius 1, from their ends' angles [degrees]."""

    def across(rim_deg: Floats, hub_deg: Floats) -> Floats:
        rim, hub = np.sin(np.radians(rim_deg)), HUB_OF_RIM * np.sin(np.radians(hub_deg))
        return np.asarray((1 - DEPTH_OF_WAY) * rim + DEPTH_OF_WAY * hub)

    return across(rim_first, hub_first) - across(rim_last, hub_last)


def widest_at_valve(ways: Iterable[Lacing]) -> Lacing:
    """Choose the way whose two spokes beside the valve open most; of equal ones the first."""
    best: Lacing | None = None
    widest = -np.inf
    for way in ways:
        rim, hub = way.rim_angle_deg, way.hub_angle_deg
        width = float(opening(rim[0], hub[0], rim[-1], hub[-1]))
        if width > widest + 1e-9:
            best, widest = way, width
    assert best is not None
    return best


def side_mask(holes: int, first_hole: str) -> Bools:
    """Whether rim holes 1 to N serve the right flange, where they serve the flanges by turns."""
    first = np.arange(holes) % 2 == 0
    return np.asarray(first if first_hole == "right" else ~first)


def would_work(rim: int, left: int, right: int) -> str:
    """Patterns that these counts allow, as the build file names them."""
    fits = []
    if left == right and left + right == rim:
        fits += ['"crossed"'] if left % 2 == 0 else []
        fits += ['"radial"']
        fits += ['"crow\'s foot"'] if left % 3 == 0 else []
    if rim == left + right and max(left, right) == 2 * min(left, right):
        fits.append('"two to one"')
    if not fits and rim % 2 == 0:
        fits.append('"uneven counts"')
    return " or ".join(fits) or '"listed"'
