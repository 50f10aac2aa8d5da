"""The single slips of the trade: what each does to a wheel's dimensions, and the one look that settles it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from wheelcalc.measuring.dimensions import Dimension, Dimensions
from wheelcalc.salvage.cases import Case
from wheelcalc.wheel.parts import SIDES, opposite

# C: usual sizes where a slip has one of its own: a washer under a nipple, hole circle to flange edge on both sides.
WASHER, EDGES = 0.8, 8.0
TEN, INCH = 10.0, 25.4

Move = Callable[[Case], Case | None]


@dataclass(frozen=True)
class Slip:
    """One slip: what it would have been, which wheels it touches and how, and the one look that settles it.

    Parameters
    ----------
    what, look : in words
    move : a wheel as it stands in the file to the wheel as it then really is; None where it cannot have been
    only : name of the one wheel that it touches; empty: all of them
    """

    what: str
    look: str
    move: Move
    only: str = ""


def with_values(case: Case, values: Mapping[str, object]) -> Case:
    """Return the wheel with some dimensions changed."""
    return replace(case, known=case.known.having(values))


def all_slips(cases: Sequence[Case]) -> Iterator[Slip]:
    """Give every slip that could be looked for on these wheels; the rim's are shared by all of them."""
    yield from _rim_slips(cases[0].known)
    for case in cases:
        of = "" if len(cases) == 1 and case.name == "fitted" else f" ({case.name})"
        yield from (replace(slip, what=slip.what + of, only=case.name) for slip in _own_slips(case))


def _rim_slips(known: Dimensions) -> Iterator[Slip]:
    now = str(known.value("rim.erd_to", "spoke end"))
    for to in ("spoke end", "nipple top", "nipple seat"):
        if to != now:
            yield Slip(
                f"rim.erd was read to the {to}, not to the {now}",
                f"Put one spoke with its nipple into the rim and see where rim.erd was read to: {now} or {to}.",
                _changed({"rim.erd_to": to}),
            )
    washer = float(known.value("nipple.washer", 0.0))
    yield Slip(
        "washers under the nipples were forgotten" if not washer else "there are no washers under the nipples",
        "Look under one nipple's head for a washer.",
        _changed({"nipple.washer": 0.0 if washer else WASHER}),
    )
    yield from _out_by_ten("rim.erd")
    if known.value("rim.hole_offset", 0.0):
        yield Slip(
            "the rim stands the other way round (rim.hole_offset)",
            "Look which way the rim's spoke holes lie off the middle.",
            lambda case: with_values(case, {"rim.hole_offset": -case.known.number("rim.hole_offset")}),
        )


def _changed(values: Mapping[str, object]) -> Move:
    return lambda case: with_values(case, values)


def _out_of_step(side: str) -> Move:
    return lambda case: replace(case, out_of_step=frozenset({side}))


def _own_slips(case: Case) -> Iterator[Slip]:
    yield Slip(
        "the hub's sides were swapped",
        "Hold the hub as it sits in the bike, cogs on the right, and read one flange's distance from its locknut.",
        _swapped,
    )
    if abs(case.lengths["left"].value - case.lengths["right"].value) > 0:
        yield Slip(
            "the spokes of left and right were swapped",
            "Measure one spoke of each side.",
            lambda c: replace(c, lengths={side: c.lengths[opposite(side)] for side in SIDES}),
        )
    for sides in (SIDES, ("left",), ("right",)):
        yield from _crosses(sides)
        yield from _edges(sides)
        yield from _locknut_for_centre(sides)
    for side in SIDES:
        yield from _inch(side)
        yield Slip(
            f"the {side} spokes are laced one rim hole out of step",
            f"Look at the {side} spokes: are those that lean forward longer in their nipples than those that lean back?",
            _out_of_step(side),
        )
        for name in ("pcd", "locknut_to_flange", "offset"):
            yield from _out_by_ten(f"hub.{side}.{name}")
        yield from _length_out(side)
    yield from _out_by_ten("hub.over_locknut")
    yield from _phase(case)


