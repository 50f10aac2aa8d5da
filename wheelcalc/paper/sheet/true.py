"""Of the bench sheet: the log of trueing, blank, or its first pass filled in from readings."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.answers.truing.page import signed_turn, verdict
from wheelcalc.page.tags import BOX, Html, table, tag
from wheelcalc.paper.bench.file import bench_file
from wheelcalc.paper.sheet.material import Material, findings
from wheelcalc.wheel.errors import InputError

PASSES = 5
MANY_ROWS = 36  # above, rows are low, so that one page holds them
TO_READ = ("lat", "rad", "N", "turn")
SHOWN = 0.05  # mm: a smaller move reads as none
SIGNS = "lateral: + to the right. radial: + outward. turn: + tighter (clockwise seen from the tyre)."
HEADERS = ["hole", "hub", "lateral", "radial", "N", "turn"]


def truing_page(material: Material) -> list[Html]:
    """The log: a row for each spoke, five passes side by side; the first alone where readings fill it in."""
    lacing, done = material.lengths.wheel.lacing, material.build.truing.done
    ready = (
        f"Done when: sideways within {done.lateral:g} mm and up and down within {done.radial:g} mm (largest less smallest), "
        f"the rim within {done.dish:g} mm of the middle, tension of each side even."
    )
    spokes = [
        [f"{hole} {side[0].upper()}", str(label)]
        for hole, side, label in zip(lacing.rim_hole.tolist(), lacing.sides, lacing.hub_labels, strict=True)
    ]
    words = tag("p", f"{ready} {SIGNS} An empty cell is no harm.", class_="small")
    answer = material.true
    if answer is None:
        return [words, *_blank(range(1, PASSES + 1), spokes)]
    head = tag("h3", f"Passes 2 to {PASSES}", class_="next-page")
    return [*_planned(answer, spokes), head, words, *_blank(range(2, PASSES + 1), spokes)]


def to_tick_page(material: Material) -> list[Html]:
    """The turns as a file of their own, to be ticked on a screen."""
    if material.true is None:
        raise InputError("readings", "nothing to tick without readings; give them (--readings READINGS.csv)")
    return [Html(bench_file(material.file, material.true))]


def _blank(passes: range, spokes: list[list[str]]) -> Iterator[Html]:
    """Passes to be filled in, side by side; dish and date have a row of their own."""
    first = tag("tr", [tag("th", each, scope="col", rowspan=2) for each in ("hole", "hub")])
    over = [
        tag("th", f"pass {number}, date", scope="colgroup", colspan=len(TO_READ), class_="begins") for number in passes
    ]
    names = [
        tag("th", name, scope="col", class_="begins" if place == 0 else None)
        for _ in passes
        for place, name in enumerate(TO_READ)
    ]
    empty = [tag("td", "", class_="begins" if place == 0 else None) for _ in passes for place in range(len(TO_READ))]
    dish = tag("tr", tag("th", "dish", scope="row"), tag("td", ""), empty)
    rows = [tag("tr", tag("th", hole, scope="row"), tag("td", hub), empty) for hole, hub in spokes]
    head = tag("thead", Html(first.removesuffix("</tr>") + "".join(over) + "</tr>"), tag("tr", names))
    yield tag("table", head, tag("tbody", dish, rows), class_="passes" + " low" * (len(spokes) > MANY_ROWS))


def _planned(answer: TrueAnswer, spokes: list[list[str]]) -> Iterator[Html]:
    """The pass that the readings ask for: what was read, and what each nipple is to be turned."""
    yield findings(finding for finding in answer.findings if finding.level != "note")
    yield tag("h3", f"Pass {len(answer.passes)}, by your readings")
    dish = answer.dish
    if dish and abs(dish.move) >= SHOWN:
        side = "right" if dish.move > 0 else "left"
        yield tag("p", f"Dish: the rim must move {abs(dish.move):.1f} mm to the {side}; the turns see to it.")
    if not answer.turns.any():
        yield tag("p", tag("b", verdict(answer)))
    yield tag(
        "p",
        f"{_outcome(answer)} {SIGNS} In mm, N, turns; each nipple is turned once, ticked when it is done.",
        class_="small",
    )
    lacing, read = answer.wheel.lacing, answer.newest
    at = lacing.rim_hole - 1
    yield _log(
        [
            [*spoke, _value(lateral, "+.2f"), _value(radial, "+.2f"), _value(force, ".0f"), _turn(float(turn))]
            for spoke, lateral, radial, force, turn in zip(
                spokes, read.lateral[at], read.radial[at], read.tensions, answer.turns, strict=True
            )
        ]
    )


def _outcome(answer: TrueAnswer) -> str:
    """Run-outs and spread as read, and as they should be after the pass."""
    now, after = answer.spread_json(answer.judged.verdict.now), answer.spread_json(answer.judged.verdict.after)
    words = {"lateral_mm": "sideways", "radial_mm": "up and down"}
    parts = [f"{word} {now[key]:.2f} mm, then {after[key]:.2f}" for key, word in words.items() if now[key] is not None]
    for side, spread in now["tension_spread_percent"].items():
        if spread is not None:
            parts.append(f"{side} tensions uneven by {spread:.0f} %, then {after['tension_spread_percent'][side]:.0f}")
    return f"Now and after the pass: {'; '.join(parts)}."


def _value(value: float, form: str) -> str:
    return format(value, form) if np.isfinite(value) else ""


def _turn(turns: float) -> list[object]:
    """Return a turn with its sign and a box to tick; empty where there is none."""
    return [tag("b", signed_turn(turns)), " ", BOX] if turns else []


def _log(rows: list[list[object]]) -> Html:
    half = (len(rows) + 1) // 2
    halves = [table(HEADERS, part, "log filled") for part in (rows[:half], rows[half:]) if part]
    return tag("div", halves, class_="pair")
