"""The words of `lace`: how to number, the order to lace in, and what the valve region must look like after each step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Bools, Ints
from wheelcalc.wheel import facts
from wheelcalc.wheel.joining import DIRECTION, LETTER, Lacing, hole_one_deg, wrapped
from wheelcalc.wheel.parts import opposite
from wheelcalc.wheel.steps import Group, even_step, filled_before, groups
from wheelcalc.wheel.wheel import Wheel, span


@dataclass(frozen=True)
class LacingStep:
    """One group of spokes.

    Parameters
    ----------
    title : flange, direction, heads, count
    text : what to do
    rim_holes : that it fills
    checkpoint : what it must look like then, and what a mistake looks like
    """

    title: str
    text: str
    rim_holes: list[int]
    checkpoint: str


def numbering(lacing: Lacing, straight: Sequence[str] = ()) -> list[str]:
    """How to number rim and flanges, a sentence or two each; `straight`: the flanges with seats for straight heads."""
    return [
        "Look at the wheel from its right side, the rider's right. Forward, as the wheel rolls, is clockwise from there, and "
        "anticlockwise seen from the left. Count everything forward.",
        f"Rim: hole 1 is the first hole forward of the valve hole; it serves the {lacing.first_hole} flange. Count to "
        f"{lacing.rim_holes}; the last one is just behind the valve hole. {_leans(lacing.first_hole)}",
        f"Hub: {_hub_starts(lacing)} Count the right flange clockwise seen from the right, the left flange anticlockwise seen from the "
        "left.",
        *([_seats(lacing, straight)] if straight else []),
        _label(lacing),
    ]


def _leans(first: str) -> str:
    """How to see whether hole 1 serves the flange that the build file says, and what to write if not."""
    other = opposite(first)
    return (
        "Look at the rim from the tyre's side: where its holes lie in turn to the right and to the left of their middle line, "
        f'hole 1 must lie to the {first}. If it lies to the {other}, write first_hole = "{other}" below [rim] and run `lace` again.'
    )


def _seats(lacing: Lacing, straight: Sequence[str]) -> str:
    """Seats of straight heads point one way, so hole 1 is not just any."""
    points = {1: "backward, for a trailing spoke", -1: "forward, for a leading spoke", 0: "straight outward"}
    said = []
    for side in straight:
        used = np.flatnonzero(lacing.on(side))
        lowest = used[int(lacing.hub_hole[used].argmin())]
        said.append(f"{lacing.hub_labels[int(lowest)]} must be a seat that points {points[int(lacing.lean[lowest])]}")
    return (
        f"Seats: {', and '.join(said)}. If one cannot be had together with the other, this hub wants another number of crosses, or "
        "hub.phase is the other one."
    )


def _hub_starts(lacing: Lacing) -> str:
    """Where hole 1 of each flange lies; the first is any hole only if the other flange looks the same from all of them."""
    first, second = lacing.first_hole, opposite(lacing.first_hole)
    one = LETTER[first]
    ahead = float((hole_one_deg(lacing, second) - hole_one_deg(lacing, first)) % 360) / (360 / lacing.holes_of(first))
    hole = int(ahead + 1e-6)
    part = ahead - hole
    from_it = "it" if hole == 0 else f"{one}{hole + 1}"
    if part < 1e-6:
        start, place = f"{second} hole straight across from {from_it}", f"straight across from {from_it}"
    else:
        way = "half way" if abs(part - 0.5) < 1e-6 else f"{100 * part:.0f} % of the way"
        start, place = f"next {second} hole forward of {from_it}", f"{way} from {from_it} to {one}{hole + 2}"
    chosen = f"any {first} hole"
    if lacing.holes_of(second) % lacing.holes_of(first):
        chosen = f"a {first} hole, but not just any: a {second} hole must stand {place}"
    return f"{one}1 is {chosen}; mark it with a dot of paint. {LETTER[second]}1 is the {start}; mark it too."


def _label(lacing: Lacing) -> str:
    """Where the valve will stand over the hub, so that its label can be read there."""
    side = lacing.first_hole
    holes = lacing.holes_of(side)
    behind = float(wrapped(np.asarray(hole_one_deg(lacing, side)))) / (360 / holes)
    before = int(np.floor(-behind + 1e-6))
    names = [f"{LETTER[side]}{(before + step) % holes + 1}" for step in (0, 1)]
    return (
        f"Labels: in the finished wheel the valve hole stands over the hub between {names[0]} and {names[1]}. If the hub shell has a "
        "label, put the dot so that the label lies there and is read through the spokes from the valve; turn the rim so that its own label "
        "is read from the right."
    )


def steps(wheel: Wheel, interlaced: Mapping[str, bool]) -> list[LacingStep]:
    """The groups in words; `interlaced` says for each side whether its spokes are woven."""
    in_order = groups(wheel.lacing)
    out = []
    for number, group in enumerate(in_order):
        before = filled_before(in_order, number, len(wheel.lacing))
        turned = any(each.turn_hub for each in in_order[: number + 1]) or not wheel.lacing.lean.any()
        out.append(
            LacingStep(
                title=_title(wheel, group),
                text=" ".join(_text(wheel, group, before, interlaced[group.side])),
                rim_holes=wheel.lacing.rim_hole[group.spokes].tolist(),
                checkpoint=" ".join(_checkpoint(wheel, group, before, turned)),
            )
        )
    return out


def _straight(wheel: Wheel, side: str) -> bool:
    return wheel.hub.flange(side).spoke_head == "straight"


def _title(wheel: Wheel, group: Group) -> str:
    heads = "" if _straight(wheel, group.side) else f", heads {'in' if group.head_in else 'out'}"
    count = len(group.spokes)
    return f"{group.side.capitalize()} flange, {DIRECTION[group.lean]}{heads}: {count} spoke{'s' if count > 1 else ''}"


def _text(wheel: Wheel, group: Group, before: Bools, interlaced: bool) -> list[str]:
    out = []
    if group.turn_hub:
        out.append(_turn(wheel.lacing, group.turn_hub, before))
    out += [_how(wheel, group), _which(wheel.lacing, group)]
    if before.any():
        out += _crossing(wheel, group, before, interlaced)
    else:
        out.append("Screw each nipple on two or three turns only, here and in all steps.")
    return out


def _turn(lacing: Lacing, way: int, before: Bools) -> str:
    place = int(np.flatnonzero(before)[0])
    word, seen = ("forward", "clockwise") if way > 0 else ("backward", "anticlockwise")
    return (
        f"Hold the rim and turn the hub {word} ({seen} seen from the right) as far as it goes, so that the spokes in place slant: "
        f"{lacing.hub_labels[place]} ends up well {'ahead of' if way > 0 else 'behind'} rim hole {lacing.rim_hole[place]}."
    )


def _how(wheel: Wheel, group: Group) -> str:
    if _straight(wheel, group.side):
        return "Lay each spoke in its seat."
    if group.head_in:
        return (
            "Push each spoke through the flange from inside, from between the flanges, so that its head stays on the inner face and "
            "the spoke runs outside."
        )
    return "Push each spoke through the flange from outside, so that its head stays on the outer face and the spoke runs inside."


def _which(lacing: Lacing, group: Group) -> str:
    pairs = [f"{lacing.rim_hole[place]}-{lacing.hub_labels[place]}" for place in group.spokes]
    first = group.spokes[0]
    begin = f"First {lacing.hub_labels[first]} to rim hole {lacing.rim_hole[first]}"
    rim = even_step(lacing.rim_hole[group.spokes], lacing.rim_holes)
    hub = even_step(lacing.hub_hole[group.spokes], lacing.holes_of(group.side))
    then = ""
    if rim and hub:
        then = f", then {_every(rim)} rim hole and {_every(hub)} {group.side} hub hole, both forward"
    elif rim or hub:
        then = (
            f", then {_every(rim)} rim hole forward"
            if rim
            else f", then {_every(hub or 1)} {group.side} hub hole forward"
        )
        then += f" and {'hub' if rim else 'rim'} holes by this list, for they are not all alike apart"
    elif len(pairs) > 1:
        then = ", then by this list, for the holes are not all alike apart"
    return f"{begin}{then}: {', '.join(pairs)}."


def _every(step: int) -> str:
    words = {1: "the next", 2: "every second", 3: "every third", 4: "every fourth", 5: "every fifth", 6: "every sixth"}
    return words.get(step, f"every {step}th")


def _crossing(wheel: Wheel, group: Group, before: Bools, interlaced: bool) -> list[str]:
    """How the spokes of a group pass those of their own flange that are in already."""
    low, high = _crossed_range(wheel, group, before)
    if high == 0:
        return []
    outside = group.head_in or _straight(wheel, group.side)
    one, other = ("outside", "inside") if outside else ("inside", "outside")
    many = f"{low}" if low == high else f"{low} to {high}"
    passes = f"Each passes {many} spoke{'s' if high > 1 else ''} of its own flange"
    if interlaced and low > 1:
        return [f"{passes}: {one} of all but the last, then tuck it {other} of the last, the one nearest the rim."]
    return [f"{passes}, {one} of {'them all' if high > 1 else 'it'}."]


def _crossed_range(wheel: Wheel, group: Group, before: Bools) -> tuple[int, int]:
    crossings = facts.crossings(wheel)
    counts = []
    for spoke in group.spokes.tolist():
        mine = crossings.of(spoke)
        others = np.where(crossings.one[mine] == spoke, crossings.other[mine], crossings.one[mine])
        counts.append(int(before[others].sum()))
    return min(counts), max(counts)


def _checkpoint(wheel: Wheel, group: Group, before: Bools, turned: bool) -> list[str]:
    now = before.copy()
    now[group.spokes] = True
    out = [_valve_region(wheel.lacing, now, turned)]
    if not before.any():
        out += _spacing(wheel.lacing, group)
    elif _crossed_range(wheel, group, before)[1]:
        out += _count(wheel, group, before)
    elif group.lean:
        out += _beside(wheel, group, before)
    else:
        out += _straight_in(wheel, group)
    if now.all():
        out += _finished(wheel)
    return out


def _valve_region(lacing: Lacing, now: Bools, turned: bool) -> str:
    last = lacing.rim_holes
    behind = [_hole(lacing, hole, now, turned) for hole in (last - 1, last)]
    ahead = [_hole(lacing, hole, now, turned) for hole in (1, 2)]
    return f"At the valve: {', '.join(behind)}, VALVE, {', '.join(ahead)}."


def _hole(lacing: Lacing, hole: int, now: Bools, turned: bool) -> str:
    place = np.flatnonzero(lacing.rim_hole == hole)
    if not len(place) or not now[place[0]]:
        return f"{hole} {'stays empty' if not len(place) else 'empty'}"
    angle = float(lacing.angle_deg[place[0]])
    slant = (
        ""
        if not turned or abs(angle) < 180 / lacing.rim_holes
        else (" (hub end ahead)" if angle > 0 else " (hub end behind)")
    )
    return f"{hole} {lacing.hub_labels[int(place[0])]}{slant}"


def _spacing(lacing: Lacing, group: Group) -> list[str]:
    """How many holes stay free between neighbours, and where more do."""
    if len(group.spokes) < 2:
        return []
    rim, hub = lacing.rim_hole[group.spokes], lacing.hub_hole[group.spokes]
    names = ([str(hole) for hole in rim], [f"{LETTER[group.side]}{hole}" for hole in hub])
    free = [
        _free(each, of, word, name)
        for each, of, word, name in zip(
            (rim, hub),
            (lacing.rim_holes, lacing.holes_of(group.side)),
            ("rim", f"{group.side} hub"),
            names,
            strict=True,
        )
    ]
    return [
        f"Between neighbours {free[0]} and {free[1]} stay free, all round; one more or fewer: a hole was miscounted there."
    ]


def _free(holes: Ints, of: int, word: str, names: list[str]) -> str:
    steps = np.diff(holes, append=holes[0]) % of - 1
    usual = int(np.bincount(steps).argmax())
    text = f"{usual} {word} hole{'' if usual == 1 else 's'}"
    other = [f"{steps[i]} between {names[i]} and {names[(i + 1) % len(names)]}" for i in np.flatnonzero(steps != usual)]
    return f"{text} ({', '.join(other)})" if other else text


def _straight_in(wheel: Wheel, group: Group) -> list[str]:
    """A radial spoke points at the axle."""
    lacing = wheel.lacing
    place = int(group.spokes[0])
    off = "straight below it" if abs(lacing.angle_deg[place]) < 1 else "the nearest to being straight below it"
    return [
        f"Each points at the axle: {lacing.hub_labels[place]} stands under rim hole {lacing.rim_hole[place]}, {off}. If all slant, "
        "turn the hub; if they still do, the group is a hub hole out."
    ]


def _beside(wheel: Wheel, group: Group, before: Bools) -> list[str]:
    """How a spoke of the group lies beside the nearest one already in, and how it would lie one hub hole out."""
    lacing = wheel.lacing
    mine, other = _neighbours(lacing, group, before)
    names = [f"rim hole {lacing.rim_hole[place]}" for place in (mine, other)]
    now, back, on = (_cross(wheel, mine, other, shift) for shift in (0, -1, 1))
    seen = "cross" if now else "run side by side and do not cross"
    out = [f"Seen from the right the spokes in {names[0]} and {names[1]} {seen}."]
    wrong = [word for word, cross in (("too far back", back), ("too far forward", on)) if cross != now]
    if wrong:
        out.append(f"If they {'do not' if now else 'do'}, this group is one hub hole {' or '.join(wrong)}.")
    if len(wrong) == 1:
        other_way = "too far forward" if wrong == ["too far back"] else "too far back"
        out.append(f"If they stand wide apart at the hub, by more than one hub hole, it is one hole {other_way}.")
    return out


def _neighbours(lacing: Lacing, group: Group, before: Bools) -> tuple[int, int]:
    """The group's spoke and the one already in that sit nearest at the rim, near the valve where several do."""
    others = np.flatnonzero(before)
    apart = np.abs(wrapped(lacing.rim_angle_deg[group.spokes][:, None] - lacing.rim_angle_deg[others][None]))
    i, j = np.unravel_index(int(apart.round(6).argmin()), apart.shape)
    return int(group.spokes[i]), int(others[j])


