"""The slips of the trade as hypotheses: how often people make each, of which size, and the one look that settles it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.build.dimension import TOOL_SIGMA, Dimension
from wheelcalc.build.whole import Build
from wheelcalc.measuring.assemble import end_beyond
from wheelcalc.measuring.statistics import log_scatter, mean_sigma
from wheelcalc.salvage.cases import EYE, GUESSED, Case, wheel_of
from wheelcalc.salvage.witness import Values, Witness
from wheelcalc.wheel.constants import INCH
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES, opposite

# Numbers here: how often each slip is made and how large it is are ours, from what mechanics tell of themselves, unless
# labelled; held against random wheels of another make (tests/benchmarks/slips.py).
# How often one of a wheel's two dozen readings slips, and below how often each slip against the others: ours. Who asks
# for a slip has a reason to; with this share right readings are doubted in less than 3 of 100 wheels.
ANY_SLIP = 0.55
BOTH = "both sides"
# C: what a slip of a kind usually amounts to [mm]: hole circle to the flange's edge, both sides together; a washer.
EDGE_MORE, EDGE_MORE_SIGMA, WASHER = 8.0, 2.2, 0.8
# C: from the outside of the elbow one reads a wire more, and some of the bend.
ELBOW_MORE, ELBOW_SIGMA = 0.4, 0.45
SCATTER_FREEDOM = 6.0  # ours: how surely the tool's error is that of one of several readings
# Nodes of a size that is only roughly known: standard deviations and their weights.
NODES = np.linspace(-2.0, 2.0, 9)
NODE_WEIGHTS = np.exp(-(NODES**2) / 2) / np.exp(-(NODES**2) / 2).sum()


def _misread() -> tuple[Floats, Floats]:
    """Sizes of a rule misread [mm] and their weights: whole mm, fives and tens before all others, one of each most."""
    size = np.concatenate([np.arange(1.0, 31.0), [40.0, 50.0, 100.0]])
    weight = 1 / (size + 2)
    weight[size % 5 == 0] *= 2
    weight[size % 10 == 0] *= 3
    weight[(size == 5) | (size == 10)] *= 4
    return np.concatenate([size, -size]), np.concatenate([weight, weight]) / (2 * weight.sum())


MISREAD, MISREAD_WEIGHTS = _misread()


@dataclass(frozen=True, eq=False)
class Slip:
    """One slip.

    Parameters
    ----------
    what, look : in words: the key's own word, the side, the kind; the one look that settles it
    name : of the reading that it is about
    weight : how often it is made, against the others
    versions : what the readings would be without it, name -> (k,)
    shares : how often each version, (k,), adding up to 1
    case : the wheel without it, where more than plain readings change
    bonus : log of what else speaks for it: the scale of a unit, readings that scatter less without the odd one
    """

    what: str
    look: str
    name: str
    weight: float
    versions: Values
    shares: Floats
    case: Case
    bonus: float = 0.0


def all_slips(witness: Witness, *, with_rim: bool = True) -> Iterator[Slip]:
    """Give every slip that could have been made on this wheel; the rim's are shared with others and given once."""
    if with_rim:
        yield from _rim(witness)
    yield from _hub(witness)
    yield from _lacing(witness)
    yield from _spokes(witness)
    yield from _ends(witness)
    yield from _one_reading(witness)


def _slip(
    witness: Witness,
    what: str,
    look: str,
    name: str,
    weight: float,
    versions: Mapping[str, Any],
    shares: Floats | None = None,
    **more: Any,
) -> Slip:
    full = {key: np.atleast_1d(np.asarray(value, dtype=float)) for key, value in versions.items()}
    count = max(len(value) for value in full.values())
    if shares is None:
        shares = np.full(count, 1 / count)
    return replace(Slip(what, look, name, weight, full, shares, witness.case), **more)


def _where(sides: Sequence[str]) -> str:
    return BOTH if len(sides) == 2 else sides[0]


EACH_AND_BOTH = (("left",), ("right",), SIDES)


