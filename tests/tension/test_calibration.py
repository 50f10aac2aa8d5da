"""Tension from pitch with its error. Expected values: D, the forward model with chosen ends, or arithmetic of its own."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import curve_fit

from wheelcalc.tension import calibration, stepped
from wheelcalc.wheel.errors import InputError

WIRE = ([20.0, 243.0, 17.0], [2.0, 1.8, 2.0])
OTHER_SIDE = ([20.0, 241.0, 17.0], [2.0, 1.8, 2.0])
TENSIONS = np.array([530.0, 860.0, 1190.0])


def test_uncalibrated_with_the_right_ends() -> None:
    found = calibration.tensions(WIRE, stepped.pitch(WIRE, TENSIONS, 0.37), 0.37)
    assert_allclose(found.tension, TENSIONS, rtol=1e-9)


def test_parts_of_an_uncalibrated_error() -> None:
    # D for a string: T goes with the square of pitch, of free length and of diameter, and with density
    found = calibration.tensions(
        WIRE,
        stepped.pitch(WIRE, TENSIONS, 0.0),
        0.0,
        sigmas=calibration.Sigmas(pitch=0.004, length=0.7, diameter=0.013, density=0.006),
    )
    shares = {cause: part / TENSIONS for cause, part in found.parts.items()}
    assert_allclose(shares["pitch"], 2 * 0.004, rtol=0.06)
    assert_allclose(shares["free_length"], 2 * 0.7 / 280, rtol=0.12)
    assert_allclose(shares["density"], 0.006, rtol=0.06)
    assert_allclose(shares["diameter"], 2 * 0.013 / 1.8, rtol=0.06)
    total = np.sqrt(sum(part**2 for part in found.parts.values()))
    assert_allclose(found.sigma, total)
    assert_allclose(found.own_sigma, np.abs(found.parts["pitch"]))


@pytest.mark.parametrize("end_hold", [0.0, 0.2, 0.5, 1.0])
def test_end_hold_counts_also_at_its_limits(end_hold: float) -> None:
    found = calibration.tensions(WIRE, stepped.pitch(WIRE, TENSIONS, end_hold), end_hold)
    assert np.all(found.parts["end_hold"] < -0.01 * TENSIONS)
    # D: slope between the ends of what is possible within one sigma, times sigma
    low, high = max(end_hold - 0.29, 0), min(end_hold + 0.29, 1)
    heard = stepped.pitch(WIRE, TENSIONS, end_hold)
    slope = (stepped.tension_from_pitch(WIRE, heard, high) - stepped.tension_from_pitch(WIRE, heard, low)) / (
        high - low
    )
    assert_allclose(found.parts["end_hold"], 0.29 * slope)


def test_errors_are_those_of_a_thousand_throws() -> None:
    rng = np.random.default_rng(5)
    count, true = 1000, 870.0
    factor = 1 + rng.normal(0, 0.8, count) / 280
    lengths = np.array(WIRE[0]) * factor[:, None]
    wires = (lengths, np.array(WIRE[1]) + rng.normal(0, 0.012, count)[:, None])
    heard = stepped.pitch(wires, true, np.clip(rng.normal(0.5, 0.1, count), 0, 1)) * (1 + rng.normal(0, 0.004, count))
    sigmas = calibration.Sigmas(pitch=0.004, length=0.8, end_hold=0.1, diameter=0.012, density=1e-9)
    found = calibration.tensions(WIRE, heard, 0.5, sigmas=sigmas)
    assert float(np.std(found.tension)) == pytest.approx(float(np.mean(found.sigma)), rel=0.08)  # 1000 throws: 2.2 %


@pytest.mark.parametrize("end_hold", [0.12, 0.5, 0.93])
def test_one_known_spoke_gives_its_side(end_hold: float) -> None:
    heard = stepped.pitch(WIRE, TENSIONS, end_hold)
    known = stepped.pitch(WIRE, 940.0, end_hold)
    found = calibration.tensions_from_known(WIRE, heard, 940.0, known, known_sigma=15.0)
    assert_allclose(found.tension, TENSIONS, rtol=1e-6)
    # near the known tension the error is that of the known tension, its pitch and this pitch, and the scatter of the ends
    assert found.parts["known_tension"][1] == pytest.approx(15, rel=0.1)
    assert abs(found.parts["free_length"][1]) < 2


def test_known_spoke_of_the_other_side() -> None:
    heard, known = stepped.pitch(OTHER_SIDE, TENSIONS, 0.7), stepped.pitch(WIRE, 940.0, 0.7)
    found = calibration.tensions_from_known(OTHER_SIDE, heard, 940.0, known, known_sigma=15.0, known_segments=WIRE)
    assert_allclose(found.tension, TENSIONS, rtol=1e-6)


def test_several_known_spokes_average() -> None:
    known_n = np.array([700.0, 930.0, 1010.0])
    known_hz = [float(stepped.pitch(WIRE, n, hold)) for n, hold in zip(known_n, (0.3, 0.5, 0.55), strict=True)]
    hold, factor = calibration.ends_from_known(WIRE, known_n, known_hz)
    assert hold == pytest.approx(0.45, abs=1e-4)
    assert factor == pytest.approx(1, abs=1e-6)
    one, three = (
        calibration.tensions_from_known(WIRE, known_hz[:1], known_n[:k], known_hz[:k], known_sigma=15.0) for k in (1, 3)
    )
    assert three.parts["known_tension"][0] == pytest.approx(float(one.parts["known_tension"][0]) / 3**0.5, rel=0.15)


@pytest.mark.parametrize(("true_share", "end_hold"), [(0.97, 1.0), (1.03, 0.0)])
def test_a_wrong_free_length_shows_where_no_end_explains_the_pitch(true_share: float, end_hold: float) -> None:
    true = (np.array(WIRE[0]) * true_share, WIRE[1])
    hold, factor = calibration.ends_from_known(WIRE, 940.0, stepped.pitch(true, 940.0, end_hold))
    assert hold == end_hold
    assert factor == pytest.approx(true_share, abs=5e-6)  # a clamp is a very stiff spring
    heard = stepped.pitch(true, TENSIONS, end_hold)
    found = calibration.tensions_from_known(WIRE, heard, 940.0, stepped.pitch(true, 940.0, end_hold), known_sigma=15.0)
    assert_allclose(found.tension, TENSIONS, rtol=1e-5)


def test_line() -> None:
    line = calibration.fit_line([430.0, 1130.0], [262.0, 405.0], known_sigma=10.0)
    assert line.slope == pytest.approx((405 - 262) / (1130**0.5 - 430**0.5))
    assert line.constant == pytest.approx(262 - line.slope * 430**0.5)
    found = line.tensions([262.0, 405.0])
    assert_allclose(found.tension, [430.0, 1130.0], rtol=1e-9)
    # at a known point: 10 N of the known tension with 0.3 % of its pitch, and again 0.3 % of this pitch
    per_hz = 2 * 1130**0.5 / line.slope
    assert found.parts["known"][1] == pytest.approx(np.hypot(10, per_hz * 405 * 0.003), rel=1e-6)
    assert found.parts["pitch"][1] == pytest.approx(per_hz * 405 * 0.003, rel=1e-9)


def test_line_through_more_is_scipys_weighted_fit() -> None:
    force, hz = np.array([410.0, 640.0, 900.0, 1190.0]), np.array([258.0, 317.0, 366.0, 421.0])
    line = calibration.fit_line(force.tolist(), hz.tolist(), known_sigma=1e-6, pitch_sigma=0.004)
    fit, covariance = curve_fit(
        lambda t, a, b: a * np.sqrt(t) + b, force, hz, sigma=0.004 * hz, absolute_sigma=True, p0=(10, 10)
    )
    assert_allclose([line.slope, line.constant], fit, rtol=1e-6)
    assert_allclose(line.covariance, covariance, rtol=1e-4)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: calibration.fit_line([900.0], [370.0], known_sigma=10), "1 known"),
        (lambda: calibration.fit_line([900.0, 1000.0], [370.0, 380.0], known_sigma=10), "20 % apart"),
        (lambda: calibration.fit_line([600.0, 1000.0], [390.0, 330.0], known_sigma=10), "rise"),
        (lambda: calibration.fit_line([430.0, 1130.0], [262.0, 405.0], known_sigma=10).tensions([20.0]), "constant"),
        (lambda: calibration.ends_from_known(WIRE, 900.0, 250.0), "over 10 %"),
        (lambda: calibration.ends_from_known(WIRE, 900.0, 800.0), "fundamental"),
        (lambda: calibration.ends_from_known(WIRE, 0.0, 300.0), "known"),
        (lambda: calibration.ends_from_known(WIRE, 900.0, -3.0), "known"),
        (lambda: calibration.tensions(WIRE, [300.0, 30.0]), "without tension"),
    ],
)
def test_bad_input(call, said: str) -> None:
    with pytest.raises(InputError, match=said):
        call()


METAL = {"youngs_modulus": 112e3, "density": 4.51e-9}  # M: titanium


def test_a_wire_of_another_metal() -> None:
    """Inverse: pitches of the stepped wire with its own modulus and density give the tensions back, and all the parts."""
    heard, known = stepped.pitch(WIRE, TENSIONS, 0.37, **METAL), stepped.pitch(WIRE, 940.0, 0.37, **METAL)
    alone = calibration.tensions(WIRE, heard, 0.37, **METAL)
    beside = calibration.tensions_from_known(WIRE, heard, 940.0, known, known_sigma=15.0, **METAL)
    assert_allclose(alone.tension, TENSIONS, rtol=1e-9)
    assert_allclose(beside.tension, TENSIONS, rtol=1e-6)
    # D: central differences of the model itself
    up, down = (stepped.tension_from_pitch(WIRE, heard * factor, 0.37, **METAL) for factor in (1.003, 0.997))
    assert_allclose(np.abs(alone.parts["pitch"]), (up - down) / 2 * calibration.PITCH_SIGMA / 0.003, rtol=1e-3)
    assert_allclose(np.abs(beside.parts["pitch"]), np.abs(alone.parts["pitch"]), rtol=1e-6)


def test_a_longer_wire_of_another_metal_shows_too() -> None:
    """Inverse: ends that turn freely and a wire 3 % longer than said: no hold explains it, the length does."""
    longer = (np.array(WIRE[0]) * 1.03, WIRE[1])
    hold, factor = calibration.ends_from_known(WIRE, 940.0, stepped.pitch(longer, 940.0, 0.0, **METAL), **METAL)
    assert hold == 0.0
    assert factor == pytest.approx(1.03, rel=1e-4)


def test_spokes_of_unlike_lengths_in_one_call() -> None:
    """Property: each row of lengths is a spoke of its own, in value and in every part of the error."""
    lengths = np.array([[20.0, 243.0, 17.0], [22.0, 231.0, 16.0], [19.0, 262.0, 18.0]])
    heard = np.array([stepped.pitch((row, WIRE[1]), force, 0.37) for row, force in zip(lengths, TENSIONS, strict=True)])
    together = calibration.tensions((lengths, WIRE[1]), heard, 0.37)
    assert_allclose(together.tension, TENSIONS, rtol=2e-6)
    for at, row in enumerate(lengths):
        alone = calibration.tensions((row, WIRE[1]), heard[at], 0.37)
        for cause, part in together.parts.items():
            assert part[at] == pytest.approx(float(alone.parts[cause]), rel=1e-4)


def test_more_known_spokes_share_their_errors() -> None:
    """D: the mean of n independent readings is surer by the root of n, in tension and in pitch."""
    heard, known = stepped.pitch(WIRE, TENSIONS, 0.37), stepped.pitch(WIRE, 940.0, 0.37)
    one = calibration.tensions_from_known(WIRE, heard, 940.0, known, known_sigma=15.0)
    four = calibration.tensions_from_known(WIRE, heard, [940.0] * 4, [float(known)] * 4, known_sigma=15.0)
    for cause in ("known_tension", "known_pitch"):
        assert_allclose(four.parts[cause], one.parts[cause] / 2, rtol=0.02)
    assert_allclose(four.parts["free_length"], one.parts["free_length"], rtol=1e-6)


@pytest.mark.parametrize(
    ("known", "pitches", "said"),
    [
        ([0.5, 900.0], [300.0, 400.0], "pluck.known.*a tension above 1 N"),
        ([700.0, 100_000.5], [300.0, 400.0], "pluck.known.*a tension above 1 N"),
        ([700.0, 900.0], [0.5, 400.0], "pluck.known.*a pitch above 1 Hz"),
        ([700.0, 900.0], [300.0, 100_000.5], "pluck.known.*a pitch above 1 Hz"),
        ([700.0, 900.0], [400.0, 300.0], "must rise"),
    ],
)
def test_edges_of_a_line(known: list[float], pitches: list[float], said: str) -> None:
    with pytest.raises(InputError, match=said):
        calibration.fit_line(known, pitches, known_sigma=10.0)


def test_a_flat_line_still_rises() -> None:
    """A slope below 1 Hz for the root of a newton is a slope (long wires of heavy metal)."""
    line = calibration.fit_line([400.0, 900.0], [50.0, 58.0], known_sigma=5.0)
    assert line.slope == pytest.approx(0.8, rel=1e-9)
    assert_allclose(line.tensions([50.0, 58.0]).tension, [400.0, 900.0], rtol=1e-9)
