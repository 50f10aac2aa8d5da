"""The spectrum of a tapped rim, one band for each recording, with its modes named and the room's tones marked."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from wheelcalc.answers.tapping import STRUCK, TapAnswer
from wheelcalc.arrays import Floats
from wheelcalc.measuring.mode_fit import Mode
from wheelcalc.measuring.ringing import Ringing
from wheelcalc.paper.drawing import Drawing, text_width
from wheelcalc.paper.strip import LINE, PAGE_WIDTH, TITLE, WIDTH

LEFT, RIGHT, SIZE = 60.0, 30.0, 13.0
TOP, BAND, GAP, ROWS = 110.0, 190.0, 96.0, 3
DEEPEST_DB = 60.0  # below the loudest: nothing that matters
MARKS = (50, 70, 100, 150, 200, 300, 400, 500, 700, 1000)  # Hz
LETTER = {"radial": "R", "lateral": "L"}
STYLE = {"radial": "solid", "lateral": "dashed"}


def spectrum(answer: TapAnswer) -> Drawing:
    """Draw how loud every frequency is just after taps, and which mode each peak is."""
    recordings = answer.tapped.recordings
    height = TOP + len(recordings) * (BAND + GAP)
    title = f"{answer.title}: what the tapped rim rings"
    drawing = Drawing(WIDTH, height, title, PAGE_WIDTH)
    drawing.text((WIDTH / 2, 28), title, min(TITLE, WIDTH / text_width(title, 1.0)), bold=True)
    said = (
        "Thick: just after taps. Thin: just before them. R, solid: radial; L, dashed: lateral; behind it the waves round the",
        "rim. Dotted: sounds all the time, no mode. Upwards: louder, 20 dB a line; across: Hz.",
    )
    for row, text in enumerate(said):
        drawing.text((LEFT, 50 + 18 * row), text, SIZE, "start")
    high = answer.tapped.band[1]
    for place, (kind, each) in enumerate(recordings.items()):
        _band(drawing, answer, f"tapped {STRUCK[kind]}", each, TOP + place * (BAND + GAP), high)
    return drawing


def _band(drawing: Drawing, answer: TapAnswer, name: str, heard: Ringing, top: float, high: float) -> None:
    base = top + ROWS * SIZE + BAND
    low = float(heard.hz[0])
    loudest = float(heard.after.max())

    def x(hz: float) -> float:
        return LEFT + float(np.log(hz / low) / np.log(high / low)) * (WIDTH - LEFT - RIGHT)

    def y(level: float) -> float:
        return base - max(level - loudest + DEEPEST_DB, 0.0) / DEEPEST_DB * BAND

    drawing.path([(LEFT, base - BAND), (LEFT, base), (WIDTH - RIGHT, base)], LINE)
    for down in range(0, int(DEEPEST_DB), 20):
        drawing.line((LEFT - 5, y(loudest - down)), (LEFT, y(loudest - down)), LINE)
    for mark in MARKS:
        if low <= mark <= high:
            drawing.line((x(mark), base), (x(mark), base + 5), LINE)
            drawing.text((x(mark), base + 20), str(mark), SIZE)
    drawing.text((WIDTH - RIGHT, base + 40), name, SIZE, "end", bold=True)
    for level, width in ((heard.before, 0.4), (heard.after, 1.2)):
        drawing.path([(x(hz), y(each)) for hz, each in _thinned(heard.hz, level)], width)
    for hz in heard.steady.tolist():
        drawing.line((x(hz), base), (x(hz), base - BAND), 0.8, "dotted")
    _names(drawing, answer.tapped.fit.modes, x, base)


def _thinned(hz: Floats, level: Floats) -> list[tuple[float, float]]:
    """The loudest of every few bins where they lie closer than a printer shows."""
    place = np.floor(np.log(hz) * 300).astype(int)  # ours: three hundred places in each factor e
    starts = np.flatnonzero(np.diff(place, prepend=-1))
    return list(zip(hz[starts].tolist(), np.maximum.reduceat(level, starts).tolist(), strict=True))


def _names(drawing: Drawing, modes: Sequence[Mode], x: Callable[[float], float], base: float) -> None:
    """Name the modes above their peaks, on as many rows as keep them apart."""
    ends = [-1e9] * ROWS
    for mode in modes:
        at = x(mode.hz)
        name = f"{LETTER[mode.kind]}{mode.waves}"
        row = next((i for i, end in enumerate(ends) if at - text_width(name, SIZE) / 2 > end + 2), None)
        drawing.line((at, base), (at, base - BAND - 2), 0.5, STYLE[mode.kind])
        if mode.pair:
            drawing.line((x(mode.pair), base), (x(mode.pair), base - BAND - 2), 0.5, STYLE[mode.kind])
        if row is not None:
            drawing.text((at, base - BAND - 6 - 14 * row), name, SIZE)
            ends[row] = at + text_width(name, SIZE) / 2
