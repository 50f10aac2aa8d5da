"""What `fit` shows: the verdict, what to do, the plans beside it, the chain and the bike."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any, NamedTuple

from wheelcalc.answers.fitting import sentences
from wheelcalc.answers.fitting.content import FitContent
from wheelcalc.answers.fitting.plans import Caution
from wheelcalc.bike.spacers import Plans
from wheelcalc.bike.width import too_narrow
from wheelcalc.page.blocks import Block, Column, Heading, Listed, Page, Sentence, Step, Steps, Table, Verbatim, listed
from wheelcalc.page.numbers import counted, several, signed

PLANS_SHOWN = 3
KEYS_SHOWN = 3
NOTHING = 0.005  # mm, ours: two digits show it as none


def laid_out(answer: FitContent, *, working: bool = False) -> Page:
    """Return the verdict and what to do first, then the ways beside it and what was not checked."""
    width = sentences.width_sentence(answer.width, answer.spacers, answer.verdict)
    return Page(
        verdict=sentences.verdict_sentence(answer.verdict, answer.spacers, answer.chosen, stops=answer.stops),
        title=f"{answer.title}: does the hub fit",
        answer=[*([Sentence(width)] if width else []), *to_do(answer)],
        findings=answer.findings,
        details=[
            *plans(answer, working=working),
            *chain(answer, working=working),
            *(gears(answer) if working else []),
            *geometry(answer),
            *(listed(sentences.working(answer), "Working:") if working else []),
            *not_checked(answer),
        ],
        assumptions=answer.assumptions,
    )


def to_do(answer: FitContent) -> list[Block]:
    """Return the steps, and the lines that store the plan."""
    steps, paste = sentences.steps(answer), sentences.lines_to_paste(answer)
    section_there = answer.build.given("spacers.on_hand")
    if paste and section_there:
        steps.append(f"Write  {paste[1]}  below [spacers] in the build file.")
    out: list[Block] = [Heading("What to do:"), Steps([Step(each) for each in steps])] if steps else []
    if paste and not section_there:
        out += [Sentence("To store this plan, put these lines into the build file:"), Verbatim(paste)]
    return out


class Row(NamedTuple):
    """A plan of the table."""

    plans: Plans
    place: int
    cautions: Sequence[Caution]
    taken: bool


def plans(answer: FitContent, *, working: bool, most: int = PLANS_SHOWN) -> list[Block]:
    """Return the best plans, so many at most, and what speaks against them."""
    ways = answer.plans
    if ways is None or answer.state is None or (len(ways) == 1 and not any(answer.spacers)):
        return []
    if too_narrow(answer.build):
        return []
    shown = range(min(len(ways), most))
    rows = [Row(ways, plan, answer.cautions(plan), answer.is_taken(plan)) for plan in shown]
    if not any(row.taken for row in rows):
        rows.append(Row(answer.state, 0, answer.state_cautions(), taken=True))
    more = f"; the CSV has all {len(ways)}" if len(ways) > len(shown) else ""
    taken = "fitted" if answer.chosen else "the plan above"
    trade_off = sentences.trade_off(answer)
    return [
        Heading(f"Spacer plans, mm, best first{more}; *: {taken}"),
        Table(_columns(any_mind=any(row.cautions for row in rows)), rows),
        *[Sentence(each) for each in _mind(answer, shown)],
        *([Sentence(trade_off)] if working and trade_off else []),
    ]


def _columns(*, any_mind: bool) -> list[Column]:
    out = [
        Column("left", lambda row: ("*" if row.taken else "") + f"{row.plans.left[row.place]:.4g}"),
        Column("right", lambda row: f"{row.plans.right[row.place]:.4g}"),
        Column("left over", lambda row: _number(row.plans.width_left_over[row.place])),
        Column(
            "chain",
            lambda row: _number(row.plans.chainline_error[row.place]),
            meaning="rings right of cogs",
        ),
        Column("L/R", lambda row: _ratio(row.plans.tension_ratio[row.place]), meaning="tension left over right"),
        Column("rim to", lambda row: _moved(row.plans.rim_shift[row.place]), meaning="an old rim"),
    ]
    mind = Column("mind", lambda row: _words(row.cautions), "left")
    return [*out, mind] if any_mind else out


def _words(cautions: Sequence[Caution]) -> str:
    words = list(dict.fromkeys(caution.word for caution in cautions))
    return words[0] + ("+" if words[1:] else "") if words else ""


def _moved(shift: float) -> str:
    return "stays" if abs(shift) < NOTHING else f"{abs(shift):.2g} {'right' if shift > 0 else 'left'}"


def _ratio(value: float) -> str:
    return "-" if _unknown(value) else f"{value:.2f}"


def _mind(answer: FitContent, shown: range) -> list[str]:
    """Return what each word of the last column means, by the first plan that has it."""
    first: dict[str, str] = {}
    for plan in shown:
        for word, said in answer.cautions(plan):
            first.setdefault(word, f"row {plan + 1} {said}.")
    for word, said in answer.state_cautions():
        first.setdefault(word, f"the plan {'fitted' if answer.chosen else 'proposed'} {said}.")
    return [f"mind {word}: {said}" for word, said in first.items()]


def _unknown(value: float) -> bool:
    return value != value  # noqa: PLR0124 - nan alone differs from itself


def _number(value: Any, *, sign: bool = True) -> str:
    if value is None or _unknown(value):
        return "-"
    return signed(float(value)) if sign else f"{value:.1f}"


def chain(answer: FitContent, *, working: bool) -> list[Block]:
    """Say how the chain runs, what would straighten it, and which gears to leave alone."""
    run = answer.chain
    if run is None:
        return []
    rear = run.rear_fitted if any(answer.spacers) else run.rear
    error = run.error_fitted if any(answer.spacers) else run.error
    said = (
        f"Chainline, right of the bike's middle: rings {_number(run.front, sign=False)} mm, cogs "
        f"{_number(rear, sign=False)} mm{' with the spacers' if any(answer.spacers) else ''}, error {_number(error)} mm."
    )
    return [
        Sentence(" ".join(filter(None, [said, sentences.straighter(answer) if working else "", _left_alone(answer)])))
    ]


def _left_alone(answer: FitContent) -> str:
    """Name the gears that are cross-chained."""
    marks = answer.gear_marks()
    crossed = [
        f"ring {ring} with cog{'s' if len(cogs) > 1 else ''} {several(cogs)}"
        for ring, row in enumerate(marks, start=1)
        if (cogs := [str(cog) for cog, mark in enumerate(row, start=1) if "x" in mark])
    ]
    return f"Leave alone, cross-chained (1 is the outermost): {'; '.join(crossed)}." if crossed else ""


def gears(answer: FitContent) -> list[Block]:
    """Return the chain's angle in every gear."""
    run = answer.chain
    if run is None or run.angles_fitted_deg is None or run.angles_fitted_deg.size == 1:
        return []
    marks, angles = answer.gear_marks(), run.angles_fitted_deg
    steep = answer.build.limits.chain_angle_caution
    rings = [
        Column(f"ring {ring + 1}", partial(_angle, angles[ring].tolist(), marks[ring]), "left")
        for ring in range(angles.shape[0])
    ]
    legend = (
        "Degrees sideways, + where the cog lies further right; ring 1 and cog 1 are the outermost, right ones. "
        f"x: cross-chained, leave these gears alone; s: steeper than {steep:g} degrees."
    )
    table = Table([Column("cog", lambda cog: str(cog + 1)), *rings], range(angles.shape[1]))
    return [Heading("The chain in every gear:"), table, Sentence(legend)]


