"""What `pluck` says: whether the spokes are even, which are not, and how sure that is."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.base import in_kgf
from wheelcalc.answers.plucking.content import HeardPluck, PluckContent, SideHeard
from wheelcalc.arrays import Ints
from wheelcalc.page.blocks import Block, Column, Heading, Listed, Page, Sentence, Table, listed
from wheelcalc.page.numbers import counted, several, signed

NAMED = 0.05  # of a side's mean: spokes further off are named
MOST_NAMED = 4
TOLD = (
    0.5  # ours: with fewer of the spokes heard, that some are uneven says little; that all are even takes all of them
)
ADVICE = (
    "Turn the tightest looser and the loosest tighter, an eighth of a turn at a time, and pluck again; or write the readings "
    "as CSV and let `wheelcalc true` work out the turns."
)


def page_of(answer: PluckContent, *, working: bool) -> Page:
    """Lay out what was heard.

    Parameters
    ----------
    answer : of `pluck`
    working : with the formulas
    """
    sides = Listed([f"{name.capitalize()}: {_side(answer, name, side)}" for name, side in answer.sides.items()])
    details: list[Block] = [Heading("What was heard:"), _plucks(answer), *listed(_sureness(answer), "How sure:")]
    if answer.since:
        head = f"Since the earlier recording ({answer.since.spokes} spokes in both):"
        details += listed(answer.since.sentences(), head)
    if working:
        from wheelcalc.answers.plucking.working import working as worked  # noqa: PLC0415 - only where it is asked for

        details += listed(worked(answer), "Working:")
    return Page(
        verdict=_verdict(answer),
        title=f"{answer.title}: what was heard",
        answer=[sides, *([Sentence(ADVICE)] if _off(answer).size else [])],
        findings=answer.findings,
        details=details,
        assumptions=answer.assumptions,
    )


def _off(answer: PluckContent) -> Ints:
    """Places of the spokes that are further off their side's mean than is even."""
    with np.errstate(invalid="ignore"):
        return np.flatnonzero(np.abs(answer.against_side()) >= NAMED)


def _verdict(answer: PluckContent) -> str:
    sides, off, lacing = several([*answer.sides]), _off(answer), answer.wheel.lacing
    heard = int(np.isfinite(answer.against_side()).sum())
    there = sum(int(lacing.on(side).sum()) for side in answer.sides)
    within = f"within {100 * NAMED:.0f} % of {'its' if len(answer.sides) == 1 else 'their'} mean"
    if heard < (TOLD * there if off.size else there):
        which = f"{off.size} of those are not {within}" if off.size else f"those are {within}"
        return f"Not told yet: of {counted(there, 'spoke')} on the {sides} {heard} were heard; {which}."
    which = f"{counted(heard, 'spoke')} heard on the {sides}"
    return f"Not even yet: {off.size} of {which} are not {within}." if off.size else f"Even: all {which} are {within}."


def _side(answer: PluckContent, name: str, side: SideHeard) -> str:
    height = "mean" if answer.calibrated else "about"
    start = f"{counted(side.spokes, 'spoke')}, {height} {side.tension:.0f} N ({in_kgf(side.tension):.0f} kgf)"
    start += (
        f" +-{answer.within(side.sigma):.0f}, {side.note}; they differ by {side.spread:.1f} % (standard deviation)."
    )
    return " ".join([start, *_furthest(answer, name)])


def _furthest(answer: PluckContent, name: str) -> Iterator[str]:
    """Name the spokes of a side that are furthest off."""
    share, lacing = answer.against_side(), answer.wheel.lacing
    own = [place for place in _off(answer).tolist() if lacing.on(name)[place]]
    for word, sign in (("Tightest", 1), ("Loosest", -1)):
        places = sorted((place for place in own if share[place] * sign > 0), key=lambda place: -abs(share[place]))
        if places:
            said = [f"{lacing.rim_hole[place]} ({signed(100 * share[place], 0)}%)" for place in places[:MOST_NAMED]]
            yield f"{word}: {', '.join(said)}."


def _plucks(answer: PluckContent) -> Table:
    share, lacing = answer.against_side(), answer.wheel.lacing

    def with_tension(each: HeardPluck) -> bool:
        return each.spoke is not None and each.pluck.usable

    columns = [
        Column("rim hole", lambda each: "-" if each.spoke is None else str(lacing.rim_hole[each.spoke])),
        Column("side", lambda each: "" if each.spoke is None else lacing.sides[each.spoke], "left"),
        Column("at s", lambda each: f"{each.pluck.at:.1f}"),
        Column("Hz", lambda each: f"{each.pluck.pitch:.1f}" if each.pluck.known else "-"),
        Column("N", lambda each: f"{answer.tension[each.spoke]:.0f}" if with_tension(each) else "-"),
        Column(
            "of side %",
            lambda each: signed(100 * float(share[each.spoke]), 0) if with_tension(each) else "-",
            meaning="tension against the mean of its side",
        ),
        Column("sure", _mark, "left", "? pitch not sure; # spoke not sure; = the same spoke once more"),
    ]
    return Table(columns, [each for each in answer.heard if each.pluck.likely], abreast=True)


def _mark(each: HeardPluck) -> str:
    unplaced = each.spoke is not None and not each.pluck.placed
    return "?" * (not each.pluck.sure) + "#" * unplaced + "=" * each.again


def _sureness(answer: PluckContent) -> Iterator[str]:
    for name, side in answer.sides.items():
        yield (
            f"{name}: a semitone is {side.semitone:.0f} N. Between spokes of a side the ear is good to "
            f"+-{answer.within(side.ear):.0f} N, in height to +-{answer.within(side.sigma):.0f} N (19 times in 20)."
        )
        if side.how:
            yield f"{name}: calibrated by {side.how}."
