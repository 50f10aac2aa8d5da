"""Raw readings, as taken with a rule and two old spokes, become dimensions with their uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from wheelcalc.measuring.dimensions import Dimension, Dimensions
from wheelcalc.measuring.statistics import Mean, in_words, weighted_mean
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES, opposite

READ = "readings."
# What is taken for a part's own dimension that nobody measured, and its standard uncertainty [mm]. C: slots of brass
# nipples about 1 deep; M: flange holes for 2.0 mm wire run from 2.3 to 2.6; C: cogs of 6 to 9 are 1.75 to 2.0 thick.
TYPICAL = {"slot_depth": (1.0, 0.25), "hole_diameter": (2.5, 0.1), "cog_thickness": (1.8, 0.1)}


@dataclass(frozen=True)
class Method:
    """One way to come by a dimension.

    Parameters
    ----------
    key : the dimension
    inputs : readings and dimensions that go into it
    formula : from their values, in that order, to the dimension [mm]
    words : how it was found, for "from"
    unless : readings that make it needless
    """

    key: str
    inputs: tuple[str, ...]
    formula: Callable[..., float]
    words: str
    unless: tuple[str, ...] = ()


@dataclass(frozen=True)
class Estimate:
    """What one method gives: value and standard uncertainty [mm], and how it was found."""

    value: float
    sigma: float
    words: str
    inputs: tuple[str, ...] = ()

    @property
    def within(self) -> float:
        """What it is sure to, 19 times in 20 [mm]."""
        return NINETEEN_IN_TWENTY * self.sigma


@dataclass(frozen=True)
class Measured:
    """A dimension from readings.

    Parameters
    ----------
    key : the build file's
    mean : over the methods
    estimates : one for each method
    """

    key: str
    mean: Mean
    estimates: tuple[Estimate, ...] = field(default=())

    @property
    def words(self) -> str:
        """How it was found."""
        return "; ".join(estimate.words for estimate in self.estimates)

    @property
    def agreement(self) -> str:
        """Whether the methods agree, in words."""
        return in_words(self.mean)


def two_spokes(length: float, gap: float) -> float:
    """Effective rim diameter from two spokes in opposite holes and the gap between their elbows [mm]."""
    if 2 * length + gap <= length:
        text = f"found {gap:g} mm; spokes of {length:g} mm cannot overlap by a whole spoke: the gap is negative only by as much as the"
        raise InputError(f"{READ}rim.two_spokes.gap", f"{text} elbows pass each other")
    return 2 * length + gap


def over_nipple_tops(circumference: float, head_depth: float, slot_depth: float) -> float:
    """Effective rim diameter from the outside circumference and the depth to the nipple's head and slot [mm]."""
    return circumference / math.pi - 2 * head_depth - 2 * slot_depth


def over_seats(inside: float, wall: float, seat_to_end: float) -> float:
    """Effective rim diameter from the inside diameter, the wall, and nipple seat to spoke end [mm]."""
    return inside + 2 * wall + 2 * seat_to_end


def chord(over: float, length: float, holes: float) -> float:
    """Pitch circle diameter from the distance of two hole centres so many holes apart: c = d sin(pi k / n) (D)."""
    if not 0 < over < holes:
        raise InputError("over", f"found {over:g}; on a flange of {holes:g} holes it is 1 to {holes - 1:g}")
    return length / math.sin(math.pi * over / holes)


def known_spoke(length: float, sticks_out: float, erd: float, offset: float, crosses: float, holes: float) -> float:
    """Pitch circle diameter of the seats of straight heads, from one spoke that was pushed through and laid to its rim hole.

    Notes
    -----
    Law of cosines in the wheel's plane, solved for the hub radius: with S^2 = (length - sticks_out)^2 - offset^2,
    r = R cos a - sqrt(S^2 - R^2 sin^2 a), a = 2 pi k / n (D). The smaller root: the seat lies on the near side of the
    rim's foot point.
    """
    radius, angle = erd / 2, 2 * math.pi * crosses / holes
    under_root = (length - sticks_out) ** 2 - offset**2 - (radius * math.sin(angle)) ** 2
    pcd = 2 * (radius * math.cos(angle) - math.sqrt(under_root)) if under_root >= 0 else -1.0
    if pcd <= 0:
        text = f"found {length:g} mm with {sticks_out:g} mm beyond the intended end; no seat at this rim and {crosses:g} crosses gives that"
        raise InputError("known_spoke", f"{text}: check the crosses, and that rim.erd is to the spoke end")
    return pcd


