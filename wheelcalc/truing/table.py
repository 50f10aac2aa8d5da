"""Readings of one pass round a wheel, and what was turned after them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wheelcalc.arrays import Floats


@dataclass(frozen=True, eq=False)
class Table:
    """Readings of a wheel with m rim holes and n spokes; nan where nothing was read.

    Parameters
    ----------
    lateral, radial : place of the rim [mm], (m,)
    tensions : of the spokes [N], (n,)
    own_sigma : standard error of each tension alone, where it is known [N], (n,); nan: that of the reader
    shared : errors that move tensions together, one standard error of each cause, (c, n) [N]
    turned : turns of every nipple made after these readings, + tightens, (n,)
    """

    lateral: Floats
    radial: Floats
    tensions: Floats
    own_sigma: Floats
    shared: Floats
    turned: Floats

    @property
    def values(self) -> Floats:
        """All readings in the order of a state, (2m + n,)."""
        return np.concatenate([self.lateral, self.radial, self.tensions])

    @property
    def side_means(self) -> Floats:
        """Places where lateral, radial and tension begin and end."""
        return np.cumsum([0, len(self.lateral), len(self.radial), len(self.tensions)])


def table(
    lateral: Floats,
    radial: Floats,
    tensions: Floats,
    *,
    own_sigma: Floats | None = None,
    shared: Floats | None = None,
    turned: Floats | None = None,
) -> Table:
    """A table of readings whose tensions have no errors of their own, and after which nothing was turned, if not given."""
    n = len(tensions)
    return Table(
        lateral,
        radial,
        tensions,
        np.full(n, np.nan) if own_sigma is None else own_sigma,
        np.zeros((0, n)) if shared is None else shared,
        np.zeros(n) if turned is None else turned,
    )
