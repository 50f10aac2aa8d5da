"""Even wire, stepped wire, notes. Expected values: D unless said, from tests/oracles/fine_wire.py, another formula or a limit."""

import math
import time
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from tests.oracles import strings
from tests.oracles.fine_wire import fine_pair, fine_partials
from wheelcalc.tension import stepped, tone
from wheelcalc.wheel.errors import InputError

EI = 200_000 * math.pi / 64 * 1.9**4
MU = 7.9e-9 * math.pi / 4 * 1.9**2
WIRES = [
    ([20.0, 245.0, 25.0], [2.0, 1.8, 2.0]),
    ([27.0, 231.0, 18.0], [2.3, 1.5, 1.8]),
    ([61.0, 229.0], [2.3, 2.0]),
    ([263.0], [1.6]),
]
tensions = st.floats(30, 2500)
holds = st.floats(0, 1)
diameters = st.floats(1.4, 2.4)
lengths = st.floats(180, 310)


def springs(wire: stepped.Segments, hold: float) -> tuple[float, float]:
    """The stated map, written out again: sqrt(1000 N EI) h / (1 - h) with the EI of each end."""
    if hold == 1:
        return math.inf, math.inf
    head, nipple = (math.sqrt(1000 * 200_000 * math.pi / 64 * wire[1][i] ** 4) * hold / (1 - hold) for i in (0, -1))
    return head, nipple


@pytest.mark.parametrize("wire", WIRES)
@pytest.mark.parametrize("hold", [0.0, 0.35, 1.0])
@pytest.mark.parametrize("tension", [130.0, 940.0])
def test_stepped_wire_against_finite_differences(wire: stepped.Segments, hold: float, tension: float) -> None:
    expected = fine_partials(*wire, tension, springs(wire, hold), 6)
    found = stepped.partials(wire, tension, hold, count=6)
    assert_allclose(found, expected, rtol=1e-4)
    assert_allclose(stepped.pitch(wire, tension, hold), expected[0], rtol=1e-4)


def test_partly_held_even_wire_against_its_own_equation() -> None:
    # symmetric mode A cos(bx) + B cosh(ax) from the middle: deflection 0 and EI y'' = -k y' at the end
    length, tension, hold = 283.0, 870.0, 0.62
    spring = math.sqrt(1000 * EI) * hold / (1 - hold)

    def misfit(b: float) -> float:
        a = math.sqrt(b * b + tension / EI)
        u, v = b * length / 2, a * length / 2
        bend = -(b * b + a * a) * math.cos(u)  # B cosh(v) = -A cos(u)
        slope = -b * math.sin(u) - a * math.cos(u) * math.tanh(v)
        return EI * bend + spring * slope

    b = brentq(misfit, 1.0001 * math.pi / length, 1.4999 * math.pi / length, xtol=1e-14)
    expected = b * math.sqrt(b * b + tension / EI) * math.sqrt(EI / MU) / (2 * math.pi)
    assert float(stepped.pitch(([length], [1.9]), tension, hold)) == pytest.approx(expected, rel=2e-5)
    assert float(tone.held_pitch(tension, length, 1.9, hold)) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("tension", [450.0, 1480.0])
def test_closed_form_away_from_the_reference_tension(tension: float) -> None:
    exact = stepped.pitch(([263.0], [1.6]), tension, np.array([0.3, 0.55, 0.8]))
    assert_allclose(tone.held_pitch(tension, 263.0, 1.6, [0.3, 0.55, 0.8]), exact, rtol=3e-3)


def test_pieces_of_even_wire_are_one_wire() -> None:
    whole = stepped.partials(([283.0], [1.9]), 870.0, 0.4, count=4)
    assert_allclose(stepped.partials(([40.0, 91.0, 152.0], [1.9] * 3), 870.0, 0.4, count=4), whole, rtol=3e-5)


def test_a_wire_turned_round_sounds_the_same() -> None:
    lengths_, diameters_ = WIRES[1]
    turned = (lengths_[::-1], diameters_[::-1])
    assert_allclose(stepped.pitch(turned, 700.0, 0.3), stepped.pitch(WIRES[1], 700.0, 0.3), rtol=1e-10)


