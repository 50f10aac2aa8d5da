"""What a program gives and takes: overrides, numbers of numpy, quantities of a registry of its own, records, pages."""

from __future__ import annotations

import importlib
import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pint
import pytest

import wheelcalc
from wheelcalc import Flange, Hub, InputError, Rim, Wheel, answers, batch, geometric_length, lacing, pictures, tone
from wheelcalc.files.readings import read_readings

ROOT = Path(__file__).parents[2]
BUILD = ROOT / "examples" / "errand-rear.toml"
READINGS = ROOT / "examples" / "errand-rear-readings.csv"
COMMANDS = [
    "lengths",
    "order",
    "lace",
    "fit",
    "tension",
    "measure",
    "true",
    "broken",
    "tap",
    "compare",
    "check",
    "tables",
    "sheet",
]
PUBLIC = [
    "wheelcalc",
    *(f"wheelcalc.{name}" for name in ("answers", "wheel.lacing", "batch", "pictures", "tension.tone")),
]
TREE = {
    "rim": {"holes": 32, "erd": "602.4 mm", "erd_to": "spoke end"},
    "hub": {
        "over_locknut": 130,
        "left": {"holes": 16, "pcd": 45, "offset": 34.4, "hole_diameter": 2.5},
        "right": {"holes": 16, "pcd": 45.1, "offset": 18.7, "hole_diameter": 2.5},
    },
    "lacing": {"pattern": "crossed", "crosses": 3},
    "spokes": {"wire": "2.0"},
}


@cache
def units() -> Any:
    """A user's own registry, not the library's."""
    return pint.UnitRegistry(cache_folder=None)


@cache
def some() -> dict[str, Any]:
    """An answer of every command, and how many rows it has in what it is about."""
    salvage = ROOT / "examples" / "errand-rear-salvage.toml"
    return {
        "lengths": answers.lengths(BUILD),
        "order": answers.order(BUILD),
        "lace": answers.lace(BUILD),
        "fit": answers.fit(ROOT / "examples" / "donor-hub.toml"),
        "tension": answers.tension(BUILD),
        "measure": answers.measure(salvage),
        "true": answers.true(BUILD, READINGS),
        "broken": answers.broken(BUILD, [14]),
        "tap": answers.tap(BUILD, radial=ROOT / "examples" / "errand-rim-inward.wav"),
        "compare": answers.compare(BUILD, overrides={"lacing.crosses": 2}),
        "check": answers.check(BUILD),
        "tables": answers.tables("chainlines"),
        "sheet": answers.sheet(BUILD, only=["order"]),
    }


@pytest.mark.parametrize(
    "overrides",
    [["lacing.crosses=2"], "lacing.crosses=2", {"lacing.crosses": 2}, {"lacing.crosses": np.int64(2)}],
    ids=["texts", "text", "dict", "numpy"],
)
def test_a_value_is_put_in_place_of_the_file_s_in_every_way_alike(overrides: Any) -> None:
    wanted = answers.lengths(BUILD, ["lacing.crosses=2"]).cut
    assert (answers.lengths(BUILD, overrides).cut == wanted).all()
    assert (answers.lengths(BUILD, **{"lacing.crosses": 2}).cut == wanted).all()


def test_a_build_already_read_takes_overrides_too() -> None:
    read = wheelcalc.read_build(BUILD, {"lacing.crosses": 2})
    assert (
        answers.lengths(read, {"rim.erd": 598.3}).cut[0]
        == answers.lengths(BUILD, ["lacing.crosses=2", "rim.erd=598.3"]).cut[0]
    )
    assert answers.lengths(read).cut[0] == answers.lengths(BUILD, **{"lacing.crosses": 2}).cut[0]
    assert (
        repr(read)
        == f"<BuildFile {BUILD}: Errand bike, rear, {sum(e.origin != 'default' for e in read.build.values())} keys given>"
    )


def test_keys_by_side_and_sections_can_be_put_as_dicts() -> None:
    one = answers.lengths(BUILD, {"lacing.crosses": {"left": 2, "right": np.float64(3.0)}})
    other = answers.lengths(BUILD, ["lacing.crosses={left=2, right=3}"])
    assert (one.cut == other.cut).all()