def _misread_by(witness: Witness, word: str, names: Sequence[str], where: str, weight: float, look: str) -> Slip:
    versions = {name: witness.values[name] - MISREAD for name in names}
    what = f"{word}{where}: offset by a whole number of mm"
    return _slip(witness, what, look, names[0], weight, versions, MISREAD_WEIGHTS)


# The rim


def _rim(witness: Witness) -> Iterator[Slip]:
    build, erd = witness.case.build, witness.values["erd"]
    if build["rim.erd"].origin == GUESSED:
        return
    now, look = (
        build.rim.erd_to or "spoke end",
        "Put two old spokes with nipples into opposite holes and measure rim.erd across their ends again.",
    )
    depths = {to: end_beyond(to, build) for to in ("spoke end", "nipple top", "nipple seat")}
    # The build file asks what erd was read to, so that this is no commoner than other slips.
    for to, weight in (("nipple seat", 1.05), ("spoke end", 1.05), ("nipple top", 0.2)):
        if to != now:
            word = f"erd: {'seat' if 'nipple seat' in (to, now) else 'end'}: read to the {to}, not to the {now}"
            yield _slip(
                witness,
                word,
                f"See where rim.erd was read to: {now} or {to}. {look}",
                "erd",
                weight,
                {"erd": erd + 2 * (depths[to] - depths[now])},
            )
    yield _slip(witness, "erd: radius for diameter", look, "erd", 0.6, {"erd": 2 * erd}, bonus=np.log(2))
    yield _slip(witness, "erd: inches for mm", look, "erd", 0.4, {"erd": INCH * erd}, bonus=np.log(INCH))
    yield _misread_by(witness, "erd", ["erd"], "", 3.0, look)
    washer = build.nipple.washer
    what = "washer: there is none under the nipples" if washer else "washer: forgotten under the nipples"
    yield _slip(
        witness,
        what,
        "Look under one nipple's head for a washer.",
        "erd",
        0.3,
        {"erd": erd + 2 * (-washer if washer else WASHER)},
    )
    if witness.values["hole_offset"]:
        yield _slip(
            witness,
            "hole_offset: sides swapped, the rim stands the other way round",
            "Look which way the rim's spoke holes lie off the middle.",
            "hole_offset",
            1.0,
            {"hole_offset": -witness.values["hole_offset"]},
        )


# The hub


def _hub(witness: Witness) -> Iterator[Slip]:
    values = witness.values
    for sides in EACH_AND_BOTH:
        both = len(sides) == 2
        where, at = f", {_where(sides)}", "both flanges" if both else f"the {sides[0]} flange"
        pcd = {f"pcd.{s}": values[f"pcd.{s}"] for s in sides}
        look = f"Measure pcd of {at} again, hole centre to opposite hole centre."
        yield _pcd_edge(witness, sides, where, look)
        yield _slip(
            witness,
            f"pcd{where}: radius for diameter",
            look,
            f"pcd.{sides[0]}",
            0.6 if both else 0.3,
            {n: 2 * v for n, v in pcd.items()},
            bonus=len(pcd) * np.log(2),
        )
        yield _slip(
            witness,
            f"pcd{where}: inches for mm",
            look,
            f"pcd.{sides[0]}",
            0.4 if both else 0.2,
            {n: INCH * v for n, v in pcd.items()},
            bonus=len(pcd) * np.log(INCH),
        )
        yield from _place(witness, sides, where, at)
        if not both:
            yield _misread_by(witness, "pcd", list(pcd), where, 0.35, look)
    if "over" in values:
        look = "Measure hub.over_locknut again, outer face to outer face."
        yield _misread_by(witness, "over_locknut", ["over"], "", 1.0, look)
        yield _slip(
            witness,
            "over_locknut: inches for mm",
            look,
            "over",
            0.2,
            {"over": INCH * values["over"]},
            bonus=np.log(INCH),
        )
    yield from _hub_swapped(witness)


