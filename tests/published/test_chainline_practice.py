"""Chainline, shell spacers and chain angles against values from outside. Labels as in the tests' rules: P, C, D, M."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from wheelcalc.bike.chainline import Cogs, Rings, ShellSpacers, chain_angles_deg, rear_chainline, shell_spacers

# D (reference facts, section 6): ten cogs 3.95 apart and 1.6 thick, first outer face 3.0 from the locknut. The road
# double's front chainline is 43.5 (C(3)).
TEN_COGS = Cogs(count=10, pitch=3.95, locknut_to_smallest=3.0 + 1.6 / 2)


@pytest.mark.parametrize(("over_locknut", "expected"), [(130.0, 43.4), (135.0, 45.9)])
def test_rear_chainline_of_ten_cogs(over_locknut: float, expected: float) -> None:
    assert rear_chainline(over_locknut, TEN_COGS) == pytest.approx(expected, abs=0.05)


def test_142_keeps_the_chainline_of_135() -> None:
    """C(4): 142 x 12 has cogs as 135; its end caps are 3.5 longer each side, so the cogs sit 3.5 further in."""
    capped = Cogs(count=10, pitch=3.95, locknut_to_smallest=TEN_COGS.locknut_to_smallest + 3.5)
    assert rear_chainline(142.0, capped) == pytest.approx(rear_chainline(135.0, TEN_COGS), abs=1e-12)


def test_hub_spaced_from_126_to_130() -> None:
    """D by hand, in hundredths: 7 cogs 5.0 apart, 6.4 from the locknut, 126 + 1.5 left and 2.5 right.

    The hub's middle moves 0.5 to the right of where it was in the hub, so the cogs stand 0.5 further left in the bike:
    63 - 6.4 - 15 = 41.6; 41.6 - 0.5 = 41.1.
    """
    seven = Cogs(count=7, pitch=5.0, locknut_to_smallest=6.4)
    assert rear_chainline(126.0, seven) == pytest.approx(41.6, abs=1e-12)
    assert rear_chainline(126.0, seven, left_spacer=1.5, right_spacer=2.5) == pytest.approx(41.1, abs=1e-12)


def test_frame_with_its_ends_17_5_to_the_right() -> None:
    """M: 135 hubs in fat frames offset by 17.5 have a chainline of 64 to 65.

    The rim is then 17.5 left of the middle of the ends.
    """
    nine = Cogs(count=9, pitch=4.34, locknut_to_smallest=3.0 + 1.78 / 2)
    assert rear_chainline(135.0, nine, wheel_offset=-17.5) == pytest.approx(64.5, abs=1.0)


# P (magazine), C(2): external cups of a mountain crank, 2.5 spacers: shell 73 one right; shell 68 two right, one left.
# D for 70: cup seats 39.0 right and 36.5 left of the middle each time, so 39 - 35 and 36.5 - 35.
SHELLS = [(73.0, 0.0, 2.5), (68.0, 2.5, 5.0), (70.0, 1.5, 4.0)]


def test_shell_spacers_of_external_cups() -> None:
    assert len(SHELLS) == 3
    for width, left, right in SHELLS:
        found = shell_spacers(width, 73.0, ShellSpacers(0.0, 2.5))
        assert (found.left_mm, found.right_mm) == pytest.approx((left, right), abs=1e-12)
        assert width / 2 + found.left_mm == pytest.approx(36.5, abs=1e-12)  # D: the cup's seat
        assert width / 2 + found.right_mm == pytest.approx(39.0, abs=1e-12)  # D


def test_chain_angles_by_plain_trigonometry() -> None:
    """D: two rings 5 apart on 43.5, eight cogs 4.8 apart on 41.2, stay 425. Corner gears worked out one by one."""
    angles = chain_angles_deg(Rings(43.5, 2, 5.0).positions, Cogs(8, 4.8, 6.0).positions(41.2), 425.0)
    assert angles.shape == (2, 8)
    # outer ring 46.0, inner 41.0; smallest cog 41.2 + 16.8 = 58.0, largest 24.4
    expected = [math.atan(12.0 / 425), math.atan(-21.6 / 425), math.atan(17.0 / 425), math.atan(-16.6 / 425)]
    found = [angles[0, 0], angles[0, 7], angles[1, 0], angles[1, 7]]
    assert_allclose(found, [math.degrees(angle) for angle in expected], rtol=0, atol=1e-12)


def test_rings_of_a_triple_and_a_double() -> None:
    """C (reference facts, section 6): the chainline is read to the ring (1), midway (2), the middle ring (3)."""
    assert_allclose(Rings(49.0, 1, 7.0).positions, [49.0])
    assert_allclose(Rings(43.5, 2, 5.0).positions, [46.0, 41.0])
    assert_allclose(Rings(47.5, 3, 7.5).positions, [55.0, 47.5, 40.0])
