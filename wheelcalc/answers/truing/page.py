"""What `true` says: whether to turn on, each nipple's turn in rim order, how the wheel stands and will stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from wheelcalc.answers.truing.content import TrueContent
from wheelcalc.page.blocks import Block, Column, Page, Sentence, Table
from wheelcalc.page.numbers import counted, several, signed
from wheelcalc.truing.advice import hand_part
from wheelcalc.truing.verdict import AGAIN, BENT, END, NOT_YET, STUCK, WITHIN
from wheelcalc.wheel.parts import SIDES

FINEST = 16  # parts of a turn that are written as a fraction
CAUTION = (
    "Safety: wear eye protection: a spoke or nipple can break and fly. Do not ride before the wheel runs true, no spoke is "
    "slack and the brake is set."
)
LEGEND = "+-: 19 times in 20"
WORTH_SAYING = 0.05  # ours, of the doubt: a reading that takes less is not asked for in words
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
        details=[*_learned(answer), *map(Sentence, _advice(answer))],
        assumptions=answer.assumptions,
    )


def verdict(answer: TrueContent) -> str:
    """Whether to turn on, in one sentence."""
    lateral, radial = (answer.was_read(name) for name in ("lateral", "radial"))
    if answer.why == NOT_YET:
        rows = answer.turn_rows()
        turns = fraction(sum(abs(row["turns"]) for row in rows))
        aims = several([AIMS[each] for each in answer.judged.verdict.aims])
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
        AGAIN: "Do not turn anything: these readings do not agree with one another. Read again."
        if answer.disagreeing
        else "Do not turn anything: the readings look slipped. Read again.",
    }[answer.why]


def fraction(turns: float) -> str:
    """Return a number of turns as a mechanic writes it: "1 3/8"."""
    whole, part = divmod(abs(turns), 1)
    near = Fraction(part).limit_denominator(FINEST)
    if abs(float(near) - part) > 1e-9:
        return f"{abs(turns):.3g}"
    return " ".join(([f"{whole:.0f}"] if whole else []) + ([str(near)] if near else [])) or "0"


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


def pass_table(answer: TrueContent) -> Table:
    """Each nipple with its whole turn, signed, in rim order; its side too where it does not go with the rim hole."""
    columns = [Column("hole", lambda row: str(row["rim_hole"]))]
    if alternates(answer) is None:
        columns.append(Column("side", lambda row: row["side"], "left"))
    columns.append(Column("turn", lambda row: signed_turn(row["turns"])))
    return Table(columns, answer.turn_rows(), abreast=True)


def signed_turn(turns: float) -> str:
    """Return a turn as short as it goes: "+3/4", "-1 1/8", + tightens."""
    return f"{'+' if turns > 0 else '-'}{fraction(turns)}"


def alternates(answer: TrueContent) -> str | None:
    """Which side the odd rim holes serve, where all of them serve one and the even ones the other."""
    lacing = answer.wheel.lacing
    odd = {side for hole, side in zip(lacing.rim_hole.tolist(), lacing.sides, strict=True) if hole % 2}
    even = {side for hole, side in zip(lacing.rim_hole.tolist(), lacing.sides, strict=True) if not hole % 2}
    return odd.pop() if len(odd) == len(even) == 1 and odd != even else None


def _turns(answer: TrueContent) -> Iterator[Block]:
    if not answer.turns.any():
        return
    odd = alternates(answer)
    even = next(side for side in SIDES if side != odd)
    which, past = f"{odd} odd, {even} even, " if odd else "", turned_past(answer)
    yield Sentence(
        f"+ tighter (clockwise from the tyre){past and f'; turn {past} too far and back'}. Holes: {which}forward from the valve."
        f"{_common(answer)}"
    )
    if answer.proof is not None:
        hole = answer.wheel.lacing.rim_hole[answer.proof.spoke]
        yield Sentence(f"First hole {hole} alone, {signed_turn(answer.proof.turns)}: {answer.proof_words}; else stop.")
    yield pass_table(answer)


def _common(answer: TrueContent) -> str:
    """What all nipples of a side have in common, and for what."""
    parts = [
        f"{side} {signed_turn(value)}"
        for side, value in zip(SIDES, answer.judged.verdict.side_turns, strict=True)
        if value
    ]
    if not parts:
        return ""
    dish = answer.dish
    reason = "dish" if dish and abs(dish.move) > answer.planner.done.dish else "tension"
    return f" In each for {reason}: {', '.join(parts)}."


def turned_past(answer: TrueContent) -> str:
    """Return how far a nipple goes past its turn and back, since its spoke twists with it [turns]; empty where it hardly does."""
    part = hand_part(answer.windup)
    return fraction(part) if part else ""


def _figures(answer: TrueContent) -> Iterator[Block]:
    judged = answer.judged.verdict
    columns: list[tuple[str, dict[str, Any]]] = [
        ("as read", answer.read_json()),
        ("now", answer.spread_json(judged.now)),
    ]
    if answer.turns.any():
        columns += [
            ("after", answer.spread_json(judged.after)),
            ("next readings", answer.spread_json(judged.after_reads)),
        ]
    rows = [(words, [_figure(each, name, sigma, digits) for _, each in columns]) for words, name, sigma, digits in ROWS]
    for side in SIDES:
        rows.append((f"{side} tensions uneven by, %", [_uneven(each, side) for _, each in columns]))
    heads = [Column(LEGEND, lambda row: row[0], "left")]
    heads += [Column(name, lambda row, i=i: row[1][i]) for i, (name, _) in enumerate(columns)]  # type: ignore[misc]
    if answer.promised is not None:
        yield Sentence(_kept(answer))
    yield Table(heads, rows)


def _figure(stand: Mapping[str, Any], name: str, sigma: str, digits: int) -> str:
    value, doubt = stand[name], stand.get(sigma)
    if value is None:
        return "not read"
    shown = f"{value:.{digits}f}" if name != "dish_mm" else signed(value, digits)
    return shown if doubt is None else f"{shown} +-{1.96 * doubt:.{digits}f}"


def _uneven(stand: Mapping[str, Any], side: str) -> str:
    value, doubt = stand["tension_spread_percent"][side], stand.get("tension_spread_sigma_percent", {}).get(side)
    if value is None:
        return "not read"
    return f"{value:.1f}" if doubt is None else f"{value:.1f} +-{1.96 * doubt:.1f}"


def _kept(answer: TrueContent) -> str:
    """What the pass before promised against what was read."""
    promised, got = answer.spread_json(answer.promised), answer.read_json()  # type: ignore[arg-type]
    parts = [
        f"{words} {promised[name]:.2f} +-{1.96 * promised[sigma]:.2f} (read {got[name]:.2f})"
        for words, name, sigma in (
            ("lateral", "lateral_mm", "lateral_sigma_mm"),
            ("radial", "radial_mm", "radial_sigma_mm"),
        )
        if promised[name] is not None and got[name] is not None
    ]
    return f"Promised: {', '.join(parts)} mm." if parts else ""


def _learned(answer: TrueContent) -> Iterator[Block]:
    """What the passes say of the reader and the wheel; of one pass the JSON says it."""
    if len(answer.passes) < 2:
        return
    learned = answer.learned_json()
    noise = learned["noise"]
    words = [
        f"{name} {noise[key]:.2f} mm"
        for name, key in (("lateral", "lateral_mm"), ("radial", "radial_mm"))
        if noise[key] is not None
    ]
    words += [f"tension {noise['tension_percent']:.0f} %"] if noise["tension_percent"] is not None else []
    yield Sentence(
        f"Learned: your readings scatter by {', '.join(words)}; the rim is {learned['stiffness_of_estimate']:.2f} times as stiff as "
        f"estimated, the ends give {learned['end_give']:.2f} mm for 1000 N."
    )


def _advice(answer: TrueContent) -> Iterator[str]:
    yield from filter(None, [dish(answer), level(answer), read_more(answer)])
    yield CAUTION


def dish(answer: TrueContent) -> str:
    """Where the rim lies against the middle, where the pass above does not see to it."""
    move = answer.dish
    if move is None:
        return "Dish: unknown, since lateral was not read from the plane half-way between the locknuts."
    words = sides(move.left, move.right)
    if not words or any(answer.judged.verdict.side_turns):
        return ""
    way = "right" if move.move > 0 else "left"
    line = f"Dish: the rim must move {abs(move.move):.1f} mm to the {way}"
    if answer.turns.any():
        return f"{line}; the turns above see to it."
    return f"{line}: {words}. That is within what you call done."


def level(answer: TrueContent) -> str:
    """What brings the tension as a whole to its target."""
    both = answer.level
    turned = (
        [(side, value) for side, value in zip(SIDES, (both.left, both.right), strict=True) if value] if both else []
    )
    if not turned:
        return ""
    target = answer.at_tensions.target.tension
    words = ", ".join(f"all {side} {signed_turn(value)}" for side, value in turned)
    slowly = ", half a turn at a time" if max(abs(value) for _, value in turned) > 0.5 else ""
    return (
        f"Below target tension (right {target['right']:.0f}, left {target['left']:.0f} N). Once true: {words}{slowly}."
    )


def read_more(answer: TrueContent) -> str:
    """What to read besides, where something was not."""
    reading = answer.next_reading
    worth = reading is not None and reading.share >= WORTH_SAYING
    return (
        f"To be surer, read {reading.quantity} at rim hole {answer.hole_of(reading)} next." if reading and worth else ""
    )