def _hub_swapped(witness: Witness) -> Iterator[Slip]:
    """All of the hub with its sides swapped, counts of holes too; where such a hub could be laced at all."""
    build = witness.case.build
    if witness.raw["left"] != witness.raw["right"]:
        return
    parts = {key: entry for key, entry in build.items() if not key.startswith(("hub.left.", "hub.right."))}
    for side in SIDES:
        parts |= build.under(f"hub.{opposite(side)}", f"hub.{side}")
    case = replace(
        witness.case,
        build=Build(parts),
        given={side: witness.case.given[opposite(side)] for side in SIDES},  # the flange's angle sets the tension
    )
    try:
        values = Witness(case).values
        wheel_of(case.build)
    except InputError:
        return
    look = "Hold the hub as it sits in the bike, cogs on the right, and read one flange's distance from its locknut."
    moved = {f"{name}.{side}": values[f"{name}.{side}"] for name in ("pcd", "place") for side in SIDES}
    yield _slip(witness, "hub: sides swapped", look, "place.left", 1.5, moved, case=case)


def _pcd_edge(witness: Witness, sides: Sequence[str], where: str, look: str) -> Slip:
    """Over the flange's edge, or over the holes' near or far edges for their centres."""
    build = witness.case.build
    holes = {side: build.hub.flange(side).hole_diameter for side in sides}
    versions, shares = {}, np.concatenate([0.7 * NODE_WEIGHTS, [0.2, 0.1]])
    for side in sides:
        less = np.concatenate([EDGE_MORE + EDGE_MORE_SIGMA * NODES, [holes[side], -holes[side]]])
        edge = build.hub.flange(side).outside_diameter
        if edge is not None:  # then the edge is where it was read
            away = np.exp(-(((witness.values[f"pcd.{side}"] - edge) / 1.0) ** 2) / 2)
            shares = np.concatenate([shares[:-2] * max(float(away), 1e-6) * 3, shares[-2:]])
        versions[f"pcd.{side}"] = witness.values[f"pcd.{side}"] - less
    weight = 2.5 if len(sides) == 2 else 1.5
    return _slip(witness, f"pcd{where}: edge for hole", look, f"pcd.{sides[0]}", weight, versions, shares)


def _place(witness: Witness, sides: Sequence[str], where: str, at: str) -> Iterator[Slip]:
    values, both = witness.values, len(sides) == 2
    if len({witness.raw[side] for side in sides}) > 1:
        return
    word = "locknut_to_flange" if witness.raw[sides[0]] else "offset"
    names = [f"place.{side}" for side in sides]
    look = f"Measure from the outer locknut face to the middle of {at} again (locknut_to_flange)."
    inches = {name: INCH * values[name] for name in names}
    yield _slip(
        witness,
        f"{word}{where}: inches for mm",
        look,
        names[0],
        1.0 if both else 0.4,
        inches,
        bonus=len(names) * np.log(INCH),
    )
    if "over" in values:
        centre = {name: values["over"] / 2 - values[name] for name in names}
        what = (
            "read from the centre, not from the locknut"
            if witness.raw[sides[0]]
            else "read from the locknut for the centre"
        )
        yield _slip(witness, f"{word}{where}: {what}", look, names[0], 1.2 if both else 0.15, centre)
    if not both:
        yield _misread_by(witness, word, names, where, 2.0, look)


# The lacing


