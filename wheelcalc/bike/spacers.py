"""Spacer plans: every way to fill the width between the ends, and what each does to wheel, chain and rotor.

A spacer sits on the axle under a locknut. One on the left pushes hub, cogs and rim right against the middle of the
ends by half its thickness; against the right end itself nothing moves. Plans are numpy arrays, one entry a plan.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.bike.chainline import cog_shift
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

STEP = 0.5  # mm, the contract: what spacers are taken to come in where none are on hand
SAME = 0.01  # mm, C: two stacks that differ by less are one plan; no spacer is made or read finer
CLOSE = 1e-6  # mm: far below any spacer, far above the noise of sums
# Plans, ours: beyond it the list of spacers is no help to anybody, and the memory ends.
MOST_WAYS, MOST_OF_LOOSE = 50_000, 5_000


@dataclass(frozen=True)
class HubInFrame:
    """What plans are judged by; what is unknown is None.

    Parameters
    ----------
    missing : frame's width less the bare hub's, + frame wider [mm]
    offsets : of the left and right flange of the bare hub [mm]
    wheel : with the bare hub
    chainline_error : front less rear with the bare hub [mm]
    protrusion : of the axle beyond each locknut of the bare hub [mm]
    stub : (least, most) that may stand out beyond a locknut [mm]
    axle_moved : through the hub, + right [mm]
    wheel_offset : of the frame's rim plane from the middle of its ends, + right [mm]
    """

    missing: float
    offsets: tuple[float, float] | None = None
    wheel: Wheel | None = None
    chainline_error: float | None = None
    protrusion: float | None = None
    stub: tuple[float, float] | None = None
    axle_moved: float = 0.0
    wheel_offset: float = 0.0


@dataclass(frozen=True, eq=False)
class Plans:
    """Spacer plans and what each does, arrays of one shape; nan where it cannot be known [mm].

    Parameters
    ----------
    left, right : spacers; negative: taken off
    width_left_over : + frame wider
    offset_left, offset_right : of the flanges from the new middle of the hub
    tension_ratio : left over right
    length_change_left, length_change_right : of the spokes, mean of the side, + longer
    rim_shift : that a wheel built with the rim midway between its locknuts needs, + right
    cog_shift, rotor_shift : against the bike's middle plane; cogs + right, rotor + left
    cog_to_hanger, rotor_to_calliper : against the ends, + further inward than with the bare hub
    chainline_error : front less rear
    stub_left, stub_right : axle beyond the locknuts
    stub_short, stub_long : whether a stub is too short or too long
    """

    left: Floats
    right: Floats
    width_left_over: Floats
    offset_left: Floats
    offset_right: Floats
    tension_ratio: Floats
    length_change_left: Floats
    length_change_right: Floats
    rim_shift: Floats
    cog_shift: Floats
    rotor_shift: Floats
    cog_to_hanger: Floats
    rotor_to_calliper: Floats
    chainline_error: Floats
    stub_left: Floats
    stub_right: Floats
    stub_short: Bools
    stub_long: Bools

    def __len__(self) -> int:
        return len(self.left)

    def taken(self, which: Ints | Bools) -> Plans:
        """Return some of the plans, in the order given."""
        return Plans(**{field.name: getattr(self, field.name)[which] for field in fields(self)})

    @property
    def evenness(self) -> Floats:
        """Slack side over tight side, 1 at best, 0 where a flange has no pull; by offsets where no wheel is known."""
        ratio = self.tension_ratio
        if np.isnan(ratio).all():
            with np.errstate(divide="ignore", invalid="ignore"):
                ratio = self.offset_right / self.offset_left
        return evenness(ratio)

    def best_first(self, *, rotor: bool = True) -> Plans:
        """Return the plans in the contract's order.

        Too short a stub last; then least width left over, smallest chainline error, most even ratio, where the hub has
        a `rotor` least rotor to calliper; what is still equal by the most equal split, then by the fewest spacers.
        """
        return self.taken(
            in_order(
                self.left,
                self.right,
                rotor=self.rotor_to_calliper * rotor,
                even=self.evenness,
                error=self.chainline_error,
                over=self.width_left_over,
                last=self.stub_short,
            )
        )


def evenness(ratio: Floats) -> Floats:
    """Slack side over tight side of tension ratios, 1 at best, 0 where a flange has no pull."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(ratio > 0, np.minimum(ratio, 1 / ratio), 0.0)


