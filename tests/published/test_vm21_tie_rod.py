"""P: ANSYS verification manual VM21, tie rod with side load (S. Timoshenko, Strength of Materials II, 3rd ed. 1956, p. 42).

E 30e6 psi, length 200 in, section 2.5 x 2.5 in, tension 21972.6 lb, side load 1.79253 lb/in, ends pinned. Solved with the matrices of the
stepped wire, which are those of a beam under tension.
"""

import numpy as np
import pytest

from wheelcalc.tension import stepped

LENGTH, LOAD, STIFFNESS = 200.0, 1.79253, 30e6 * 2.5**4 / 12
COUNT = 40
# tension: deflection at the middle [in], slope at the end [rad], moment at the middle [lb in]
PUBLISHED = {21972.6: (0.19945, 0.0032352, 4580.1), 0.0: (0.38241, 0.0061185, 8962.7)}


@pytest.mark.parametrize("tension", PUBLISHED)
def test_tie_rod(tension: float) -> None:
    h = LENGTH / COUNT
    bending, stringing, _ = stepped.matrices(np.full(COUNT, h), STIFFNESS, 1.0)
    load = np.zeros(2 * COUNT)
    load[1:-1:2] = LOAD * h  # inner deflections; the slopes' loads cancel inside and stay at the ends
    load[0], load[-1] = LOAD * h**2 / 12, -LOAD * h**2 / 12
    moved = np.linalg.solve(bending + tension * stringing, load)
    middle = COUNT - 1  # deflection of the middle node: slope of the end first, then two numbers to a node
    left, slope_left, here, slope = moved[middle - 2 : middle + 2]
    moment = STIFFNESS * (6 * left + 2 * h * slope_left - 6 * here + 4 * h * slope) / h**2
    deflection, end_slope, end_moment = PUBLISHED[tension]
    assert here == pytest.approx(deflection, abs=0.000005)
    assert moved[0] == pytest.approx(end_slope, abs=0.00000005)
    assert -moment == pytest.approx(end_moment, rel=0.001)  # moments of 40 elements: load h^2 / 12 off, 3.7 lb in
