"""`true`: readings of a wheel become nipple turns, pass by pass, with what each pass will bring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from wheelcalc.answers.base import Source, defaults_taken, opened
from wheelcalc.answers.truing import findings as true_findings
from wheelcalc.answers.truing import plan
from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.answers.truing.readings import Maker, PassReadings, pass_readings, reader_of
from wheelcalc.answers.truing.sheet import mark_of
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import Overrides, in_file
from wheelcalc.files.needs import demand
from wheelcalc.files.readings import RimReadings, read_passes
from wheelcalc.joined.at_tensions import AtTensions, at_tensions
from wheelcalc.measuring import assemble
from wheelcalc.page.blocks import Brief
from wheelcalc.truing import advice
from wheelcalc.truing.evidence import MOST_MOVES, Reader
from wheelcalc.truing.faults import faults_of, weights
from wheelcalc.truing.learning import Past
from wheelcalc.truing.slips import likelier
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.wheel import Wheel

PREFIXES = ("truing.", "tension.floor_stop", "pluck.end_hold")
LEAST_HOLES = 4  # C: with fewer, round out, off centre and out of flat look alike
TOO_LOOSE = 50.0  # N, C: mean of a side
NO_READER = 5.0  # times the usual error: nobody reads so badly, so the readings are no wheel's

Given = str | Path | RimReadings | Mapping[str, Any]


def true(
    source: Source,
    readings: Given | Sequence[Given] = (),
    overrides: Overrides = (),
    *,
    own_plane: bool = False,
    lateral: Any = None,
    radial: Any = None,
    tension: Any = None,
    pitch: Any = None,
    turned: Any = None,
    **keys: Any,
) -> TrueAnswer:
    """Which nipples to turn, by how much, and what that brings; or why to leave the wheel as it is.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them
    readings : path of a CSV file, readings already read, or a dict of arrays, {"lateral": ..., "turned": ...};
        several, oldest first, one for each pass
    own_plane : lateral was read from any plane, not from the one half-way between the locknuts
    lateral, radial : the newest pass as arrays of one value a rim hole, counted forward from the valve, nan where
        nothing was read; or {rim hole: value}; lateral + right, radial + outward [mm]
    tension, pitch : of the spokes, by rim hole, one of the two [N, Hz]
    turned : turns made after these readings, by rim hole, + tightens; None: not yet turned

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key, or line and column.

    Examples
    --------
    >>> import numpy as np
    >>> from wheelcalc import answers
    >>> lateral = 0.6 * np.cos(np.radians(10 * np.arange(36)))
    >>> answers.true("examples/errand-rear.toml", lateral=lateral, radial=np.zeros(36)).why
    'not yet'
    """
    file = opened(source, overrides, keys)
    newest = {"lateral": lateral, "radial": radial, "tension": tension, "pitch": pitch, "turned": turned}
    given = [readings] if isinstance(readings, str | Path | RimReadings | Mapping) else list(readings)
    if any(each is not None for each in newest.values()):
        given.append(newest)
    with file.named():
        build = file.build
        demand("true", build)
        wheel = assemble.wheel(build)
        passes = _taken(build, wheel, given)
        means = next((of_sides for each in reversed(passes) if (of_sides := each.means(wheel))), {})
        ready = at_tensions(build, wheel, means)
        with in_file(passes[-1].read.name):
            return _answer(file.title, ready, passes, reader_of(build, wheel, own_plane=own_plane))


def _taken(build: Build, wheel: Wheel, given: Sequence[Given]) -> list[PassReadings]:
    """All passes of the files, oldest first."""
    passes: list[PassReadings] = []
    for number, each in enumerate(given, 1):
        for one in _read(each, wheel, number):
            with in_file(one.name):
                enough(one, wheel.rim.holes, first=not passes)
                passes.append(pass_readings(build, wheel, one))
                anything_counts(passes[-1])
                tight_enough(passes[-1].means(wheel))
    if not passes:
        raise InputError("true", "found no readings; give a file of readings (CSV)")
    return passes


def _read(given: Given, wheel: Wheel, number: int) -> list[RimReadings]:
    """The passes of a file, or that of arrays."""
    if isinstance(given, RimReadings):
        return [given]
    if isinstance(given, str | Path):
        return read_passes(given, wheel.rim.holes, mark_of(wheel))
    if not isinstance(given, Mapping):
        what = (
            f"found {type(given).__name__}; give lateral=..., radial=... by name, a dict of them, or a file of readings"
        )
        raise InputError("readings", what)
    from wheelcalc.files.reading_arrays import pass_of  # noqa: PLC0415 - only where a program gives arrays

    return [pass_of(given, wheel.rim.holes, f"pass {number}")]


def _answer(title: str, ready: AtTensions, passes: Sequence[PassReadings], reader: Reader) -> TrueAnswer:
    build, wheel, make = ready.build, ready.wheel, Maker(ready)
    past = Past(make, reader)
    tables, computed = plan.history(ready, past, passes)
    promised = plan.promised(past, tables)
    judged = plan.judged(ready, past, tables, likelier(make, tables[-2:], reader))
    some_wheel(judged)
    planner, now = judged.planner, judged.state.values
    rows, _ = weights(planner.model, planner.equal, dish_known=planner.dish_known)
    turned = said_of(computed, own=passes[-1].turned is not None)
    answer = TrueAnswer(
        title=title,
        findings=[],
        assumptions=[*ready.taken, *turned, *defaults_taken(build, PREFIXES)],
        build=build,
        wheel=wheel,
        at_tensions=ready,
        passes=passes,
        judged=judged,
        before=faults_of(planner.model, plan.as_read(judged)),
        promised=promised,
        dish=plan.dish_of(planner, now) if planner.dish_known else None,
        level=plan.level_of(ready, passes[-1], planner, now),
        bent=advice.bent(planner.model, judged.state),
        compromises=plan.compromises(ready, planner, now),
        next_reading=advice.read_next(planner.model, tables[-1], judged.state, judged.fit.reader, rows),
        windup=plan.windup_of(wheel, ready),
    )
    return replace(answer, findings=by_weight(true_findings.all_of(answer)))


def said_of(computed: Sequence[int], *, own: bool) -> list[str]:
    """What was taken for the turns, in words."""
    out: list[str] = []
    if computed:
        which = f"pass {computed[0]}" if len(computed) == 1 else f"passes {', '.join(map(str, computed))}"
        text = f"What was turned after {which} is not in the file; the advice of today's settings is taken for it."
        out.append(Brief(text, f"What was turned after {which} is the advice.", 0))
    if own:
        out.append("The last pass already has turns beside it; they are taken as not made yet.")
    return out


def some_wheel(judged: plan.Judged) -> None:
    """Refuse readings that no rim on spokes can have.

    Raises
    ------
    InputError
        If nothing but errors of reading would explain them.
    """
    fit = judged.fit
    if judged.disagreeing or any(each.sure and each.worst <= NO_READER for each in judged.slips):
        return
    if fit.causes.gross.mean() >= MOST_MOVES or fit.sizes[-3:].max() > NO_READER:
        raise InputError(
            "",
            "no rim on spokes lies as these readings have it, even without the worst of them; check that they are in mm and N, each "
            "beside its own rim hole, counted forward from the valve",
        )


def enough(read: RimReadings, holes: int, *, first: bool = True) -> None:
    """Refuse readings that are too few to say anything, and say where to read.

    Raises
    ------
    InputError
        With the rim holes to read besides.
    """
    there = read.holes_read
    if len(there) >= (LEAST_HOLES if first else 1):
        return
    start = there[0] if there else 1
    spread = [(start - 1 + round(i * holes / LEAST_HOLES)) % holes + 1 for i in range(LEAST_HOLES)]
    more = [hole for hole in spread if hole not in there][: LEAST_HOLES - len(there)]
    raise InputError(
        "",
        f"holds readings at {len(there)} rim hole{'' if len(there) == 1 else 's'}; {LEAST_HOLES} are the least: read lateral and "
        f"radial at rim hole{'s' if len(more) > 1 else ''} {', '.join(map(str, more))} too, better at every one",
    )


def anything_counts(each: PassReadings) -> None:
    """Refuse a pass of nothing but plucks of which it is doubtful whose spoke sounded.

    Raises
    ------
    InputError
        With from where to pluck again.
    """
    if np.isfinite(each.table.values).any():
        return
    again = each.unsure.starts
    raise InputError(
        "assigned",
        f"which spoke each pluck was is doubtful, and nothing else was read; pluck again{again and f' from {again} on'}, the first spoke "
        "twice to begin with and twice again to end with, or read the wheel besides",
    )


def tight_enough(means: Mapping[str, float]) -> None:
    """Refuse a wheel whose spokes are too loose for any reading to say how they will share the load.

    Raises
    ------
    InputError
        With what to do first.
    """
    for side, mean in means.items():
        if mean < TOO_LOOSE:
            text = f"the {side} spokes carry {mean:.0f} N in the mean: too loose to say which nipple does what"
            raise InputError("", f"{text}; tighten all nipples alike until no spoke rattles, then read again")
