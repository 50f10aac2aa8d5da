import math
import subprocess
import sys
import time

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from wheelcalc.files import units
from wheelcalc.files.units import Reading, read, read_whole
from wheelcalc.wheel.errors import InputError

KINDS = sorted(units.BASE_UNIT)
DISPLAYED = {chr(code) for code in range(0x20, 0x100)} - {chr(code) for code in range(0x7F, 0xA1)}


def refusal(value, kind="length", **options):
    with pytest.raises(InputError) as caught:
        read(value, kind, "rim.erd", **options)
    assert caught.value.key == "rim.erd"
    assert set(caught.value.text) <= DISPLAYED  # so it is one line, too
    assert len(caught.value.text) < 250
    return caught.value.text


def count_refusal(value):
    with pytest.raises(InputError) as caught:
        read_whole(value, "rim.holes")
    assert caught.value.key == "rim.holes"
    assert set(caught.value.text) <= DISPLAYED
    return caught.value.text


@pytest.mark.parametrize(
    ("value", "kind", "expected"),
    [
        (602.4, "length", 602.4),
        (622, "length", 622.0),
        (-2.5, "length", -2.5),
        ("602.4", "length", 602.4),
        ("-2.5 mm", "length", -2.5),
        ("\u22122.5 mm", "length", -2.5),
        ("+2.5 mm", "length", 2.5),
        ("602mm", "length", 602.0),
        ("  602.4   mm ", "length", 602.4),
        ("602.4\xa0mm", "length", 602.4),
        (".5 mm", "length", 0.5),
        ("5. mm", "length", 5.0),
        ("6.024e2 mm", "length", 602.4),
        ("60.24 cm", "length", 602.4),
        ("0.6024 m", "length", 602.4),
        ("1.000 mm", "length", 1.0),
        ("3 in", "length", 76.2),
        ("3 inch", "length", 76.2),
        ("3 inches", "length", 76.2),
        ('3"', "length", 76.2),
        ("3\u2033", "length", 76.2),
        ("2 ft", "length", 609.6),
        ('5 1/2"', "length", 139.7),
        ("5-1/2 in", "length", 139.7),
        ("-5 1/2 in", "length", -139.7),
        ("-5-1/2in", "length", -139.7),
        ("7/16\u2033", "length", 11.1125),
        ("15 3/4 in", "length", 400.05),
        ("1000 N", "force", 1000.0),
        ("1.2 kN", "force", 1200.0),
        ("120 kgf", "force", 1176.798),
        ("520 g", "mass", 520.0),
        ("85 kg", "mass", 85_000.0),
        ("72.5 deg", "angle", 72.5),
        ("72.5 degree", "angle", 72.5),
        ("72.5 degrees", "angle", 72.5),
        ("72.5°", "angle", 72.5),
        ("69000 N/mm2", "stress", 69_000.0),
        ("69000 N/mm²", "stress", 69_000.0),
        ("69 GPa", "stress", 69_000.0),
        ("138 mm2", "area", 138.0),
        ("138 mm²", "area", 138.0),
        ("1450 mm4", "inertia", 1450.0),
        ("1450 mm⁴", "inertia", 1450.0),
        ("110.5 N m2", "stiffness", 110.5),
        ("2.63e7 N mm2", "stiffness", 26.3),
    ],
)
def test_reads_one_value(value, kind, expected):
    reading = read(value, kind, "key")
    assert reading.value == pytest.approx(expected, rel=1e-15, abs=0)
    assert isinstance(reading.value, float)
    assert reading.sigma is None


@pytest.mark.parametrize(
    ("text", "value", "sigma"),
    [
        ("602.4 +- 0.5 mm", 602.4, 0.5),
        ("602.4 +/- 0.5 mm", 602.4, 0.5),
        ("602.4 ± 0.5 mm", 602.4, 0.5),
        ("602.4±0.5mm", 602.4, 0.5),
        ("602.4 +/\u2212 0.5 mm", 602.4, 0.5),
        ("602.4 mm +- 0.5 mm", 602.4, 0.5),
        ("602.4 +- 0.5", 602.4, 0.5),
        ("-2.5 +- 0.3 mm", -2.5, 0.3),
        ("23 in +- 0.5 mm", 584.2, 0.5),
        ("5 1/2 +- 1/16 in", 139.7, 1.5875),
        ("60.24 +- 0.05 cm", 602.4, 0.5),
    ],
)
def test_reads_uncertainty(text, value, sigma):
    reading = read(text, "length", "key")
    assert reading.value == pytest.approx(value, rel=1e-15)
    assert reading.sigma == pytest.approx(sigma, rel=1e-14)