def _lacing(witness: Witness) -> Iterator[Slip]:
    values, build = witness.values, witness.case.build
    look = "Count the spokes of its own flange that one spoke crosses, the one at the flange included{}."
    for sides in EACH_AND_BOTH if f"lacing.crosses.{SIDES[0]}" in build else ():
        both = len(sides) == 2
        versions, shares = {}, np.array([0.7, 0.3])  # the one at the flange is easily not counted
        for side in sides:
            versions[f"crosses.{side}"] = np.maximum(values[f"crosses.{side}"] + np.array([1.0, -1.0]), 0)
        of = "" if both else f" ({sides[0]} side)"
        yield _slip(
            witness,
            f"crosses, {_where(sides)}: miscounted by one",
            look.format(of),
            f"crosses.{sides[0]}",
            _miscounted(witness, sides),
            versions,
            shares,
        )
    for side in SIDES:
        half = 180 / build.hub.flange(side).holes
        look_at = f"Look at the {side} spokes: do those that lean forward end deeper in their nipples than those that lean back?"
        yield _slip(
            witness,
            f"{side} spokes laced one rim hole out of step",
            look_at,
            f"turned.{side}",
            0.3,
            {f"turned.{side}": half},
        )
    yield from _pairs(witness)
    quarter = {side: 90 / build.hub.flange(side).holes for side in SIDES}
    first = build.rim.first_hole
    now = build.hub.phase
    toward = 1 if now == "staggered" else -1
    turned = {f"turned.{s}": toward * (1 if s == first else -1) * quarter[s] for s in SIDES}
    other = "aligned" if now == "staggered" else "staggered"
    look = "Push a spoke straight through a hole of one flange: does it meet a hole of the other (aligned) or the web between?"
    yield _slip(witness, f"phase: the hub's holes are {other}, not {now}", look, "turned.left", 0.4, turned)


def _miscounted(witness: Witness, sides: Sequence[str]) -> float:
    """How often crosses are miscounted: on both sides alike, but a radial side is plain at sight, so on the other alone."""
    both, radial = len(sides) == 2, {s for s in SIDES if float(witness.values[f"crosses.{s}"]) == 0}
    if witness.as_ordered:
        return 1.0 if both else 1.5
    if len(radial) == 1:
        return 0.1 if radial & set(sides) else 2.0
    return 2.0 if both else 0.4


def _pairs(witness: Witness) -> Iterator[Slip]:
    """Two to one: the spokes of the fuller flange start the other way round, so that neighbours at the rim cross."""
    build = witness.case.build
    for side in SIDES:
        more = witness.led_by_pairs(side)
        if build.lacing.pattern == "two to one" and abs(more) > 0.1:
            cross = more > 0
            now, other = ("run apart", "cross") if cross else ("cross", "run apart")
            look = f"Look at two {side} spokes in neighbouring rim holes: do they run apart from the rim on, or cross?"
            yield _slip(
                witness,
                f"pair_spokes, {side}: they {other}, not {now}",
                look,
                f"led.{side}",
                0.1 if "old_wheel.pair_spokes" in build else 2.0,
                {f"led.{side}": -2 * more},
            )


# The spokes and their ends


def _spokes(witness: Witness) -> Iterator[Slip]:
    values, build = witness.values, witness.case.build
    for sides in EACH_AND_BOTH:
        both, where = len(sides) == 2, f", {_where(sides)}"
        look = f"Measure a {'spoke of each side' if both else f'{sides[0]} spoke'} again, from the inside of its elbow to its end."
        names = [f"length.{side}" for side in sides]
        outside = {}
        for side in sides:
            wire = build.spokes.wire[side][0]
            outside[f"length.{side}"] = values[f"length.{side}"] - wire - ELBOW_MORE - ELBOW_SIGMA * NODES
        yield _slip(
            witness,
            f"lengths{where}: outside of elbow, not inside",
            look,
            names[0],
            (2.5 if both else 0.15) * (0.1 if witness.as_ordered else 1.0),
            outside,
            NODE_WEIGHTS,
        )
        yield _misread_by(
            witness, "lengths", names, where, (0.3 if both else 2.0) * (0.5 if witness.as_ordered else 1.0), look
        )
    if abs(float(values["length.left"] - values["length.right"])) > 0.25:
        swapped = {f"length.{side}": values[f"length.{opposite(side)}"] for side in SIDES}
        yield _slip(witness, "lengths: sides swapped", "Measure one spoke of each side.", "length.left", 1.2, swapped)


