"""What `true` says: whether to turn on, each nipple's turn in rim order, how the wheel stands and will stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from wheelcalc.answers.truing.content import TrueContent
from wheelcalc.page.blocks import Block, Column, Heading, Listed, Page, Sentence, Table
from wheelcalc.page.numbers import counted, several, signed
from wheelcalc.truing.verdict import AGAIN, BENT, END, NOT_YET, STUCK, WITHIN
from wheelcalc.wheel.parts import SIDES

FINEST = 16  # parts of a turn that are written as a fraction
CAUTION = (
    "Safety: wear eye protection: a spoke or nipple can break and fly. Squeeze parallel spokes together in pairs after each "
    "pass; do not ride before the wheel runs true, no spoke is slack and the brake is set."
)
HOW = (
    "Tighter is clockwise, seen from the tyre. Rim holes count forward from the valve: clockwise, seen from the right. Turn each "
    "nipple once, tick it off, then read again."
)
LEGEND = (
    "As read: the last readings. Now: as the wheel most likely is, errors of reading taken off. After: as it most likely will be. "
    "Next readings: what they will show, errors in them. Run-out: full reading. Uneven: standard deviation over mean. +-: 19 times "
    "in 20."
)
AIMS = {
    "lateral": "lateral run-out",
    "radial": "radial run-out",
    "dish": "dish",
    "spread": "evenness",
    "tension": "tension",
}
ROWS = (
    ("lateral run-out, mm", "lateral_mm", "lateral_sigma_mm", 2),
    ("radial run-out, mm", "radial_mm", "radial_sigma_mm", 2),
    ("rim off the middle, mm", "dish_mm", "dish_sigma_mm", 2),
)


def page_of(answer: TrueContent) -> Page:
    """Lay the answer out."""
    return Page(
        verdict=verdict(answer),
        title=f"{answer.title}: which nipples to turn",
        answer=[*_turns(answer), *_figures(answer)],
        findings=answer.findings,
        details=[*_learned(answer), Listed(list(_advice(answer)))],
        assumptions=answer.assumptions,
    )


def verdict(answer: TrueContent) -> str:
    """Whether to turn on, in one sentence."""
    lateral, radial = (answer.was_read(name) for name in ("lateral", "radial"))
    if answer.why == NOT_YET:
        rows = answer.turn_rows()
        turns = fraction(sum(abs(row["turns"]) for row in rows))
        aims = several([AIMS[each] for each in answer.found.verdict.aims])
        return f"Turn {counted(len(rows), 'nipple')}, {turns} turns in all, for the {aims}."
    if answer.why == WITHIN and not answer.was_read("tensions"):
        return "Nothing to turn: the wheel runs true as you asked. How even it is no reading says, so it is not done."
    if answer.why == WITHIN and not (lateral and radial):
        return f"Nothing to turn by what was read; {'radial' if lateral else 'lateral'} was not."
    holes = several([str(hole) for hole in answer.stuck])
    return {
        WITHIN: "Done: the wheel is as true and even as you asked. Nothing to turn.",
        END: "Leave it as it is: your readings end here, another pass would turn noise.",
        BENT: "Leave it as it is: the rim is bent, so it can be straight or even, not both.",
        STUCK: f"Leave it as it is until the nipple in rim hole {holes} turns: the others cannot do its work.",
        AGAIN: "Do not turn anything: the readings look slipped. Read again.",
    }[answer.why]


def fraction(turns: float) -> str:
    """Return a number of turns as a mechanic writes it: "1 3/8"."""
    whole, part = divmod(abs(turns), 1)
    found = Fraction(part).limit_denominator(FINEST)
    if abs(float(found) - part) > 1e-9:
        return f"{abs(turns):.3g}"
    return " ".join(([f"{whole:.0f}"] if whole else []) + ([str(found)] if found else [])) or "0"


def turn(turns: float) -> str:
    """Return a turn of a nipple in words: "3/4 turn tighter"."""
    return f"{fraction(turns)} turn{'s' if abs(turns) > 1 else ''} {'tighter' if turns > 0 else 'looser'}"


def sides(left: float, right: float) -> str:
    """Return turns of whole sides in words; nothing where there are none."""
    if left == right:
        return f"all nipples {turn(left)}" if left else ""
    words = [f"all {side} nipples {turn(value)}" for side, value in (("right", right), ("left", left)) if value]
    return ", ".join(words)


def turn_table(rows: Sequence[Mapping[str, Any]]) -> Table:
    """Each nipple with its turn, in rim order."""
    columns = [
        Column("rim hole", lambda row: str(row["rim_hole"])),
        Column("side", lambda row: row["side"], "left"),
        Column("turn", lambda row: turn(row["turns"]), "left"),
    ]
    return Table(columns, rows, abreast=True)


def _turns(answer: TrueContent) -> Iterator[Block]:
    rows = answer.turn_rows()
    if not rows:
        return
    both = sides(*answer.found.verdict.side_turns)
    common = f" ({both} stands in these figures, for the {_reason(answer)})" if both else ""
    yield Heading(f"Next pass, each nipple's whole turn from the valve on{common}:")
    yield turn_table(rows)
    yield Sentence(HOW)


def _reason(answer: TrueContent) -> str:
    dish = answer.dish
    return "dish" if dish and abs(dish.move) > answer.planner.done.dish else "tension as a whole"


def _figures(answer: TrueContent) -> Iterator[Block]:
    found = answer.found.verdict
    columns: list[tuple[str, dict[str, Any]]] = [
        ("as read", answer.read_json()),
        ("now", answer.spread_json(found.now)),
    ]
    if answer.turns.any():
        columns += [
            ("after", answer.spread_json(found.after)),
            ("next readings", answer.spread_json(found.after_reads)),
        ]
    rows = [(words, [_figure(each, name, sigma, digits) for _, each in columns]) for words, name, sigma, digits in ROWS]
    for side in SIDES:
        rows.append((f"{side} tensions uneven by, %", [_uneven(each, side) for _, each in columns]))
    heads = [Column("", lambda row: row[0], "left")]
    heads += [Column(name, lambda row, i=i: row[1][i]) for i, (name, _) in enumerate(columns)]  # type: ignore[misc]
    yield Table(heads, rows)
    yield Sentence(LEGEND)
    if answer.promised is not None:
        yield Sentence(_kept(answer))


def _figure(found: Mapping[str, Any], name: str, sigma: str, digits: int) -> str:
    value, doubt = found[name], found.get(sigma)
    if value is None:
        return "not read"
    shown = f"{value:.{digits}f}" if name != "dish_mm" else signed(value, digits)
    return shown if doubt is None else f"{shown} +-{1.96 * doubt:.{digits}f}"


def _uneven(found: Mapping[str, Any], side: str) -> str:
    value, doubt = found["tension_spread_percent"][side], found.get("tension_spread_sigma_percent", {}).get(side)
    if value is None:
        return "not read"
    return f"{value:.1f}" if doubt is None else f"{value:.1f} +-{1.96 * doubt:.1f}"


def _kept(answer: TrueContent) -> str:
    """What the pass before promised against what was read."""
    promised, got = answer.spread_json(answer.promised), answer.read_json()  # type: ignore[arg-type]
    parts = [
        f"{words} {promised[name]:.2f} +-{1.96 * promised[sigma]:.2f}, read {got[name]:.2f}"
        for words, name, sigma in (
            ("lateral", "lateral_mm", "lateral_sigma_mm"),
            ("radial", "radial_mm", "radial_sigma_mm"),
        )
        if promised[name] is not None and got[name] is not None
    ]
    return f"Promised by the pass before: {'; '.join(parts)} mm." if parts else ""


def _learned(answer: TrueContent) -> Iterator[Block]:
    found = answer.learned_json()
    noise = found["noise"]
    words = [
        f"{name} {noise[key]:.2f} mm"
        for name, key in (("lateral", "lateral_mm"), ("radial", "radial_mm"))
        if noise[key] is not None
    ]
    words += [f"tension {noise['tension_percent']:.0f} %"] if noise["tension_percent"] is not None else []
    line = f"Learned so far, from {counted(len(answer.passes), 'pass') if len(answer.passes) == 1 else f'{len(answer.passes)} passes'}: "
    line += f"your readings scatter by {', '.join(words)}"
    if len(answer.passes) > 1:
        line += f"; the rim is {found['stiffness_of_estimate']:.2f} times as stiff as estimated, the spokes' ends give "
        line += f"{found['end_give']:.2f} mm for 1000 N"
    yield Sentence(f"{line}.")


def _advice(answer: TrueContent) -> Iterator[str]:
    yield dish(answer)
    yield from filter(None, [level(answer)])
    yield how_sure(answer)
    yield windup(answer)
    yield CAUTION


def dish(answer: TrueContent) -> str:
    """Where the rim lies against the middle, and what sees to it."""
    found = answer.dish
    if found is None:
        return "Dish: unknown, since lateral was not read from the plane half-way between the locknuts."
    words = sides(found.left, found.right)
    way = "right" if found.move > 0 else "left"
    if not words:
        return f"Dish: the rim is in the middle, within {max(abs(found.move), 0.05):.1f} mm."
    line = f"Dish: the rim must move {abs(found.move):.1f} mm to the {way}: {words}."
    if any(answer.found.verdict.side_turns):
        whole = (found.left, found.right) == answer.found.verdict.side_turns
        return f"{line} That is in the pass above{'' if whole else ', as far as one pass goes'}; do not do it twice."
    return line + (
        " That is little, and the turns above see to it."
        if answer.turns.any()
        else " That is within what you call done."
    )


def level(answer: TrueContent) -> str:
    """What brings the tension as a whole to its target."""
    found = answer.level
    words = sides(found.left, found.right) if found else ""
    if not words:
        return ""
    target = answer.setup.target.tension
    slowly = ", half a turn at a time" if found and max(abs(found.left), abs(found.right)) > 0.5 else ""
    return (
        f"Tension as a whole is under the target (right {target['right']:.0f} N, left {target['left']:.0f} N). When the wheel is true, "
        f"{words} would bring it there{slowly}."
    )


def how_sure(answer: TrueContent) -> str:
    """How far the state may be off at its worst place, and what to read next."""
    found = answer.sigmas()
    line = (
        f"How sure, at the worst place, 19 times in 20: lateral {answer.within(found['lateral_mm']):.2f} mm (rim hole "
        f"{found['lateral_rim_hole']}), radial {answer.within(found['radial_mm']):.2f} mm ({found['radial_rim_hole']}), tension "
        f"{answer.within(found['tension_N']):.0f} N ({found['tension_rim_hole']})."
    )
    next_one = answer.next_reading
    if next_one is None:
        return line
    return f"{line} To be surer, read {next_one.quantity} at rim hole {answer.hole_of(next_one)} next."


def windup(answer: TrueContent) -> str:
    """How far spokes twist."""
    part = f"1/{round(1 / answer.windup)} of a" if answer.windup < 0.5 else f"{answer.windup:.1f}"
    return (
        f"Spokes twist before the nipple moves, here by about {part} turn: go that much too far and back again, so that the spoke "
        "stays untwisted."
    )
