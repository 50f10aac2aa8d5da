"""The build file: what is read, and one clear error for everything that cannot be."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from tests.making.builds import PLAIN, as_toml, with_keys
from wheelcalc import InputError
from wheelcalc.files.buildfile import build_of, read_build
from wheelcalc.files.keys import keys, lists
from wheelcalc.files.needs import demand
from wheelcalc.files.writing import write_key


def known(*overrides: str, **changed: object):
    return build_of(with_keys(**changed), "test.toml", overrides).build


def refusal(*overrides: str, **changed: object) -> str:
    with pytest.raises(InputError) as error:
        known(*overrides, **changed)
    text = str(error.value)
    assert "\n" not in text
    return text


def test_units_uncertainty_and_repeats() -> None:
    found = known(
        rim__erd="23 1/2 in +- 0.02 in",
        hub__right__pcd=[47.1, 47.6, 47.3],
        hub__left__pcd=41.9,
        rim__hole_offset="2.5 mm left",
        rim__tension_limit="120 kgf",
    )
    assert found.number("rim.erd") == pytest.approx(596.9)  # 23.5 x 25.4
    assert found.sigma("rim.erd") == pytest.approx(0.508)
    # D: mean 47.3333, squares 0.126667, a rule's 0.5 for three more: sqrt((3 x 0.25 + 0.126667) / 5 / 3)
    assert found.number("hub.right.pcd") == pytest.approx(47.33333, abs=1e-5)
    assert found.sigma("hub.right.pcd") == pytest.approx(0.241753, abs=1e-6)
    assert found["hub.right.pcd"].repeats == (47.1, 47.6, 47.3)
    assert found.number("rim.hole_offset") == -2.5
    assert found.number("rim.tension_limit") == pytest.approx(1176.798)  # 120 x 9.80665


@pytest.mark.parametrize(("tool", "sigma"), [("tape", 1.0), ("rule", 0.5), ("calliper", 0.1)])
def test_a_bare_reading_has_the_tool_s_uncertainty(tool: str, sigma: float) -> None:
    found = known(measuring__tool=tool, hub__left__offset=36.1, rim__hole_offset=0, frame__dropout_spacing=130)
    for key in ("rim.erd", "hub.left.pcd", "hub.left.locknut_to_flange", "hub.left.offset", "hub.over_locknut"):
        assert found.sigma(key) == sigma
    assert found.sigma("rim.hole_offset") == sigma
    assert found.sigma("frame.dropout_spacing") == sigma
    assert found.sigma("hub.left.hole_diameter") == 0
    assert found.sigma("rim.hole_stagger") == 0


def test_a_default_is_exact_and_known_as_one() -> None:
    found = known()
    assert found.sigma("rim.hole_offset") == 0
    assert not found.given("rim.hole_offset")
    assert found.given("rim.erd")


def test_repeats_that_agree_still_have_the_tool_s_error() -> None:
    # D: sqrt(3 x 0.25 / 6 / 4)
    assert known(rim__erd=[593.7, 593.7, 593.7, 593.7]).sigma("rim.erd") == pytest.approx(0.176777, abs=1e-6)


def test_two_equal_readings_and_two_nearly_equal_ones_weigh_alike() -> None:
    equal, nearly = ([593.7, 593.7 + apart] for apart in (0.0, 0.05))
    assert known(rim__erd=nearly).sigma("rim.erd") == pytest.approx(known(rim__erd=equal).sigma("rim.erd"), rel=0.001)


def test_both_sides_at_once_and_apart() -> None:
    found = known(lacing__crosses=3, spokes__wire={"left": "2.0/1.5/2.0", "right": "2.3/2.0"}, spokes__thread_length=9)
    assert (found.value("lacing.crosses.left"), found.value("lacing.crosses.right")) == (3, 3)
    assert found.value("spokes.wire.left") == (2.0, 1.5, 2.0)
    assert found.value("spokes.wire.right") == (2.3, 2.0, 2.0)


def test_overrides_go_through_the_same_reader() -> None:
    found = known(
        'rim.erd="602 mm"',
        "lacing.crosses.left=1",
        "hub.right.pcd=[45.1, 45.3]",
        "spacers.fitted={ left = 2 }",
        "rim.erd=603 mm +- 0.2 mm",
    )
    assert found.number("rim.erd") == 603
    assert found.sigma("rim.erd") == pytest.approx(0.2)
    assert found.value("lacing.crosses.left") == 1
    assert found.value("lacing.crosses.right") == 3
    assert found.number("hub.right.pcd") == pytest.approx(45.2)
    assert (found.number("spacers.fitted.left"), found.number("spacers.fitted.right")) == (2, 0)


def test_the_window_depends_on_the_nipple() -> None:
    assert known().number("stock.short_at_most") == 2
    assert known(nipple__material="aluminium").number("stock.short_at_most") == 0.5
    assert known(nipple__material="aluminium", stock__short_at_most=1).number("stock.short_at_most") == 1


def test_jar_entries_become_parts_of_their_own() -> None:
    jar = {"spokes": [{"wire": "2.0", "on_hand": {"288": 20}}], "rims": [{"name": "black rim", "holes": 32}]}
    build = build_of({**PLAIN, "jar": jar}, "test.toml")
    assert build.jar["jar.spokes"][0].value("spokes.on_hand") == {288.0: 20}
    assert build.jar["jar.rims"][0].value("rim.name") == "black rim"


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"rim__erd_to": None}, ["rim.erd", "spoke end", "nipple seat", "nipple's slot"]),
        ({"rim__erd_to": "nipple seat"}, ["nipple.seat_to_end", "bottom of the slot"]),
        ({"rim__erd": "6 m"}, ["rim.erd", "6000 mm", "were mm meant?"]),
        ({"rim__erd": 0}, ["rim.erd", "found 0 mm"]),
        ({"rim__erd": -593}, ["rim.erd", "found -593 mm"]),
        ({"rim__erd": 24.5}, ["rim.erd", "found 24.5 mm", "were mm meant?"]),
        ({"rim__erd": float("nan")}, ["rim.erd", "nan"]),
        ({"rim__erd": float("inf")}, ["rim.erd", "inf"]),
        ({"rim__erd": True}, ["rim.erd", "true"]),
        ({"rim__erd": "602,4 mm"}, ["rim.erd", "602.4 mm"]),
        ({"rim__erd": "1 000 mm"}, ["rim.erd", "1000 mm"]),
        ({"rim__tension_limit": "120 kg"}, ["rim.tension_limit", "kgf"]),
        ({"rim__holes": 31.5}, ["rim.holes", "31.5"]),
        ({"rim__holes": "many"}, ["rim.holes", "many"]),
        ({"rim__eyelets": "yes"}, ["rim.eyelets", "true or false"]),
        ({"rim__ed": 593}, ["rim.ed", "the nearest known is rim.erd"]),
        ({"rmi__holes": 32}, ["rmi", "is not a known section", "rim"]),
        ({"hub__left__pcdd": 44}, ["hub.left.pcdd", "hub.left.pcd"]),
        ({"hub__left": 4}, ["hub.left", "is a section"]),
        ({"lacing__crosses": {"left": 3}}, ["lacing.crosses", "one side only"]),
        ({"lacing__crosses": {"left": 3, "up": 3}}, ["lacing.crosses", "'up'", "left and right"]),
        ({"lacing__pattern": "spiral"}, ["lacing.pattern", "spiral", "crossed", "radial"]),
        ({"spokes__wire": "2.0/1.8/2.0/1.8"}, ["spokes.wire", "one, two or three"]),
        ({"spokes__wire": "20"}, ["spokes.wire", "between 1.2 and 4 mm"]),
        ({"stock__on_hand": {"288": -1}}, ["stock.on_hand", "-1"]),
        ({"stock__on_hand": {}}, ["stock.on_hand", "288"]),
        ({"load__rider": 85}, ["load.rider", "85", "kg"]),
        ({"title": "two\nlines"}, ["title", "line break"]),
        ({"jar": 3}, ["jar", "section"]),
        ({"jar": {"rims": [{"ed": 3}]}}, ["jar.rims.ed", "erd"]),
    ],
)
def test_refused_with_the_key_and_what_would_do(changed: dict[str, object], words: list[str]) -> None:
    text = refusal(**changed)
    assert text.startswith("test.toml: ")
    for word in words:
        assert word in text


def test_an_override_may_be_a_small_section_as_in_the_file() -> None:
    given = known("geometry.wheel_diameter={ front = 671, rear = 668.5 }", "frame={ material = 'steel' }")
    assert given.number("geometry.wheel_diameter.front") == 671
    assert given.number("geometry.wheel_diameter.rear") == 668.5
    assert given.value("frame.material") == "steel"
    assert "geometry.wheel_diameter.middle" in refusal("geometry.wheel_diameter={ middle = 671 }")
    assert refusal("jar={ rims = [] }").startswith("overrides: jar: is a section")


@pytest.mark.parametrize(
    "override", ["rim.erd", "=3", "rim.ed=3", "rim=3", "jar.rims=[]", "rim.erd=1,5 mm", "rim.holes=x\ny"]
)
def test_refused_overrides_name_the_option(override: str) -> None:
    assert refusal(override).startswith("overrides: ")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"   \n", "is empty"),
        (b"[rim\nholes = 3", "line 1"),
        (b"a = 1\na = 2\nb = 3\n", "line 2"),
        (b"\xff\xfe\x00", "UTF-8"),
        (b"a = '\x00'", "not a text file"),
        (b"a" * 1_000_001, "1 MB"),
        (b"a = " + b"[" * 5000, "nested too deeply"),
        (b"a = " + b"9" * 5000, "too long"),
    ],
)
def test_unusable_files(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "broken.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=words) as error:
        read_build(path)
    assert str(error.value).startswith(f"{path}: ")
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("changed", [{"rim__erd": 0}, {"rim__erd": -593}, {"tension__target": "-100 N"}])
def test_no_other_unit_is_suspected_behind_what_no_unit_makes_right(changed: dict[str, object]) -> None:
    assert "meant?" not in refusal(**changed)


def test_what_is_missing_on_both_sides_is_named_once() -> None:
    with pytest.raises(InputError) as caught:
        demand("lengths", known(lacing__crosses=None))
    assert str(caught.value).count("lacing.crosses") == 1


def test_missing_file_folder_and_odd_names(tmp_path: Path) -> None:
    for path, words in (
        (tmp_path / "none.toml", "no such file"),
        (tmp_path, "is a folder"),
        ("a\0b", "cannot be read"),
        ("a" * 5000, "cannot be read"),
    ):
        with pytest.raises(InputError, match=words):
            read_build(path)


def test_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(as_toml(PLAIN).encode())))
    assert read_build("-").title == "Test wheel"
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"a = 3")))
    with pytest.raises(InputError, match="standard input: a: is not a known key"):
        read_build("-")


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "bom.toml"
    path.write_bytes(b"\xef\xbb\xbf" + as_toml(PLAIN).encode())
    assert read_build(path).title == "Test wheel"


def test_every_default_would_pass_its_own_reader() -> None:
    for path, key in keys().items():
        if isinstance(key.default, int | float) and not isinstance(key.default, bool) and key.low is not None:
            assert key.low <= key.default <= key.high, path
        if key.choices and key.default is not None:
            assert key.default in key.choices, path


def test_every_key_says_how_to_come_by_it() -> None:
    every = {**keys(), **{f"{name}.{key}": value for name, each in lists().items() for key, value in each.items()}}
    assert len(every) > 250
    assert all(len(key.how) > 5 for key in every.values())


def test_a_written_key_reads_back() -> None:
    line = write_key("spacers.fitted", {"left": 2.0, "right": -0.5})
    assert line == "spacers.fitted = { left = 2, right = -0.5 }"
    assert known(line.replace("fitted = ", "fitted=")).number("spacers.fitted.right") == -0.5
