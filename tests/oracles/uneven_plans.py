"""Ways to join a rim and a flange of another count, from hole angles alone: for exhaustive checks."""

from __future__ import annotations

import numpy as np

from wheelcalc.wheel.joining import crossings_in_order


def squared_gaps(angles_deg: np.ndarray | list[float]) -> float:
    """Sum of the squared gaps from each to the next round the circle."""
    places = sorted(float(angle) % 360 for angle in angles_deg)
    return sum(
        ((after - before) % 360 or 360.0) ** 2 for before, after in zip(places, places[1:] + places[:1], strict=True)
    )


def joined_with(k: int, rim_deg: np.ndarray, ahead_deg: np.ndarray, lean: np.ndarray) -> np.ndarray | None:
    """Hub hole ahead of rim hole, if every spoke then passes k others of its flange; else None.

    Trailing spokes lie 0 to 180 degrees ahead and leading ones as far behind, radial ones near.
    """
    near = (ahead_deg + 180) % 360 - 180
    ahead = np.where(lean > 0, ahead_deg % 360, np.where(lean < 0, -(-ahead_deg % 360), near))
    return ahead if (crossings_in_order(np.ones(len(lean), dtype=bool), rim_deg, ahead) == k).all() else None


def squares_of(ahead_deg: np.ndarray, lean: np.ndarray) -> float:
    """The measure of a flange that is turned to its own mean."""
    out = ahead_deg - ahead_deg.mean()
    wanted = lean * out - (lean * out).mean() if lean.any() else out
    return float((wanted**2).sum())