def in_order(
    left: Floats, right: Floats, *, even: Floats, error: Floats, over: Floats, last: Bools, rotor: Floats | float = 0.0
) -> Ints:
    """Places of plans on the last axis, best first, in the contract's order; those in `last` come last.

    Parameters
    ----------
    left, right : spacers [mm]
    even : slack side over tight side
    error, over, rotor : chainline error, nan where unknown, width left over, rotor to calliper [mm]
    """
    keys = (
        left,
        np.abs(left) + np.abs(right),
        np.abs(left - right),
        np.broadcast_to(np.abs(rotor), left.shape),
        -even,
        np.abs(np.nan_to_num(error)),
        np.abs(over),
        last.astype(np.float64),
    )
    return np.lexsort([np.round(key, 6) for key in keys])


def multiples(missing: float, loose: Mapping[str, Sequence[float]]) -> Floats:
    """Ways to come nearest to a width with spacers of any multiple of 0.5 mm.

    Parameters
    ----------
    missing : what left and right together are to make [mm]
    loose : spacers of each side that could come off [mm]

    Returns
    -------
    Left and right of each way, shape (n, 2) [mm].
    """
    base = _without_loose(loose)
    wanted = (missing - base.sum(axis=1)) / STEP
    whole = np.concatenate([np.floor(wanted + CLOSE), np.ceil(wanted - CLOSE)]).clip(min=0)
    base = np.concatenate([base, base])
    left = np.arange(whole.max() + 1)[np.newaxis, :]
    right = whole[:, np.newaxis] - left
    ways = base[:, np.newaxis, :] + STEP * np.stack(np.broadcast_arrays(left, right), axis=-1)
    ways = ways[right >= 0]
    off = np.abs(missing - ways.sum(axis=1))
    return _merged(ways[off <= off.min() + CLOSE])


def from_drawer(
    missing: float, slack: float, on_hand: Mapping[float, int], loose: Mapping[str, Sequence[float]]
) -> Floats:
    """Ways to make a width from the spacers on hand and those that can come off the axle.

    Parameters
    ----------
    missing : what left and right together are to make [mm]
    slack : over or short that still counts [mm]
    on_hand : thickness -> how many
    loose : spacers of each side that could come off; once off, one may go on the other side [mm]

    Returns
    -------
    Left and right of each way within the slack; where there is none, those that come nearest. Shape (n, 2) [mm].

    Raises
    ------
    InputError
        If there are more ways than anybody could use.
    """
    base = _without_loose(loose)
    ways = stacked(base, on_hand, missing + slack)
    off = np.abs(missing - ways.sum(axis=1))
    if off.min() > slack + CLOSE and on_hand:
        # Nothing fits: one spacer too many may come nearer than one too few.
        ways = stacked(base, on_hand, missing + max(on_hand))
        off = np.abs(missing - ways.sum(axis=1))
    return np.asarray(ways[off <= max(slack, off.min()) + CLOSE])


def stacked(base: Floats, on_hand: Mapping[float, int], most: float) -> Floats:
    """Return every way to add spacers, on either side, to one of some ways while both sides make no more than `most`."""
    ways = base
    for size, count in sorted(on_hand.items(), reverse=True):
        on_left, on_right = np.array([size, 0.0]), np.array([0.0, size])
        for _ in range(count):
            grown = np.concatenate([ways, ways + on_left, ways + on_right])
            known = np.arange(len(grown)) < len(ways)
            grown = _merged(grown[known | (grown.sum(axis=1) <= most + CLOSE)])
            if len(grown) > MOST_WAYS:
                text = f"found {len(on_hand)} sizes that go together in more than {MOST_WAYS} ways"
                raise InputError("spacers.on_hand", f"{text}; write only the ones that you would use")
            if len(grown) == len(ways):
                break
            ways = grown
    return ways


