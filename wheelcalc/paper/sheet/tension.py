"""Of the bench sheet: the tension card and the checks of the first rides."""

from __future__ import annotations

from wheelcalc.answers.base import in_kgf
from wheelcalc.answers.lacing.answer import bedded
from wheelcalc.answers.tensioning.answer import TensionAnswer
from wheelcalc.answers.tensioning.page import balance
from wheelcalc.page.html import elements
from wheelcalc.page.tags import BOX, Html, blank, listed, table, tag, to_tick
from wheelcalc.paper import ride_in
from wheelcalc.paper.sheet.material import Material, findings
from wheelcalc.wheel.parts import SIDES

CAUTION = "Never past the rim's limit. Glasses on: a spoke or a nipple can break and fly."


def tension_page(material: Material) -> list[Html]:
    """How tight, in N, kgf and pitch."""
    answer = material.tension
    out = [findings(finding for finding in answer.findings if finding.level != "note"), _card(answer)]
    if answer.slack_share is not None:
        out += elements(balance(answer.tighter, answer.slacker, answer.slack_share))
    out += [
        tag("p", tag("b", "Tighten = clockwise, seen from the tyre. Loosen = anticlockwise."), class_="large"),
        tag("h3", "The way there"),
        to_tick(_way(answer), "two"),
        listed(
            [
                f"Limit {each.value_N:.0f} N ({in_kgf(each.value_N):.0f} kgf), {_where(each.side)}: {each.reason}"
                for each in answer.target.limits[:1]
            ]
        ),
        tag("div", _by_ear(answer), tag("p", CAUTION), class_="keep"),
    ]
    return out


def _by_ear(answer: TensionAnswer) -> list[Html]:
    if answer.sides[answer.tighter].pitch_hz is None:
        return []
    return [tag("p", answer.ear)]


def _card(answer: TensionAnswer) -> Html:
    if any(answer.sides[side].target_N is None for side in SIDES):
        return tag("p", "No target can be set; see above.")
    rows = []
    for side in ("right", "left"):
        each = answer.sides[side]
        target, low, high = (value or 0.0 for value in (each.target_N, each.low_N, each.high_N))
        rows.append(
            [
                tag("b", side, class_="large"),
                tag("b", f"{target:.0f} N", tag("br"), f"{in_kgf(target):.0f} kgf", class_="large"),
                [f"{low:.0f} to {high:.0f} N", tag("br"), f"{in_kgf(low):.0f} to {in_kgf(high):.0f} kgf"],
                tag("b", f"{each.pitch_hz:.0f} Hz", tag("br"), each.note, class_="large"),
                f"{each.low_pitch_hz:.0f} to {each.high_pitch_hz:.0f} Hz",
                f"{each.semitone_N:.0f} N",
            ]
        )
    return table(["side", "aim", "each spoke", "pitch", "each spoke", "a semitone is"], rows)


def _where(side: str) -> str:
    return "both sides" if side == "both" else f"the {side}"


def _way(answer: TensionAnswer) -> list[object]:
    aim = answer.sides[answer.tighter].target_N
    stages = "" if aim is None else ", ".join(f"{share * aim:.0f}" for share in (0.25, 0.5, 0.75))
    stops = f"At about {stages} N on the {answer.tighter}: true" if stages else "After every few rounds true"
    return [
        "All nipples to the same place: the end of the thread just gone. A drop of oil on thread and head.",
        f"{bedded(answer.wheel)}, spokes of a pair squeezed.",
        f"Round by round, every nipple alike: half turns, then quarters. {stops} "
        "sideways, up and down, and dish, in that order, before going on.",
        "Each nipple turned a little too far and back again, so that the spoke does not stay twisted.",
        "Near the aim: pairs of spokes squeezed hard with gloves on, all round; true again. Repeat until nothing moves.",
        f"The {answer.tighter} side's mean at its aim, every spoke between its low and high; the other side comes out by itself.",
    ]


def ride_page(material: Material) -> list[Html]:
    """What to look at before and after the first rides, with dates."""
    rows = [[when, blank(24), *[BOX for _ in ride_in.LOOKS], blank(46)] for when in ride_in.AFTER]
    looks = ["when", "date", *ride_in.LOOKS, "what was done"]
    return [
        tag("p", ride_in.WARNING),
        to_tick(ride_in.before(material.build), "two"),
        table(looks, rows),
        tag("p", ride_in.NEVER),
    ]
