"""Of the bench sheet: the lacing map of both faces, a page each, and the steps."""

from __future__ import annotations

from wheelcalc.answers.lacing.answer import LaceAnswer
from wheelcalc.page.tags import BOX, Html, listed, tag, to_tick
from wheelcalc.paper.lacing_map import SAID, VIEW, lacing_face, samples
from wheelcalc.paper.sheet.material import Material, findings

MAP = 118.0  # mm wide on paper


def lace_page(material: Material) -> list[Html]:
    """How to number, the steps, then a map a face."""
    answer = material.lace
    return [
        findings(answer.findings, notes=False),
        tag("h3", "How to number"),
        listed(answer.numbering),
        *_steps(answer),
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
    """Both faces; beside the first how to read them, beside the second what comes after the last spoke."""
    rows: list[Html] = []
    legend = [tag("p", SAID), to_see(answer)]
    then = [tag("h3", "When all spokes are in"), to_tick(_then(answer))]
    for (side, name), words in zip(VIEW.items(), (legend, then), strict=True):
        face = lacing_face(answer.wheel, side, MAP)
        beside = tag("div", tag("h3", f"Map: {name[0].lower()}{name[1:]}"), _length_of_side(answer, side), words)
        rows += [tag("figure", Html(face.svg())), beside]
    return [tag("div", rows, class_="maps next-page")]


def to_see(answer: LaceAnswer) -> Html:
    """What the lines of the map mean."""
    return tag(
        "ul",
        [tag("li", Html(sample.picture().svg(true_size=True)), sample.label) for sample in samples(answer.wheel)],
        class_="samples",
    )


def _length_of_side(answer: LaceAnswer, side: str) -> Html:
    lacing, bundles = answer.wheel.lacing, answer.bundles
    holes = lacing.rim_hole[lacing.on(side)].tolist()
    lengths = sorted({f"{bundles[hole]:g}" for hole in holes if hole in bundles})
    return tag("p", f"{side} spokes: {len(holes)}, {' and '.join(lengths) or 'no'} mm.")