def _angle(angles: Sequence[float], marks: Sequence[str], cog: int) -> str:
    return f"{signed(angles[cog])} {marks[cog]}".rstrip()


GEOMETRY = {
    "head angle, deg": "head_angle_deg",
    "seat angle, deg": "seat_angle_deg",
    "trail": "trail_mm",
    "wheelbase": "wheelbase_mm",
    "bracket height": "bracket_height_mm",
    "lower pedal's middle": "pedal_height_mm",
    "pedal forward to tyre": "toe_room_mm",
}


def geometry(answer: FitContent) -> list[Block]:
    """Return the bike before and after."""
    bike = answer.geometry
    if bike is None:
        return []
    rows = [
        (label, getattr(bike.before, name), None if bike.after is None else getattr(bike.after, name))
        for label, name in GEOMETRY.items()
    ]
    swept, then = bike.swept_toe_rooms
    rows += [("the same, wheel turned", swept, then)] if swept is not None else []
    moved = [("crown's stack", bike.stack_change), ("crown's reach", bike.reach_change)]
    rows += [(label, 0.0, change) for label, change in moved if change]
    stay = [row[0].removesuffix(", deg") for row in rows if row[2] is not None and row[2] == row[1]]
    rows = [row for row in rows if row[2] is None or row[2] != row[1]]
    columns = [
        Column("the bike, mm", lambda row: row[0], "left"),
        Column("before", lambda row: _number(row[1], sign=False)),
        Column("after", lambda row: _number(row[2], sign=False)),
        Column("change", lambda row: "-" if None in row else signed(row[2] - row[1])),
    ]
    return [Table(columns, rows), *([_unchanged(stay)] if stay else [])]


def _unchanged(names: list[str]) -> Sentence:
    said = several(names)
    return Sentence(f"{said[:1].upper()}{said[1:]} {'stay as they are' if names[1:] else 'stays as it is'}.")


def not_checked(answer: FitContent) -> list[Block]:
    """Say what could not be checked, and the one reading to take next; of a hub that does not fit, no more than how much."""
    if answer.verdict == "does not fit" and answer.not_checked:
        return [Sentence(f"{counted(len(answer.not_checked), 'other check')} can wait until a hub fits.")]
    out = []
    for each in answer.not_checked:
        keys, more = each.keys[:KEYS_SHOWN], len(each.keys) - KEYS_SHOWN
        rest = f" and {more} more (`wheelcalc check` lists them)" if more > 0 else ""
        out.append(f"{each.what}: give {', '.join(keys)}{rest}")
    following = answer.next_reading()
    if not out or not following:
        return listed(out, "Not checked, so neither good nor bad:")
    count = len(out)
    share = "It settles that." if count == 1 else f"It helps to settle {len(following['settles'])} of these {count}."
    head: list[Block] = [Heading("Not checked, so neither good nor bad:"), Listed(out)]
    return [*head, Sentence(f"Read next: {following['key']}: {following['how']}. {share}")]
