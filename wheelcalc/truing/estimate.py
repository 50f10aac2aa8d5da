"""From a few noisy readings to the likeliest state of the whole wheel, and how sure that is.

Before any reading the spokes are a little too long or short and the rim is a little bent, each by a normal error. How
large these errors are in this wheel, the readings tell (the likeliest of a few sizes), and then which errors are likely
(a linear least-squares estimate with prior knowledge). What was not read is so interpolated by the structure itself,
and a bent rim told apart from wrong spokes.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from wheelcalc.arrays import Floats
from wheelcalc.truing.model import Model

# C, choices; the readings outweigh them where there are enough. Standard errors before any reading.
SPOKE_SIGMA = 0.12  # mm, length of a spoke: a quarter turn of its nipple
BEND_SIGMA = 0.1  # mm, amplitude of a way of bending with two waves round the rim; it falls with the waves squared
DISH_SIGMA = 3.0  # mm
LEVEL_SIGMA = 0.25  # of the mean tension, by which all spokes together may be tighter or looser
SIZES = 2.0 ** np.arange(-2, 4)  # times these: how untrue this wheel may be, and how bent its rim
SIZE_SIGMA = np.log(3)  # of the logarithm of such a factor, before any reading
ANY = 1e3  # mm, standard error of a zero that may lie anywhere
TINY = 1e-12


@dataclass(frozen=True, eq=False)
class Readings:
    """Readings of a wheel; nan where nothing was read.

    Parameters
    ----------
    lateral, radial : place of the rim at its m nodes [mm], (m,)
    tensions : of the n spokes [N], (n,)
    lateral_sigma, radial_sigma : standard error of one reading [mm]
    tension_sigma : of each reading, (n,) [N]
    tension_shared : errors that move all tensions together, one standard error of each cause, (c, n) [N]
    any_plane : the lateral zero may lie anywhere, as the radial one always may
    """

    lateral: Floats
    radial: Floats
    tensions: Floats
    lateral_sigma: float
    radial_sigma: float
    tension_sigma: Floats
    tension_shared: Floats
    any_plane: bool = False

    @property
    def values(self) -> Floats:
        """All of them in the order of a state, (2m + n,)."""
        return np.concatenate([self.lateral, self.radial, self.tensions])

    def covariance(self) -> Floats:
        """Errors of all readings, shared ones included, (2m + n, 2m + n)."""
        m = len(self.lateral)
        single = [np.full(m, self.lateral_sigma), np.full(m, self.radial_sigma), self.tension_sigma]
        out = np.diag(np.concatenate(single) ** 2)
        out[m : 2 * m, m : 2 * m] += ANY**2
        if self.any_plane:
            out[:m, :m] += ANY**2
        shared = np.nan_to_num(self.tension_shared)
        out[2 * m :, 2 * m :] += shared.T @ shared
        return out


@dataclass(frozen=True, eq=False)
class Estimate:
    """The likeliest state of a wheel.

    Parameters
    ----------
    state : (2m + n,): lateral, radial [mm], tension [N]
    covariance : of the state
    bends : amplitude of each way in which the free rim is bent [mm], (b,)
    bend_covariance : of these
    misfits : of each reading from the state, over what is to be expected, (2m + n,); nan where nothing was read
    """

    state: Floats
    covariance: Floats
    bends: Floats
    bend_covariance: Floats
    misfits: Floats

    @property
    def sigma(self) -> Floats:
        """Standard error of every entry of the state."""
        return np.asarray(np.sqrt(np.maximum(np.diag(self.covariance), 0)))


def prior(model: Model, spokes: float = 1.0, bends: float = 1.0) -> Floats:
    """Covariance of the spokes' lengths and of the rim's bends before any reading, (n + b, n + b) [mm2].

    Parameters
    ----------
    model : of the wheel
    spokes, bends : factors on their standard errors
    """
    n, (waves, _) = model.spokes, model.bends
    single = [np.full(n, spokes * SPOKE_SIGMA), bends * BEND_SIGMA * (2 / waves) ** 2]
    out = np.diag(np.concatenate(single) ** 2)
    dish, level = model.dish_and_level
    alike = (DISH_SIGMA * dish, LEVEL_SIGMA * float(model.structure.tensions.mean()) * level)
    out[:n, :n] += sum(np.outer(each, each) for each in alike)
    return out


def likeliest_prior(model: Model, rows: Floats, misfit: Floats, errors: Floats) -> Floats:
    """The prior whose sizes of errors make the readings likeliest, sizes near 1 a little likelier from the start.

    Parameters
    ----------
    model : of the wheel
    rows : change of the k readings with each cause, (k, n + b)
    misfit : readings less those of a true wheel, (k,)
    errors : covariance of the readings, (k, k)
    """
    alike = prior(model, 0.0, 0.0)
    shared, of_spokes, of_bends = (
        rows @ each @ rows.T for each in (alike, prior(model, 1.0, 0.0) - alike, prior(model, 0.0, 1.0) - alike)
    )
    found, most = (1.0, 1.0), -np.inf
    for spokes, bends in product(SIZES, SIZES):
        root = np.linalg.cholesky(spokes**2 * of_spokes + bends**2 * of_bends + shared + errors)
        off = np.linalg.solve(root, misfit)
        size = (np.log(spokes) ** 2 + np.log(bends) ** 2) / SIZE_SIGMA**2
        likelihood = -np.log(np.diag(root)).sum() - (off @ off + size) / 2
        if likelihood > most:
            found, most = (spokes, bends), likelihood
    return prior(model, *found)


def estimate(model: Model, readings: Readings) -> Estimate:
    """The likeliest state of the wheel by its readings.

    Parameters
    ----------
    model : of the wheel
    readings : of any part of it
    """
    columns = np.concatenate([model.by_spoke, model.by_bend], axis=1)
    read = np.isfinite(readings.values)
    rows, errors = columns[read], readings.covariance()[np.ix_(read, read)]
    misfit = readings.values[read] - model.true[read]
    before = likeliest_prior(model, rows, misfit, errors)
    expected = rows @ before @ rows.T
    gain = np.linalg.solve(expected + errors, rows @ before).T
    causes = gain @ misfit
    after = before - gain @ rows @ before
    left = misfit - rows @ causes
    # D: what a least-squares estimate leaves of a reading has the covariance R (R + A P A')^-1 R.
    spread = np.diag(errors @ np.linalg.solve(expected + errors, errors))
    misfits = np.full(len(readings.values), np.nan)
    misfits[read] = left / np.sqrt(np.maximum(spread, TINY))
    b = len(model.bends[0])
    return Estimate(model.true + columns @ causes, columns @ after @ columns.T, causes[-b:], after[-b:, -b:], misfits)