def _swapped(case: Case) -> Case | None:
    if case.known.value("hub.left.holes") != case.known.value("hub.right.holes"):
        return None  # the spokes would not have found their holes
    hub = {key: entry for key, entry in case.known.items() if key.split(".")[0] == "hub"}
    moved = {}
    for key, entry in hub.items():
        parts = [opposite(part) if part in SIDES else part for part in key.split(".")]
        moved[".".join(parts)] = entry
    rest = {key: entry for key, entry in case.known.items() if key not in hub}
    return replace(case, known=Dimensions({**rest, **moved}))


def _crosses(sides: tuple[str, ...]) -> Iterator[Slip]:
    where = "both sides" if len(sides) == 2 else f"{sides[0]} side"
    for step, word in ((-1, "fewer"), (1, "more")):

        def move(case: Case, step: int = step) -> Case | None:
            now = {f"lacing.crosses.{s}": int(case.known.value(f"lacing.crosses.{s}", -9)) for s in sides}
            if min(now.values()) + step < 0:
                return None
            return with_values(case, {key: k + step for key, k in now.items()})

        yield Slip(
            f"{where}: laced with one cross {word}",
            f"Count the spokes that one spoke crosses ({where}), the one at the flange included.",
            move,
        )


def _edges(sides: tuple[str, ...]) -> Iterator[Slip]:
    where = "both sides" if len(sides) == 2 else f"the {sides[0]}"

    def move(case: Case) -> Case | None:
        return with_values(case, {f"hub.{s}.pcd": case.known.number(f"hub.{s}.pcd") - EDGES for s in sides})

    yield Slip(
        f"pcd was read over the flange's edge, not the holes, on {where}",
        f"Measure hub.{sides[0]}.pcd again, hole centre to opposite hole centre.",
        move,
    )


def _locknut_for_centre(sides: tuple[str, ...]) -> Iterator[Slip]:
    where = "both sides" if len(sides) == 2 else f"the {sides[0]}"

    def move(case: Case) -> Case | None:
        values: dict[str, object] = {}
        for side in sides:
            raw, own = f"hub.{side}.locknut_to_flange", f"hub.{side}.offset"
            if raw in case.known:  # what stands there is the offset
                values |= {raw: None, own: case.known.number(raw)}
            elif "hub.over_locknut" in case.known:  # what stands there counts from the locknut
                values[own] = case.known.number("hub.over_locknut") / 2 - case.known.number(own)
            else:
                return None
        return with_values(case, values)

    yield Slip(
        f"the flange's distance was read from the locknut for the centre, or the reverse, on {where}",
        f"Measure the {sides[0]} flange's distance from the outer locknut face again (hub.{sides[0]}.locknut_to_flange).",
        move,
    )


def _inch(side: str) -> Iterator[Slip]:
    for name in ("locknut_to_flange", "offset"):
        key = f"hub.{side}.{name}"

        def move(case: Case, key: str = key) -> Case | None:
            value = float(case.known.value(key, 0.0))
            # C: the widest usual hub, where nobody measured; it only keeps a slip from leaving the hub.
            room = float(case.known.value("hub.over_locknut", 150.0))
            return with_values(case, {key: value * INCH}) if 0 < value * INCH < room else None

        yield Slip(f"{key} is in inches, not mm", f"Measure {key} again, in mm.", move)


def _out_by_ten(key: str) -> Iterator[Slip]:
    for step, word in ((TEN, "too small"), (-TEN, "too large")):

        def move(case: Case, step: float = step) -> Case | None:
            return with_values(case, {key: case.known.number(key) + step}) if key in case.known else None

        yield Slip(f"{key} is 10 mm {word}", f"Read {key} again.", move)


def _length_out(side: str) -> Iterator[Slip]:
    for step, word in ((TEN, "longer"), (-TEN, "shorter")):

        def move(case: Case, step: float = step) -> Case | None:
            one = case.lengths[side]
            return replace(case, lengths={**case.lengths, side: Dimension(one.value + step, one.sigma)})

        yield Slip(f"the {side} spokes are 10 mm {word} than written", f"Measure one of the {side} spokes.", move)


def _phase(case: Case) -> Iterator[Slip]:
    now = str(case.known.value("hub.phase", "staggered"))
    other = "aligned" if now == "staggered" else "staggered"
    yield Slip(
        f"the hub's holes are {other}, not {now}: half a hole out of phase",
        "Push a spoke straight through a hole of one flange: does it meet a hole of the other (aligned) or the web between?",
        _changed({"hub.phase": other}),
    )