def _hub_methods(side: str) -> Iterator[Method]:
    hub, raw = f"hub.{side}.", f"{READ}hub.{side}."
    near, far, hole = f"{raw}near_edges", f"{raw}far_edges", f"{hub}hole_diameter"
    pcd, distance = f"{hub}pcd", f"{hub}locknut_to_flange"
    yield Method(hole, (near, far), lambda a, b: (b - a) / 2, "half of far less near hole edges")
    yield Method(pcd, (near, far), lambda a, b: (a + b) / 2, "mean of near and far hole edges")
    yield Method(pcd, (near, hole), lambda a, d: a + d, "near hole edges and one hole", (far,))
    yield Method(pcd, (far, hole), lambda b, d: b - d, "far hole edges less one hole", (near,))
    yield Method(pcd, (f"{raw}chord.over", f"{raw}chord.length", f"{hub}holes"), chord, "chord over several holes")
    face = (f"{raw}locknut_to_outer_face", f"{hub}thickness")
    yield Method(distance, face, lambda a, t: a + t / 2, "locknut to the outer face and half the thickness")


def _other_flange(side: str) -> Method:
    faces = (f"{READ}hub.outer_faces", "hub.left.thickness", "hub.right.thickness")
    return Method(
        f"hub.{side}.locknut_to_flange",
        ("hub.over_locknut", *faces, f"hub.{opposite(side)}.locknut_to_flange"),
        lambda width, over, left, right, other: width - between_flanges(over, left, right) - other,
        "width, outer faces and the other flange",
        (f"{READ}hub.{side}.locknut_to_outer_face",),
    )


def between_flanges(outer_faces: float, left: float, right: float) -> float:
    """Middle of flange to middle of flange, from over their outer faces and both thicknesses [mm]."""
    return outer_faces - (left + right) / 2


def _straight(side: str) -> Method:
    raw = f"{READ}hub.{side}.known_spoke."
    inputs = (
        f"{raw}length",
        f"{raw}sticks_out",
        SPOKE_END,
        OFFSET[side],
        f"lacing.crosses.{side}",
        f"hub.{side}.holes",
    )
    return Method(f"hub.{side}.pcd", inputs, known_spoke, "known spoke laid from its seat to the rim")


# What only joins two methods, never a key of the build file.
SPOKE_END = "erd to the spoke end"
OFFSET = {side: f"offset of the {side} flange" for side in SIDES}


def _methods() -> tuple[Method, ...]:
    """All methods, each after those that it may build on."""
    raw, slot = f"{READ}rim.", "nipple.slot_depth"
    tube = (f"{READ}crank.seat_tube_to_ring", f"{READ}crank.seat_tube_diameter")
    cog = f"{READ}cogs.thickness"
    return (
        Method("hub.over_locknut", (f"{READ}over_locknut",), _as_read, "read over the locknuts"),
        Method("frame.dropout_spacing", (f"{READ}dropout_spacing",), _as_read, "read between the inner faces"),
        Method(
            "rim.erd",
            (f"{raw}two_spokes.length", f"{raw}two_spokes.gap"),
            two_spokes,
            "two old spokes and the gap between them",
        ),
        Method(
            "rim.erd",
            (f"{raw}outside_circumference", f"{raw}head_depth", slot),
            over_nipple_tops,
            "outside circumference, head depth and slot",
        ),
        Method(
            "rim.erd",
            (f"{raw}inside_diameter", f"{raw}wall", "nipple.seat_to_end"),
            over_seats,
            "inside diameter, wall and nipple seat to spoke end",
        ),
        *(method for side in SIDES for method in _hub_methods(side)),
        Method(
            "hub.flange_distance",
            (f"{READ}hub.outer_faces", "hub.left.thickness", "hub.right.thickness"),
            between_flanges,
            "over the outer faces less half of both thicknesses",
        ),
        *(_other_flange(side) for side in SIDES),
        *(_straight(side) for side in SIDES),
        Method("hub.rotor_face", (f"{READ}hub.rotor_depth",), _as_read, "read from the left locknut face"),
        Method("hub.body_length", (f"{READ}hub.body_length",), _as_read, "read along the freehub body"),
        Method("crank.chainline", tube, lambda a, d: a + d / 2, "seat tube to ring and half the tube"),
        Method(
            "cogs.locknut_to_smallest",
            (f"{READ}cogs.locknut_to_face", cog),
            lambda a, t: a + t / 2,
            "locknut to the smallest cog's face and half the cog",
        ),
        Method(
            "cogs.pitch",
            (f"{READ}cogs.stack", cog, "cogs.count"),
            lambda stack, t, count: (stack - t) / (count - 1),
            "stack of cogs less one cog, over the gaps",
        ),
    )