@pytest.mark.parametrize(
    ("given", "written"),
    [
        (lambda q: q(60.24, "cm"), "602.4 mm"),
        (lambda q: q(np.float32(23.75), "inch"), "23.75 in"),
        (lambda q: q(np.array([602.1, 602.8, 602.2]), "mm"), [602.1, 602.8, 602.2]),
        (lambda _: np.array([602.1, 602.8]), [602.1, 602.8]),
        (lambda _: (602, np.int32(603)), [602, 603]),
        (lambda _: np.float64(601.7), 601.7),
    ],
    ids=["cm", "inch", "quantity array", "array", "tuple", "scalar"],
)
def test_numbers_and_quantities_are_read_as_if_written(given: Any, written: Any) -> None:
    found = answers.lengths(BUILD, {"rim.erd": given(units().Quantity)})
    wanted = answers.lengths(BUILD, {"rim.erd": written})
    assert found.cut == pytest.approx(wanted.cut, abs=1e-9)
    assert found.build.sigma("rim.erd") == pytest.approx(wanted.build.sigma("rim.erd"))


def test_a_tree_of_quantities_is_a_build() -> None:
    tree = {**TREE, "rim": {"holes": np.int64(32), "erd": units().Quantity(60.24, "cm"), "erd_to": "spoke end"}}
    tree["load"] = {"rider": units().Quantity(80, "kg"), "bike": units().Quantity(30, "pound")}
    tree["tension"] = {"target": units().Quantity(100, "kilogram_force")}
    answer = answers.tension(tree)
    assert answer.as_json()["sides"]["right"]["target_N"] == pytest.approx(980.665)
    assert answers.lengths(tree).cut[0] == pytest.approx(answers.lengths(TREE, {"tension.target": "980.665 N"}).cut[0])


def test_parts_take_numpy_and_quantities() -> None:
    q = units().Quantity
    flange = Flange(np.int64(16), q(4.51, "cm"), np.float64(18.7), thickness=q(0.32, "cm"))
    assert (flange.pcd, flange.offset, flange.thickness) == pytest.approx((45.1, 18.7, 3.2))
    assert type(flange.holes) is int
    assert type(flange.offset) is float
    wheel = Wheel(Rim(np.float64(32.0), q(602.4, "mm")), Hub(flange, flange), lacing.crossed(np.int8(32), np.int64(3)))
    assert len(wheel.lengths) == 32
    assert "numpy" not in repr(wheel.rim)