def test_repeated_readings_are_mean_and_standard_error():
    # D: mean 1807.6/3; deviations -8/15, -1/30, 17/30 mm; s2 = 0.60666.../2; s/sqrt(3) = sqrt(0.60666.../6)
    reading = read([602.0, 602.5, 603.1], "length", "rim.erd")
    assert reading.value == pytest.approx(1807.6 / 3, abs=1e-10)
    assert reading.sigma == pytest.approx(math.sqrt((64 / 225 + 1 / 900 + 289 / 900) / 6), abs=1e-10)


def test_repeated_readings_may_differ_in_how_they_are_written():
    # D: mean of 139 and 139.7; for two readings the standard error is half their difference
    reading = read([139, "5 1/2 in"], "length", "key")
    assert reading == Reading(pytest.approx(139.35), pytest.approx(0.35))
    assert read(("1.5 mm left", 2.5), "length", "key", signed_sides=True).value == pytest.approx(0.5)


@pytest.mark.parametrize("value", [602.1, 0.1, 1 / 3])
def test_identical_readings_have_no_scatter(value):
    assert read([value] * 7, "length", "key") == Reading(value, 0.0)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("2.5 mm left", -2.5), ("2.5 mm right", 2.5), ("2.5 left", -2.5), ("1/8 in left", -3.175), ("-2.5 mm", -2.5)],
)
def test_sides(text, expected):
    assert read(text, "length", "key", signed_sides=True).value == pytest.approx(expected, rel=1e-15)


def test_side_with_uncertainty():
    assert read("2.5 +- 0.1 mm left", "length", "key", signed_sides=True) == Reading(-2.5, 0.1)


def test_nothing_to_the_left_is_plain_zero():
    assert math.copysign(1, read("0 mm left", "length", "key", signed_sides=True).value) == 1


@pytest.mark.parametrize(
    ("text", "would_do"),
    [
        ("1,5 mm", "write 1.5 mm"),
        ("602,4 +- 0,5 mm", "write 602.4 +- 0.5 mm"),
        ("5 1/2 in +- 0,5 mm", "write 5 1/2 in +- 0.5 mm"),
        ("0,125 mm", "write 0.125 mm"),
        ("-1,25 mm", "write -1.25 mm"),
        ("1 000 mm", "write 1000 mm"),
        ("1\u202f000 mm", "write 1000 mm"),
        ("1'000 mm", "write 1000 mm"),
        ("1_000 mm", "write 1000 mm"),
        ("1,234.5 mm", "write 1234.5 mm"),
        ("1.234,5 mm", "write 1234.5 mm"),
        ("1 234,5 mm", "write 1234.5 mm"),
        ("1,000,000 mm", "write 1000000 mm"),
        ("1,000 mm", "can mean 1000 or 1.000"),
        ("1,000", "can mean 1000 or 1.000"),
        ("12 5 mm", "write for example 602.4 mm"),
        ("130.2, 130.0", "write for example 602.4 mm"),
        ("1.2.3 mm", "write for example 602.4 mm"),
        ("nan mm", "write for example 602.4 mm"),
        ("inf", "write for example 602.4 mm"),
        ("9**9**9 mm", "write for example 602.4 mm"),
        ("mm", "write for example 602.4 mm"),
        ("\uff16\uff10\uff12 mm", "write for example 602.4 mm"),  # digits of another script
        ("602\nmm", "write for example 602.4 mm"),
        ("602.4 +- mm", "write for example 602.4 mm"),
        ("0x10", 'unknown unit "x10"'),
        ("1e999", "not a finite number"),
        ("1e999 in", "not a finite number"),
        ("1e11 m", "not a finite number"),
        ("5 +- 1e999 mm", "not a finite number"),
        ("", "is empty"),
        (" \t\n", "is empty"),
        ("10 MM", "the nearest is mm"),
        ("10 Inch", "the nearest is inch"),
        ("10 parsec", 'a length takes mm, cm, m, in, inch, inches, " or ft'),
        ("5\u00bd in", "unknown unit"),
        ("5 1/2", "fraction without a unit; write for example 5 1/2 in"),
        ("1/0 in", "divides by zero"),
        ("5 1/0 in", "divides by zero"),
        ("5 3/2 in", "as in 5 1/2 in"),
        ("5 2/2 in", "as in 5 1/2 in"),
        ("602.4 mm +- 0.5", "write it last"),
        ("602.4 +- 0 mm", "not above zero"),
        ("602.4 +- -0.5 mm", "not above zero"),
        ("602.4 +- 1e-400 mm", "not above zero"),
        ("602.4 +- 0.5 +- 0.1 mm", "more than one uncertainty"),
        ("2.5 mm left", "leave out the side"),
        ("85 kg", "is a mass; a length takes mm"),
        ("5 deg", "is an angle; a length takes mm"),
        ("x" * 101, "longer than 100 characters"),
    ],
)
def test_refuses_text_and_says_what_would_do(text, would_do):
    assert would_do in refusal(text)


