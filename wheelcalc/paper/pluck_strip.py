"""Tensions heard in a recording as a strip from valve to valve: how far each spoke is from its side's mean; below, the sound itself."""

from __future__ import annotations

import math

import numpy as np

from wheelcalc.answers.plucking.answer import PluckAnswer
from wheelcalc.arrays import Floats
from wheelcalc.paper.drawing import Drawing
from wheelcalc.paper.pluck_sound import sound_rows
from wheelcalc.paper.strip import LINE, MARGIN, NUMBERS, SIZE, WIDTH, Mark, Panel, Sample, Strip, on_paper
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY

LEFT, RIGHT = NUMBERS + 10, WIDTH - 76  # the tensions stand right of it
OF_SIDE = {"right": Mark("dot", "black"), "left": Mark("dot", "white")}
LEAST_STEP = 5.0  # % between the marks of the scale
EVEN = 10.0  # % of the mean, either way: the usual tolerance of evenness
ROOM = 3.0  # % beyond the furthest
USUAL = ("dash-dot", LINE)


def pluck_strip(answer: PluckAnswer) -> Drawing:
    """Draw how far the tension of every spoke that was heard is from the mean of its side."""
    lacing = answer.wheel.lacing
    away, within = _of_mean(answer)
    strip = Strip(f"{answer.title}: tension as heard", lacing, _said(answer), _samples(answer), 2)
    far = max(EVEN, float(np.nanmax(np.abs(away) + within))) + ROOM
    panel = Panel(LEFT, RIGHT, -far, far)
    strip.panel(panel, ["% of the side's mean", "- looser, + tighter"], LEAST_STEP)
    strip.across(panel, 0.0)
    for sign in (-1, 1):
        strip.across(panel, sign * EVEN, USUAL)
    for side, mark in OF_SIDE.items():
        mask = lacing.on(side)
        strip.errors(panel, lacing.rim_angle_deg[mask], away[mask], within[mask])
        strip.curve(panel, lacing.rim_angle_deg[mask], away[mask], None, mark)
    _numbers(strip, answer)
    means = ", ".join(f"{name} {side.tension:.0f} N" for name, side in answer.sides.items())
    strip.feet([(f"mean: {means}", panel.x(0.0))])
    return on_paper(strip.drawing, sound_rows(strip.drawing, answer, strip.low + 2 * SIZE))


def _said(answer: PluckAnswer) -> list[str]:
    height = "" if answer.calibrated else "Not calibrated: compare the spokes of one side only. "
    return [f"{height}Bars, and +-: error of the ear, 19 times in 20."]


def _samples(answer: PluckAnswer) -> list[Sample]:
    heard = [Sample(side, mark=mark) for side, mark in OF_SIDE.items() if side in answer.sides]
    return [*heard, Sample(f"{EVEN:.0f} % either way, usual evenness", USUAL)]


def _of_mean(answer: PluckAnswer) -> tuple[Floats, Floats]:
    """How far each spoke is from the mean of its side, and the ear's error, (n,) each [%]; nan where none was heard."""
    means = [answer.sides[side].tension if side in answer.sides else math.nan for side in answer.wheel.lacing.sides]
    share = 100 / np.asarray(means)
    return answer.tension * share - 100, NINETEEN_IN_TWENTY * answer.own * share


def _numbers(strip: Strip, answer: PluckAnswer) -> None:
    """The tension of each spoke in the row of its rim hole; a question mark where it was plucked and not surely heard."""
    strip.drawing.text((WIDTH - MARGIN, strip.heads_at + 0.9 * SIZE), "N", SIZE, "end", bold=True)
    heard = {
        int(spoke): f"{answer.tension[spoke]:.0f} +-{NINETEEN_IN_TWENTY * answer.own[spoke]:.0f}"
        for spoke in np.flatnonzero(np.isfinite(answer.tension))
    }
    doubtful = {each.spoke: "?" for each in answer.heard if not each.pluck.usable and each.spoke is not None}
    for spoke, text in {**doubtful, **heard}.items():
        y = strip.row(int(answer.wheel.lacing.rim_hole[spoke]))
        strip.drawing.text((WIDTH - MARGIN, y + SIZE / 3), text, SIZE, "end")
