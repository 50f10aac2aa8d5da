"""The sections of the build: a key is read by attribute, with its default, as missing, or as an error that names it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from wheelcalc.build.dimension import Dimension
from wheelcalc.build.limits import Limits
from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.files.keys import keys, lists
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
