"""Of the bench sheet: the lacing map of both faces, a page each, and the steps."""

from __future__ import annotations

from wheelcalc.answers.lacing.answer import LaceAnswer
from wheelcalc.page.tags import BOX, Html, listed, tag, to_tick
from wheelcalc.page.tags import table as html_table
from wheelcalc.paper.lacing_map import flange_face, lacing_face
from wheelcalc.paper.sheet.material import Material, findings

MAP, FLANGE = 144.0, 73.0  # mm wide on paper


def lace_page(material: Material) -> list[Html]:
    """How to number, the steps, then a map a face."""
    answer = material.lace
    return [
        findings(answer.findings, notes=False),
        tag("h3", "How to number"),
        listed(answer.numbering),
        tag("h3", "The steps"),
        *_steps(answer),
        tag("div", tag("h3", "Then"), to_tick(_then(answer)), class_="keep"),
        *_faces(answer),
    ]


def _steps(answer: LaceAnswer) -> list[Html]:
    return [
        tag(
            "div",
            tag("h3", BOX, f" {number}. {step.title}"),
            tag("p", step.text),
            tag("p", tag("b", "Check: "), step.checkpoint),
            class_="step",
        )
        for number, step in enumerate(answer.steps, start=1)
    ]


def _then(answer: LaceAnswer) -> list[str]:
    return [
        f"{len(answer.wheel.lacing)} spokes counted, every nipple on by two or three turns.",
        f"At the valve {answer.valve_opening:.0f} mm stay free, 50 mm below the rim.",
        "All nipples screwed down to the same place: the end of the thread just gone.",
        f"{answer.bedding}.",
    ]


def _faces(answer: LaceAnswer) -> list[Html]:
    words = "Thick: the flange on this side; thin: the other. Solid: head outside; broken: head inside. Outside the rim: rim holes."
    out = []
    for side in ("right", "left"):
        face, flange = lacing_face(answer.wheel, side, MAP), flange_face(answer.wheel, side, FLANGE)
        out += [
            tag("h3", f"Map of the {side} face", class_="next-page"),
            tag("p", words, class_="small"),
            tag("figure", Html(face.svg())),
            tag("div", tag("figure", Html(flange.svg())), _list_of_side(answer, side), class_="pair flange"),
        ]
    return out


def _list_of_side(answer: LaceAnswer, side: str) -> Html:
    """The side's spokes by rim hole, two columns side by side."""
    lacing, bundles = answer.wheel.lacing, answer.bundles
    mask = lacing.on(side)
    short = {"trailing": "trail", "leading": "lead", "radial": "radial"}
    cells = [
        f"{hole} - {hub} {short[way]}, {head}"
        for hole, hub, way, head, mine in zip(
            lacing.rim_hole.tolist(), lacing.hub_labels, lacing.directions, lacing.heads, mask.tolist(), strict=True
        )
        if mine
    ]
    half = -(-len(cells) // 2)
    rows = [[cells[i + half * n] if i + half * n < len(cells) else "" for n in range(2)] for i in range(half)]
    length = sorted({f"{bundles[hole]:g}" for hole in lacing.rim_hole[mask].tolist() if hole in bundles})
    caption = f"{side} spokes, {' and '.join(length) or 'no'} mm: rim hole - hub hole"
    return html_table(["", ""], rows, "dense headless", caption)
