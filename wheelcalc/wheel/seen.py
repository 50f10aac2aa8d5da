"""Spokes as they sit in a wheel half laced, against the plan: which cross it really is, and which to move."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.joining import LEADING, LETTER, RADIAL, TRAILING, Lacing, crossings_in_order, hole_one_deg, wrapped

ONE = re.compile(r"(\d{1,3})\s*[-:]\s*([RLrl]?)\s*(\d{1,3})")
FEW = 4
LONGEST = 2000  # letters; ours: a wheel of 144 spokes written out has 1300
HOW = 'write rim hole-hub hole, such as "1-R4, 2-L9"; without R or L the flange that the plan joins there is meant'


@dataclass(frozen=True)
class Seen:
    """One spoke as it sits."""

    rim_hole: int
    side: str
    hub_hole: int

    def __str__(self) -> str:
        return f"{self.rim_hole}-{LETTER[self.side]}{self.hub_hole}"


@dataclass(frozen=True)
class Verdict:
    """One spoke seen, against the plan.

    Parameters
    ----------
    seen : the spoke
    planned : the plan's hub hole for its rim hole in the user's numbers ("R4"), or "empty"
    planned_crosses, planned_lean : what the plan has there
    wrong_flange : whether the plan joins this rim hole to the other flange
    holes_out : hub holes ahead of the plan, + forward; 0 where the flange is wrong
    crosses, lean : what it really is, among the planned others
    """

    seen: Seen
    planned: str
    planned_crosses: int
    planned_lean: int
    wrong_flange: bool
    holes_out: int
    crosses: int
    lean: int

    @property
    def right(self) -> bool:
        """Whether it sits as planned."""
        return not self.wrong_flange and self.holes_out == 0


@dataclass(frozen=True)
class Diagnosis:
    """What the spokes seen come to.

    Parameters
    ----------
    verdicts : one for each spoke seen, after the hub's numbers are set to agree with the most of them
    hub_turned : holes that the hub's numbers of each flange begin elsewhere, + forward; the same wheel
    rim_turned : rim holes that everything sits too far forward (the pattern right, the valve at the wrong place)
    """

    verdicts: Sequence[Verdict]
    hub_turned: dict[str, int]
    rim_turned: int

    @property
    def to_move(self) -> list[Verdict]:
        """Spokes that sit wrong."""
        return [verdict for verdict in self.verdicts if not verdict.right]


def read_seen(text: str, lacing: Lacing) -> list[Seen]:
    """Read spokes as a user types them: "1-9, 2-L4".

    Raises
    ------
    InputError
        If the text is no such list or names holes that there are not.
    """
    if len(text) > LONGEST:
        raise InputError("seen", f"found {len(text)} letters; {HOW}")
    parts = [part for part in re.split(r"[,;\s]+(?=\d{1,3}\s*[-:])|[,;]", text.strip()) if part and part.strip()]
    if not parts:
        raise InputError("seen", f"found no spoke; {HOW}")
    seen_spokes = [_one(part.strip(), lacing) for part in parts]
    for what, names in (
        ("rim hole", [str(each.rim_hole) for each in seen_spokes]),
        ("hub hole", [f"{LETTER[each.side]}{each.hub_hole}" for each in seen_spokes]),
    ):
        twice = [name for name, count in Counter(names).items() if count > 1]
        if twice:
            raise InputError("seen", f"found {what} {twice[0]} twice; each takes one spoke")
    return seen_spokes


def _one(part: str, lacing: Lacing) -> Seen:
    match = ONE.fullmatch(part)
    if match is None:
        raise InputError("seen", f'found "{part[:40]}"; {HOW}')
    rim_hole, letter, hub_hole = int(match[1]), match[2].upper(), int(match[3])
    if not 1 <= rim_hole <= lacing.rim_holes:
        raise InputError("seen", f"found rim hole {rim_hole}; the rim has holes 1 to {lacing.rim_holes}")
    planned = np.flatnonzero(lacing.rim_hole == rim_hole)
    if not letter and not len(planned):
        raise InputError("seen", f'"{part}": the plan leaves rim hole {rim_hole} empty; say which flange, R or L')
    side = {"R": "right", "L": "left"}.get(letter) or lacing.sides[int(planned[0])]
    if not 1 <= hub_hole <= lacing.holes_of(side):
        raise InputError("seen", f"found hub hole {LETTER[side]}{hub_hole}; it goes up to {lacing.holes_of(side)}")
    return Seen(rim_hole, side, hub_hole)


def diagnose(seen: Sequence[Seen], lacing: Lacing) -> Diagnosis:
    """Compare spokes seen with the plan.

    Notes
    -----
    The hub is one body, so any turn of it that brings the most spokes seen to their planned holes is taken for a
    numbering that began elsewhere; what then disagrees is out. If the plan fits completely after it is moved on along
    the rim, the lacing is right but the valve sits at the wrong place.
    """
    here = _tried(seen, lacing, 0)
    # A few spokes fit somewhere by chance; it takes some to say that all of it sits at another place.
    if not here.to_move or len(seen) < FEW:
        return here
    tries = [_tried(seen, lacing, moved) for moved in range(-lacing.rim_holes // 2, lacing.rim_holes // 2)]
    whole = [each for each in tries if not each.to_move]
    return min(whole, key=lambda each: (abs(each.rim_turned), abs(each.hub_turned["right"])), default=here)


def _tried(seen: Sequence[Seen], lacing: Lacing, rim_moved: int) -> Diagnosis:
    """Judge the spokes seen after the plan is moved along the rim, the hub turned to agree with the most of them."""
    planned = {(int(hole) - 1 + rim_moved) % lacing.rim_holes + 1: place for place, hole in enumerate(lacing.rim_hole)}
    turn = _common_turn([turn for each in seen if (turn := _turn(each, planned, lacing)) is not None])
    outs = [_holes_out(each, planned, lacing, turn) for each in seen]
    moved = _groups_moved(seen, outs, planned, lacing)
    verdicts = [
        _verdict(each, out, planned, lacing, (turn, rim_moved, moved)) for each, out in zip(seen, outs, strict=True)
    ]
    hub_turned = {side: round(turn * lacing.holes_of(side) / 360) for side in LETTER}
    return Diagnosis(verdicts, hub_turned, rim_moved)


def _holes_out(seen: Seen, planned: dict[int, int], lacing: Lacing, turn: float) -> int | None:
    """Hub holes ahead of the plan; None on the wrong flange."""
    out = _turn(seen, planned, lacing)
    pitch = 360 / lacing.holes_of(seen.side)
    return None if out is None else round(float(wrapped(np.asarray(out - turn))) / pitch)


def _groups_moved(
    seen: Sequence[Seen], outs: Sequence[int | None], planned: dict[int, int], lacing: Lacing
) -> dict[tuple[str, int], int]:
    """Which groups (flange, direction) are out as a whole: two spokes agree, or both directions of a flange are out."""
    moves: dict[tuple[str, int], list[int]] = {}
    for each, out in zip(seen, outs, strict=True):
        if out is not None:
            moves.setdefault((each.side, int(lacing.lean[planned[each.rim_hole]])), []).append(out)
    alike = {key: each[0] for key, each in moves.items() if len(set(each)) == 1 and each[0]}
    return {
        (side, lean): out for (side, lean), out in alike.items() if len(moves[side, lean]) > 1 or (side, -lean) in alike
    }


def _common_turn(turns: Sequence[float]) -> float:
    """Turn of the hub that most spokes agree on, two at least; of equally many the smallest, to trust the user's dots."""
    turn, count = min(Counter(turns).items(), key=lambda item: (-item[1], abs(item[0])), default=(0.0, 0))
    return turn if count > 1 else 0.0