@pytest.mark.parametrize("partial", [1, 2, 5])
def test_clamped_limits(partial: int) -> None:
    # P: clamped beam without tension, roots 4.73004, 7.85320, 17.2788 of cos x cosh x = 1 (any table of beam modes)
    root = {1: 4.73004, 2: 7.85320, 5: 17.2788}[partial]
    beam = (root / 263.0) ** 2 * math.sqrt(EI / MU) / (2 * math.pi)
    assert float(strings.clamped_pitch(0.0, 263.0, 1.9, partial=partial)) == pytest.approx(
        beam, rel=6e-6
    )  # half the last digit, squared
    # almost a string: a clamp at both ends takes sqrt(EI/T) from each
    hair = float(strings.clamped_pitch(900.0, 263.0, 0.1, partial=partial))
    shorter = 263 - 2 * math.sqrt(200_000 * math.pi / 64 * 0.1**4 / 900)
    string = float(tone.ideal_pitch(900.0, shorter, tone.mass_per_length(0.1), partial))
    assert hair == pytest.approx(string, rel=2e-6)


@pytest.mark.parametrize("partial", [1, 2, 5])
def test_clamped_beam_without_tension_against_its_own_equation(partial: int) -> None:
    middle = (partial + 0.5) * math.pi  # the roots of cos x = 1 / cosh x lie about it
    root = brentq(lambda x: math.cos(x) - 1 / math.cosh(x), middle - 0.3, middle + 0.3, xtol=1e-14)
    beam = (root / 263.0) ** 2 * math.sqrt(EI / MU) / (2 * math.pi)
    assert float(strings.clamped_pitch(0.0, 263.0, 1.9, partial=partial)) == pytest.approx(beam, rel=1e-11)


@pytest.mark.parametrize("tension", [410.0, 3.0])
@pytest.mark.parametrize("partial", [1, 2, 3, 4])
def test_clamped_equation_is_met(partial: int, tension: float) -> None:
    f = float(strings.clamped_pitch(tension, 263.0, 1.9, partial=partial))
    x = 2 * math.pi * f * math.sqrt(MU / EI)  # ab
    s = tension / EI
    b = math.sqrt((-s + math.sqrt(s * s + 4 * x * x)) / 2)
    a = x / b
    left = s * math.sinh(a * 263) * math.sin(b * 263)
    right = 2 * a * b * (1 - math.cosh(a * 263) * math.cos(b * 263))
    assert abs(left + right) < 1e-9 * (abs(left) + abs(right))
    assert partial * math.pi < b * 263 < (partial + 1) * math.pi


@pytest.mark.parametrize("k", [0.371, 2.6])
@pytest.mark.parametrize(
    "pitch",
    [
        tone.pinned_pitch,
        strings.clamped_pitch,
        lambda *wire, **metal: tone.pinned_pitch(*wire, partial=3, **metal),
        lambda *wire, **metal: strings.clamped_pitch(*wire, partial=3, **metal),
        lambda *wire, **metal: tone.held_pitch(*wire, 0.0, **metal),
        lambda *wire, **metal: tone.held_pitch(*wire, 1.0, **metal),
    ],
)
def test_wire_of_another_metal(pitch: Callable[..., np.ndarray], k: float) -> None:
    # D: in EI d4y/dx4 - T d2y/dx2 + mu d2y/dt2 = 0 modulus and tension go together, and density with 1 / frequency^2
    steel = float(pitch(730.0, 263.0, 1.9))
    assert float(pitch(730.0 * k, 263.0, 1.9, youngs_modulus=200_000.0 * k)) == pytest.approx(
        steel * math.sqrt(k), rel=1e-10
    )
    assert float(pitch(730.0, 263.0, 1.9, density=7.9e-9 * k)) == pytest.approx(steel / math.sqrt(k), rel=1e-10)


@pytest.mark.parametrize("partial", [1, 2, 5])
def test_tension_of_pinned_wire_of_another_metal_from_any_partial(partial: int) -> None:
    titanium = {"youngs_modulus": 113_800.0, "density": 4.43e-9}  # P (M): data sheets of Ti 6Al 4V
    pitch = tone.pinned_pitch(815.0, 263.0, 1.9, partial=partial, **titanium)
    assert float(strings.pinned_tension(pitch, 263.0, 1.9, partial=partial, **titanium)) == pytest.approx(
        815, rel=1e-10
    )


def test_many_spokes_at_once_sound_like_each() -> None:
    force, free, thick = np.array([[480.0], [1170.0]]), np.array([263.0, 281.0, 247.5]), 1.7
    for pitch in (tone.pinned_pitch, strings.clamped_pitch, tone.held_pitch):
        found = pitch(force, free, thick)
        assert found.shape == (2, 3)
        for i, j in np.ndindex(2, 3):
            assert float(found[i, j]) == pytest.approx(float(pitch(force[i, 0], free[j], thick)), rel=1e-12)


