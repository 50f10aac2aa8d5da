"""Of `true`: what the answer holds, as rows and as figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers.base import Answer
from wheelcalc.answers.truing.plan import SideTurns
from wheelcalc.answers.truing.readings import Taken
from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.joined.at_tensions import Setup
from wheelcalc.truing.advice import Bent, Next
from wheelcalc.truing.estimate import Estimate, Readings
from wheelcalc.truing.faults import Figures
from wheelcalc.truing.turns import Pass, Planner
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel


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
    build: Build
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
        """Standard uncertainties where the estimate is least sure: lateral, radial and tension, each with its rim hole."""
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
    """Standard uncertainties of values from their mean."""
    off = np.eye(len(covariance)) - 1 / len(covariance)
    return np.asarray(np.sqrt(np.maximum(np.diag(off @ covariance @ off), 0)))
