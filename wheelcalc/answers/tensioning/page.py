"""What `tension` says: how tight each side is to be, how to get there, and what riding takes away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from wheelcalc.answers.base import in_kgf
from wheelcalc.answers.tensioning.riding import Riding, by_direction
from wheelcalc.answers.tensioning.side import SideTension
from wheelcalc.page.blocks import Block, Column, Heading, Listed, Sentence, Table
from wheelcalc.page.numbers import signed, sure
from wheelcalc.tension.load import Standing
from wheelcalc.tension.remedies import Remedy
from wheelcalc.tension.targets import BOTH, Limit
from wheelcalc.wheel.wheel import Wheel

ALIKE = 0.995  # share of the tighter side, from which both carry the same


def verdict(sides: Mapping[str, SideTension], tighter: str, *, stops: bool) -> str:
    """How tight, in one sentence."""
    aims = {side: each.target_N for side, each in sides.items() if each.target_N is not None}
    if not aims:
        return "No target yet: do not tighten." if stops else "No target: no limit of this rim is known."
    said = " and ".join(f"the {side} to {aims[side]:.0f} N" for side in sorted(aims, key=lambda side: side != tighter))
    return f"Do not tighten yet: {said} would be the target." if stops else f"Tighten {said}."


def sides_table(sides: Mapping[str, SideTension], tighter: str) -> list[Block]:
    """Targets and the range allowed for any single spoke."""
    named = [(side, sides[side]) for side in sorted(sides, key=lambda side: side != tighter) if sides[side].target_N]
    if not named:
        return [Sentence("No target: see above.")]
    columns = [
        Column("side", lambda row: row[0], "left"),
        Column("target N", lambda row: _whole(row[1].target_N)),
        Column("kgf", lambda row: _whole(in_kgf(row[1].target_N))),
        Column("allowed N", lambda row: _range(row[1], row[1].low_N, row[1].high_N), meaning="for any single spoke"),
        Column("pitch Hz", lambda row: _whole(row[1].pitch_hz)),
        Column("note", lambda row: row[1].note or "", "left"),
        Column("allowed Hz", lambda row: _range(row[1], row[1].low_pitch_hz, row[1].high_pitch_hz)),
    ]
    return [Table(columns, named)]


def _whole(number: float | None) -> str:
    return "-" if number is None else f"{number:.0f}"


def _range(side: SideTension, low: float | None, high: float | None) -> str:
    """Say a range; none where the target is over its limit, a stop, so that nothing lies between."""
    if side.low_N is None or side.high_N is None or low is None or high is None or side.low_N > side.high_N:
        return "-"
    return f"{low:.0f}-{high:.0f}"


def balance(tighter: str, slacker: str, share: float | None) -> list[Block]:
    """Say how the sides share the load."""
    if share is None:
        return []
    if share > ALIKE:
        return [Sentence("Both sides carry the same.")]
    return [Sentence(f"The {slacker} carries {100 * share:.0f} % of the {tighter}: that keeps the rim in the middle.")]


def limits(reached: Sequence[Limit]) -> list[Block]:
    """Say what is reached first; the others lie above it."""
    where = "" if not reached or reached[0].side == BOTH else f" on the {reached[0].side}"
    return [Sentence(f"The limit{where}, {each.value_N:.0f} N: {each.reason}.") for each in reached[:1]]


def remedies(ways: Sequence[Remedy], slacker: str) -> list[Block]:
    """Say what would raise the slacker side."""
    heading = Heading(f"What would raise the {slacker} side, with the tighter one at its limit, most first:")
    said = [
        f"{each.text}{f' {each.slack_side_N:.0f} N, {signed(each.gain_N, 0)} N.' if each.gain_N else ''}"
        for each in ways
    ]
    return [heading, Listed(said)] if said else []


def by_hand(tighter: str, ear: str) -> list[Block]:
    """Say how to get there."""
    items = [
        "Turn every nipple alike (tighter is clockwise seen from the tyre), half turns, later quarters, until the mean of the "
        f"{tighter} side is there; true in between.",
        ear,
        "Never tighten past the rim's limit, nor past a lower one of the rim's or hub's maker. Wear eye protection: a spoke or "
        "nipple can break and fly.",
    ]
    return [Heading("How to get there:"), Listed(items)]


def riding(loads: Riding | None, wheel: Wheel) -> list[Block]:
    """What riding takes from the spokes and gives them."""
    if loads is None:
        return []
    still, knock = loads.still, loads.knock
    lost = f"the bottom spoke (rim hole {wheel.lacing.rim_hole[still.weakest]}) loses {round(still.lost, -1):.0f} N and {_kept(still)}"
    said = f"Riding, {still.load:.0f} N on this wheel: {lost}; under {loads.impact:.3g} times that it {_kept(knock)}."
    slack = f"The first goes slack at {loads.slack_at:.1f} times."
    return [Sentence(" ".join([said, slack, *_turning(loads, wheel)]))]


def _kept(standing: Standing) -> str:
    left = standing.tensions[standing.weakest]
    return f"keeps {round(left, -1):.0f} N" if left > 0 else "goes slack"


def _turning(loads: Riding, wheel: Wheel) -> list[str]:
    """Say what pedalling and braking change, both sides together."""
    out = []
    for each in loads.turning:
        ways: dict[str, list[str]] = {}
        for changes in by_direction(each, wheel).values():
            for way, change in changes.items():
                ways.setdefault(way.removesuffix("_N"), []).append(signed(round(change, -1), 0))
        parts = [f"{way} {' or '.join(dict.fromkeys(changes))} N" for way, changes in ways.items()]
        words = "Hard pedalling" if each.what == "driving" else "Hard braking"
        carried = ", ".join(parts) or "no crossed spokes to carry it"
        out.append(f"{words} ({each.torque / 1000:.0f} N m on the hub): {carried}.")
    return out


def structure(
    rows: Sequence[tuple[str, float | None, float | None, str]], tighter: str, slack_spoke: int | None
) -> list[Block]:
    """Return the figures of the wheel as a structure, each to the digit in which it is sure."""
    if not rows:
        return []
    columns = [
        Column("figure", lambda row: row[0], "left"),
        Column("value", lambda row: sure(row[1], row[2])[0]),
        Column(
            "+-",
            lambda row: sure(row[1], row[2])[1],
            meaning="what section, spokes' ends and tension leave open, 19 of 20 such errors are smaller",
        ),
        Column("unit", lambda row: row[3], "left"),
    ]
    slack = f" First slack: the spoke in rim hole {slack_spoke}." if slack_spoke else ""
    note = f"At the target tensions, loads on the rim, hub held, no tyre. Buckling: mean of the {tighter} side."
    return [Heading("The wheel as a structure:"), Table(columns, rows), Sentence(note + slack)]
