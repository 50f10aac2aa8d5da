"""What the page asks for, as plain values: where the work stands, the next turns, a broken spoke, what was heard."""

from __future__ import annotations

import tempfile
from functools import cached_property
from pathlib import Path
from typing import Any

from wheelcalc import answers
from wheelcalc.answers.truing.page import turn, verdict
from wheelcalc.answers.truing.sheet import mark_of
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.files.readings import wheel_line
from wheelcalc.measuring import assemble
from wheelcalc.page.html import to_html
from wheelcalc.paper.truing_strip import truing_strip
from wheelcalc.stand.log import COLUMNS, Log
from wheelcalc.wheel.errors import InputError


class Session:
    """One wheel at one stand.

    Parameters
    ----------
    file : the build
    path : of the log

    Raises
    ------
    InputError
        If the build cannot be trued, or the log is another wheel's.
    """

    def __init__(self, file: BuildFile, path: Path) -> None:
        self.file = file
        with file.named():
            self.wheel = assemble.wheel(file.build)
        mark, holes = mark_of(self.wheel), self.wheel.rim.holes
        self.log = Log(path, wheel_line(file.title, holes, mark), mark, holes)

    def state(self) -> dict[str, Any]:
        """Return the wheel, its targets, and all that was read and turned."""
        lacing = self.wheel.lacing
        sides = dict(zip(lacing.rim_hole.tolist(), lacing.sides, strict=True))
        return {
            "title": self.file.title,
            "holes": self.wheel.rim.holes,
            "sides": [sides.get(hole, "") for hole in range(1, self.wheel.rim.holes + 1)],
            "targets": self._targets,
            "log": str(self.log.path),
            "cut_off": self.log.cut_off,
            "passes": [
                {name: {str(hole): value for hole, value in each.of(name).items()} for name in COLUMNS}
                for each in self.log.passes()
            ],
        }

    @cached_property
    def _targets(self) -> dict[str, Any]:
        """What each side is to have; the build does not change while the page is served."""
        sides = answers.tension(self.file).as_json()["sides"]
        return {
            side: {name: each[name] for name in ("target_N", "low_N", "high_N", "pitch_hz", "note")}
            for side, each in sides.items()
        }

    def put(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Write one number down."""
        value = asked.get("value")
        number, hole = asked.get("pass"), asked.get("rim_hole")
        if not isinstance(number, int) or not isinstance(hole, int) or not isinstance(value, int | float | None):
            raise InputError("reading", "found no pass, rim_hole and value")
        self.log.put(number, hole, str(asked.get("column")), None if value is None else float(value))
        return {"saved": True}

    def advise(self, _asked: dict[str, Any]) -> dict[str, Any]:
        """Return the next turns, biggest first, and what they bring."""
        answer = answers.true(self.file, self.log.passes())
        found = answer.as_json()
        turns = sorted(found["turns"], key=lambda each: -abs(each["turns"]))
        return {
            "verdict": verdict(answer),
            "done": found["done"],
            "why": found["why"],
            "findings": found["findings"],
            "turns": [{**each, "words": turn(each["turns"])} for each in turns],
            "left_out": found["left_out"],
            **{name: found[name] for name in ("before", "now", "after", "after_reads")},
            "strip": truing_strip(answer).svg(),
        }

    def broken(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Return how to come home on a broken spoke."""
        hole = asked.get("rim_hole")
        if not isinstance(hole, int):
            raise InputError("rim_hole", "found no rim hole; type the number of the broken spoke's")
        return {"html": str(to_html(answers.broken(self.file, [hole]).page()))}

    def heard(self, sound: bytes) -> dict[str, Any]:
        """Return the plucks of a WAV recording."""
        with tempfile.NamedTemporaryFile(suffix=".wav") as kept:
            kept.write(sound)
            kept.flush()
            found = answers.pluck(self.file, kept.name).as_json()
        return {"plucks": found["plucks"], "findings": found["findings"]}
