"""Sessions with real wheels: somebody reads, asks the library, turns, and reads again, until it says that it ends."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from tests.making.random_wheels import PITCH
from tests.making.real_wheels import E_RIM, G_RIM, Person, RealCase, real_wheel
from tests.oracles.nonlinear_wheel import NonlinearWheel
from wheelcalc.arrays import Floats
from wheelcalc.tension import balance, targets
from wheelcalc.truing.evidence import Reader
from wheelcalc.truing.faults import EqualFaults, weights
from wheelcalc.truing.forecast import forecast_of
from wheelcalc.truing.learning import Past
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import Table, table
from wheelcalc.truing.turns import Done, Planner, Room
from wheelcalc.truing.verdict import decide
from wheelcalc.wheel.parts import Section

LATERAL, RADIAL = 0.45, 0.5  # mm, what counts as reached
WORSE = 0.15  # mm, what counts as clearly worse, where it ends beyond what counts as reached
FLOOR, LIMIT = 400.0, 1250.0  # N
PASSES, COUNTED = 6, 4
ModelOf = Callable[..., Model]


def steady(real: NonlinearWheel) -> Table:
    """A wheel read without any error."""
    return table(real.lateral.copy(), real.radial - real.radial.mean(), real.tensions)


def model_of(case: RealCase) -> ModelOf:
    """The believed wheel at the mean tensions of the last of some tables."""

    def make(tables: Sequence[Table], give: float = 1.0, stiffness: float = 1.0) -> Model:
        return model_at(case, tables[-1].tensions, case.believed, give * case.believed_give, stiffness)

    return make


def model_at(case: RealCase, tensions: Floats, section: Section, give: Floats | float, stiffness: float = 1.0) -> Model:
    """The wheel with a section and a give, at the mean tensions of its sides."""
    means = {name: float(np.nanmean(tensions[side])) for name, side in sides(case)}
    rest = balance.at_rest(case.wheel, targets.per_spoke(case.wheel, means))
    names = ("inertia_in_plane", "inertia_out_of_plane", "torsion_constant")
    scaled = replace(section, **{name: stiffness * getattr(section, name) for name in names})
    structure = balance.structure_at(case.wheel, rest, scaled)
    return Model(replace(structure, end_give=np.broadcast_to(give, len(tensions))), case.is_right)


def sides(case: RealCase) -> list[tuple[str, np.ndarray]]:
    """Masks of the left and the right spokes."""
    return [("left", ~case.is_right), ("right", case.is_right)]


def room(spokes: int) -> Room:
    """Bounds of turns and tensions."""
    return Room(step=0.125, most=1.0, floor=np.full(spokes, FLOOR), limit=np.full(spokes, LIMIT))


@dataclass
class Learner:
    """The library, asked pass after pass."""

    case: RealCase
    tables: list[Table] = field(default_factory=list)
    stuck: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        self.past = Past(model_of(self.case), Reader())

    def turns(self, lateral: Floats, radial: Floats, tensions: Floats) -> Floats:
        """What it advises."""
        self.tables.append(table(lateral, radial, tensions))
        known = self.past.after(self.tables)
        fit = known.fit
        forecast = forecast_of(fit)
        model, now = fit.system.model, forecast.state
        doubts = 100 * now.sigma[model.tension] / model.structure.tensions
        left, right = (float(doubts[side].mean()) for side in model.sides)
        self.stuck = tuple(known.stuck)
        plan = Planner(model, EqualFaults(), room(len(tensions)), Done(), doubt=(left, right), stuck=self.stuck)
        found = decide(plan, forecast, len(self.tables), replace(plan, stuck=()))
        self.tables[-1] = replace(self.tables[-1], turned=found.turns)
        return found.turns


def exactly(case: RealCase) -> Model:
    """The wheel as it is: section, give, tensions and where its parts lie."""
    real, known = case.real, case.exact
    ea, in_plane, sideways, twist = real.rim
    section = replace(
        case.believed,
        area=ea / E_RIM,
        inertia_in_plane=in_plane / E_RIM,
        inertia_out_of_plane=sideways / E_RIM,
        torsion_constant=twist / G_RIM,
    )
    return model_at(known, real.tensions, section, real.end_give)


@dataclass
class Exact:
    """The baseline: plain damped least squares, the wheel and its readings known exactly."""

    case: RealCase

    def turns(self, *_: Floats) -> Floats:
        """The turns of least badness, in eighths, at most one."""
        model = exactly(self.case)
        rows, target = weights(model, EqualFaults())
        faults, now = rows @ model.by_spoke * PITCH, steady(self.case.real).values
        hessian = faults.T @ faults
        damped = hessian + 0.01 * np.trace(hessian) / len(hessian) * np.eye(len(hessian))
        found = np.linalg.solve(damped, faults.T @ (rows @ (target - now)))
        return np.asarray(np.clip(np.round(8 * found) / 8, -1, 1))


@dataclass
class Session:
    """What came of it: figures and whether reached before and after each pass; turns; passes made worse; when it ended."""

    figures: list[tuple[float, ...]]
    reached: list[bool]
    keys: float = 0.0
    made: int = 0
    worse: int = 0
    ended: int | None = None


def reached(case: RealCase) -> bool:
    """Straight and round enough, no spoke slack."""
    lateral, radial, *_ = case.figures()
    return lateral <= LATERAL and radial <= RADIAL and bool(case.real.tensions.min() > 0)


def session(
    seed: int,
    advisor: type[Learner] | type[Exact] = Learner,
    person: Person | None = None,
    maker: Callable[[int], RealCase] = real_wheel,
) -> Session:
    """One wheel from first reading to the end, at most six passes."""
    case, rng, who = maker(seed), np.random.default_rng(seed + 10**6), person or Person()
    asked, out = advisor(case), Session([case.figures()], [reached(case)])
    for number in range(PASSES):
        turns = asked.turns(*who.read(case.real, rng)) if out.ended is None else np.zeros(0)
        if not turns.any():
            out.ended = number if out.ended is None else out.ended
        else:
            before = case.figures()
            case.real = who.turn(case.real, turns, rng)
            after = case.figures()
            out.made += 1
            out.keys += float(np.abs(turns).sum())
            out.worse += any(
                new - old > WORSE and new > enough
                for old, new, enough in zip(before, after, (LATERAL, RADIAL), strict=False)
            )
        out.figures.append(case.figures())
        out.reached.append(reached(case))
    return out
