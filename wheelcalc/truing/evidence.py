"""How likely readings are by a wheel's linear model, and which causes and slips of single readings make them so.

All readings of all passes are one normal vector. Its covariance is a sum: spokes too long or short, a rim bent in long
waves, turns not quite made, errors of reading. How large each of these is the readings tell (`sized`). What is rare is
weighed one by one (`explained`): a reading that is grossly wrong, a kink of the rim a few holes wide, a nipple that did
not turn or was turned the wrong way, a stand that was moved. Each costs its odds before any reading, and is taken where
it makes the readings likelier than that.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from wheelcalc.arrays import Floats, Ints
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import Table
from wheelcalc.wheel.constants import SPOKE_THREAD_PITCH

# Standard errors before any reading; ours, the readings outweigh them. Factors on them are learned (`SIZES`).
SPOKE_SIGMA = 0.15  # mm, length of a spoke: a third of a turn of its nipple
BEND_SIGMA = 0.08  # mm, amplitude of a way of bending with two waves round the rim; it falls with the waves squared
TURN_SIGMA = 0.03  # of a turn: the key's angle is judged by eye, and the spoke stays a little twisted
TURN_SHARE = 0.12  # of what was turned: the model's own error goes with it
DISH_SIGMA = 3.0  # mm
LEVEL_SIGMA = 0.3  # of the mean tension, by which all spokes together may be tighter or looser
STAND_SIGMA = 0.05  # mm, by which the plane that lateral is read from moves between two passes
ANY = 30.0  # mm, standard error of a zero that may lie anywhere
FLANGE_SIGMA = 0.3  # mm, C: where a flange lies, by a calliper: the sides share the load by their offsets
REGION_SIGMA = 0.01  # of the tension, amplitude of a wave round one side by which readings or the model are off
REGION_WAVES = (1, 2, 3)
FINEST_PLACE, FINEST_TENSION = 0.01, 3.0  # mm, N: nobody reads better, however well the readings agree
LEAST_SIGMA = 10.0  # N, of a tension meter near nothing, or of an ear

# Grossly wrong readings, kinks, nipples: standard error of what they change, and odds before any reading.
GROSS_PLACE, GROSS_TENSION, GROSS_ODDS = 1.5, 0.4, 1 / 30  # mm, share of the tension
KINK_SIGMA, KINK_ODDS = 2.0, 0.05  # mm; odds that the rim has one at all
KINK_WIDTHS = (1.5, 2.0, 3.0, 4.0, 5.0)  # holes, at half the height
STUCK_ODDS, REVERSED_ODDS = 0.01, 0.003
MOVED_SIGMA, MOVED_ODDS = 2.0, 0.01  # mm
MOST_MOVES = 0.2  # of the readings: where more must be taken back, the wheel is another

NAMES = ("spokes", "lateral bend", "radial bend", "turns", "sides", "regions", "lateral", "radial", "tension")
# Of the logarithm of each factor, before any reading.
SIZE_SIGMA = np.log([3.0, 2.0, 2.0, 1.5, 2.0, 1.6, 1.6, 1.6, 1.5])
MODEL_SIGMA = np.array([0.35, 0.35])  # ours, of the logarithms of the factors on give and stiffness, before any pass
# Of Newton's method for the factors: rounds, rounds between two looks for causes, last step, longest step.
ROUNDS, BETWEEN, FINEST, LONGEST = 8, 4, 0.02, 0.7
SMALL = 64  # readings, ours: up to so many numpy's inverse is the fastest


@dataclass(frozen=True)
class Reader:
    """Errors that one who reads a wheel is believed to make, and what is known of the readings from outside.

    Parameters
    ----------
    lateral, radial : standard error of a reading [mm]
    tension : of a reading, as a share of it
    side : of all tensions of a side together, as a share of their mean: a meter that reads another wire too high
    any_plane : the lateral zero may lie anywhere
    keep : places in a table's values that were read again and are right
    """

    # C: a dial read to a tenth of a millimetre, a meter or an ear; the readings then tell.
    lateral: float = 0.08
    radial: float = 0.08
    tension: float = 0.04
    side: float = 0.0
    any_plane: bool = False
    keep: frozenset[int] = frozenset()


@dataclass(frozen=True, eq=False)
class Causes:
    """What was taken as an explanation besides the usual: the rare things.

    Parameters
    ----------
    gross : which readings are grossly wrong, (k,)
    kinks : columns of `System.kinks` that the rim has
    moved : passes from 0 before which the stand was moved
    stuck : spokes from 0 whose nipples do not turn
    reversed : (pass, spoke) from 0: turned the wrong way
    """

    gross: np.ndarray
    kinks: tuple[int, ...] = ()
    moved: tuple[int, ...] = ()
    stuck: tuple[int, ...] = ()
    reversed: tuple[tuple[int, int], ...] = ()

    def same(self, other: Causes) -> bool:
        """Whether these are the same causes."""
        rest = [(set(each.kinks), set(each.moved), set(each.stuck), set(each.reversed)) for each in (self, other)]
        return rest[0] == rest[1] and bool(np.array_equal(self.gross, other.gross))

    def really(self, number: int, made: Floats) -> Floats:
        """What was made of the turns after a pass, (n,): nothing of stuck nipples, the opposite of reversed ones."""
        out = made.copy()
        out[[spoke for at, spoke in self.reversed if at == number]] *= -1
        out[list(self.stuck)] = 0.0
        return out


@dataclass(frozen=True, eq=False)
class Believed:
    """What is believed before any reading of some passes: by the usual, or by passes still older.

    Parameters
    ----------
    sizes, sizes_sigma : logarithms of the factors on the usual sizes, and their standard errors, (9,)
    model, model_sigma : the same of the factors on the ends' give and on the rim's stiffness, (2,)
    stuck : spoke from 0 -> logarithm of the odds that its nipple does not turn, where these are not the usual
    """

    sizes: Floats
    sizes_sigma: Floats
    model: Floats
    model_sigma: Floats
    stuck: Mapping[int, float]

    def stuck_odds(self, spokes: Ints | Sequence[int]) -> Floats:
        """Logarithm of the odds that nipples do not turn, (k,)."""
        return np.array([self.stuck.get(int(each), math.log(STUCK_ODDS)) for each in spokes], dtype=float)


USUALLY = Believed(np.zeros(len(NAMES)), SIZE_SIGMA, np.zeros(2), MODEL_SIGMA, {})


@dataclass(frozen=True, eq=False)
class System:
    """Readings of some passes as a linear system.

    Parameters
    ----------
    model : of the wheel
    tables : oldest first
    reader : who read them
    believed : before these readings
    """

    model: Model
    tables: Sequence[Table]
    reader: Reader
    believed: Believed = USUALLY

    @cached_property
    def read(self) -> Ints:
        """Places, in the values of all tables, of what was read, (k,)."""
        return np.flatnonzero(np.isfinite(np.concatenate([each.values for each in self.tables])))

    @cached_property
    def at(self) -> tuple[Ints, Ints]:
        """Pass and place in the state of every reading, (k,) each."""
        passes, places = np.divmod(self.read, len(self.model.true))
        return passes, places

    @cached_property
    def kind(self) -> Ints:
        """0 lateral, 1 radial, 2 tension; of every reading, (k,)."""
        return np.asarray(np.minimum(self.at[1] // self.model.nodes, 2))

    @cached_property
    def made(self) -> Floats:
        """Shortening of every spoke [mm] by the turns after each pass, (passes, n)."""
        return np.array([each.turned for each in self.tables]) * SPOKE_THREAD_PITCH

    @cached_property
    def turn_sigma(self) -> Floats:
        """Usual error of the shortening of every spoke after each pass [mm], (passes, n); none where nothing was turned."""
        eye = TURN_SIGMA * SPOKE_THREAD_PITCH
        return np.asarray(np.where(self.made != 0, np.hypot(TURN_SHARE * self.made, eye), 0.0))

    @cached_property
    def by_spoke(self) -> Floats:
        """Change of every reading with each spoke, (k, n)."""
        return self.model.by_spoke[self.at[1]]

    @cached_property
    def by_bend(self) -> Floats:
        """Change of every reading with each way of bending, (k, b)."""
        return self.model.by_bend[self.at[1]]

    @cached_property
    def by_turns(self) -> Floats:
        """Change of every reading by the turns of each spoke after each pass, (passes, k, n)."""
        later = self.at[0][None, :] > np.arange(len(self.tables))[:, None]
        return np.asarray(later[:, :, None] * self.made[:, None, :] * self.by_spoke)

    @cached_property
    def misfit(self) -> Floats:
        """Readings less those of a true wheel with all turns as they were said to be made, (k,)."""
        passes, places = self.at
        values = np.concatenate([each.values for each in self.tables])[self.read]
        off = values - self.model.true[places] - self.by_turns.sum(axis=(0, 2))
        for number in range(len(self.tables)):
            for kind in (0, 1) if self.reader.any_plane else (1,):
                here = (passes == number) & (self.kind == kind)
                if here.any():
                    off[here] -= np.median(off[here])
        return np.asarray(off)

    @cached_property
    def usual(self) -> Floats:
        """Standard error of each reading alone, and whether it is the reader's, (2, k)."""
        sigma = np.select([self.kind == 0, self.kind == 1], [self.reader.lateral, self.reader.radial], 0.0)
        own = np.concatenate(
            [np.concatenate([np.full(2 * self.model.nodes, np.nan), t.own_sigma]) for t in self.tables]
        )
        values = np.concatenate([each.values for each in self.tables])[self.read]
        # half the reading and half the mean: a reading grossly too low must not look sure
        level = (np.abs(values) + self.model.true[self.at[1]]) / 2
        meter = np.maximum(self.reader.tension * level, LEAST_SIGMA)
        told = own[self.read]
        tension = np.where(np.isfinite(told), np.maximum(told, LEAST_SIGMA), meter)
        return np.array([np.where(self.kind == 2, tension, sigma), ~np.isfinite(told)])

    @cached_property
    def gross_variance(self) -> Floats:
        """What a grossly wrong reading has more, (k,)."""
        tension = GROSS_TENSION * float(self.model.structure.tensions.mean())
        return np.where(self.kind == 2, tension, GROSS_PLACE) ** 2

    @cached_property
    def parts(self) -> Floats:
        """Covariance of all readings by each of `NAMES` but the last three, of its usual size, (6, k, k)."""
        waves, lateral = self.model.bends
        bends = self.by_bend * BEND_SIGMA * (2 / waves) ** 2
        columns = (
            SPOKE_SIGMA * self.by_spoke,
            bends[:, lateral],
            bends[:, ~lateral],
            self.badly_turned,
            self.sides,
            REGION_SIGMA * self.regions,
        )
        parts = np.stack([each @ each.T for each in columns])
        parts[5] *= self.at[0][:, None] == self.at[0]
        return parts

    @cached_property
    def badly_turned(self) -> Floats:
        """Change of every reading by the usual error of each turn, (k, turns)."""
        passes, spokes = np.nonzero(self.turn_sigma)
        return self.by_spoke[:, spokes] * self.turn_sigma[passes, spokes] * (self.at[0][:, None] > passes)

    @cached_property
    def noises(self) -> Floats:
        """Variance of every reading by who reads lateral, radial and tension, of the usual size, (3, k)."""
        sigma, readers = self.usual
        return np.where((self.kind == np.arange(3)[:, None]) & (readers > 0), sigma, 0.0) ** 2

    @cached_property
    def sides(self) -> Floats:
        """Change of every reading by all tensions of left or right off by a standard error, as dish and level do not move them, (k, 2)."""
        structure, off = self.model.structure, np.zeros((len(self.model.true), 2))
        for number, side in enumerate(self.model.sides):
            offset = abs(float(structure.hub_points[side, 0].mean()) - structure.rim_plane_x)
            share = math.hypot(self.reader.side, FLANGE_SIGMA / max(offset, FLANGE_SIGMA))
            off[self.model.tension, number] = side * share * float(structure.tensions[side].mean())
        return off[self.at[1]]

    @cached_property
    def regions(self) -> Floats:
        """Change of every reading by each wave of wrong tensions round each side, a whole tension high, (k, w)."""
        structure = self.model.structure
        turned = structure.node_angles_rad[structure.spoke_nodes, None] * np.repeat(REGION_WAVES, 2)
        heights = structure.tensions[:, None] * np.cos(turned - np.tile([0, np.pi / 2], len(REGION_WAVES)))
        whole = np.zeros((len(self.model.true), 2 * heights.shape[1]))
        whole[self.model.tension] = np.concatenate([side[:, None] * heights for side in self.model.sides], axis=1)
        return whole[self.at[1]]

    @cached_property
    def always(self) -> Floats:
        """Covariance of all readings by what has no size to be learned, (k, k)."""
        dish, level = self.model.dish_and_level
        mean = float(self.model.structure.tensions.mean())
        columns = [self.by_spoke @ (DISH_SIGMA * dish), self.by_spoke @ (LEVEL_SIGMA * mean * level)]
        passes, places = self.at
        for number, each in enumerate(self.tables):
            lateral = ANY if self.reader.any_plane else STAND_SIGMA
            columns += [((passes == number) & (self.kind == kind)) * sigma for kind, sigma in ((0, lateral), (1, ANY))]
            for row in each.shared:
                whole = np.concatenate([np.zeros(2 * self.model.nodes), np.nan_to_num(row)])
                columns.append(np.where(passes == number, whole[places], 0.0))
        sigma, readers = self.usual
        stacked = np.array(columns)
        finest = np.where(self.kind == 2, FINEST_TENSION, FINEST_PLACE)
        return np.asarray(stacked.T @ stacked + np.diag(finest**2 + np.where(readers > 0, 0.0, sigma) ** 2))

    @cached_property
    def kinks(self) -> tuple[Floats, Ints]:
        """Bends of the rim by a kink of 1 mm at every half hole, of every width, lateral and radial: (b, c); its kind, (c,)."""
        model = self.model
        m, lateral = model.nodes, model.bends[1]
        centres = np.arange(2 * m) / 2
        away = np.abs((np.arange(m)[:, None] - centres + m / 2) % m - m / 2)
        bumps = [
            np.where(away < width, (1 + np.cos(np.pi * np.minimum(away / width, 1))) / 2, 0.0) for width in KINK_WIDTHS
        ]
        both = model.as_bends(np.concatenate(bumps, axis=1))
        bends = np.concatenate([both * lateral[:, None], both * ~lateral[:, None]], axis=1)
        return bends, np.repeat([0, 1], bends.shape[1] // 2)

    @cached_property
    def by_kink(self) -> Floats:
        """Change of every reading by each kink of 1 mm, (k, c)."""
        return np.asarray(self.by_bend @ self.kinks[0])

    @cached_property
    def kink_odds(self) -> float:
        """Logarithm of the odds of any one kink."""
        return math.log(KINK_ODDS / self.kinks[0].shape[1])

    def stand(self, number: int) -> Floats:
        """Change of every reading where the stand was moved before a pass, by one standard error, (k,)."""
        return np.asarray(MOVED_SIGMA * ((self.at[0] >= number) & (self.kind == 0)), dtype=float)

    def nothing(self) -> Causes:
        """No rare cause but nipples that are believed not to turn."""
        stuck = tuple(spoke for spoke, odds in self.believed.stuck.items() if odds > 0)
        return Causes(np.zeros(len(self.read), dtype=bool), stuck=stuck)

    def covariance(self, sizes: Floats, causes: Causes) -> Floats:
        """Of all readings, (k, k), with factors on the sizes and the rare causes in it."""
        squares = sizes**2
        out = np.tensordot(squares[:-3], self.parts, 1) + self.always
        out[np.diag_indices(len(out))] += squares[-3:] @ self.noises + np.where(causes.gross, self.gross_variance, 0.0)
        columns = [KINK_SIGMA * self.by_bend @ self.kinks[0][:, each] for each in causes.kinks]
        columns += [self.stand(number) for number in causes.moved]
        if columns:
            stacked = np.array(columns)
            out += stacked.T @ stacked
        return np.asarray(out)

    def left(self, causes: Causes) -> Floats:
        """The misfit with nipples that did not turn, or turned the other way, taken for that, (k,)."""
        out = self.misfit.copy()
        for spoke in causes.stuck:
            out += self.by_turns[:, :, spoke].sum(axis=0)
        for number, spoke in causes.reversed:
            if spoke not in causes.stuck:
                out += 2 * self.by_turns[number, :, spoke]
        return out

    def odds(self, causes: Causes) -> float:
        """Logarithm of the odds of these rare causes before any reading."""
        rare = {
            GROSS_ODDS: int(causes.gross.sum()),
            MOVED_ODDS: len(causes.moved),
            REVERSED_ODDS: len(causes.reversed),
        }
        stuck = float(self.believed.stuck_odds(causes.stuck).sum())
        return sum(math.log(odds) * count for odds, count in rare.items()) + stuck + self.kink_odds * len(causes.kinks)


@dataclass(frozen=True, eq=False)
class Fit:
    """What makes the readings of a system likeliest.

    Parameters
    ----------
    system : of all passes
    sizes : factors on the usual size of each of `NAMES`, (9,)
    causes : rare ones
    """

    system: System
    sizes: Floats
    causes: Causes

    @cached_property
    def covariance(self) -> Floats:
        """Of all readings, (k, k)."""
        return self.system.covariance(self.sizes, self.causes)

    @cached_property
    def inverse(self) -> Floats:
        """Of the covariance."""
        by_root = inverted(self.root)
        return by_root.T @ by_root

    @cached_property
    def root(self) -> Floats:
        """Of the covariance, lower triangular (Cholesky), (k, k)."""
        return np.asarray(np.linalg.cholesky(self.covariance))

    @cached_property
    def left(self) -> Floats:
        """Misfit of all readings, (k,)."""
        return self.system.left(self.causes)

    @property
    def reader(self) -> Reader:
        """The reader, with the errors that the readings show."""
        believed, (lateral, radial, tension) = self.system.reader, self.sizes[-3:].tolist()
        return replace(
            believed,
            lateral=believed.lateral * lateral,
            radial=believed.radial * radial,
            tension=believed.tension * tension,
        )

    @property
    def values(self) -> Floats:
        """All that was read, (k,)."""
        return np.concatenate([each.values for each in self.system.tables])[self.system.read]

    @cached_property
    def log_evidence(self) -> float:
        """Logarithm of how likely readings, rare causes and sizes are together."""
        off, size = np.linalg.solve(self.root, self.left), 2 * float(np.log(np.diag(self.root)).sum())
        believed = self.system.believed
        before = -0.5 * float(np.sum(((np.log(self.sizes) - believed.sizes) / believed.sizes_sigma) ** 2))
        return -0.5 * (float(off @ off) + size) + self.system.odds(self.causes) + before

    @cached_property
    def about(self) -> tuple[Floats, Floats]:
        """Slope and (negative) curvature of the logarithm of the evidence in the logarithms of the sizes, (9,), (9, 9)."""
        system, inverse, squares = self.system, self.inverse, self.sizes**2
        w = inverse @ self.left
        pulled = squares[:, None] * np.concatenate([system.parts @ w, system.noises * w])
        traces = np.concatenate(
            [system.parts.reshape(len(system.parts), -1) @ inverse.ravel(), system.noises @ np.diag(inverse)]
        )
        before = 1 / system.believed.sizes_sigma**2
        slope = pulled @ w - squares * traces - (np.log(self.sizes) - system.believed.sizes) * before
        return slope, 2 * pulled @ inverse @ pulled.T + np.diag(before)

    @cached_property
    def log_marginal(self) -> float:
        """The logarithm of the evidence with all sizes weighed by how likely they are (Laplace's method), less a constant. D."""
        return self.log_evidence - 0.5 * float(np.linalg.slogdet(self.about[1])[1])


def sized(fit: Fit, rounds: int = ROUNDS) -> Fit:
    """With the likeliest sizes.

    Notes
    -----
    Newton's method on the logarithms of the factors with the average of the observed and the expected information in
    place of the second derivatives: Gilmour, Thompson, Cullis, Biometrics 51 (1995) 1440 (M).
    """
    for _ in range(rounds):
        slope, curve = fit.about
        step = np.clip(np.linalg.solve(curve, slope), -LONGEST, LONGEST)
        fit = replace(fit, sizes=fit.sizes * np.exp(step))
        if np.abs(step).max() < FINEST:
            break
    return fit


def inverted(root: Floats) -> Floats:
    """Inverse of a lower triangular matrix, by halves.

    Notes
    -----
    The inverse of [[A, 0], [B, C]] is [[A^-1, 0], [-C^-1 B A^-1, C^-1]] (D). With it a covariance of 432 readings is inverted in
    0.6 of the time of numpy's general inverse (R), and as exactly.
    """
    if len(root) <= SMALL:
        return np.asarray(np.linalg.inv(root))
    half = len(root) // 2
    out = np.zeros_like(root)
    out[:half, :half], out[half:, half:] = inverted(root[:half, :half]), inverted(root[half:, half:])
    out[half:, :half] = -out[half:, half:] @ (root[half:, :half] @ out[:half, :half])
    return out


Choice = tuple[float, Callable[[], None]]  # what it wins, and how to take it


class Search:
    """Rare causes taken and given back one by one, as long as that makes the readings likelier."""

    def __init__(self, fit: Fit) -> None:
        self.fit, self.system = fit, fit.system
        self.inverse, self.left = fit.inverse.copy(), fit.left.copy()
        # a' V^-1 a of every kink: follows the inverse step by step, as multiplying it out each time is most of the work
        self.kink_sizes = np.sum(self.system.by_kink * (fit.inverse @ self.system.by_kink), axis=0)
        self.gross = fit.causes.gross.copy()
        self.kinks, self.moved = list(fit.causes.kinks), list(fit.causes.moved)
        self.stuck, self.reversed = list(fit.causes.stuck), list(fit.causes.reversed)

    def explained(self) -> Fit:
        """The fit with what was found."""
        for _ in range(int(MOST_MOVES * len(self.left)) + 2):
            if not self._better():
                break
        causes = Causes(self.gross, tuple(self.kinks), tuple(self.moved), tuple(self.stuck), tuple(self.reversed))
        fit = replace(self.fit, causes=causes)
        fit.__dict__["inverse"] = self.inverse  # known already: what is cached need not be worked out
        return fit

    def _better(self) -> bool:
        """Take or give back the one cause that wins most; False where none wins."""
        choices = [
            self._gross(),
            self._kink(),
            *([self._stand(), self._nipple()] if len(self.system.tables) > 1 else []),
        ]
        gain, move = max(choices, key=lambda each: each[0])
        if gain <= 0:
            return False
        move()
        return True

    def _add(self, column: Floats, sign: float) -> None:
        """Widen the covariance by a column's square, or narrow it."""
        across = self.inverse @ column
        share = sign / (1 + sign * float(column @ across))
        self.inverse -= share * np.outer(across, across)
        self.kink_sizes -= share * (self.system.by_kink.T @ across) ** 2

    def _gross(self) -> Choice:
        """A reading that is grossly wrong, or is not after all."""
        system = self.system
        w = self.inverse @ self.left
        sign = np.where(self.gross, -1.0, 1.0)
        gains = gain(sign * system.gross_variance, np.diag(self.inverse), w) + sign * math.log(GROSS_ODDS)
        gains[np.isin(system.at[1], list(system.reader.keep))] = -np.inf
        best = int(np.argmax(gains))

        def move() -> None:
            column = np.zeros(len(w))
            column[best] = math.sqrt(system.gross_variance[best])
            self._add(column, float(sign[best]))
            self.gross[best] ^= True

        return float(gains[best]), move

    def _kink(self) -> Choice:
        """A kink of the rim."""
        system = self.system
        pull = system.by_kink.T @ (self.inverse @ self.left)
        sign = np.ones(len(pull))
        sign[self.kinks] = -1
        gains = gain(sign * KINK_SIGMA**2, self.kink_sizes, pull) + sign * system.kink_odds
        best = int(np.argmax(gains))

        def move() -> None:
            self._add(KINK_SIGMA * system.by_kink[:, best], float(sign[best]))
            (self.kinks.append if sign[best] > 0 else self.kinks.remove)(best)

        return float(gains[best]), move

    def _stand(self) -> Choice:
        """A stand that was moved."""
        best, chosen, way = -np.inf, 0, 1.0
        for number in range(1, len(self.system.tables)):
            column = self.system.stand(number)
            sign = -1.0 if number in self.moved else 1.0
            w = self.inverse @ column
            won = float(gain(sign, column @ w, w @ self.left)) + sign * math.log(MOVED_ODDS)
            if won > best:
                best, chosen, way = won, number, sign

        def move() -> None:
            self._add(self.system.stand(chosen), way)
            (self.moved.append if way > 0 else self.moved.remove)(chosen)

        return best, move

    def _nipple(self) -> Choice:
        """A nipple that never turned, or turned the other way after one pass; or taken back."""
        system = self.system
        whole = system.by_turns.sum(axis=0)
        spokes = whole.shape[1]
        sign = np.where(np.isin(np.arange(spokes), self.stuck), -1.0, 1.0)
        asked = np.any(whole != 0, axis=0)
        odds = system.believed.stuck_odds(range(spokes))
        gains = np.where(asked, self._shift_gain(whole * sign) + sign * odds, -np.inf)
        best, spoke, pass_ = float(gains.max()), int(np.argmax(gains)), -1
        for number in range(len(system.tables) - 1):
            columns = 2 * system.by_turns[number]
            back = np.array([(number, each) in self.reversed for each in range(spokes)])
            way = np.where(back, -1.0, 1.0)
            free = np.any(columns != 0, axis=0) & ~np.isin(np.arange(spokes), self.stuck)
            won = np.where(free, self._shift_gain(columns * way) + way * math.log(REVERSED_ODDS), -np.inf)
            if won.max() > best:
                best, spoke, pass_ = float(won.max()), int(np.argmax(won)), number

        def move() -> None:
            if pass_ < 0:
                (self.stuck.append if spoke not in self.stuck else self.stuck.remove)(spoke)
            else:
                pair = (pass_, spoke)
                (self.reversed.append if pair not in self.reversed else self.reversed.remove)(pair)
            causes = replace(system.nothing(), stuck=tuple(self.stuck), reversed=tuple(self.reversed))
            self.left = system.left(causes)

        return best, move

    def _shift_gain(self, columns: Floats) -> Floats:
        """What it wins to add each column to the misfit, (n,)."""
        across = self.inverse @ columns
        return np.asarray(-(self.left @ across) - 0.5 * np.einsum("kn,kn->n", columns, across))


def gain(variance: Floats | float, size: Floats | float, pull: Floats | float) -> Floats:
    """What widening a covariance V by `variance` a a' adds to the logarithm of the likelihood; size a'V^-1 a, pull a'V^-1 y.

    Notes
    -----
    Sherman and Morrison's formula and the determinant of a change of rank one. D.
    """
    grown = 1 + variance * size
    safe = np.maximum(grown, 1e-12)
    return np.where(grown > 1e-9, 0.5 * variance * pull**2 / safe - 0.5 * np.log(safe), -np.inf)


def fitted(system: System, start: Fit | None = None, rounds: int = 6) -> Fit:
    """The likeliest sizes and rare causes, by turns.

    Parameters
    ----------
    system : of all passes
    start : of the same readings; None: from what is believed
    rounds : in which both are looked for, at most: no more than bring other causes
    """
    fit = replace(start, system=system) if start else Fit(system, np.exp(system.believed.sizes), system.nothing())
    fit = Search(fit).explained()
    for _ in range(rounds - 1):
        before, fit = fit, Search(sized(fit, BETWEEN)).explained()
        if fit.causes.same(before.causes):
            break
    return sized(fit, 3)


def likeliest(system: System) -> Fit:
    """The likelier of two fits: one that looks for rare causes first, and one for sizes, since either may end beside the best."""
    plain = Fit(system, np.exp(system.believed.sizes), system.nothing())
    return max((fitted(system), fitted(system, sized(plain, BETWEEN))), key=lambda each: each.log_marginal)


@dataclass(frozen=True, eq=False)
class State:
    """Where the wheel stands when the last pass was read.

    Parameters
    ----------
    values : (2m + n,): lateral, radial [mm], tension [N]
    columns : change of these with each cause: spokes shorter, ways of bending; (2m + n, n + b)
    causes, covariance : of the causes [mm], (n + b,), (n + b, n + b)
    expected : of every reading, by all the others, (k,)
    """

    values: Floats
    columns: Floats
    causes: Floats
    covariance: Floats
    expected: Floats

    @cached_property
    def doubt(self) -> Floats:
        """Covariance of the values, (2m + n, 2m + n)."""
        return self.columns @ self.covariance @ self.columns.T

    @cached_property
    def sigma(self) -> Floats:
        """Standard error of every value, (2m + n,)."""
        return np.asarray(np.sqrt(np.maximum(np.diag(self.doubt), 0)))


def state(fit: Fit) -> State:
    """The wheel's state by a fit: the conditional mean of a normal vector (D)."""
    system, model = fit.system, fit.system.model
    n, (waves, lateral) = model.spokes, model.bends
    dish, level = model.dish_and_level
    level = LEVEL_SIGMA * float(model.structure.tensions.mean()) * level
    spokes = (fit.sizes[0] * SPOKE_SIGMA) ** 2 * np.eye(n) + np.outer(level, level)
    spokes += DISH_SIGMA**2 * np.outer(dish, dish)
    bends = np.diag((BEND_SIGMA * (2 / waves) ** 2 * np.where(lateral, fit.sizes[1], fit.sizes[2])) ** 2)
    kinks = KINK_SIGMA * system.kinks[0][:, list(fit.causes.kinks)]
    bends += kinks @ kinks.T
    shared = np.concatenate([spokes @ system.by_spoke.T, bends @ system.by_bend.T])
    prior = np.zeros((len(shared), len(shared)))
    prior[:n, :n], prior[n:, n:] = spokes, bends
    turned = np.zeros(len(shared))
    for number in range(len(system.tables) - 1):
        error = (fit.sizes[3] * system.turn_sigma[number]) ** 2
        shared[:n] += error[:, None] * system.by_spoke.T * (system.at[0] > number)
        prior[:n, :n] += np.diag(error)
        turned[:n] += fit.causes.really(number, system.made[number])
    w = fit.inverse @ fit.left
    causes = shared @ w + turned
    covariance = prior - shared @ fit.inverse @ shared.T
    columns = np.concatenate([model.by_spoke, model.by_bend], axis=1)
    expected = fit.values - w / np.diag(fit.inverse)
    return State(model.true + columns @ causes, columns, causes, covariance, expected)
