"""Of the bench sheet: the old wheel, before it comes apart, and what it and the jar are good for."""

from __future__ import annotations

from collections.abc import Iterator

from wheelcalc.answers.salvaging.jar import JarAnswer
from wheelcalc.answers.salvaging.old import OldWheel
from wheelcalc.answers.salvaging.rim import Outcome, RimAnswer
from wheelcalc.page.tags import BOX, Html, blank, joined, table, tag, to_tick
from wheelcalc.paper.sheet.material import Material, findings
from wheelcalc.paper.sheet.order import chance
from wheelcalc.salvage.first_page import steps
from wheelcalc.salvage.slips import Verdict
from wheelcalc.wheel.parts import SIDES

BUILDS, SLIPS = 8, 6  # lines shown


def salvage_page(material: Material) -> list[Html]:
    """What to do and to read while the wheel stands; once it was read, what its readings say."""
    answer = material.salvage
    unread = answer.old_wheel is None and answer.slips is None
    return [
        *(_first_page(material) if unread else []),
        *(_old_wheel(answer.old_wheel) if answer.old_wheel else []),
        *(_slips(answer.slips) if answer.slips else []),
        *(_old_rim(answer.old_rim, new_page=unread) if answer.old_rim else []),
        *(_builds(answer.jar) if answer.jar else []),
        findings(answer.findings, notes=False),
    ]


def _first_page(material: Material) -> list[Html]:
    with_cogs = material.build.position != "front"
    return [
        tag("p", "While the old wheel is still built, in this order:", class_="large"),
        to_tick(steps(with_cogs=with_cogs)),
        tag("div", tag("h3", "As it stood"), _as_it_stood(), class_="keep"),
        tag("div", tag("h3", "The bare rim"), _bare_rim(), class_="keep"),
    ]


def _as_it_stood() -> Html:
    lengths = [f"spoke {number}, elbow to end, mm" for number in (1, 2, 3)]
    rows = [
        [what, blank(34), blank(34)]
        for what in (
            "crosses, the one at the flange counted",
            "heads in: leading or trailing",
            "spokes tight? tension, N",
            "ends, + beyond the slot's bottom, mm",
            *lengths,
        )
    ]
    return table(["", "left", "right"], rows)


def _bare_rim() -> Html:
    rows: list[list[object]] = [
        ["diameter, two to four ways, mm", [blank(20), " ", blank(20), " ", blank(20), " ", blank(20)]],
        ["largest gap on a flat table, mm", blank(20)],
        ["brake wall where it is thinnest, mm", blank(20)],
        ["cracks, bulges", ["none ", BOX, "  there are: ", blank(50)]],
    ]
    return table(["what", "read"], rows)


def _old_wheel(old: OldWheel) -> Iterator[Html]:
    rows = [
        [f"old wheel, {side} spokes", f"{each.value:.1f}", f"+-{old.within(each.sigma):.1f}"]
        for side, each in old.gauged.sides.items()
    ]
    if old.measured is not None:
        rows.append(["measured", f"{old.measured.value:.1f}", f"+-{old.within(old.measured.sigma):.1f}"])
    rows.append(["all together", f"{old.combined.value:.1f}", f"+-{old.combined.within:.1f}"])
    said = "" if old.apart is None else f"Measured less old wheel: {old.apart:+.1f} mm; {old.agreement}."
    yield tag(
        "div",
        tag("h3", "The rim, by the old wheel"),
        table(["from", "rim.erd to the spoke end, mm", "19 times in 20"], rows),
        tag("p", said) if said else "",
        class_="keep",
    )
    if old.spokes is not None:
        found = (f"{line.side} {line.length:g} mm, {line.count} + {line.spares}" for line in old.spokes.lines)
        yield tag("p", "Spokes for the new wheel with that rim: ", tag("b", "; ".join(found)), ".")


def _slips(verdict: Verdict) -> Iterator[Html]:
    head = tag("h3", "Which reading is wrong?")
    if verdict.agree:
        yield tag("div", head, tag("p", verdict.words), class_="keep")
        return
    rows = [[each.what, chance(each.probability), f"{each.misfit:.1f}"] for each in verdict.explanations[:SLIPS]]
    listed = table(["if it was", "how likely", "left unexplained, mm"], rows)
    yield tag("div", head, tag("p", verdict.words), tag("p", BOX, " ", verdict.look), listed, class_="keep")


def _old_rim(answer: RimAnswer, *, new_page: bool) -> Iterator[Html]:
    told = answer.forecast
    parts: list[object] = [tag("p", tag("b", f"{answer.verdict.capitalize()}."))]
    if told is not None:
        rows = [_outcome("made to run true", told.straight), _outcome("tension kept even", told.even)]
        headers = ["built", "lateral mm", "radial mm", "left N", "right N", "uneven"]
        parts.append(table(headers, rows, caption="Forecast of a wheel on it, at the target tension"))
    class_ = "keep next-page" if new_page else "keep"
    yield tag("div", tag("h3", "Is the old rim worth new spokes?"), parts, class_=class_)


def _outcome(name: str, built: Outcome) -> list[object]:
    forces = [f"{built.lowest[side]:.0f}-{built.highest[side]:.0f}" for side in SIDES]
    return [
        name,
        f"{built.lateral:.1f}",
        f"{built.radial:.1f}",
        *forces,
        "under 1 %" if built.uneven < 0.01 else f"{100 * built.uneven:.0f} %",
    ]


def _builds(jar: JarAnswer) -> Iterator[Html]:
    yield tag("h3", "What the jar can build")
    if not jar.whole:
        yield tag("p", f"Nothing: no wheel for which there are spokes enough ({jar.tried} patterns tried).")
        return
    rows = [
        [
            each.rim,
            each.hub,
            "/".join(f"{each.crosses[side]:g}" for side in SIDES),
            "/".join(each.mix(side) for side in SIDES),
            "/".join(f"{each.end(side):+.1f}" for side in SIDES),
            chance(each.chance),
            each.findings[0].level if each.findings else "",
        ]
        for each in jar.whole[:BUILDS]
    ]
    headers = ["rim", "hub", "crosses", "lengths, mm", "ends, mm", "chance", "mind"]
    yield joined([table(headers, rows), tag("p", "Left/right. `wheelcalc salvage` says what to mind.", class_="small")])
