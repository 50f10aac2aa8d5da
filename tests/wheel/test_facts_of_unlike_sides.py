"""Facts of a wheel whose sides differ in everything, against plane geometry done here point by point; and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from wheelcalc import Flange, Hub, Rim, Wheel, lacing
from wheelcalc.wheel import facts, uneven
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.joining import Counts
from wheelcalc.wheel.parts import Wire

LEFT, RIGHT = Wire(2.3, 1.8, 2.0), Wire(2.0, 1.5, 2.0)


def unlike(heads_in: str = "leading", **right: object) -> Wheel:
    """32 holes, 2 crosses left and 3 right, flanges, thickness and wires all unlike."""
    hub = Hub(
        Flange(16, 58.2, 33.7, hole_diameter=2.6, thickness=2.9),
        Flange(16, 44.9, 17.3, hole_diameter=2.4, thickness=3.7, **right),  # type: ignore[arg-type]
    )
    pattern = lacing.crossed(32, {"left": 2, "right": 3}, heads_in=heads_in)
    return Wheel(Rim(32, 541.3, hole_offset=1.3), hub, pattern, wires={"left": LEFT, "right": RIGHT})


def meeting(a: np.ndarray, b: np.ndarray, c: np.ndarray, d: np.ndarray) -> tuple[float, float] | None:
    """Shares of a to b and of c to d at which the segments cross, None where they do not (Cramer's rule, D)."""
    matrix = np.array([b - a, c - d]).T
    if abs(np.linalg.det(matrix)) < 1e-9:
        return None
    one, other = np.linalg.solve(matrix, c - a)
    return (one, other) if 0 < one < 1 and 0 < other < 1 else None


def by_hand(wheel: Wheel, side: str) -> tuple[float, float]:
    """Nearest outermost crossing of a side to its hub hole [mm], and the largest bend of a woven spoke [degrees]."""
    thick = {"left": (2.9 + 2.3) / 2, "right": (3.7 + 2.0) / 2}[side]
    middle, wire = {"left": (-33.7, 1.8), "right": (17.3, 1.5)}[side]
    sign = {"left": -1, "right": 1}[side]
    places = np.flatnonzero(wheel.lacing.is_right == (side == "right"))
    hub, rim = wheel.hub_points[:, 1:], wheel.rim_points[:, 1:]
    # A head on the inner face leaves the spoke on the outer one, further from the wheel's middle.
    leaves = {n: middle + sign * (thick if wheel.lacing.head_in[n] else -thick) for n in places}
    nearest, bend = math.inf, 0.0
    for n in places:
        outermost = (0.0, 0.0, 0.0)
        for m in places:
            met = None if m == n else meeting(hub[n], rim[n], hub[m], rim[m])
            if met is None:
                continue
            at = hub[n] + met[0] * (rim[n] - hub[n])
            mine = leaves[n] + met[0] * (wheel.rim_points[n, 0] - leaves[n])
            its = leaves[m] + met[1] * (wheel.rim_points[m, 0] - leaves[m])
            way = met[0] * float(np.linalg.norm(rim[n] - hub[n]))
            outermost = max(outermost, (float(np.linalg.norm(at)), way, abs(mine - its)))
        _, way, apart = outermost
        nearest = min(nearest, way)
        # Free width is the distance of the axes less a wire; half of what lies between, and half a wire to change places.
        bend = max(bend, math.degrees(math.atan2((max(apart - wire, 0) + 2 * wire) / 2, way)))
    return nearest, bend


@pytest.mark.parametrize("side", ["left", "right"])
def test_weaving_of_unlike_sides(side: str) -> None:
    wheel = unlike()
    nearest, bend = by_hand(wheel, side)
    found = facts.weave(wheel, side, facts.crossings(wheel), bend + 1e-6)
    assert found is not None
    assert (found.from_hub, found.bend_deg) == (pytest.approx(nearest), pytest.approx(bend))
    assert found.possible
    assert facts.weave(wheel, side, facts.crossings(wheel), found.bend_deg).possible  # type: ignore[union-attr]
    assert not facts.weave(wheel, side, facts.crossings(wheel), bend - 1e-6).possible  # type: ignore[union-attr]


def test_spokes_of_one_face_cannot_be_woven_and_straight_heads_have_no_face() -> None:
    wheel = unlike("all")
    assert not facts.weave(wheel, "left", facts.crossings(wheel), 90.0).possible  # type: ignore[union-attr]
    straight = unlike(spoke_head="straight")
    assert facts.weave(straight, "right", facts.crossings(straight), 90.0) is None
    assert facts.weave(straight, "left", facts.crossings(straight), 90.0) is not None
    radial = Wheel(straight.rim, straight.hub, lacing.radial(32))
    assert facts.weave(radial, "left", facts.crossings(radial), 90.0) is None


def test_where_spokes_leave_the_hub() -> None:
    """D: half of flange and wire beside the flange's middle, outward where the head is in; a straight head in the middle."""
    wheel = unlike(spoke_head="straight")
    is_right, head_in = wheel.lacing.is_right, wheel.lacing.head_in
    expected = np.where(is_right, 17.3, -33.7 - np.where(head_in, 1, -1) * (2.9 + 2.3) / 2)
    assert_allclose(facts.sideways_at_hub(wheel), expected)
    assert_allclose(np.unique(facts.sideways_at_hub(unlike())[is_right]), [17.3 - 2.85, 17.3 + 2.85])


def test_gaps_of_wires_of_unlike_thickness() -> None:
    wheel = unlike("all")  # all axes of a side in one plane at the hub: wires press by their whole thickness
    found = facts.crossings(wheel)
    wire = np.where(wheel.lacing.is_right[found.one], 1.5, 1.8)
    assert_allclose(found.gap, -wire, atol=1e-9)


def test_the_opening_takes_half_of_each_wire() -> None:
    """D: the first spoke forward of the valve and the last one behind it, 50 mm below their rim holes, by similar triangles."""
    wheel = unlike()
    across = []
    for spoke in (0, 31):
        (_, hub_y, hub_z), (_, rim_y, rim_z) = wheel.hub_points[spoke], wheel.rim_points[spoke]
        across.append(rim_y + 50.0 / (rim_z - hub_z) * (hub_y - rim_y))
    assert {wheel.lacing.sides[0], wheel.lacing.sides[31]} == {"left", "right"}
    assert facts.valve_opening(wheel) == pytest.approx(across[0] - across[1] - (1.8 + 1.5) / 2)


def test_waves_of_uneven_pulls_by_sines_and_cosines() -> None:
    """D: the amplitude of n waves is the root of the squared sums of pull times cosine and sine, over half of all pulls."""
    wheel = unlike()
    tensions = 700.0 + 31.0 * np.arange(32) ** 1.3
    pull = tensions * (wheel.hub_points - wheel.rim_points)[:, 0] / wheel.spans
    angle = 2 * np.pi * (np.arange(32) + 0.5) / 32
    expected = {
        n: math.hypot((pull * np.cos(n * angle)).sum(), (pull * np.sin(n * angle)).sum()) / (np.abs(pull).sum() / 2)
        for n in (1, 2, 3, 4)
    }
    assert facts.sideways_waves(wheel, tensions) == pytest.approx(expected)
    assert min(expected.values()) > 1e-4


def test_a_wheel_without_sideways_pull_has_no_waves() -> None:
    flange = Flange(16, 41.0, 0.0)
    flat = Wheel(Rim(32, 560.0), Hub(flange, flange), lacing.crossed(32, 3))
    assert facts.sideways_waves(flat, np.full(32, 900.0)) == {1: 0.0, 2: 0.0, 3: 0.0, 4: 0.0}


def test_what_the_other_does_not_balance() -> None:
    assert facts.Turning(300.0, 400.0).left_over == pytest.approx(0.25)
    assert facts.Turning(400.0, 300.0).left_over == pytest.approx(0.25)
    assert facts.Turning(0.0, 0.0).left_over == 0.0


# --- refusals -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "key", "words"),
    [
        (lambda: lacing.crossed(33, 3), "holes", "found 33; the rim needs an even count of 6 or more"),
        (lambda: lacing.crossed(32, 3, first_hole="both"), "first_hole", "both"),
        (lambda: lacing.crossed(32, 3, phase="offset"), "phase", "offset"),
        (lambda: lacing.crows_foot(32, 2), "pattern", r"found 32 holes, 16 on a flange; .* \(a rim of 24, 30, 36, 42 "),
        (lambda: lacing.crows_foot(10, 2), "pattern", r"found 10 holes, 5 on a flange; .* \(a rim of 6, 12, 18 "),
        (lambda: lacing.crows_foot(36, {"left": 2, "right": 9}), "crosses.right", "9"),
        (lambda: lacing.two_to_one(24, 2, sides="RLL R"), "sides", 'found "RLL R"; write the letters R and L'),
        (lambda: lacing.two_to_one(24, 2, sides=""), "sides", 'found ""; write the letters R and L'),
        (lambda: lacing.two_to_one(24, 2, sides="RLRLR"), "sides", 'found "RLRLR", 5 letters, on a rim of 24 holes'),
        (
            lambda: lacing.two_to_one(24, 2, sides="RL"),
            "sides",
            'one flange must have twice the other.s, such as "RLR"',
        ),
        (lambda: uneven.uneven_counts(Counts(31, 14, 18), 2), "pattern", "31"),
        (lambda: uneven.uneven_counts(Counts(4, 14, 18), 2), "pattern", "4"),
        (lambda: uneven.uneven_counts(Counts(28, 18, 18), {"left": 2, "right": 8}), "crosses.right", "8"),
    ],
)
def test_refused_by_its_key(make, key: str, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=words) as refused:
        make()
    assert refused.value.key == key


def test_patterns_bear_their_names_and_the_module_its_own() -> None:
    made = (lacing.crossed(32, 3), lacing.radial(32), lacing.crows_foot(36, 2), lacing.two_to_one(24, 2))
    assert [each.pattern for each in made] == ["crossed", "radial", "crow's foot", "two to one"]
    assert not lacing.radial(32).crosses.any()
    assert len(uneven.uneven_counts(Counts(6, 4, 4), 0)) == 6
    with pytest.raises(AttributeError, match=r"module .wheelcalc.wheel.lacing. has no attribute 'braided'"):
        lacing.braided  # noqa: B018 - asking is the test
