"""Of the bench sheet: whether the hub fits, the spacers, and the axle with all that sits on it, drawn to scale."""

from __future__ import annotations

from wheelcalc.answers.fitting.answer import FitAnswer
from wheelcalc.answers.fitting.page import chain, plans
from wheelcalc.measuring import assemble
from wheelcalc.page.html import elements
from wheelcalc.page.tags import BOX, Html, blank, tag, to_tick
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.sheet.material import Material, findings
from wheelcalc.paper.sheet.page import WIDTH
from wheelcalc.wheel.facts import USUAL_THICKNESS
from wheelcalc.wheel.parts import SIDES

PLANS = 5  # shown: two more than on a screen
THIN, THICK, LETTER = 0.2, 0.5, 5.0  # mm; large, since a phone shows all of it on half of the width
NUT_HEIGHT, SPACER_HEIGHT, END_HEIGHT, SHELL = 9.0, 7.5, 15.0, 8.0  # mm, half heights: only for the eye
FLANGE = 0.35  # half height of a flange over its pcd: only for the eye
LOCKNUT = 4.0  # mm, drawn thickness: only for the eye


def fit_page(material: Material) -> list[Html]:
    """Verdict, what to do, the axle stack, the other plans."""
    answer = material.fit
    out = [tag("p", tag("b", answer.sentence()), class_="large"), findings(answer.findings)]
    if answer.steps():
        out += [tag("h3", "What to do"), to_tick(answer.steps())]
    if answer.width is not None:
        out.append(_stack_figure(answer))
    if any(answer.spacers):
        out.append(tag("div", elements(plans(answer, working=False, most=PLANS)), class_="keep"))
    out += elements(chain(answer, working=False))
    came_out = tag(
        "p", "As it came out: spacers left ", blank(16), " mm, right ", blank(16), " mm; wheel in the middle ", BOX
    )
    if answer.not_checked:
        look = [tag("h3", "Not checked yet: look yourself"), to_tick([each.what for each in answer.not_checked], "two")]
        out.append(tag("div", look, came_out, class_="keep"))
    else:
        out.append(came_out)
    return out


def _stack_figure(answer: FitAnswer) -> Html:
    drawing, scale = stack(answer)
    words = "drawn 1 : 1" if scale == 1 else f"drawn {scale:.2f} : 1"
    caption = f"The axle seen from behind, left on the left, {words} along the axle: lay the hub on it. Heights only for the eye."
    return tag("figure", Html(drawing.svg(true_size=True)), tag("figcaption", caption))


def stack(answer: FitAnswer) -> tuple[Drawing, float]:
    """Draw what sits on the axle, to scale along it; return the drawing and its scale."""
    build, width = answer.build, answer.width
    assert width is not None
    spacers = dict(zip(SIDES, answer.spacers, strict=True))
    stub = build.hub.axle_protrusion or 0.0
    end = build.frame.dropout_thickness if "frame.dropout_thickness" in build else 6.0
    total = max(width.hub + sum(spacers.values()), width.frame)
    reach = total + 2 * max(end, stub) + 16
    scale = min(1.0, WIDTH / reach)
    drawing = Drawing(reach, 70, "Axle stack from behind: frame ends, spacers, locknuts, flanges", reach * scale)
    with drawing.at(reach / 2, 25):
        _ends(drawing, width.frame, end)
        half = (width.hub + spacers["left"] + spacers["right"]) / 2
        drawing.line((-half - stub, 0), (half + stub, 0), 1.6)
        left_nut, right_nut = -half + spacers["left"], half - spacers["right"]
        _spacer(drawing, -half, left_nut, spacers["left"])
        _spacer(drawing, right_nut, half, spacers["right"])
        for face, way in ((left_nut, 1.0), (right_nut, -1.0)):
            _box(drawing, face, face + way * LOCKNUT, NUT_HEIGHT)
        _flanges(drawing, answer, (left_nut + right_nut) / 2)
        _dimension(drawing, 33, -width.frame / 2, width.frame / 2, f"frame {width.frame:.1f}")
        _dimension(drawing, 42, left_nut, right_nut, f"hub {width.hub:.1f}")
        drawing.line((0, -24), (0, 36), THIN, "dash-dot")
    return drawing, scale


def _box(drawing: Drawing, start: float, end: float, half: float, fill: str = "white") -> None:
    drawing.path([(start, -half), (end, -half), (end, half), (start, half)], THICK, fill=fill)


def _ends(drawing: Drawing, width: float, thick: float) -> None:
    for way in (-1.0, 1.0):
        start = way * width / 2
        _box(drawing, start, start + way * thick, END_HEIGHT)
        for stripe in (-10.0, -5.0, 5.0, 10.0):
            drawing.line((start, stripe + 2), (start + way * thick, stripe - 2), THIN)
    drawing.text((-width / 2 - thick / 2, -END_HEIGHT - 2), "end", LETTER)
    drawing.text((width / 2 + thick / 2, -END_HEIGHT - 2), "end", LETTER)


def _spacer(drawing: Drawing, start: float, end: float, thick: float) -> None:
    if abs(thick) < 0.05:
        return
    if thick > 0:
        _box(drawing, start, end, SPACER_HEIGHT, "black")
    word = f"{'spacer' if thick > 0 else 'taken off'} {abs(thick):.1f}"
    drawing.arrow([((start + end) / 2, 24), ((start + end) / 2, SPACER_HEIGHT + 1)], THIN, 2.0)
    drawing.text(((start + end) / 2, 28), word, LETTER)


def _flanges(drawing: Drawing, answer: FitAnswer, centre: float) -> None:
    build = answer.build
    places = {}
    for side, way in (("left", -1.0), ("right", 1.0)):
        if f"hub.{side}.locknut_to_flange" not in build and f"hub.{side}.offset" not in build:
            continue
        places[side] = centre + way * assemble.flange_offset(build, side)
        thick = build.hub.flange(side).thickness or USUAL_THICKNESS
        half = min((build.hub.flange(side).pcd if f"hub.{side}.pcd" in build else 44.0) * FLANGE, 18.0)
        _box(drawing, places[side] - thick / 2, places[side] + thick / 2, half)
        drawing.text((places[side], -half - 2), f"{side} flange", LETTER)
    if len(places) == 2:
        _box(drawing, places["left"] + 1.5, places["right"] - 1.5, SHELL)


def _dimension(drawing: Drawing, y: float, start: float, end: float, text: str) -> None:
    middle = (start + end) / 2
    for tip in (start, end):
        drawing.arrow([(middle, y), (tip, y)], THIN, 2.4)
        drawing.line((tip, END_HEIGHT), (tip, y + 1), THIN, "dotted")
    drawing.text((middle, y - 1.4), text, LETTER, bold=True)
