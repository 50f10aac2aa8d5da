"""Of the bench sheet: the old wheel, before it comes apart, and what it and the jar are good for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wheelcalc.answers.salvaging import page as said
from wheelcalc.answers.salvaging.old import OldWheel
from wheelcalc.page.blocks import Block
from wheelcalc.page.html import elements
from wheelcalc.page.tags import BOX, Html, blank, table, tag, to_tick
from wheelcalc.paper.sheet.material import Material, findings
from wheelcalc.salvage.first_page import steps

BUILDS = 8  # lines shown: two more than on a screen


def salvage_page(material: Material) -> list[Html]:
    """What to do and to read while the wheel stands; once it was read, what its readings say."""
    answer = material.salvage
    unread = answer.old_wheel is None and answer.slips is None
    return [
        *(_first_page(material) if unread else []),
        *(_old_wheel(answer.old_wheel) if answer.old_wheel else []),
        *([_kept(said.slips(answer.slips, whole=True))] if answer.slips else []),
        *([_kept(said.old_rim(answer.old_rim, whole=True), new_page=unread)] if answer.old_rim else []),
        *(elements(said.builds(answer.jar, whole=True, most=BUILDS)) if answer.jar else []),
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
    yield _kept(said.old_wheel(old, whole=True), "The rim, by the old wheel")
    if old.spokes is not None:
        lines = (f"{line.side} {line.length:g} mm, {line.count} + {line.spares}" for line in old.spokes.lines)
        yield tag("p", "With spares: ", tag("b", "; ".join(lines)), ".")


def _kept(blocks: Sequence[Block], title: str = "", *, new_page: bool = False) -> Html:
    """Blocks of the answer that stand on one page."""
    head = tag("h3", title) if title else ""
    return tag("div", head, elements(blocks), class_="keep next-page" if new_page else "keep")
