"""What the page asks for, as plain values: where the work stands, the next turns, a broken spoke, what was heard."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any

from wheelcalc import answers
from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.answers.truing.doubted import Doubting, LeftOut
from wheelcalc.answers.truing.page import turn
from wheelcalc.answers.truing.sheet import mark_of
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.files.readings import RimReadings, wheel_line
from wheelcalc.measuring import assemble
from wheelcalc.page.html import to_html
from wheelcalc.paper.bench.content import next_turns, targets, wheel_at_the_bench
from wheelcalc.paper.truing_strip import truing_strip
from wheelcalc.stand import ear, typed
from wheelcalc.stand.log import Log
from wheelcalc.wheel.errors import InputError

KEPT = 4  # answers, ours: those of the passes that a strip is compared with


class OutdatedError(InputError):
    """A window speaks of a pass that is over; it should look again."""


class Session:
    """One wheel at one stand.

    Parameters
    ----------
    file : the build
    path : of the log

    Raises
    ------
    InputError
        If the build cannot be trued, or the log is another wheel's or in use.
    """

    def __init__(self, file: BuildFile, path: Path) -> None:
        self.file = file
        with file.named():
            self.wheel = assemble.wheel(file.build)
        mark, holes = mark_of(self.wheel), self.wheel.rim.holes
        self.log = Log(path, wheel_line(file.title, holes, mark), mark, holes)
        self._answered: dict[str, TrueAnswer] = {}
        self._answering = threading.Lock()

    def state(self) -> dict[str, Any]:
        """Return the wheel, its targets, and all that was read and turned."""
        passes, now = self.log.passes(), self.log.current()
        nothing = RimReadings("", {}, {})
        return {
            **wheel_at_the_bench(self.file, self.wheel, [passes.get(n, nothing) for n in range(1, now + 1)]),
            "pass": now,
            "targets": self._targets,
            "log": str(self.log.path),
            "cut_off": self.log.cut_off,
        }

    @cached_property
    def _targets(self) -> dict[str, Any]:
        """What each side is to have; the build does not change while the page is served."""
        return targets(self.file)

    @cached_property
    def _doubting(self) -> Doubting:
        return Doubting(self.file.build, self.wheel)

    def put(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Write one number down; return where the work stands, and which readings of the pass now look wrong."""
        self._same_pass(asked)
        hole, column = _number(asked, "rim_hole", "found no number of a rim hole"), str(asked.get("column"))
        self.log.check(hole, column)
        value = typed.number(column, asked.get("value"))
        if column not in ("lateral_mm", "radial_mm") and hole not in self.wheel.lacing.rim_hole:
            raise InputError("rim_hole", f"rim hole {hole} has no spoke; skip it")
        if column == "pitch_hz":  # one that cannot be is refused before it is in the log
            self._doubting.of([RimReadings("", {column: {hole: value}}, {})])
        self.log.put(hole, column, value)
        if column == "turned":
            return {**self.state(), "doubted": []}
        read = self._read()
        doubted = self._doubting.of(read)
        if not doubted and self._whole(read[-1]):
            threading.Thread(target=self._ahead, args=(read,), daemon=True).start()
        return {**self.state(), "doubted": [self._asked_again(each) for each in doubted]}

    def _whole(self, read: RimReadings) -> bool:
        """Whether a pass is read all round, so that the turns will be asked for next."""
        tensions = {**read.of("tension_N"), **read.of("pitch_hz")}
        places = (len(read.of(name)) for name in ("lateral_mm", "radial_mm"))
        return len(tensions) == len(self.wheel.lacing) and all(count == self.wheel.rim.holes for count in places)

    def _ahead(self, read: Sequence[RimReadings]) -> None:
        """Work the turns out before they are asked for; what is wrong is said then."""
        with suppress(Exception):
            self._answer(read)

    def _asked_again(self, doubted: LeftOut) -> dict[str, Any]:
        """Return a doubted reading with the column that it was typed in, and what is said of it."""
        ear = doubted.rim_hole in self._read()[-1].of("pitch_hz")
        by = {"lateral": "lateral_mm", "radial": "radial_mm", "tension": "pitch_hz" if ear else "tension_N"}
        unit, digits = ("N", 0) if doubted.column == "tension" else ("mm", 2)
        words = f"{doubted.value:.{digits}f} {unit} looks wrong beside the others; about {doubted.likely:.{digits}f} {unit} would fit."
        return {"rim_hole": doubted.rim_hole, "column": by[doubted.column], "value": doubted.value, "words": words}

    def advise(self, _asked: dict[str, Any]) -> dict[str, Any]:
        """Return the next turns, biggest first, and what they bring."""
        read = self._read()
        answer = self._answer(read)
        again = [self._asked_again(each) for each in answer.left_out_now]
        advice = next_turns(answer)
        advised = {each["rim_hole"]: each["turns"] for each in advice["turns"]}
        made = [
            f"hole {hole} {turn(turns)}"
            for hole, turns in read[-1].of("turned").items()
            if turns not in (0, advised.get(hole))
        ]
        return {**advice, "pass": self.log.current(), "again": again, "earlier": len(read) - 1, "made": made}

    def strip(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Return the strip of so many passes, the oldest ones."""
        read = self._read()
        refused = f"found no number of passes; {len(read)} were read"
        count = _number(asked, "passes", refused)
        if not 1 <= count <= len(read):
            raise InputError("passes", refused)
        return {"strip": truing_strip(self._answer(read[:count])).svg()}

    def end(self, asked: dict[str, Any]) -> dict[str, Any]:
        """End the pass; what counts as turned is what was ticked, all that was advised, or nothing."""
        self._same_pass(asked)
        how = asked.get("turned")
        read = self._read()
        if how == "all":
            for row in self._answer(read).turn_rows():
                self.log.put(row["rim_hole"], "turned", row["turns"])
        elif how == "none":
            for hole in [*read[-1].of("turned"), int(self.wheel.lacing.rim_hole[0])]:
                self.log.put(hole, "turned", 0.0)
        elif how != "ticked" or not read[-1].of("turned"):
            raise InputError("turned", "no nipple is ticked; say whether all of them were turned, or none")
        self.log.end()
        return self.state()

    def go_on(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Take the end of the pass before back."""
        self._same_pass(asked)
        self.log.go_on()
        return self.state()

    def _same_pass(self, asked: dict[str, Any]) -> None:
        now = self.log.current()
        number = _number(asked, "pass", "found no number of a pass")
        if number != now:
            raise OutdatedError(
                "pass", f"this window showed pass {number}, but the wheel is at pass {now}; nothing was saved"
            )

    def _read(self) -> list[RimReadings]:
        """The passes up to the current one, oldest first."""
        passes, now = self.log.passes(), self.log.current()
        if now not in passes or not passes[now].holes_read:
            raise InputError("pass", f"pass {now} has no readings yet; read the wheel first")
        return [passes[number] for number in sorted(passes)]

    def _answer(self, read: Sequence[RimReadings]) -> TrueAnswer:
        """What `true` says; each is worked out once. Turns of the newest pass are not made yet for it, so ticks change nothing."""
        newest = {name: values for name, values in read[-1].columns.items() if name != "turned"}
        read = [*read[:-1], replace(read[-1], columns=newest)]
        key = repr([each.columns for each in read])
        with self._answering:
            if key not in self._answered:
                self._answered[key] = answers.true(self.file, read)
                while len(self._answered) > KEPT:
                    del self._answered[next(iter(self._answered))]
            return self._answered[key]

    def broken(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Return how to come home on a broken spoke."""
        hole = _number(asked, "rim_hole", "found no rim hole; type the number of the broken spoke's")
        return {"html": str(to_html(answers.broken(self.file, [hole]).page(), styled=False))}

    def heard(self, recording: bytes, asked: Mapping[str, str]) -> dict[str, Any]:
        """Return what each spoke of a round was heard to have; parameters as of `ear.heard`."""
        return ear.heard(self.file, recording, asked, self.wheel.rim.holes)


def _number(asked: Mapping[str, Any], name: str, refused: str) -> int:
    """Return a whole number that the page sent, or raise `InputError`."""
    value = asked.get(name)
    if isinstance(value, bool) or not isinstance(value, int):
        raise InputError(name, refused)
    return value