@pytest.mark.parametrize(
    ("text", "kind", "would_do"),
    [
        ("120 kg", "force", "is a mass where a force is needed; write kgf"),
        ("60000 g", "force", "write kgf"),
        ("250 lb", "force", "is a mass where a force is needed; write lbf"),
        ("900 oz", "force", "write lbf"),
        ("85 kgf", "mass", "is a force where a mass is needed; write kg "),
        ("190 lbf", "mass", "write lb "),
        ("800 N", "mass", "is a force; a mass takes g, kg, lb or oz"),
        ("120 KGF", "force", "the nearest is kgf"),
        ("200 GPa", "force", "is a stress; a force takes N, kN, kgf or lbf"),
        ("72 rad", "angle", "an angle takes deg, degree or degrees"),
        ("138 mm^2", "area", "the nearest is mm2"),
        ("69 N/mm^2", "stress", "the nearest is N/mm2"),
        ("200 mm2", "inertia", "is an area; an inertia takes mm4"),
    ],
)
def test_refuses_the_wrong_unit(text, kind, would_do):
    assert would_do in refusal(text, kind)


@pytest.mark.parametrize(
    ("text", "would_do"),
    [
        ("-2.5 mm left", "both a sign and a side"),
        ("+2.5 mm left", "both a sign and a side"),
        ("left 2.5 mm", "write the side last"),
        ("2.5 mm Left", "write the side last"),
        ("2.5 mm left +- 0.1 mm", "write the side last"),
        ("2.5 mm left right", "write the side last"),
        ("left", "write the side last"),
        ("1,5 mm left", "write 1.5 mm left"),
    ],
)
def test_refuses_a_muddled_side(text, would_do):
    assert would_do in refusal(text, signed_sides=True)


@pytest.mark.parametrize(
    ("value", "found"),
    [
        (True, "true is not a length"),
        (None, "is not a length"),
        ({"left": 3}, "a table is not a length"),
        ([[602.0, 602.5], 603.0], "a list is not a length"),
        ([602.0, False], "false is not a length"),
        ([], "a list of 0"),
        ([602.0], "a list of 1 is not a set of repeated readings; write two or more"),
        (["602.0 +- 0.5 mm", 602.5], '"602.0 +- 0.5 mm" is one of several readings'),
        ([602.0, "85 kg"], '"85 kg" is a mass'),
        (math.nan, "nan is not a finite number"),
        (-math.inf, "-inf is not a finite number"),
        (1e200, "1e+200 is not a finite number"),
        pytest.param(1 << 40_000, "a whole number of many digits", id="huge"),
        ([602.0, math.nan], "nan is not a finite number"),
    ],
)
def test_refuses_other_types_and_numbers(value, found):
    assert found in refusal(value)


def test_unit_needed():
    assert read("85 kg", "mass", "load.rider", unit_needed=True).value == pytest.approx(85_000)
    for bare in (85, "85", "85 +- 2", [85, 86]):
        assert "has no unit; write for example 85 kg" in refusal(bare, "mass", unit_needed=True)


