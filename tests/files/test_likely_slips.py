"""A value that cannot be as it stands: the error says what it would be in another unit, and a tyre's name is told from its mark."""

import pytest

from wheelcalc.files.buildfile import build_of
from wheelcalc.files.keys import keys
from wheelcalc.files.typed import value_of
from wheelcalc.wheel.errors import InputError


def read(key: str, value: object) -> object:
    """What a build file with this one key holds."""
    more = {"rim.erd_to": "spoke end"} if key == "rim.erd" else {}
    return build_of({}, "", {key: value, **more}).build[key].value


# D: the units' sizes.
@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("rim.erd", 60.24, "as cm it is 602.4 mm"),
        ("rim.erd", 23.7, "as inches 602 mm"),
        ("rim.erd", 0.6024, "as m it is 602.4 mm"),
        ("rim.erd", 6024, "decimal point one place back it is 602.4 mm"),
        ("hub.left.pcd", 4.52, "as cm it is 45.2 mm"),
        ("hub.left.pcd", 1.77, "as inches 44.96 mm"),
        ("hub.over_locknut", 13.5, "as cm it is 135 mm"),
        ("hub.over_locknut", 5.3, "as inches 134.6 mm"),
        ("frame.dropout_spacing", 5.12, "as inches 130 mm"),
        ("hub.left.hole_diameter", 0.25, "as cm it is 2.5 mm"),
        ("hub.left.hole_diameter", 25, "decimal point one place back it is 2.5 mm"),
        ("nipple.length", 120, "decimal point one place back it is 12 mm"),
        ("cogs.pitch", 48, "decimal point one place back it is 4.8 mm"),
        ("rim.tension_limit", 120, "as kgf it is 1177 N"),
        ("rim.tension_limit", 1.2, "as kN it is 1200 N"),
        ("tension.target", 105, "as kgf it is 1030 N"),
        ("rim.section.mass", 0.52, "as kg it is 520 g"),
        ("spokes.wire", "20", "was 2 mm meant?"),
    ],
)
def test_the_error_says_what_it_would_be(key: str, value: object, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read(key, value)
    assert said in caught.value.text
    assert caught.value.key.startswith(key)


def test_no_unit_that_makes_no_sense_is_named() -> None:
    with pytest.raises(InputError) as caught:
        read("hub.over_locknut", 2500)
    assert caught.value.text == (
        "found 2500 mm; sensible is 50 to 250 mm; were mm meant? Read with the decimal point one place back it is 250 mm"
    )
    with pytest.raises(InputError, match=r"were mm meant\?$"):
        read("hub.over_locknut", 25_000)


@pytest.mark.parametrize("mark", ["37-622", "32 - 622", "622x19", "622 x 19C", "622", "622 mm", 622])
def test_marks_of_tyres_and_rims(mark: object) -> None:
    assert read("rim.bead_seat_diameter", mark) == 622
    if isinstance(mark, str):
        typed = value_of("rim.bead_seat_diameter", keys()["rim.bead_seat_diameter"], mark)
        assert read("rim.bead_seat_diameter", float(typed) if not isinstance(typed, str) else typed) == 622


# P (makers; CT), as reference/rim_sizes.toml: what goes by a name.
@pytest.mark.parametrize(
    ("name", "sizes"),
    [
        ("26", "599, 597, 590, 584, 571 or 559"),
        ("26 inch", "599, 597, 590, 584, 571 or 559"),
        ('26"', "599, 597, 590, 584, 571 or 559"),
        ("26 x 1.75", "599, 597, 590, 584, 571 or 559"),
        ("28 x 1 5/8", "642, 635 or 622"),
        ("27.5", "584"),
        ("12 1/2", "203"),
        ("700c", "622"),
        ("700 x 32C", "622"),
        ("650B", "584"),
        (26, "599, 597, 590, 584, 571 or 559"),
    ],
)
def test_names_of_tyres_are_no_bead_seat(name: object, sizes: str) -> None:
    with pytest.raises(InputError) as caught:
        read("rim.bead_seat_diameter", name)
    assert "that is the tyre's name" in caught.value.text
    assert f"rims called so have {sizes}; write the second number of the mark" in caught.value.text


@pytest.mark.parametrize("text", ["hello", "622 kg", "", "37-", "-622"])
def test_neither_mark_nor_name(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read("rim.bead_seat_diameter", text)
    assert "the tyre's name" not in caught.value.text
