"""What a person types in the dialogue: understood, or answered with the form that would do."""

import pytest

from wheelcalc.files.buildfile import build_of
from wheelcalc.files.keys import keys
from wheelcalc.files.typed import answer_of, value_of
from wheelcalc.files.writing import Literal
from wheelcalc.wheel.errors import InputError


def plain(value: object) -> object:
    """A typed value as TOML gives it back."""
    if isinstance(value, dict):
        return {name: plain(each) for name, each in value.items()}
    return float(value) if isinstance(value, Literal) else value


# C: what mechanics write.
@pytest.mark.parametrize(
    ("key", "text", "means"),
    [
        ("rim.holes", "36h", 36),
        ("rim.holes", "36 holes", 36),
        ("lacing.crosses", "3x", 3),
        ("lacing.crosses", "x3", 3),
        ("lacing.crosses", "3 cross", 3),
        ("lacing.crosses", "three", 3),
        ("lacing.crosses", "radial", 0),
        ("lacing.crosses", "left 2x, right 3x", {"left": 2, "right": 3}),
        ("lacing.crosses", "3 right 2 left", {"left": 2, "right": 3}),
        ("lacing.crosses", "L2 R3", {"left": 2, "right": 3}),
        ("hub.drive", "Cassette", "cassette"),
        ("hub.drive", "hub gear", "internal gear"),
        ("hub.drive", "Freewheel hub", "freewheel"),
        ("hub.drive", "coaster brake", "coaster"),
        ("hub.axle", "qr", "quick release"),
        ("hub.axle", "thru-axle", "through"),
        ("frame.brake", "caliper", "rim"),
        ("frame.brake", "coaster", "hub"),
        ("measuring.tool", "caliper", "calliper"),
        ("frame.dropout", "horizontal", "slot"),
        ("rim.walls", "Double wall", "double"),
        ("rim.section.material", "alloy", "aluminium"),
        ("rim.eyelets", "nope", False),
        ("hub.rotor", "yes, 6 bolt", True),
        ("lacing.pattern", "crows foot", "crow's foot"),
        ("stock.on_hand", "288: 20 290: 18", {"288": 20, "290": 18}),
        ("rim.bead_seat_diameter", "37-622", "37-622"),
    ],
)
def test_understood(key: str, text: str, means: object) -> None:
    assert plain(value_of(key, keys()[key], text)) == means


# P (S6): gauge 14 is 2.0 mm, 15 is 1.8.
@pytest.mark.parametrize(
    ("key", "text", "answer"),
    [
        ("rim.erd", "602,4", "write 602.4"),
        ("rim.erd", "5/8", "write for example 5 1/2 in"),
        ("rim.erd", "about 602", "write the number and how sure it is: 602 +- 1 mm"),
        ("rim.erd", "602?", "write the number and how sure it is: 602 +- 1 mm"),
        ("rim.bead_seat_diameter", "26 inch", "rims called so have 599, 597, 590, 584, 571 or 559"),
        ("spokes.wire", "14 gauge", 'in mm that is "2.0"'),
        ("spokes.wire", "14/15/14", 'in mm that is "2.0/1.8/2.0"'),
        ("spokes.wire", "thin", 'such as "2.0" or "2.0/1.8/2.0"'),
        ("nipple.for_wire", "14g", 'in mm that is "2.0"'),
        ("lacing.crosses", "2/3", "left 2, right 3"),
        ("load.rider", "85", "write for example 85 kg"),
        ("hub.drive", "rocket", "answer one of: cassette, freewheel"),
        ("stock.on_hand", "288 = 20, 288 = 4", "each size once"),
    ],
)
def test_answered_with_what_would_do(key: str, text: str, answer: str) -> None:
    with pytest.raises(InputError) as caught:
        value_of(key, keys()[key], text)
    assert answer in caught.value.text


@pytest.mark.parametrize("choice", ["slot", "through", "cassette", "coaster", "none"])
def test_no_other_word_comes_before_a_choice_itself(choice: str) -> None:
    for path, key in keys().items():
        if choice in key.choices:
            assert value_of(path, key, choice) == choice


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("rim.holes", "36"),
        ("rim.erd", "602.1, 602.5"),
        ("lacing.crosses", "left 2, right 3"),
        ("stock.on_hand", "288 = 20, 290 = 18"),
        ("rim.eyelets", "no"),
        ("spokes.wire", "2.0/1.8/2.0"),
    ],
)
def test_what_stands_in_a_file_is_offered_as_one_would_type_it(key: str, text: str) -> None:
    value = value_of(key, keys()[key], text)
    assert answer_of(dict.fromkeys(("left", "right"), value) if key == "spokes.wire" else value) == text
    assert value_of(key, keys()[key], answer_of(value)) == value


def test_the_same_words_in_a_file_are_refused_with_the_word_that_would_do() -> None:
    with pytest.raises(InputError, match='found "qr"; write "quick release"'):
        build_of({"hub": {"axle": "qr"}}, "")