def test_shown_text_is_short_and_escaped():
    text = refusal("5 \x1b[31mred\x00\u2028\ud800" + "y" * 60)
    assert r"\x1b[31mred\x00\u2028\ud800" in text
    assert text.count("y") < 40


@pytest.mark.parametrize("piece", ["9", "1/", "1 ", "1,", "+-", "5 1/2 ", "1e", ".", " left", "mm "])
def test_very_long_text_is_refused_at_once(piece):
    start = time.process_time()
    assert "longer than 100 characters" in refusal(piece * 50_000, signed_sides=True)
    assert time.process_time() - start < 0.5  # microseconds, unless the expression ever sees the text


@pytest.mark.parametrize("piece", ["9", "1/", "1 ", "1,", "+-", "5 1/2 ", "1e", ".", " left", "mm "])
def test_longest_text_is_refused_at_once(piece):
    start = time.process_time()
    refusal((piece * 100)[: units.LONGEST_TEXT - 1] + "!", signed_sides=True)
    assert time.process_time() - start < 0.5  # below a millisecond, unless the expressions backtrack


@pytest.mark.parametrize(("value", "expected"), [(36, 36), (36.0, 36), ("36", 36), (" 36.0 ", 36), (0, 0), ("+3", 3)])
def test_reads_a_count(value, expected):
    count = read_whole(value, "rim.holes")
    assert count == expected
    assert type(count) is int


@pytest.mark.parametrize(
    "value", [36.5, -1, True, None, [36], {}, math.nan, math.inf, pytest.param(1 << 40_000, id="huge")]
)
def test_refuses_what_is_no_count(value):
    assert "; write " in count_refusal(value)


@pytest.mark.parametrize(
    "text", ["36.5", "-1", "36 mm", "72/2", "", "many", "1,000", "1 000", "1e999", "36 +- 1", "36 left", "9" * 101]
)
def test_refuses_text_that_is_no_count(text):
    assert "; write " in count_refusal(text)


CHILD = """
import sys
from wheelcalc.files import units
{reads}
print("pint" in sys.modules)
"""


@pytest.mark.parametrize(
    ("reads", "loaded"),
    [
        ("units.read(602.4, 'length', 'k'); units.read_whole('36', 'k')", False),
        ("units.read('602.4 +- 0.5', 'length', 'k'); units.read([1.5, 2], 'length', 'k')", False),
        ("units.read('602.4 +- 0.5 mm', 'length', 'k'); units.read('1000 N', 'force', 'k')", False),
        (
            "units.read('12.5 cm', 'length', 'k'); units.read('1.2 kN', 'force', 'k'); units.read('9.6 kg', 'mass', 'k')",
            False,
        ),
        ("units.read('69 GPa', 'stress', 'k'); units.read('0.6 m +- 1 mm', 'length', 'k')", False),
        ("units.read('3 in', 'length', 'k')", True),
        ("units.read('120 kgf', 'force', 'k')", True),
    ],
)
def test_pint_is_loaded_only_where_something_is_converted(reads, loaded):
    child = subprocess.run(
        [sys.executable, "-c", CHILD.format(reads=reads)], capture_output=True, text=True, check=True, timeout=60
    )
    assert child.stdout.strip() == str(loaded)


def test_one_small_registry_serves_all(monkeypatch):
    built = []
    original = pint.UnitRegistry

    def counted(*arguments):
        built.append(arguments)
        return original(*arguments)

    monkeypatch.setattr(pint, "UnitRegistry", counted)
    units.registry.cache_clear()
    for text, kind in (("3 in", "length"), ("120 kgf", "force"), ("85 lb", "mass"), ("2 ft", "length")):
        read(text, kind, "key")
    assert len(built) == 1
    assert len(list(units.registry())) < 30  # pint's own file defines about a thousand


@pytest.mark.parametrize("kind", KINDS)
def test_every_accepted_unit_converts(kind):
    spellings = units.UNITS[kind]
    assert units.BASE_UNIT[kind] in spellings.values()
    for spelling, name in spellings.items():
        assert read(f"3 {spelling}", kind, "key").value == pytest.approx(3 * read(f"1{spelling}", kind, "key").value)
        assert units.registry().Unit(name).is_compatible_with(units.BASE_UNIT[kind])