def _ends(witness: Witness) -> Iterator[Slip]:
    values = witness.values
    for sides in EACH_AND_BOTH:
        if any(abs(float(values[f"end.{side}"])) > 0.2 for side in sides):
            versions = {f"end.{side}": -values[f"end.{side}"] for side in sides}
            look = "Look into a nipple: + is beyond the bottom of the slot, - short of it."
            weight = 2.0 if len(sides) == 2 else 0.3
            yield _slip(witness, f"end_position, {_where(sides)}: sign", look, f"end.{sides[0]}", weight, versions)
    if (
        all(float(values[f"end.{side}"]) for side in SIDES)
        and float(abs(values["end.left"] - values["end.right"])) > 0.25
    ):
        swapped = {f"end.{side}": values[f"end.{opposite(side)}"] for side in SIDES}
        yield _slip(
            witness, "end_position: sides swapped", "Look into one nipple of each side.", "end.left", 0.5, swapped
        )


# One reading of a list


def _one_reading(witness: Witness) -> Iterator[Slip]:
    case, build = witness.case, witness.case.build
    tool = TOOL_SIGMA[build.measuring.tool]
    for side in SIDES:
        for word, name, values, error in (
            ("lengths", "length", case.lists.get(side, ()), tool),
            ("end_position", "end", case.ends[side], EYE),
        ):
            for rest, bonus, odd in _without_one(values, error):
                yield _slip(
                    witness,
                    f"{word}, {side}: one reading of the list",
                    f"Read the {side} {word} again, above all the one of {odd:g} mm.",
                    f"{name}.{side}",
                    1.2 if name == "length" else 0.3,
                    {f"{name}.{side}": np.array([sum(rest) / len(rest)])},
                    case=_with_list(case, side, name, rest, error),
                    bonus=bonus,
                )
    for key, name in _listed(witness):
        entry = build[key]
        for rest, bonus, odd in _without_one(entry.repeats, tool):
            mean = sum(rest) / len(rest)
            sigma = mean_sigma(rest, tool) if len(rest) > 1 else tool
            *_, place, word = key.split(".")
            what = f"{word}, {place}" if place in SIDES else word
            moved = replace(case, build=type(build)({**build, key: Dimension(mean, sigma, entry.origin, tuple(rest))}))
            shift = mean - float(entry.value)
            yield _slip(
                witness,
                f"{what}: one reading of the list",
                f"Read {key} again, above all the one of {odd:g} mm.",
                name,
                0.5,
                {name: np.array([float(witness.values[name]) + shift])},
                case=moved,
                bonus=bonus,
            )


def _listed(witness: Witness) -> Iterator[tuple[str, str]]:
    build = witness.case.build
    some = ((key, name) for name, key in witness.keys.items() if name != "hole_offset")
    yield from ((key, name) for key, name in some if key in build and len(build[key].repeats) > 1)


def _without_one(values: Sequence[float], tool: float) -> Iterator[tuple[list[float], float, float]]:
    """Each reading taken for the odd one: the rest, the log of what speaks for it, and the odd one."""
    if len(values) < 2:
        return
    together = log_scatter(values, tool, SCATTER_FREEDOM)
    for index, odd in enumerate(values):
        rest = [value for place, value in enumerate(values) if place != index]
        off = abs(odd - sum(rest) / len(rest))
        if off > 3 * tool:
            density = _odd_density(off, tool)
            yield rest, log_scatter(rest, tool, SCATTER_FREEDOM) + np.log(density) - together - np.log(len(values)), odd


def _odd_density(off: float, tool: float) -> float:
    """How densely the sizes of a misread rule lie at one size [1/mm], blurred by the tool."""
    blur = max(tool, 0.3)
    return (
        float((MISREAD_WEIGHTS * np.exp(-(((off - MISREAD) / blur) ** 2) / 2)).sum() / (blur * np.sqrt(2 * np.pi)))
        + 1e-4
    )


def _with_list(case: Case, side: str, name: str, rest: Sequence[float], tool: float) -> Case:
    if name == "end":
        return replace(case, ends={**case.ends, side: tuple(rest)})
    sigma = mean_sigma(rest, tool) if len(rest) > 1 else tool
    one = Dimension(sum(rest) / len(rest), sigma)
    return replace(case, lengths={**case.lengths, side: one}, lists={**case.lists, side: tuple(rest)})
