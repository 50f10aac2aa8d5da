"""What the page asks for, as plain values: where the work stands, the next turns, a broken spoke, what was heard."""

from __future__ import annotations

import tempfile
from functools import cached_property
from pathlib import Path
from typing import Any

from wheelcalc import answers
from wheelcalc.answers.truing.sheet import mark_of
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.files.readings import wheel_line
from wheelcalc.measuring import assemble
from wheelcalc.page.html import to_html
from wheelcalc.paper.bench.content import next_turns, targets, wheel_at_the_bench
from wheelcalc.stand.log import Log
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
        return {
            **wheel_at_the_bench(self.file, self.wheel, self.log.passes()),
            "targets": self._targets,
            "log": str(self.log.path),
            "cut_off": self.log.cut_off,
        }

    @cached_property
    def _targets(self) -> dict[str, Any]:
        """What each side is to have; the build does not change while the page is served."""
        return targets(self.file)

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
        return next_turns(answers.true(self.file, self.log.passes()))

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
