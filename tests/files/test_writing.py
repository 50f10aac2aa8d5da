"""Keys put into a build file: in their place, and nothing else moves."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wheelcalc.files.buildfile import read_build
from wheelcalc.files.keys import keys
from wheelcalc.files.whole import write_whole
from wheelcalc.files.writing import Literal, commented, insert
from wheelcalc.wheel.errors import InputError

OWN = """\
# my wheel, do not lose this line
title = "Errand # bike"   # a comment with [rim] in it

# the rim from the shed
[rim]
holes = 36      # counted twice
# erd is still to be read

[hub.left]
holes = 18
notes_end = 1
[[jar.spokes]]
wire = "2.0"
"""


def kept(before: str, after: str) -> bool:
    """Whether every line of one text stands in the other, in the same order."""
    lines = iter(after.splitlines())
    return all(any(line == other for other in lines) for line in before.splitlines())


def test_a_key_goes_to_the_end_of_its_section_and_every_line_stays() -> None:
    text = insert(OWN, "rim.erd", Literal("602.40"), "across the ends")
    assert kept(OWN, text)
    lines = text.splitlines()
    assert lines[lines.index("holes = 36      # counted twice") + 1].startswith("erd = 602.40 ")
    assert lines[lines.index("holes = 36      # counted twice") + 1].endswith("# across the ends")


@pytest.mark.parametrize(
    ("key", "line_before"),
    [
        ("hub.left.pcd", "notes_end = 1"),
        ("position", 'title = "Errand # bike"   # a comment with [rim] in it'),
    ],
)
def test_the_place_of_a_key(key: str, line_before: str) -> None:
    lines = insert(OWN, key, 44.7).splitlines()
    assert lines[lines.index(line_before) + 1] == f"{key.rsplit('.', 1)[-1]} = 44.7"


def test_a_new_section_stands_behind_its_family() -> None:
    text = insert(OWN, "rim.section.mass", "520 g")
    assert kept(OWN, text)
    assert text.index("\n[rim]\n") < text.index("[rim.section]\nmass") < text.index("[hub.left]")
    assert "# erd is still to be read" in text


def test_a_key_of_the_top_where_there_is_none_yet() -> None:
    text = insert("# head\n\n# the rim\n[rim]\nholes = 36\n", "title", "Rear")
    assert text == '# head\n\ntitle = "Rear"\n\n# the rim\n[rim]\nholes = 36\n'


def test_into_an_inline_table() -> None:
    text = insert("[hub]\nleft = { holes = 18 } # one line\nright = {}\n", "hub.left.pcd", 44.7)
    assert text == "[hub]\nleft = { holes = 18, pcd = 44.7 } # one line\nright = {}\n"
    assert insert(text, "hub.right.holes", 18).splitlines()[2] == "right = { holes = 18 }"


def test_a_header_inside_a_text_or_a_list_is_none() -> None:
    text = 'title = """\n[rim]\nno header\n"""\n[lacing]\nspokes = [\n[1]\n]\n'
    for key, section in (("rim.holes", "rim"), ("lacing.crosses", "lacing")):
        tree = tomllib.loads(insert(text, key, 3))
        assert tree["title"] == "[rim]\nno header\n"
        assert tree[section][key.split(".")[1]] == 3


def test_a_key_that_stands_there_is_refused() -> None:
    with pytest.raises(InputError, match="stands in the file already"):
        insert(OWN, "rim.holes", 32)
    with pytest.raises(InputError, match="stands in the file already"):
        insert("rim = 3\n", "rim.holes", 32)


def test_windows_line_ends_stay() -> None:
    text = insert("[rim]\r\nholes = 36\r\n", "rim.erd", 602.4)
    assert text == "[rim]\r\nholes = 36\r\nerd = 602.4\r\n"


def test_a_last_line_without_an_end() -> None:
    assert insert("[rim]\nholes = 36", "rim.erd", 602.4) == "[rim]\nholes = 36\nerd = 602.4\n"


@pytest.mark.parametrize(
    ("value", "written"),
    [
        ([Literal("602.10"), "5 in"], '[602.10, "5 in"]'),
        ({"left": Literal("2"), "right": 3}, "{ left = 2, right = 3 }"),
        ({"288": 20, "290.5": 3}, '{ "288" = 20, "290.5" = 3 }'),
        (True, "true"),
        ('say "hi" \\ \u00fc', '"say \\"hi\\" \\\\ \u00fc"'),
    ],
)
def test_how_values_are_written(value: object, written: str) -> None:
    text = insert("", "stock.on_hand", value)
    assert text.splitlines()[-1] == f"on_hand = {written}"


def test_a_long_comment_stands_above() -> None:
    lines = commented("erd = 602.4", "word " * 40)
    assert len(lines) > 2
    assert lines[-1] == "erd = 602.4"
    assert all(line.startswith("# ") and len(line) <= 110 for line in lines[:-1])


@given(
    st.permutations(["title", "rim.holes", "rim.section.mass", "hub.left.pcd", "hub.over_locknut", "readings.rim.wall"])
)
def test_any_order_gives_the_same_tree(order: list[str]) -> None:
    text = ""
    for key in order:
        text = insert(text, key, key, f"about {key}")
    tree = tomllib.loads(text)
    assert tree["title"] == "title"
    assert tree["rim"] == {"holes": "rim.holes", "section": {"mass": "rim.section.mass"}}
    assert tree["hub"] == {"left": {"pcd": "hub.left.pcd"}, "over_locknut": "hub.over_locknut"}


def test_every_known_key_finds_a_place() -> None:
    text, count = "", 0
    for key in keys():
        text = insert(text, key, 1)
        count += 1
    assert count > 200
    assert text.count(" = 1\n") == count


def test_whole_or_not_at_all(tmp_path: Path) -> None:
    path, link = tmp_path / "wheel.toml", tmp_path / "link.toml"
    path.write_text("old")
    path.chmod(0o640)
    link.symlink_to(path)
    write_whole(link, "title = 'x'\r\n")
    assert path.read_bytes() == b"title = 'x'\r\n"
    assert link.is_symlink()
    assert path.stat().st_mode & 0o777 == 0o640
    with pytest.raises(OSError, match="no plain file"):
        write_whole(tmp_path, "x")
    assert sorted(os.listdir(tmp_path)) == ["link.toml", "wheel.toml"]
    assert read_build(path).title == "x"