def _cross(wheel: Wheel, one: int, other: int, shift: int) -> bool:
    """Whether two spokes cross seen along the axle, the first one's hub end moved by some holes of its flange."""
    lacing = wheel.lacing
    pitch = 360 / lacing.holes_of(lacing.sides[one])
    at_rim = float(wrapped(lacing.rim_angle_deg[one] - lacing.rim_angle_deg[other]))
    at_hub = at_rim + float(lacing.angle_deg[one] - lacing.angle_deg[other]) + shift * pitch
    return at_rim * at_hub < -1e-9


def _count(wheel: Wheel, group: Group, before: Bools) -> list[str]:
    low, high = _crossed_range(wheel, group, before)
    many = f"{low}" if low == high else f"{low} to {high}"
    out = [f"Count along any of these spokes: it passes {many} of its own flange, the one at the flange included."]
    if low == high and group.lean:
        change = _one_cross(wheel, group)
        fewer = f"{low - 1} or " if low > 1 else ""
        out.append(
            f"{fewer}{low + 1} instead: the whole group sits in the wrong hub holes, the next free ones forward or back, and nipples start "
            f"about {change:.0f} mm early or late."
        )
    return out


def _one_cross(wheel: Wheel, group: Group) -> float:
    """Difference in length that one cross more makes [mm]."""
    place = group.spokes[:1]
    lacing = wheel.lacing
    pitch = 360 / int(lacing.on(group.side).sum())
    angle = np.radians(np.abs(lacing.angle_deg[place]) + np.array([0.0, pitch]))
    hub = wheel.hub.flange(group.side).pcd / 2
    lengths = span(np.asarray(wheel.rim.erd / 2), np.asarray(hub), angle, wheel.offsets[place])
    return float(lengths[1] - lengths[0])


def _finished(wheel: Wheel) -> list[str]:
    opening = facts.valve_opening(wheel)
    narrowest = min(facts.valve_opening(wheel, turn_rim_holes=turn) for turn in range(wheel.rim.holes))
    out = [
        f"All spokes are in. The two beside the valve leave {opening:.0f} mm free, {facts.VALVE_DEPTH:.0f} mm below the rim."
    ]
    if wheel.lacing.lean.any() and narrowest < opening - 2:
        out.append(
            f"If they lean together there (down to {narrowest:.0f} mm), all of it sits some rim holes out: the pump will not fit well."
        )
    return out