def _turn(seen: Seen, planned: dict[int, int], lacing: Lacing) -> float | None:
    """How far forward of the planned hub hole it sits [degrees]; None on the wrong flange."""
    place = planned.get(seen.rim_hole)
    if place is None or lacing.sides[place] != seen.side:
        return None
    pitch = 360 / lacing.holes_of(seen.side)
    return round(float(wrapped(np.asarray((seen.hub_hole - int(lacing.hub_hole[place])) * pitch))), 6)


def _verdict(
    seen: Seen,
    out: int | None,
    planned: dict[int, int],
    lacing: Lacing,
    set_up: tuple[float, int, dict[tuple[str, int], int]],
) -> Verdict:
    place = planned.get(seen.rim_hole)
    crosses, lean = _really(seen, lacing, *set_up)
    return Verdict(
        seen=seen,
        planned="empty" if place is None else _called(lacing, place, set_up[0]),
        planned_crosses=0 if place is None else int(lacing.crosses[place]),
        planned_lean=RADIAL if place is None else int(lacing.lean[place]),
        wrong_flange=out is None,
        holes_out=out or 0,
        crosses=crosses,
        lean=lean,
    )


def _called(lacing: Lacing, place: int, turn: float) -> str:
    """The plan's hub hole in the user's numbers."""
    side = lacing.sides[place]
    holes = lacing.holes_of(side)
    return f"{LETTER[side]}{(int(lacing.hub_hole[place]) - 1 + round(turn * holes / 360)) % holes + 1}"


def _really(
    seen: Seen, lacing: Lacing, turn: float, rim_moved: int, moved: dict[tuple[str, int], int]
) -> tuple[int, int]:
    """Crosses and direction of a spoke that sits where it was seen; the others as planned, or moved with their group."""
    same = np.flatnonzero(lacing.on(seen.side))
    pitch = 360 / lacing.holes_of(seen.side)
    start = hole_one_deg(lacing, seen.side) - turn
    rim = (seen.rim_hole - rim_moved - 0.5) * 360 / lacing.rim_holes
    ahead = float(wrapped(np.asarray(start + (seen.hub_hole - 1) * pitch - rim)))
    shifts = np.array([moved.get((seen.side, int(lean)), 0) * pitch for lean in lacing.lean[same]])
    angles, rims = lacing.angle_deg[same] + shifts, lacing.rim_angle_deg[same]
    others = (np.abs(wrapped(rims - rim)) > 1e-6) & (np.abs(wrapped(rims + angles - rim - ahead)) > 1e-6)
    everyone = np.ones(int(others.sum()) + 1, dtype=bool)
    count = crossings_in_order(everyone, np.append(rims[others], rim), np.append(angles[others], ahead))[-1]
    if abs(ahead) <= pitch / 2 + 1e-6:
        return 0, RADIAL
    return int(count), TRAILING if ahead > 0 else LEADING