def _as_read(value: float) -> float:
    return value


METHODS = _methods()


def measured(known: Dimensions) -> list[Measured]:
    """Return every dimension that the readings give, several methods combined; erd to the intended spoke end.

    Parameters
    ----------
    known : the build file's keys, defaults or not

    Raises
    ------
    InputError
        If a reading cannot be.
    """
    if not any(key.startswith(READ) for key in known):
        return []
    found: dict[str, list[Estimate]] = {}
    for method in METHODS:
        so_far = _joined(known, found)
        if _applies(method, so_far):
            found.setdefault(method.key, []).append(_estimate(method, so_far))
    _check_chords(known, found)
    return [_combined(key, estimates) for key, estimates in found.items()]


def fill(known: Dimensions) -> dict[str, Dimension]:
    """Return the dimensions from readings whose keys are absent, with origin "readings".

    An erd comes out as the file's `rim.erd_to` says, to the spoke end where the file does not say.
    """
    found = {each.key: Dimension(each.mean.value, each.mean.sigma, "readings") for each in measured(known)}
    absent = {key: entry for key, entry in found.items() if key not in known and _worth(key, entry, known)}
    if "rim.erd" in absent:
        erd, to = absent["rim.erd"], str(known.value("rim.erd_to", "spoke end"))
        absent["rim.erd"] = Dimension(erd.value - 2 * end_beyond(to, known), erd.sigma, "readings")
        if "rim.erd_to" not in known:
            absent["rim.erd_to"] = Dimension(to, 0.0, "readings")
    return absent


def _worth(key: str, entry: Dimension, known: Dimensions) -> bool:
    """Whether a dimension from readings beats what would be taken without it."""
    section, _, name = key.rpartition(".")
    if name == "locknut_to_flange":
        return f"{section}.offset" not in known
    # Half the difference of two rule readings says less of a hole than what holes usually are.
    return name != "hole_diameter" or entry.sigma <= TYPICAL[name][1]


def end_beyond(erd_to: str, known: Dimensions) -> float:
    """How far the intended spoke end lies outward of where an erd was read to [mm], a later washer not counted."""
    if erd_to == "nipple top":
        return -float(known.value("nipple.slot_depth", TYPICAL["slot_depth"][0]))
    return float(known.value("nipple.seat_to_end", 0.0)) if erd_to == "nipple seat" else 0.0


def unused(known: Dimensions) -> list[tuple[str, tuple[str, ...]]]:
    """Readings that give nothing yet, each with the keys that it still needs; none named: it is not for this part."""
    so_far = _joined(Dimensions({**known, **fill(known)}), {})
    used = {key for method in METHODS if _applies(method, so_far) for key in method.inputs}
    out = []
    for key in known:
        if key.startswith(READ) and key not in used:
            own = [method for method in METHODS if key in method.inputs and not _other_heads(method, known)]
            out.append((key, min((_lacking(method, so_far) for method in own), key=len, default=())))
    return out


def _lacking(method: Method, known: Dimensions) -> tuple[str, ...]:
    names = {SPOKE_END: "rim.erd", **{OFFSET[side]: f"hub.{side}.locknut_to_flange" for side in SIDES}}
    return tuple(names.get(key, key) for key in method.inputs if _input(key, known) is None)


def _joined(known: Dimensions, found: Mapping[str, list[Estimate]]) -> Dimensions:
    """What is known so far: the file before the readings; and the distances that only join two methods."""
    entries: dict[str, Dimension] = {}
    for key, estimates in found.items():
        mean = _combined(key, estimates).mean
        entries[key] = Dimension(mean.value, mean.sigma, "readings")
    if "rim.erd" in entries:
        entries[SPOKE_END] = entries["rim.erd"]
    entries.update(known)
    if "rim.erd" in known and "rim.erd_to" in known:
        beyond = end_beyond(str(known.value("rim.erd_to")), known)
        entries[SPOKE_END] = Dimension(known.number("rim.erd") + 2 * beyond, known.sigma("rim.erd"))
    for side in SIDES:
        offset = _offset(Dimensions(entries), side)
        if offset is not None:
            entries[OFFSET[side]] = offset
    return Dimensions(entries)