def test_ends_of_which_nothing_is_said_are_held_alike_in_both_models() -> None:
    assert float(tone.held_pitch(1150.0, 283.0, 1.8)) == pytest.approx(
        float(stepped.pitch(([283.0], [1.8]), 1150.0)), rel=0.002
    )


def test_whole_numbers_become_floats() -> None:
    assert tone.floats([3, 1]).dtype == np.float64


@settings(max_examples=25, deadline=None)
@given(tension=tensions, hold=holds, d=diameters, length=lengths)
def test_inverse_pairs(tension: float, hold: float, d: float, length: float) -> None:
    wire = ([0.1 * length, 0.9 * length], [1.2 * d, d])
    found = stepped.tension_from_pitch(wire, stepped.pitch(wire, tension, hold), hold)
    assert float(found) == pytest.approx(tension, rel=1e-6, abs=1e-3)
    assert float(strings.pinned_tension(tone.pinned_pitch(tension, length, d), length, d)) == pytest.approx(
        tension, rel=1e-9
    )


@settings(max_examples=25, deadline=None)
@given(tension=tensions, hold=st.floats(0.02, 0.98), d=diameters, length=lengths)
def test_pitch_rises_with_tension_and_hold_and_falls_with_length(
    tension: float, hold: float, d: float, length: float
) -> None:
    wire = ([0.1 * length, 0.9 * length], [1.2 * d, d])
    here = stepped.pitch(wire, tension, hold)
    assert stepped.pitch(wire, tension * 1.01, hold) > here
    assert stepped.pitch(wire, tension, hold + 0.01) > here > stepped.pitch(wire, tension, hold - 0.01)
    assert stepped.pitch(([0.1 * length, 0.91 * length], wire[1]), tension, hold) < here


@settings(max_examples=20, deadline=None)
@given(tension=tensions, hold=st.floats(0.01, 0.99))
def test_end_hold_from_pitch(tension: float, hold: float) -> None:
    found = stepped.end_hold_from_pitch(WIRES[1], tension, stepped.pitch(WIRES[1], tension, hold))
    assert float(found) == pytest.approx(hold, abs=1e-5)


def test_end_hold_from_pitch_outside_what_ends_can_do() -> None:
    free, clamped = (float(stepped.pitch(WIRES[0], 700.0, hold)) for hold in (0.0, 1.0))
    found = stepped.end_hold_from_pitch(WIRES[0], 700.0, [0.9 * free, 0.5 * (free + clamped), 1.1 * clamped])
    assert found[0] == 0
    assert 0.2 < found[1] < 0.8
    assert found[2] == 1


def test_partial_other_than_the_first_gives_the_same_tension() -> None:
    partials = stepped.partials(WIRES[1], 640.0, 0.3, count=4)
    for n in range(1, 5):
        found = stepped.tension_from_pitch(WIRES[1], partials[n - 1], 0.3, partial=n)
        assert float(found) == pytest.approx(640, rel=3e-4)  # other elements for another partial


def test_batch_of_different_spokes_is_each_of_them() -> None:
    middle = np.array([231.0, 240.0, 228.5])
    batch = np.stack([np.full(3, 27.0), middle, np.full(3, 18.0)], axis=1)
    force, hold = np.array([500.0, 910.0, 1230.0]), np.array([0.2, 0.5, 0.9])
    pitches = stepped.pitch((batch, WIRES[1][1]), force, hold)
    for i in range(3):
        one = stepped.pitch((batch[i], WIRES[1][1]), float(force[i]), float(hold[i]))
        assert float(pitches[i]) == pytest.approx(float(one), rel=1e-9)
    assert_allclose(stepped.tension_from_pitch((batch, WIRES[1][1]), pitches, hold), force, rtol=1e-8)


def test_thirty_six_spokes_take_milliseconds() -> None:
    force = np.linspace(480, 1270, 36)
    stepped.pitch(WIRES[0], force)
    start = time.process_time()
    for _ in range(5):
        stepped.tension_from_pitch(WIRES[0], stepped.pitch(WIRES[0], force))
    assert (time.process_time() - start) / 5 < 0.05  # measured 0.0045 s on one core