@pytest.mark.parametrize(("unit", "factor"), units.DECIMAL.items())
def test_a_decimal_multiple_is_what_pint_makes_of_it(unit, factor):
    (kind,) = (kind for kind in KINDS if unit in units.UNITS[kind].values())
    assert units.registry().Quantity(1.0, unit).m_as(units.BASE_UNIT[kind]) == pytest.approx(factor, rel=1e-15)
    assert read(f"7.3 {unit}", kind, "key").value == pytest.approx(7.3 * factor, rel=1e-15)


NUMBERS = st.floats(-1e6, 1e6)
POSITIVE = st.floats(1e-6, 1e6)
KIND_AND_UNIT = st.sampled_from([(kind, unit) for kind in KINDS for unit in units.UNITS[kind]])


@given(NUMBERS)
def test_bare_numbers_come_back_unchanged(number):
    assert read(number, "length", "key").value == number
    assert read(repr(number), "length", "key").value == number
    assert read(f"{number!r} mm", "length", "key").value == number


@given(NUMBERS, POSITIVE, KIND_AND_UNIT, st.sampled_from(["+-", " +/- ", "±", " ± "]))
def test_round_trip(number, sigma, kind_and_unit, plus_minus):
    kind, unit = kind_and_unit
    one = read(f"1 {unit}", kind, "key").value
    reading = read(f"{number!r}{plus_minus}{sigma!r}{unit}", kind, "key")
    assert reading.value / one == pytest.approx(number, rel=1e-14)
    assert reading.sigma / one == pytest.approx(sigma, rel=1e-14)


@given(st.integers(0, 99), st.integers(1, 63), st.sampled_from([" ", "-"]))
def test_inch_fractions(whole, top, joint):
    expected = (64 * whole + top) * 25.4 / 64
    assert read(f"{whole}{joint}{top}/64 in", "length", "key").value == pytest.approx(expected, rel=1e-14)


@given(st.lists(st.integers(-(10**8), 10**8).map(lambda whole: whole / 1000), min_size=2, max_size=9))
@example([1e6, -1e6, 1e6])
def test_mean_lies_among_the_readings(values):
    reading = read(values, "length", "key")
    slack = 1e-15 * max(map(abs, values))
    assert min(values) - slack <= reading.value <= max(values) + slack
    assert (reading.sigma == 0) == (min(values) == max(values))


NUMBER_PIECES = ["1", "602.4", "0", "5 1/2", "/", "1/0", " ", "+-", "±", "-", "\u2212", "e", "e9", "999", ",", ".", "_"]
UNIT_PIECES = ["mm", "in", "kg", "N/mm2", "left", "right", "nan", "inf", "°", "²", '"', "'", "%", "**", "½"]
PIECES = st.sampled_from([*NUMBER_PIECES, *UNIT_PIECES, "\n", "\0", "\ud800"])
ANY_TEXT = st.text() | st.lists(PIECES, max_size=12).map("".join)


def result_or_error(function):
    try:
        return function(), None
    except InputError as error:
        return None, error


@given(ANY_TEXT, st.sampled_from(KINDS), st.booleans(), st.booleans())
@example("9" * 99 + "/", "length", False, False)
@example("9" * 60 + "/" + "9" * 39, "length", False, False)
def test_any_text_is_read_or_refused_on_one_line(text, kind, sides, unit_needed):
    reading, error = result_or_error(lambda: read(text, kind, "key", signed_sides=sides, unit_needed=unit_needed))
    if reading is None:
        assert set(error.text) <= DISPLAYED
    else:
        assert math.isfinite(reading.value)
        assert reading.sigma is None or 0 < reading.sigma < math.inf


def holding(inner: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    return st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=2)


SINGLE = st.none() | st.booleans() | st.integers() | st.floats() | ANY_TEXT | st.dates()
ANYTHING = SINGLE | holding(SINGLE) | holding(SINGLE | holding(SINGLE))


@given(ANYTHING)
def test_any_value_is_read_or_refused(value):
    reading, error = result_or_error(lambda: read(value, "force", "key"))
    assert set(error.text) <= DISPLAYED if reading is None else math.isfinite(reading.value)
    count, error = result_or_error(lambda: read_whole(value, "key"))
    assert set(error.text) <= DISPLAYED if count is None else count >= 0