def test_formulas_take_lists_arrays_and_quantities() -> None:
    q = units().Quantity
    plain = geometric_length(602.4, [44.7, 45.1], 18.7, 3, 16, 2.5)
    assert geometric_length(q(60.24, "cm"), q([44.7, 45.1], "mm"), q(18.7, "mm"), 3, 16, 2.5) == pytest.approx(plain)
    assert tone.held_pitch(q(1, "kN"), q(28, "cm"), q(2, "mm")) == pytest.approx(tone.held_pitch(1000, 280, 2.0))
    many = batch.Wheels(erd=q([60.24], "cm"), holes=32, pcd=45.1, offset=18.7)
    assert many.lengths["right"][0] == pytest.approx(plain[1])


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (lambda _: Flange(16.5, 44.7, 34.4), "holes: found 16.5; write a whole number"),
        (lambda _: Flange(16, "44.7 mm", 34.4), 'pcd: found "44.7 mm"; write a plain number, taken in mm'),
        (lambda _: Flange(16, np.array([44.7, 45.0]), 34.4), "pcd: found an array of shape .2,.*batch"),
        (lambda q: Flange(16, q(3, "kg"), 34.4), "pcd: found 3 kilogram; .* length"),
        (lambda _: Flange(True, 44.7, 34.4), "holes: found True"),
        (lambda _: Rim(32, None), "erd: found None"),
        (lambda _: lacing.crossed(32, "3"), "crosses.left: found"),
        (lambda _: answers.order(BUILD, **{"lacing.croses": 2}), "overrides: lacing.croses: .*lacing.crosses"),
        (lambda _: answers.order(BUILD, working=True), "overrides: working: is not a known key"),
        (lambda q: answers.order(BUILD, {"rim.erd": q(3, "kg")}), "overrides: rim.erd: .* is a mass"),
        (lambda _: answers.order(BUILD, {"rim.erd": object()}), "overrides: rim.erd: an object is not a length"),
        (lambda _: answers.order(BUILD, 3), "overrides: found 3; give a dict"),
        (lambda _: answers.order(BUILD, [3]), "overrides: found 3; give a dict"),
        (lambda _: answers.true(BUILD, [0.1, 0.2]), "readings: found float; give lateral=..., radial=... by name"),
        (lambda _: Hub("left", "right"), "left: found str; give a Flange"),
        (lambda _: tone.held_pitch("1000", 280, 2.0), "tone: found .*1000"),
        (lambda _: pictures.picture(BUILD), "picture: found PosixPath; give an answer or a Wheel"),
        (lambda _: pictures.lacing_map(some()["order"]), "lacing_map: found OrderAnswer; give a Wheel"),
        (lambda _: batch.chances(290, 291, -1), "sigma: found -1"),
        (lambda _: answers.sheet(BUILD, only="ordr"), 'only: found "ordr"; the sections are'),
        (lambda _: answers.order(7), "source: found int; give the path of a build file"),
        (lambda _: answers.order(TREE, {"rim.part": "black 36"}), "no drawer was opened; give it as `drawers`"),
        (lambda _: answers.broken(BUILD, [99]), "rim_holes: found 99"),
        (lambda _: answers.tap(BUILD), "radial: is missing, and lateral too"),
        (lambda _: some()["order"].rows("spoke"), "rows: found .spoke.; this answer has assumptions|rows: found"),
        (lambda _: pictures.picture(some()["order"]), "picture: order has none; there is one of lace"),
    ],
)
def test_what_cannot_be_used_gets_one_line_without_an_option_of_the_command_line(made: Any, said: str) -> None:
    with pytest.raises(InputError, match=said) as refused:
        made(units().Quantity)
    assert "\n" not in str(refused.value)
    assert not re.search(r"(^|\s)--?[a-z]", str(refused.value))


@pytest.mark.parametrize("command", COMMANDS)
def test_rows_are_records_that_a_table_takes(command: str) -> None:
    """Every row has the same keys, and every column one kind of value, so that no reader has to guess."""
    rows = some()[command].rows()
    assert rows
    for column in rows[0]:
        kinds = {float if isinstance(row[column], int | float) else type(row[column]) for row in rows} - {type(None)}
        assert len(kinds) <= 1, (column, kinds)
        assert dict not in kinds
    assert len({tuple(row) for row in rows}) == 1


def test_rows_of_sides_and_of_what_lies_deeper() -> None:
    sides = some()["lengths"].rows("sides")
    assert [row["side"] for row in sides] == ["left", "right"]
    assert sides[0]["cut_length_mm"] == pytest.approx(some()["lengths"].sides["left"].cut, abs=1e-6)
    assert len(some()["lengths"].rows()) == len(some()["lengths"].wheel.rows()) == 36


def test_reprs_are_short_and_say_what_it_is() -> None:
    answer = some()["order"]
    wheel = answer.lengths.wheel
    for each in (*some().values(), wheel, wheel.hub, wheel.lacing, answer.lengths):
        assert len(repr(each)) < 200
        assert "array" not in repr(each)
    assert repr(wheel.hub).startswith("<Hub: 18 + 18 holes on pcd ")
    assert (
        repr(wheel.lacing) == "<Lacing: crossed, crosses 3 / 3 (left / right), 36 spokes, 18 left, 18 right hub holes>"
    )
    assert "print it" in repr(answer)


def test_a_notebook_shows_the_verdict_first_and_numbers_to_the_right() -> None:
    for command, answer in some().items():
        if command in ("sheet", "tables", "check"):  # of the bench, of the trade, and words alone
            continue
        shown = answer._repr_html_()
        assert shown.index('class="verdict"') < shown.index("<h2") if "<h2" in shown else 'class="verdict"' in shown
        assert "<td" not in shown or 'class="number"' in shown
    assert str(some()["order"]).splitlines()[0] in some()["order"]._repr_html_().replace("&#x27;", "'")


