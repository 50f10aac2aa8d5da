"""Of `true`: what the answer holds, as rows and as figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers.base import Answer
from wheelcalc.answers.truing.doubted import LeftOut, left_out
from wheelcalc.answers.truing.plan import Judged, SideTurns
from wheelcalc.answers.truing.readings import PassReadings
from wheelcalc.arrays import Floats
from wheelcalc.build.whole import Build
from wheelcalc.joined.at_tensions import AtTensions
from wheelcalc.truing.advice import Bent, Next, worth_reading
from wheelcalc.truing.agreement import Disagreeing
from wheelcalc.truing.faults import Faults, weights
from wheelcalc.truing.forecast import Spread
from wheelcalc.truing.proof import Proof, doubted, proof_of
from wheelcalc.truing.slips import Likelier
from wheelcalc.truing.turns import Planner
from wheelcalc.truing.verdict import WITHIN
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

MENDS = {
    "lateral sign": "write lateral_mm with the other sign: + is to the right, seen by the rider",
    "radial sign": "write radial_mm with the other sign: + is outward",
    "counted backwards": "count the rim holes forward from the valve (clockwise, seen from the right) and write rim_hole anew",
    "started at another hole": "hole 1 is the first one forward of the valve; write rim_hole anew",
    "columns swapped": "write each reading in its own column, each tension beside its own rim hole",
    "units": "write lateral_mm and radial_mm in mm, tension_N in N (1 kgf is 9.81 N)",
    "turned the wrong way": "write the turns made into the column turned, + for tighter (clockwise, seen from the tyre)",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class TrueContent(Answer):
    """Answer of `true` with readings; wheel, model and state are there for a notebook.

    Parameters
    ----------
    passes : readings of each pass, oldest first
    judged : what they come to: state, forecast, verdict, slips
    before : figures as they were read last
    promised : what the last readings were to show, by those before; None of a first pass
    dish : what would bring the rim to the middle; None where the plane is unknown
    level : what would bring the tension to its target; None where it is near or was not read
    next_reading : what to read next, None where all was read
    compromises : what each preference would end with, nipples turned without end
    windup : how far the spokes twist [turns]
    """

    schema: ClassVar[str] = "wheelcalc/true/1"
    records: ClassVar[str] = "turns"
    build: Build
    wheel: Wheel
    at_tensions: AtTensions
    passes: Sequence[PassReadings]
    judged: Judged
    before: Faults
    promised: Spread | None
    dish: SideTurns | None
    level: SideTurns | None
    bent: Bent
    compromises: dict[str, Faults]
    next_reading: Next | None
    windup: float

    @property
    def planner(self) -> Planner:
        """What plans for this wheel, with its model."""
        return self.judged.planner

    @property
    def newest(self) -> PassReadings:
        """The readings of the last pass."""
        return self.passes[-1]

    @property
    def why(self) -> str:
        """Why to turn on, or to leave it."""
        return self.judged.verdict.why

    @property
    def done(self) -> bool:
        """True and even enough; never where lateral, radial or tension was not read."""
        return self.why == WITHIN and all(self.was_read(name) for name in ("lateral", "radial", "tensions"))

    @property
    def slipped(self) -> list[Likelier]:
        """Slips of a whole column that are far likelier than the readings as typed."""
        return [each for each in self.judged.slips if each.sure]

    @property
    def disagreeing(self) -> Sequence[Disagreeing]:
        """Columns of the last pass that are scatter; none under a slip of the whole column, which says more."""
        return () if self.slipped else self.judged.disagreeing

    @property
    def turns(self) -> Floats:
        """Turns of every nipple in the next pass, (n,), + tightens."""
        return self.judged.verdict.turns

    @property
    def state(self) -> Floats:
        """The wheel as it most likely is, (2m + n,)."""
        return self.judged.state.values

    @property
    def state_after(self) -> Floats:
        """The wheel as it most likely will be, (2m + n,)."""
        return self.judged.turned

    @cached_property
    def proof(self) -> Proof | None:
        """The nipple to turn first, alone, where the readings do not tell whether a sign is right."""
        return proof_of(self.planner.model, self.turns, doubted(self.judged.slips))

    @property
    def stuck(self) -> list[int]:
        """Rim holes whose nipples do not turn."""
        return [int(self.wheel.lacing.rim_hole[spoke]) for spoke in self.planner.stuck]

    @property
    def first(self) -> int:
        """Number of the first pass that is still weighed, from 1."""
        return len(self.passes) - len(self.judged.fit.system.tables) + 1

    @cached_property
    def left_out(self) -> list[LeftOut]:
        """Readings taken for grossly wrong, in the order of passes and holes."""
        return left_out(self.wheel, self.judged.fit, self.judged.state, self.first, self.newest)

    @property
    def left_out_now(self) -> list[LeftOut]:
        """Of these, the last pass's."""
        return [each for each in self.left_out if each.number == len(self.passes)]

    def content(self) -> dict[str, Any]:
        """Return the turns, what they bring, and how sure that is."""
        verdict = self.judged.verdict
        return {
            "done": self.done,
            "why": self.why,
            "for": list(verdict.aims),
            "slips": [
                {
                    "what": each.slip.what,
                    "detail": each.slip.detail,
                    "likelier": each.times,
                    "would_be": MENDS[each.slip.what],
                }
                for each in self.judged.slips
                if each.times > 1
            ],
            "left_out": [
                {"rim_hole": each.rim_hole, "column": each.column, "value": each.value, "likely": each.likely}
                for each in self.left_out_now
            ],
            "learned": self.learned_json(),
            "stuck": self.stuck,
            "turned_backwards": self.backwards(),
            "proof": self.proof_json(),
            "turns": self.turn_rows(),
            "before": self.read_json(),
            "now": self.spread_json(verdict.now),
            "after": self.spread_json(verdict.after),
            "after_reads": self.spread_json(verdict.after_reads),
            "promised": self.promised and self.spread_json(self.promised),
            "all_nipples": _sides_json(verdict.side_turns),
            "dish": self.dish and {"move_mm": self.dish.move, **_sides_json((self.dish.left, self.dish.right))},
            "bent_rim": {
                "lateral_mm": self.bent.lateral,
                "lateral_sigma_mm": self.bent.lateral_sigma,
                "radial_mm": self.bent.radial,
                "radial_sigma_mm": self.bent.radial_sigma,
                "compromises": {name: self.faults_json(each) for name, each in self.compromises.items()},
            },
            "sigma": self.sigmas(),
            "read_next": self.next_reading
            and {"what": self.next_reading.quantity, "rim_hole": self.hole_of(self.next_reading)},
            "windup_turns": self.windup,
            "spokes": self.spoke_rows(),
        }

    def proof_json(self) -> dict[str, Any] | None:
        """The nipple to turn first, and what the readings beside it must change by."""
        proof = self.proof
        return proof and {
            "rim_hole": int(self.wheel.lacing.rim_hole[proof.spoke]),
            "turns": proof.turns,
            "lateral_change_mm": proof.lateral if "lateral" in proof.columns else None,
            "radial_change_mm": proof.radial if "radial" in proof.columns else None,
        }

    @property
    def proof_words(self) -> str:
        """What the gauge must show beside the nipple that is turned first."""
        proof = self.proof
        if proof is None:
            return ""
        moves = {"lateral": (proof.lateral, "right", "left"), "radial": (proof.radial, "outward", "inward")}
        said = []
        for column in proof.columns:
            change, more, less = moves[column]
            way = f"rise (the rim goes {more})" if change > 0 else f"fall (the rim goes {less})"
            said.append(f"{column} there must {way} by about {abs(change):.2f} mm")
        return " and ".join(said)

    def learned_json(self) -> dict[str, Any]:
        """What the passes so far say about this wheel and who reads it."""
        reader, learned = self.judged.fit.reader, self.judged.learned
        give = float(np.mean(self.wheel.end_gives))
        return {
            "noise": {
                "lateral_mm": reader.lateral if self.was_read("lateral") else None,
                "radial_mm": reader.radial if self.was_read("radial") else None,
                "tension_percent": 100 * reader.tension if self.was_read("tensions") else None,
            },
            "end_give": give * learned.give,
            "end_give_sigma": give * learned.give * float(learned.sigma[0]),
            "stiffness_of_estimate": learned.stiffness,
            "stiffness_of_estimate_sigma": learned.stiffness * float(learned.sigma[1]),
        }

    def backwards(self) -> list[dict[str, int]]:
        """Nipples that were turned the wrong way: pass (from 1) and rim hole."""
        holes = self.wheel.lacing.rim_hole
        return [
            {"pass": at + self.first, "rim_hole": int(holes[spoke])}
            for at, spoke in sorted(self.judged.fit.causes.reversed)
        ]

    def was_read(self, name: str) -> bool:
        """Whether any of "lateral", "radial" or "tensions" was read in any pass."""
        return any(bool(np.isfinite(getattr(each, name)).any()) for each in self.judged.tables)

    def side_was_read(self, side: str) -> bool:
        """Whether any tension of a side was read in any pass."""
        on = self.wheel.lacing.on(side)
        return any(bool(np.isfinite(each.tensions[on]).any()) for each in self.judged.tables)

    def sigmas(self) -> dict[str, Any]:
        """Standard uncertainties where the estimate is least sure: lateral, radial and tension, each with its rim hole."""
        now, model = self.judged.state, self.planner.model
        place, radial = (_about_mean(now.doubt[part, part]) for part in (model.lateral, model.radial))
        if self.planner.dish_known:
            place = now.sigma[model.lateral]
        tension = now.sigma[model.tension]
        return {
            "lateral_mm": float(place.max()),
            "lateral_rim_hole": int(np.argmax(place)) + 1,
            "radial_mm": float(radial.max()),
            "radial_rim_hole": int(np.argmax(radial)) + 1,
            "tension_N": float(tension.max()),
            "tension_rim_hole": int(self.wheel.lacing.rim_hole[np.argmax(tension)]),
        }

    def hole_of(self, reading: Next) -> int:
        """Rim hole of a reading to be taken."""
        return int(self.wheel.lacing.rim_hole[reading.place]) if reading.quantity == "tension" else reading.place + 1

    @cached_property
    def worth_reading(self) -> set[tuple[str, int]]:
        """Readings of the next pass that are worth taking after the turns: column of a file and rim hole."""
        model, fit = self.planner.model, self.judged.fit
        rows, _ = weights(model, self.planner.equal, dish_known=self.planner.dish_known)
        worth = worth_reading(model, self.judged.state, fit.reader, rows, self.turns)
        places = range(1, model.nodes + 1)
        named = [
            *(("lateral_mm", hole) for hole in places),
            *(("radial_mm", hole) for hole in places),
            *(("tension_N", int(hole)) for hole in self.wheel.lacing.rim_hole),
        ]
        return {named[i] for i in np.flatnonzero(worth)}

    def faults_json(self, faults: Faults) -> dict[str, Any]:
        """Run-outs, dish and spread; null where nothing was read that says so."""
        return {
            "lateral_mm": faults.lateral if self.was_read("lateral") else None,
            "radial_mm": faults.radial if self.was_read("radial") else None,
            "dish_mm": faults.dish if self.planner.dish_known else None,
            "tension_spread_percent": {
                side: faults.spread[i] if self.side_was_read(side) else None for i, side in enumerate(SIDES)
            },
        }

    def read_json(self) -> dict[str, Any]:
        """Figures as the last pass was read; null where it was not."""
        lateral, radial, tensions = (
            bool(np.isfinite(each).any()) for each in (self.newest.lateral, self.newest.radial, self.newest.tensions)
        )
        out = self.faults_json(self.before)
        return {
            "lateral_mm": out["lateral_mm"] if lateral else None,
            "radial_mm": out["radial_mm"] if radial else None,
            "dish_mm": out["dish_mm"] if lateral else None,
            "tension_spread_percent": {
                side: spread if tensions else None for side, spread in out["tension_spread_percent"].items()
            },
        }

    def spread_json(self, spread: Spread) -> dict[str, Any]:
        """Figures as they are to be expected, each with its standard uncertainty."""
        mean, sigma = self.faults_json(spread.mean), self.faults_json(spread.sigma)
        return {
            **mean,
            "lateral_sigma_mm": sigma["lateral_mm"],
            "radial_sigma_mm": sigma["radial_mm"],
            "dish_sigma_mm": sigma["dish_mm"],
            "tension_spread_sigma_percent": sigma["tension_spread_percent"],
        }

    def turn_rows(self) -> list[dict[str, Any]]:
        """Return the nipples to turn, in rim-hole order."""
        turns, lacing = self.turns, self.wheel.lacing
        return [
            {"rim_hole": int(lacing.rim_hole[i]), "side": lacing.sides[i], "turns": float(turns[i])}
            for i in np.flatnonzero(turns)
        ]

    def spoke_rows(self) -> list[dict[str, Any]]:
        """Return every spoke with its turns, the rim's place beside it and its tension, now and after the pass."""
        model, lacing = self.planner.model, self.wheel.lacing
        at = lacing.rim_hole - 1
        columns: dict[str, Any] = {"rim_hole": lacing.rim_hole, "side": lacing.sides, "turns": self.turns}
        for name, state in (("", self.state), ("_after", self.state_after)):
            columns[f"lateral_mm{name}"] = state[model.lateral][at]
            columns[f"radial_mm{name}"] = (state[model.radial] - state[model.radial].mean())[at]
            columns[f"tension_N{name}"] = state[model.tension]
        rows = zip(*(np.asarray(each).tolist() for each in columns.values()), strict=True)
        return [{name: _rounded(value) for name, value in zip(columns, row, strict=True)} for row in rows]

    def readings_csv(self) -> str:
        """Return the readings of all passes with what was turned after each, the advice after the last."""
        from wheelcalc.answers.truing.sheet import with_turns  # noqa: PLC0415 - only where a file is written

        turns = [*(each.turned for each in self.judged.tables[:-1]), self.turns]
        return with_turns(self.wheel, self.title, self.passes, turns)


def _rounded(value: Any) -> Any:
    return round(value, 3) + 0.0 if isinstance(value, float) else value


def _sides_json(turns: tuple[float, float]) -> dict[str, float]:
    return {f"{side}_turns": turn for side, turn in zip(SIDES, turns, strict=True)}


def _about_mean(covariance: Floats) -> Floats:
    """Standard uncertainties of values from their mean."""
    off = np.eye(len(covariance)) - 1 / len(covariance)
    return np.asarray(np.sqrt(np.maximum(np.diag(off @ covariance @ off), 0)))
