"""A recording of plucks in rows of some seconds: how loud it is, what was heard in it where, and at which pitch."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.plucking.answer import PluckAnswer
from wheelcalc.answers.plucking.content import HeardPluck
from wheelcalc.arrays import Floats
from wheelcalc.paper.drawing import LINE_HEIGHT, Drawing, text_width
from wheelcalc.paper.strip import HAIR, LINE, MARGIN, SIZE, WIDTH, Mark

SECONDS = 8.0  # C: of a row; plucks a third of a second apart are still two numbers side by side
LOUD, PITCH, ROOM = 30.0, 26.0, 20.0  # heights: of the loudness, of the pitches, between rows
STEP = 1.5  # from one place of the outline to the next
QUIETEST_DB = 50.0  # below the loudest: nothing is drawn
PLUCK, FAINT = Mark("spot"), Mark("ring", "white")
SAID = (
    f"Below, the sound itself, {SECONDS:.0f} s a row: the outline is how loud it is, in dB; a line and the number of the rim hole "
    "stand where a pluck was heard, a dot at its pitch. ? not sure; x fits no spoke; an open ring may be a pluck. A hump without a "
    "number was not heard."
)


def sound_rows(drawing: Drawing, answer: PluckAnswer, y: float) -> float:
    """Draw the recording from a height on; return where it ends."""
    y = drawing.paragraph((MARGIN, y), SAID, SIZE, WIDTH - 2 * MARGIN) + SIZE
    level = _outline(answer)
    places = int((WIDTH - 2 * MARGIN) / STEP)
    for row in range(math.ceil(answer.sound.seconds / SECONDS)):
        begin = row * SECONDS
        top = y + LINE_HEIGHT * SIZE * 2
        base = top + PITCH + LOUD
        _row(drawing, level[row * places : (row + 1) * places], base, begin)
        for each, number_at in _spread(answer, begin):
            _pluck(drawing, answer, each, begin, (number_at, top, base))
        y = base + ROOM
    return y


def _outline(answer: PluckAnswer) -> Floats:
    """How loud each moment is, 0 to 1, as many as there are places in all rows."""
    sound, places = answer.sound, int((WIDTH - 2 * MARGIN) / STEP)
    width = SECONDS / places * sound.rate
    starts = np.arange(0, sound.samples.size, width).astype(int)
    loud = np.maximum.reduceat(np.abs(sound.samples), starts)
    return np.asarray(np.clip(1 + 20 * np.log10(loud / loud.max() + 1e-9) / QUIETEST_DB, 0, 1))


def _x(at: float, begin: float) -> float:
    return MARGIN + (at - begin) / SECONDS * (WIDTH - 2 * MARGIN)


def _row(drawing: Drawing, level: Floats, base: float, begin: float) -> None:
    """The outline over its line, and the seconds under it."""
    outline = [(MARGIN + STEP * i, base - LOUD * each) for i, each in enumerate(level.tolist())]
    drawing.path([(MARGIN, base), *outline, (outline[-1][0], base)], LINE / 2)
    drawing.line((MARGIN, base), (WIDTH - MARGIN, base), HAIR)
    for second in range(int(SECONDS)):
        x = _x(begin + second, begin)
        drawing.line((x, base), (x, base + 3), LINE)
        drawing.text((x, base + 3 + SIZE), f"{begin + second:.0f}{'' if second else ' s'}", 0.95 * SIZE, "start")


def _spread(answer: PluckAnswer, begin: float) -> Iterator[tuple[HeardPluck, int]]:
    """The plucks of a row, and on which of two lines each number stands so that none lie on each other."""
    ends = [0.0, 0.0]
    for each in answer.heard:
        if begin <= each.pluck.at < begin + SECONDS:
            half = text_width(_number(answer, each), SIZE) / 2
            x = _number_x(answer, each, begin)
            line = 0 if x - half > ends[0] else 1
            if x - half > ends[line]:
                ends[line] = x + half + 1
                yield each, line
            else:
                yield each, -1


def _number_x(answer: PluckAnswer, each: HeardPluck, begin: float) -> float:
    half = text_width(_number(answer, each), SIZE) / 2
    return min(max(_x(each.pluck.at, begin), MARGIN + half), WIDTH - MARGIN - half)


def _number(answer: PluckAnswer, each: HeardPluck) -> str:
    if not each.pluck.likely:
        return ""
    if each.spoke is None:
        return "x"
    return f"{answer.wheel.lacing.rim_hole[each.spoke]}{'' if each.pluck.sure and each.pluck.placed else '?'}"


def _pluck(drawing: Drawing, answer: PluckAnswer, each: HeardPluck, begin: float, at: tuple[int, float, float]) -> None:
    """One pluck: its line down to the sound, its number, its pitch."""
    line, top, base = at
    x = _x(each.pluck.at, begin)
    if not each.pluck.likely:
        FAINT.draw(drawing, x, top + PITCH)
        return
    drawing.line((x, top), (x, base), HAIR if each.pluck.sure else LINE, "solid" if each.pluck.sure else "dotted")
    if line >= 0:
        drawing.text((_number_x(answer, each, begin), top - 3 - line * LINE_HEIGHT * SIZE), _number(answer, each), SIZE)
    if each.pluck.known:
        PLUCK.draw(drawing, x, top + PITCH * (1 - _height(answer, each.pluck.pitch)))


def _height(answer: PluckAnswer, pitch: float) -> float:
    """Place of a pitch between the lowest and the highest that were surely heard, 0 to 1."""
    heard = [each.pluck.pitch for each in answer.heard if each.pluck.likely and each.pluck.sure]
    if not heard or min(heard) == max(heard):
        return 0.5
    return float(np.clip(math.log(pitch / min(heard)) / math.log(max(heard) / min(heard)), 0, 1))