def test_pictures_show_themselves() -> None:
    for command in ("lace", "tension", "true", "broken", "tap"):
        drawn = pictures.picture(some()[command])
        assert drawn._repr_svg_() == drawn.svg()
        assert "viewBox" in drawn.svg()


def columns() -> dict[str, np.ndarray]:
    """The example's readings as a program has them."""
    read, out = read_readings(READINGS, 36), {}
    for name, column in (("lateral", "lateral_mm"), ("radial", "radial_mm"), ("tension", "tension_N")):
        out[name] = np.array([read.of(column).get(hole, np.nan) for hole in range(1, 37)])
    return out


def test_readings_as_arrays_say_the_same_as_the_file() -> None:
    given, wanted = columns(), some()["true"].as_json()
    as_in_csv = {"lateral_mm": given["lateral"], "radial_mm": given["radial"], "tension_N": given["tension"]}
    assert answers.true(BUILD, **given).as_json() == wanted
    assert answers.true(BUILD, given).as_json() == wanted
    assert (
        answers.true(
            BUILD,
            [as_in_csv],
        ).as_json()
        == wanted
    )
    by_hole = {
        name: {hole: value for hole, value in enumerate(each, 1) if np.isfinite(value)} for name, each in given.items()
    }
    assert answers.true(BUILD, by_hole).as_json() == wanted
    in_units = {
        "lateral": units().Quantity(given["lateral"] / 10, "cm"),
        "radial": given["radial"],
        "tension": given["tension"],
    }
    assert answers.true(BUILD, in_units).rows() == some()["true"].rows()


def test_passes_are_a_list_with_the_turns_beside_them() -> None:
    given = columns()
    turned = np.zeros(36)
    for row in some()["true"].rows():
        turned[row["rim_hole"] - 1] = row["turns"]
    after = read_readings(ROOT / "examples" / "errand-rear-readings-after.csv", 36)
    two = answers.true(BUILD, [{**given, "turned": turned}, after])
    files = answers.true(BUILD, [READINGS, ROOT / "examples" / "errand-rear-readings-after.csv"])
    assert two.rows() == files.rows()  # the advice stands in for turns that a file does not tell
    now = {
        name: after.of(column)
        for name, column in (("lateral", "lateral_mm"), ("radial", "radial_mm"), ("tension", "tension_N"))
    }
    newest = answers.true(BUILD, [{**given, "turned": turned}], **now)
    assert newest.rows() == two.rows()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"lateral": [0.1, 0.2]}, "pass 1: lateral: found 2 values for 36 rim holes"),
        ({"latral": np.zeros(36)}, "pass 1: latral: is no reading; there are lateral, radial"),
        ({"lateral": np.full(36, 90.0)}, "pass 1: lateral, rim hole 1: found 90 mm"),
        ({"lateral": {40: 0.1}}, "pass 1: lateral: found rim hole 40"),
        ({"lateral": 0.3}, "pass 1: lateral: found 0.3; give one value a rim hole"),
        ({"turned": np.zeros(36)}, "pass 1: names nothing that was read"),
        ({"tension": np.ones(36), "pitch": np.ones(36)}, "pass 1: has both tension and pitch|believed"),
        ({"lateral": ["a"] * 36}, "lateral, rim hole 1: found"),
    ],
)
def test_arrays_that_are_no_readings_are_refused(given: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        answers.true(BUILD, given)


def test_help_says_in_full_what_every_answer_takes() -> None:
    for name in set(answers.__all__) - {"compare", "tables"}:
        doc = getattr(answers, name).__doc__
        assert "numbers may be numpy's" in " ".join(doc.split()), name
        assert '{"lacing.crosses": 2}' in doc
        assert "InputError" in doc


@pytest.mark.parametrize("module", PUBLIC)
def test_every_public_name_is_there_and_explained(module: str) -> None:
    loaded = importlib.import_module(module)
    for name in loaded.__all__:
        found = getattr(loaded, name)
        assert name.startswith("__") or len(found.__doc__) > 20, name
