"""The sections of the build: a key is read by attribute, with its default, as missing, or as an error that names it."""

from __future__ import annotations

import ast
import math
import re
from pathlib import Path

import pytest

from wheelcalc.build.dimension import Dimension
from wheelcalc.build.limits import Limits
from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.files.keys import keys, lists
from wheelcalc.measuring.assemble import erd_to_spoke_end
from wheelcalc.measuring.readings import fill
from wheelcalc.wheel.errors import InputError

PACKAGE = Path(__file__).parents[2] / "wheelcalc"
HALF = Build(
    {
        "hub.axle": Dimension("through"),
        "hub.left.pcd": Dimension(58.3, 0.2),
        "old_wheel.hub.left.pcd": Dimension(44.7),
        "spokes.wire.left": Dimension((2.3, 1.8, 2.0)),
        "geometry.new.wheel_diameter.front": Dimension(648.0),
    }
)


def test_what_is_known_is_read_by_attribute():
    assert HALF.hub.axle == "through"
    assert HALF.hub.left.pcd == HALF.hub.flange("left").pcd == 58.3
    assert HALF.old_wheel.hub.left.pcd == 44.7
    assert HALF.spokes.wire["left"] == HALF.spokes.wire.left == (2.3, 1.8, 2.0)
    assert HALF.geometry.new.wheel_diameter.front == 648.0
    assert HALF.sigma("hub.left.pcd") == 0.2


def test_a_default_stands_where_nothing_is_known():
    assert HALF.position == "rear"
    assert HALF.hub.right.hole_diameter == 2.5
    assert HALF.spokes.wire["right"] == (2.0, 2.0, 2.0)
    assert HALF.hub.axle_moved == 0.0


def test_what_is_missing_reads_as_none_or_is_an_error_that_names_the_key():
    assert HALF.hub.drive is None
    assert HALF.geometry.wheel_diameter.front is None
    with pytest.raises(InputError, match=r"^old_wheel\.hub\.right\.holes: is missing"):
        _ = HALF.old_wheel.hub.right.holes
    with pytest.raises(InputError, match=r"^lacing\.crosses\.left: is missing"):
        _ = HALF.lacing.crosses["left"]


def test_a_changed_copy_leaves_the_first_as_it_was():
    assert HALF.hub.axle == "through"
    changed = HALF.having({"hub.axle": "nutted"})
    assert (changed.hub.axle, HALF.hub.axle) == ("nutted", "through")
    with pytest.raises(AttributeError, match=r"hub\.axle cannot be set"):
        HALF.hub.axle = "nutted"


def test_every_limit_of_the_table_is_declared_and_every_declared_one_has_its_row():
    assert {name for name, _ in Limits.keys_below()} == set(tables.limits())


def test_every_default_is_in_its_own_range_and_among_its_own_words():
    for name, key in keys().items():
        if isinstance(key.default, float | int) and not isinstance(key.default, bool):
            assert key.low <= key.default <= key.high, name
        if key.choices and key.default is not None:
            assert key.default in key.choices, name


def test_dotted_keys_in_the_code_are_keys_of_the_build_file():
    """What goes over keys (errors, questions, needs) names them as text, which no type checker reads."""
    sections = {name.split(".")[0] for name in keys() if "." in name}
    dotted = re.compile(rf"({'|'.join(sections)})(\.[a-z_]+)+")
    sides = {f"{name}.{side}" for name, key in keys().items() if key.per_side for side in ("left", "right")}
    homes = {"jar.spokes": "spokes", "jar.rims": "rim", "jar.hubs": "hub"}
    of_a_jar = {f"{home}.{name}" for section, home in homes.items() for name in lists()[section]}
    of_either_side = {name.replace("hub.left.", "hub.") for name in keys()}
    known = {*keys(), *sides, *of_a_jar, *of_either_side, *(name.removeprefix("readings.") for name in keys())}
    unknown = {}
    for path in (path for path in PACKAGE.rglob("*.py") if path.name != "__init__.py"):
        texts = [node.value for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Constant)]
        named = {text for text in texts if isinstance(text, str) and dotted.fullmatch(text)}
        unknown |= {f"{path}: {text}": text for text in named if not any(key.startswith(text) for key in known)}
    assert unknown == {}


@pytest.mark.parametrize(
    ("given", "rotor"),
    [
        ({}, False),
        ({"hub.rotor": True}, True),
        ({"frame.brake": "disc"}, True),
        ({"frame.brake": "disc", "hub.rotor": False}, False),
        ({"hub.rotor_face": 15.3}, True),
        ({"frame.brake": "rim"}, False),
    ],
)
def test_a_rotor_that_the_file_does_not_name(given: dict[str, object], rotor: bool):
    assert Build({key: Dimension(value) for key, value in given.items()}).has_rotor is rotor


@pytest.mark.parametrize(
    ("brake", "track", "braked"), [(None, None, True), ("rim", False, False), ("disc", True, False)]
)
def test_pads_rub_on_the_rim_where_the_file_is_silent(brake: str | None, track: bool | None, braked: bool):
    given = {"frame.brake": brake, "rim.brake_track": track}
    build = Build({key: Dimension(value) for key, value in given.items() if value is not None})
    assert build.braked_rim is braked


@pytest.mark.parametrize(
    ("material", "walls", "double"),
    [(None, None, True), ("steel", None, False), ("steel", "double", True), ("carbon", "single", False)],
)
def test_walls_of_a_rim_that_the_file_does_not_name(material: str | None, walls: str | None, double: bool):
    given = {"rim.section.material": material, "rim.walls": walls}
    build = Build({key: Dimension(value) for key, value in given.items() if value is not None})
    assert build.rim.double_wall is double
    assert build.rim.material == (material or "aluminium")


@pytest.mark.parametrize(("erd_to", "erd"), [("spoke end", 601.3), ("nipple top", 599.3), ("nipple seat", 606.3)])
def test_both_ways_to_an_erd_take_the_same_slot_and_seat(erd_to: str, erd: float):
    """Nothing of the nipple is given: its slot is 1 mm deep and 2.5 mm from the seat to every conversion."""
    build = Build({"rim.erd": Dimension(601.3), "rim.erd_to": Dimension(erd_to)})
    assert erd_to_spoke_end(build) == pytest.approx(erd)
    tape = {"readings.rim.outside_circumference": Dimension(1985.0), "readings.rim.head_depth": Dimension(14.2)}
    read = fill(Build({**tape, "rim.erd_to": Dimension(erd_to)}))["rim.erd"].value
    again = erd_to_spoke_end(Build({"rim.erd": Dimension(read), "rim.erd_to": Dimension(erd_to)}))
    assert again == pytest.approx(1985.0 / math.pi - 2 * 14.2 - 2 * 1.0)