@pytest.mark.parametrize("spread", [0.0, 0.05, 0.1])
def test_touching_pair_sounds_like_the_mean_of_its_tensions(spread: float) -> None:
    wire, crossing = WIRES[0], 72.0
    pair = fine_pair(*wire, (1000 * (1 - spread), 1000 * (1 + spread)), springs(wire, 0.3), crossing, step=0.5)
    assert float(stepped.pitch(wire, 1000.0, 0.3)) == pytest.approx(pair[0], rel=1e-4 + 0.45 * spread**2)
    expected = strings.touching_partials(wire, crossing, 1000.0, 0.3, count=3)
    assert_allclose(expected, pair, rtol=1e-4 + 0.5 * spread**2)


def test_support_at_a_step_and_inside_a_segment_agree() -> None:
    inside = strings.touching_partials(([70.0, 190.0], [1.8, 1.8]), 70.0, 800.0)
    assert_allclose(inside, strings.touching_partials(([260.0], [1.8]), 70.0, 800.0), rtol=5e-5)


def test_segments_of_a_butted_spoke() -> None:
    found = stepped.segments_of(283.0, (2.0, 1.8, 2.0), (20.0, 25.0), hidden=8.0)
    assert_allclose(found[0], [20, 246, 17])
    assert_allclose(found[1], [2.0, 1.8, 2.0])
    plain = stepped.segments_of(283.0, (2.0, 2.0, 2.0), (20.0, 25.0))
    assert_allclose(plain, ([283.0], [2.0]))
    short = stepped.segments_of(30.0, (2.3, 1.8, 2.0), (20.0, 40.0))
    assert_allclose(short[0], [10, 20])
    assert_allclose(short[1], [2.3, 2.0])
    no_thread_butt = stepped.segments_of(283.0, (2.3, 2.0, 2.0), (31.0, 25.0), hidden=30.0)
    assert_allclose(no_thread_butt, ([31.0, 252.0], [2.3, 2.0]))


@pytest.mark.parametrize(
    ("hz", "name", "cents"),
    [
        (440.0, "A4", 0.0),  # P (M): ISO 16:1975
        (261.626, "C4", 0.0),  # P: equal temperament, middle C 261.626 Hz
        (349.228, "F4", 0.0),  # P: likewise
        (466.164, "A#4", 0.0),
        (246.942, "B3", 0.0),
        (261.626 / 2**8, "C-4", 0.0),  # eight octaves below middle C, 1.02 Hz, where hearing a note has long ended
        (349.228 * 2 ** (30 / 1200), "F4", 30.0),
        (349.228 * 2 ** (-30 / 1200), "F4", -30.0),
    ],
)
def test_notes(hz: float, name: str, cents: float) -> None:
    assert tone.note_name(hz) == name
    assert tone.note(hz)[1] == pytest.approx(cents, abs=0.01)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: stepped.pitch(WIRES[0], -1.0), "tension"),
        (lambda: stepped.pitch(WIRES[0], math.nan), "tension"),
        (lambda: stepped.pitch(WIRES[0], 500.0, 1.2), "end_hold"),
        (lambda: stepped.pitch(([20.0, 0.0], [2.0, 1.8]), 500.0), "free_length"),
        (lambda: stepped.pitch(([20.0, 240.0], [2.0, -1.8]), 500.0), "wire"),
        (lambda: stepped.pitch(([20.0, 240.0], [2.0]), 500.0), "one for each"),
        (lambda: stepped.tension_from_pitch(WIRES[0], 0.0), "pitch_hz"),
        (lambda: stepped.tension_from_pitch(WIRES[0], [300.0, 20.0]), "20.0 Hz.*without tension"),
        (lambda: strings.touching_partials(WIRES[0], 300.0, 500.0), "crossing"),
        (lambda: tone.note(-3.0), "pitch_hz"),
        (lambda: tone.note(0.93), "pitch_hz: found 0.93; it must be 1 to 100000 Hz"),
        (lambda: tone.note(100_000.9), "pitch_hz: found 100001; it must be 1 to 100000 Hz"),
        (
            lambda: tone.held_pitch(870.0, 283.0, 1.9, [0.4, 1.2]),
            r"pluck.end_hold: found 1.2; it must be 0 \(ends turn",
        ),
        (lambda: tone.hold_spring(-0.1, EI), r"pluck.end_hold: found -0.1; it must be 0 \(ends turn freely\) to 1"),
    ],
)
def test_bad_input(call, said: str) -> None:
    with pytest.raises(InputError, match=said):
        call()
