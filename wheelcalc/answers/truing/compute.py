"""`true`: readings of a wheel become nipple turns, pass by pass, with what each pass will bring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import islice
from pathlib import Path

import numpy as np

from wheelcalc.answers.base import Source, defaults_taken, opened
from wheelcalc.answers.truing import findings as true_findings
from wheelcalc.answers.truing import plan
from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.answers.truing.readings import Taken, taken
from wheelcalc.files.buildfile import in_file
from wheelcalc.files.needs import demand
from wheelcalc.files.readings import RimReadings, read_readings
from wheelcalc.joined.at_tensions import Setup, setup
from wheelcalc.measuring import assemble
from wheelcalc.truing import advice
from wheelcalc.truing.faults import figures, weights
from wheelcalc.truing.model import Model
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import by_weight

PREFIXES = ("truing.", "tension.floor_stop", "pluck.end_hold")
MOST_PASSES = 3
LEAST_HOLES = 4  # C: with fewer, round out, off centre and out of flat look alike
TOO_LOOSE = 50.0  # N, C: mean of a side


def true(
    source: Source, readings: str | Path | RimReadings, overrides: Sequence[str] = (), *, own_plane: bool = False
) -> TrueAnswer:
    """Which nipples to turn, by how much, and what that brings.

    Parameters
    ----------
    source : path of a build file, "-" for standard input, a tree of plain values, or a build already read
    readings : path of a CSV file, or readings already read
    overrides : "KEY=VALUE" each
    own_plane : lateral was read from any plane, not from the one half-way between the locknuts

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key, or line and column.
    """
    file = opened(source, overrides)
    with file.named():
        build = file.build
        demand("true", build)
        wheel = assemble.wheel(build)
        read = readings if isinstance(readings, RimReadings) else read_readings(readings, wheel.rim.holes)
        with in_file(read.name):
            enough(read, wheel.rim.holes)
            arrays = taken(build, wheel, read)
            tight_enough(arrays.means(wheel))
        ready = setup(build, wheel, arrays.means(wheel))
        with in_file(read.name):
            return _answer(file.title, ready, arrays, own_plane)


def enough(read: RimReadings, holes: int) -> None:
    """Refuse readings that are too few to say anything, and say where to read.

    Raises
    ------
    InputError
        With the rim holes to read besides.
    """
    found = read.holes_read
    if len(found) >= LEAST_HOLES:
        return
    first = found[0] if found else 1
    spread = [(first - 1 + round(i * holes / LEAST_HOLES)) % holes + 1 for i in range(LEAST_HOLES)]
    more = [hole for hole in spread if hole not in found][: LEAST_HOLES - len(found)]
    raise InputError(
        "",
        f"holds readings at {len(found)} rim hole{'' if len(found) == 1 else 's'}; {LEAST_HOLES} are the least: read lateral and "
        f"radial at rim hole{'s' if len(more) > 1 else ''} {', '.join(map(str, more))} too, better at every one",
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


def _answer(title: str, ready: Setup, arrays: Taken, own_plane: bool) -> TrueAnswer:
    build, wheel = ready.build, ready.wheel
    model = Model(ready.structure, wheel.lacing.is_right)
    readings, found, misread = plan.fitted(
        model, arrays.readings(ready, own_plane=own_plane), build.limits.misread_caution
    )
    dish_known = not own_plane and bool(np.isfinite(readings.lateral).any())
    planner = plan.planner_of(ready, model, found, readings, dish_known)
    state, before = found.state, figures(model, plan.as_read(model, readings, found))
    estimated = figures(model, state)
    rows, _ = weights(model, planner.equal, dish_known=dish_known)
    answer = TrueAnswer(
        title=title,
        findings=[],
        assumptions=[*ready.taken, *defaults_taken(build, PREFIXES)],
        build=build,
        wheel=wheel,
        setup=ready,
        taken=arrays,
        planner=planner,
        readings=readings,
        estimate=found,
        passes=list(islice(planner.passes(state), MOST_PASSES)),
        before=before,
        estimated=estimated,
        done=planner.is_done(estimated),
        dish=plan.dish_of(planner, state) if dish_known else None,
        level=plan.level_of(ready, arrays, planner, state),
        bent=advice.bent(model, found),
        compromises=plan.compromises(ready, planner, state),
        next_reading=advice.read_next(model, readings, found, rows),
        misread={name: plan.holes_of(wheel, name, places) for name, places in misread.items()},
        windup=plan.windup_of(wheel, ready),
    )
    return replace(answer, findings=by_weight(true_findings.found(answer)))