def _without_loose(loose: Mapping[str, Sequence[float]]) -> Floats:
    """Return what can be done with the loose spacers alone: each stays, comes off, or goes to the other side."""
    ways = np.zeros((1, 2))
    for own, side in enumerate(SIDES):
        for size in loose.get(side, ()):
            off, over = np.zeros(2), np.full(2, size)
            off[own] = over[own] = -size
            ways = _merged(np.concatenate([ways, ways + off, ways + over]))
            if len(ways) > MOST_OF_LOOSE:
                count = sum(map(len, loose.values()))
                text = f"found {count} spacers that go together in more than {MOST_OF_LOOSE} ways"
                raise InputError("hub.loose_spacers", f"{text}; name only the ones that you would move")
    return ways


def _merged(ways: Floats) -> Floats:
    """Return distinct ways only; two closer than any spacer is made are one."""
    whole = np.round(ways / SAME).astype(np.int64)
    _, first = np.unique(whole[:, 0] * 1_000_000 + whole[:, 1], return_index=True)
    return ways[first]


def judged(ways: Floats, seat: HubInFrame) -> Plans:
    """Work out what each plan does.

    Parameters
    ----------
    ways : left and right of each plan, shape (n, 2) [mm]
    seat : hub, frame, wheel and chain that they are for

    Notes
    -----
    With spacers L and R the hub's middle, half-way between the new locknut faces, lies (L - R)/2 left of the old one
    as seen from the flanges: the right flange gains that as offset and the left one loses it (D). The rim has to
    come back to the frame's middle by as much.
    """
    left, right = ways[:, 0], ways[:, 1]
    move = cog_shift(left, right)
    unknown = np.full(len(left), np.nan)
    offsets = seat.offsets or (np.nan, np.nan)
    ratio, longer_left, longer_right = (unknown, unknown, unknown) if seat.wheel is None else balances(seat.wheel, move)
    reach = np.nan if seat.protrusion is None else seat.protrusion
    stub_left, stub_right = reach - left - seat.axle_moved, reach - right + seat.axle_moved
    least, most = seat.stub or (-np.inf, np.inf)
    return Plans(
        left=left,
        right=right,
        width_left_over=seat.missing - left - right,
        offset_left=offsets[0] - move,
        offset_right=offsets[1] + move,
        tension_ratio=ratio,
        length_change_left=longer_left,
        length_change_right=longer_right,
        rim_shift=seat.wheel_offset - move,
        cog_shift=move,
        rotor_shift=-move,
        cog_to_hanger=right,
        rotor_to_calliper=left,
        chainline_error=unknown if seat.chainline_error is None else seat.chainline_error - move,
        stub_left=stub_left,
        stub_right=stub_right,
        stub_short=np.minimum(stub_left, stub_right) < least - CLOSE,
        stub_long=np.maximum(stub_left, stub_right) > most + CLOSE,
    )


def balances(wheel: Wheel, moves: Floats) -> tuple[Floats, Floats, Floats]:
    """Side balance and spoke lengths of a wheel whose hub is moved sideways under its rim.

    Parameters
    ----------
    wheel : with the hub where it is
    moves : of the hub, + right, shape (n,) [mm]

    Returns
    -------
    Tension left over right (nan where a flange has no sideways pull), and the mean change of length of the left and
    right spokes against a wheel whose rim is midway between the locknuts, + longer [mm]; each of shape (n,).

    Notes
    -----
    The sideways pulls of the sides are equal: T_left sum(w/L)_left = T_right sum(w/L)_right (statics, D). In the
    wheel's plane nothing moves, so a new length follows from the new sideways distance w alone (Pythagoras).
    """
    unique, back = np.unique(np.round(moves, 9), return_inverse=True)
    in_plane = wheel.spans**2 - wheel.offsets**2
    before = np.sqrt(in_plane + (wheel.offsets + wheel.sign * wheel.rim_shift) ** 2)
    offsets = wheel.offsets + wheel.sign * unique[:, np.newaxis]
    spans = np.sqrt(in_plane + offsets**2)
    right = wheel.lacing.is_right
    pull_left, pull_right = ((offsets / spans)[:, mask].sum(axis=1) for mask in (~right, right))
    both = (pull_left > 0) & (pull_right > 0)
    ratio = np.where(both, pull_right, np.nan) / np.where(both, pull_left, 1.0)
    longer = [(spans - before)[:, mask].mean(axis=1) for mask in (~right, right)]
    return ratio[back], longer[0][back], longer[1][back]
