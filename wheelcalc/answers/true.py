"""`true`: readings of a wheel become nipple turns, pass by pass, with what each pass will bring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers import true_findings
from wheelcalc.answers import true_plan as plan
from wheelcalc.answers.base import Answer, Source, defaults_taken, opened
from wheelcalc.answers.true_plan import SideTurns
from wheelcalc.answers.true_setup import Setup, Taken, setup, taken
from wheelcalc.files.buildfile import in_file
from wheelcalc.files.needs import demand
from wheelcalc.files.readings import RimReadings, read_readings
from wheelcalc.measuring import assemble
from wheelcalc.measuring.dimensions import Dimensions
from wheelcalc.truing import advice
from wheelcalc.truing.advice import Bent, Next
from wheelcalc.truing.estimate import Estimate, Readings
from wheelcalc.truing.faults import Figures, figures, weights
from wheelcalc.truing.model import Model
from wheelcalc.truing.turns import Pass, Planner
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import by_weight
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Floats, Wheel

PREFIXES = ("truing.", "tension.floor_stop", "pluck.end_hold")
MOST_PASSES = 3
LEAST_HOLES = 4  # C: with fewer, round out, off centre and out of flat look alike
TOO_LOOSE = 50.0  # N, C: mean of a side


@dataclass(frozen=True, kw_only=True, eq=False)
class TrueAnswer(Answer):
    """Answer of `true` with readings; wheel, model and estimate are there for a notebook.

    Parameters
    ----------
    passes : the next one, then those expected after it
    before, estimated : as it was read, and the likeliest state
    done : true enough already
    dish : what would bring the rim to the middle; None where the plane is unknown
    level : what would bring the tension to its target; None where it is near or was not read
    next_reading : what to read next, None where all was read
    misread : readings left out: "lateral", "radial" or "tension" -> rim holes
    compromises : what each preference would end with, nipples turned without end
    windup : how far the spokes twist [turns]
    """

    schema: ClassVar[str] = "wheelcalc/true/1"
    known: Dimensions
    wheel: Wheel
    setup: Setup
    taken: Taken
    planner: Planner
    readings: Readings
    estimate: Estimate
    passes: Sequence[Pass]
    before: Figures
    estimated: Figures
    done: bool
    dish: SideTurns | None
    level: SideTurns | None
    bent: Bent
    compromises: dict[str, Figures]
    next_reading: Next | None
    misread: dict[str, list[int]]
    windup: float

    @property
    def after(self) -> Figures:
        """Predicted after the next pass."""
        return self.passes[0].figures if self.passes else self.estimated

    def content(self) -> dict[str, Any]:
        """Return the turns, what they bring, and how sure that is."""
        return {
            "done": self.done,
            "turns": self.turn_rows(0),
            "before": self.figures_json(self.before),
            "after": self.figures_json(self.after),
            "estimated": self.figures_json(self.estimated),
            "all_nipples": _sides_json(self.passes[0].side_turns if self.passes else (0.0, 0.0)),
            "passes": [
                {
                    "turns": self.turn_rows(i),
                    "all_nipples": _sides_json(each.side_turns),
                    "after": self.figures_json(each.figures),
                }
                for i, each in enumerate(self.passes)
            ],
            "dish": self.dish and {"move_mm": self.dish.move, **_sides_json((self.dish.left, self.dish.right))},
            "bent_rim": {
                "lateral_mm": self.bent.lateral,
                "lateral_sigma_mm": self.bent.lateral_sigma,
                "radial_mm": self.bent.radial,
                "radial_sigma_mm": self.bent.radial_sigma,
                "compromises": {name: self.figures_json(each) for name, each in self.compromises.items()},
            },
            "sigma": self.sigmas(),
            "read_next": self.next_reading
            and {"what": self.next_reading.quantity, "rim_hole": self.hole_of(self.next_reading)},
            "left_out": {name: holes for name, holes in self.misread.items() if holes},
            "windup_turns": self.windup,
            "spokes": self.spoke_rows(),
        }

    def sigmas(self) -> dict[str, Any]:
        """Standard errors where the estimate is least sure: lateral, radial and tension, each with its rim hole."""
        sigma, model = self.estimate.sigma, self.planner.model
        covariance = self.estimate.covariance
        place, radial = (_about_mean(covariance[part, part]) for part in (model.lateral, model.radial))
        if self.planner.dish_known:
            place = sigma[model.lateral]
        tension = sigma[model.tension]
        holes = self.wheel.lacing.rim_hole
        return {
            "lateral_mm": float(place.max()),
            "lateral_rim_hole": int(np.argmax(place)) + 1,
            "radial_mm": float(radial.max()),
            "radial_rim_hole": int(np.argmax(radial)) + 1,
            "tension_N": float(tension.max()),
            "tension_rim_hole": int(holes[np.argmax(tension)]),
        }

    def hole_of(self, reading: Next) -> int:
        """Rim hole of a reading to be taken."""
        return int(self.wheel.lacing.rim_hole[reading.place]) if reading.quantity == "tension" else reading.place + 1

    def was_read(self, side: str) -> bool:
        """Whether any tension of a side was read."""
        return bool(np.isfinite(self.readings.tensions[self.wheel.lacing.on(side)]).any())

    def figures_json(self, found: Figures) -> dict[str, Any]:
        """Run-outs, dish and spread; null where nothing was read that says so."""
        lateral, radial = (np.isfinite(each).any() for each in (self.readings.lateral, self.readings.radial))
        return {
            "lateral_mm": found.lateral if lateral else None,
            "radial_mm": found.radial if radial else None,
            "dish_mm": found.dish if self.planner.dish_known else None,
            "tension_spread_percent": {
                side: found.spread[i] if self.was_read(side) else None for i, side in enumerate(SIDES)
            },
        }

    def turn_rows(self, number: int) -> list[dict[str, Any]]:
        """Return the nipples that a pass turns, in rim-hole order."""
        if number >= len(self.passes):
            return []
        turns, lacing = self.passes[number].turns, self.wheel.lacing
        return [
            {"rim_hole": int(lacing.rim_hole[i]), "side": lacing.sides[i], "turns": float(turns[i])}
            for i in np.flatnonzero(turns)
        ]

    def spoke_rows(self) -> list[dict[str, Any]]:
        """Return every spoke with its turns, the rim's place beside it and its tension, now and after the pass."""
        model, lacing = self.planner.model, self.wheel.lacing
        now = self.estimate.state
        after = self.passes[0].state if self.passes else now
        turns = self.passes[0].turns if self.passes else np.zeros(len(lacing))
        at = lacing.rim_hole - 1
        lateral, radial = (slice(0, model.nodes), slice(model.nodes, 2 * model.nodes))
        columns: dict[str, Any] = {"rim_hole": lacing.rim_hole, "side": lacing.sides, "turns": turns}
        for name, state in (("", now), ("_after", after)):
            columns[f"lateral_mm{name}"] = state[lateral][at]
            columns[f"radial_mm{name}"] = (state[radial] - state[radial].mean())[at]
            columns[f"tension_N{name}"] = state[model.tension]
        rows = zip(*(np.asarray(each).tolist() for each in columns.values()), strict=True)
        return [{name: _rounded(value) for name, value in zip(columns, row, strict=True)} for row in rows]