def _offset(known: Dimensions, side: str) -> Dimension | None:
    """Sideways from the rim's holes of a side to its flange, which only a known straight spoke needs."""
    distance, width, key = f"hub.{side}.locknut_to_flange", "hub.over_locknut", f"hub.{side}.offset"
    sign = 1.0 if side == "right" else -1.0
    holes = sign * float(known.value("rim.hole_offset", 0.0)) + float(known.value("rim.hole_stagger", 0.0))
    if distance in known and width in known:
        sigma = math.hypot(known.sigma(width) / 2, known.sigma(distance))
        return Dimension(known.number(width) / 2 - known.number(distance) - holes, sigma)
    return Dimension(known.number(key) - holes, known.sigma(key)) if key in known else None


def _input(key: str, known: Dimensions) -> Dimension | None:
    """Value and error of an input; a part's own dimension that nobody measured is taken as it usually is."""
    if key in known and known[key].origin != "default":
        return known[key]
    last = "cog_thickness" if key == f"{READ}cogs.thickness" else key.rsplit(".", 1)[-1]
    return Dimension(*TYPICAL[last], "default") if last in TYPICAL else None


def _applies(method: Method, known: Dimensions) -> bool:
    if any(key in known for key in method.unless) or _other_heads(method, known):
        return False
    return all(_input(key, known) is not None for key in method.inputs)


def _other_heads(method: Method, known: Dimensions) -> bool:
    """Whether a method is for the other kind of flange: holes have edges, the seats of straight heads have not."""
    kinds = [("known_spoke", "elbow"), ("_edges", "straight")]
    side = method.key.split(".")[1]
    head = known.value(f"hub.{side}.spoke_head", "elbow") if side in SIDES else ""
    return any(mark in key and head == kind for mark, kind in kinds for key in method.inputs)


def _estimate(method: Method, known: Dimensions) -> Estimate:
    """Value of a method and its first-order standard uncertainty (JCGM 100:2008, 5.1.2 and the note of 5.1.3)."""
    entries = [entry for entry in (_input(key, known) for key in method.inputs) if entry is not None]
    values = [float(entry.value) for entry in entries]
    try:
        value = method.formula(*values)
        shares = [_share(method.formula, values, index, entry.sigma) for index, entry in enumerate(entries)]
    except InputError as error:
        raise _at_reading(error, method) from None
    return Estimate(value, math.hypot(*shares), method.words, method.inputs)


def _share(formula: Callable[..., float], values: list[float], index: int, sigma: float) -> float:
    if sigma <= 0:
        return 0.0
    moved = [[*values[:index], values[index] + step, *values[index + 1 :]] for step in (sigma, -sigma)]
    return (formula(*moved[0]) - formula(*moved[1])) / 2


def _at_reading(error: InputError, method: Method) -> InputError:
    """Put the reading's whole key before an error that names its last part."""
    if error.key.startswith(READ):
        return error
    whole = next(key for key in method.inputs if error.key in key.split("."))
    return InputError(whole[: whole.index(error.key) + len(error.key)], error.text)


def _combined(key: str, estimates: list[Estimate]) -> Measured:
    mean = weighted_mean([each.value for each in estimates], [each.sigma for each in estimates])
    return Measured(key, mean, tuple(estimates))


def _check_chords(known: Dimensions, found: Mapping[str, list[Estimate]]) -> None:
    """Refuse a chord that is longer than the circle of holes is wide."""
    for side in SIDES:
        key = f"{READ}hub.{side}.chord.length"
        if key not in known:
            continue
        widths = [(known[k], k) for k in (f"hub.{side}.outside_diameter", f"hub.{side}.pcd") if k in known]
        for each in found.get(f"hub.{side}.pcd", []):
            if key not in each.inputs:
                widths.append((Dimension(each.value, each.sigma), each.words))
        for width, name in widths:
            if width.origin != "readings" and known.number(key) > width.value + 3 * math.hypot(
                width.sigma, known.sigma(key)
            ):
                text = f"found {known.number(key):g} mm, longer than the circle of holes is wide ({width.value:.1f} mm: {name})"
                raise InputError(
                    key, f"{text}; measure straight from hole centre to hole centre, and check both readings"
                )
