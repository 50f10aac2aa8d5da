"""The spectrum of a tapped rim, one band for each recording, with its modes named and the room's tones marked."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from wheelcalc.answers.tapping import STRUCK, TapAnswer
from wheelcalc.arrays import Floats
from wheelcalc.measuring.mode_fit import Mode
from wheelcalc.measuring.ringing import Ringing
from wheelcalc.paper.drawing import LINE_HEIGHT, Drawing, text_width
from wheelcalc.paper.strip import HAIR, LINE, MARGIN, SIZE, TITLE, WIDTH, Pen, Sample, explained, on_paper

LEFT, RIGHT = 34.0, WIDTH - MARGIN
BAND, ROWS = 190.0, 3  # height of the curves, and rows of names above them
DEEPEST_DB, EACH_DB = 60, 20  # below the loudest: nothing that matters; between the marks
MARKS = (50, 70, 100, 150, 200, 300, 400, 500, 700, 1000, 1500, 2000)  # Hz
LETTER = {"radial": "R", "lateral": "L"}
MODE: dict[str, Pen] = {"radial": ("solid", 0.6), "lateral": ("dashed", 0.6)}
AFTER, BEFORE, STEADY = ("solid", 1.4), ("solid", 0.5), ("dotted", 1.0)
SAMPLES = (
    Sample("just after taps", AFTER),
    Sample("just before them", BEFORE),
    Sample("R3: radial, 3 waves round", MODE["radial"]),
    Sample("L3: lateral", MODE["lateral"]),
    Sample("sounds all the time: no mode", STEADY),
)


def spectrum(answer: TapAnswer) -> Drawing:
    """Draw how loud every frequency is just after taps, and which mode each peak is."""
    drawing = Drawing(WIDTH, 1.0, f"{answer.title}: what the tapped rim rings")
    y = drawing.paragraph((MARGIN, MARGIN + TITLE), drawing.title, TITLE, WIDTH - 2 * MARGIN, bold=True)
    y = explained(drawing, SAMPLES, y)
    for kind, each in answer.tapped.recordings.items():
        drawing.text((MARGIN, y + TITLE), f"Tapped {STRUCK[kind]}", TITLE, "start", bold=True)
        base = y + TITLE + (ROWS + 1) * LINE_HEIGHT * SIZE + BAND
        _band(drawing, answer.tapped.fit.modes, each, base, answer.tapped.band[1])
        y = base + 3 * SIZE
    return on_paper(drawing, y)


def _band(drawing: Drawing, modes: Sequence[Mode], heard: Ringing, base: float, high: float) -> None:
    low = float(heard.hz[0])
    loudest = float(heard.after.max())

    def x(hz: float) -> float:
        return LEFT + float(np.log(hz / low) / np.log(high / low)) * (RIGHT - LEFT)

    def y(level: float) -> float:
        return base - max(level - loudest + DEEPEST_DB, 0.0) / DEEPEST_DB * BAND

    drawing.path([(LEFT, base - BAND), (LEFT, base), (RIGHT, base)], LINE)
    drawing.text((LEFT - 6, base - BAND - 12), "dB", SIZE, "end")
    drawing.text((MARGIN, base + 4 + SIZE), "Hz", SIZE, "start")
    for down in range(0, DEEPEST_DB + 1, EACH_DB):
        drawing.line((LEFT - 4, y(loudest - down)), (LEFT, y(loudest - down)), LINE)
        drawing.text((LEFT - 6, y(loudest - down) + SIZE / 3), f"{-down}", SIZE, "end")
    for place, text in _marks(x, low, high):
        drawing.line((place, base), (place, base + 4), LINE)
        drawing.text((place, base + 4 + SIZE), text, SIZE)
    for level, (style, width) in ((heard.before, BEFORE), (heard.after, AFTER)):
        drawing.path([(x(hz), y(each)) for hz, each in _thinned(heard.hz, level)], width, style)
    for hz in heard.steady.tolist():
        drawing.line((x(hz), base), (x(hz), base - BAND), STEADY[1], STEADY[0])
    _names(drawing, modes, x, base)


def _marks(x: Callable[[float], float], low: float, high: float) -> Iterator[tuple[float, str]]:
    """Places and numbers of round frequencies, those left out that would touch the one before."""
    end = -1e9
    for mark in MARKS:
        half = text_width(str(mark), SIZE) / 2
        if low <= mark <= high and x(mark) - half > end + 3 and x(mark) + half <= WIDTH:
            yield x(mark), str(mark)
            end = x(mark) + half


def _thinned(hz: Floats, level: Floats) -> list[tuple[float, float]]:
    """The loudest of every few bins where they lie closer than a printer shows."""
    place = np.floor(np.log(hz) * 100).astype(int)  # ours: a hundred places in each factor e
    starts = np.flatnonzero(np.diff(place, prepend=-1))
    return list(zip(hz[starts].tolist(), np.maximum.reduceat(level, starts).tolist(), strict=True))


def _names(drawing: Drawing, modes: Sequence[Mode], x: Callable[[float], float], base: float) -> None:
    """Name the modes above their peaks, on as many rows as keep them apart."""
    ends = [-1e9] * ROWS
    for mode in modes:
        at, (style, _) = x(mode.hz), MODE[mode.kind]
        name = f"{LETTER[mode.kind]}{mode.waves}"
        half = text_width(name, SIZE) / 2
        row = next((i for i, end in enumerate(ends) if at - half > end + 2), None)
        for hz in [mode.hz, *([mode.pair_hz] if mode.pair_hz else [])]:
            drawing.line((x(hz), base), (x(hz), base - BAND - 2), HAIR * 2, style)
        if row is not None:
            drawing.text((min(at, WIDTH - half), base - BAND - 6 - LINE_HEIGHT * SIZE * row), name, SIZE)
            ends[row] = at + half