def _rounded(value: Any) -> Any:
    return round(value, 3) + 0.0 if isinstance(value, float) else value


def _sides_json(turns: tuple[float, float]) -> dict[str, float]:
    return {f"{side}_turns": turn for side, turn in zip(SIDES, turns, strict=True)}


def _about_mean(covariance: Floats) -> Floats:
    """Standard errors of values from their mean."""
    off = np.eye(len(covariance)) - 1 / len(covariance)
    return np.asarray(np.sqrt(np.maximum(np.diag(off @ covariance @ off), 0)))


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
    build = opened(source, overrides)
    with build.named():
        known = build.dimensions
        demand("true", known)
        wheel = assemble.wheel(known)
        read = readings if isinstance(readings, RimReadings) else read_readings(readings, wheel.rim.holes)
        with in_file(read.name):
            enough(read, wheel.rim.holes)
            arrays = taken(known, wheel, read)
            tight_enough(arrays.means(wheel))
        ready = setup(known, wheel, arrays.means(wheel))
        with in_file(read.name):
            return _answer(build.title, ready, arrays, own_plane)


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
    known, wheel = ready.known, ready.wheel
    model = Model(ready.structure, wheel.lacing.is_right)
    readings, found, misread = plan.fitted(
        model, arrays.readings(ready, own_plane=own_plane), known.number("limits.misread_caution")
    )
    dish_known = not own_plane and bool(np.isfinite(readings.lateral).any())
    planner = plan.planner_of(ready, model, found, readings, dish_known)
    state, before = found.state, figures(model, plan.as_read(model, readings, found))
    estimated = figures(model, state)
    rows, _ = weights(model, planner.equal, dish_known=dish_known)
    answer = TrueAnswer(
        build=title,
        findings=[],
        assumptions=[*ready.taken, *defaults_taken(known, PREFIXES)],
        known=known,
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
