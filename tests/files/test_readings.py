"""Readings files: what is read, and that every slip is named by file, line and column."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.making.last_pass import readings_of
from wheelcalc.files.readings import RimReadings, numbered, passes_of, read_passes, read_readings, wheel_line
from wheelcalc.wheel.errors import InputError

HEAD = "rim_hole,lateral_mm,radial_mm,tension_N\n"


def test_each_cell_goes_to_its_hole_and_empty_ones_to_none() -> None:
    found = readings_of(HEAD + "5,-0.35,12.2,\n\n# a remark\n2,,,0\n9,0.4,,1103.5\n", "r.csv", 32)
    assert found.of("lateral_mm") == {5: -0.35, 9: 0.4}
    assert found.of("radial_mm") == {5: 12.2}
    assert found.of("tension_N") == {2: 0.0, 9: 1103.5}
    assert found.of("pitch_hz") == {}
    assert found.holes_read == [2, 5, 9]
    assert found.lines == {5: 2, 2: 5, 9: 6}


def test_columns_in_any_order_and_a_semicolon_with_decimal_commas() -> None:
    found = readings_of("\ufeffPITCH_HZ;Rim_Hole\n381,5;7\n;8\n".lstrip("\ufeff"), "r.csv", 36)
    assert found.of("pitch_hz") == {7: 381.5}
    assert found.holes_read == [7]


def test_a_trailing_comma_and_short_rows_are_empty_cells() -> None:
    found = readings_of(HEAD + "4,0.1,,,,\n6,0.2\n", "r.csv", 20)
    assert found.of("lateral_mm") == {4: 0.1, 6: 0.2}


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ("hole,lateral_mm\n1,0\n", "line 1", 'the column "hole"; write rim_hole'),
        ("rim_hole,lateral\n", "line 1", "write lateral_mm"),
        ("rim_hole,tension_kgf\n", "line 1", "write tension_N"),
        ("rim_hole,weight\n", "line 1", "the header is rim_hole,lateral_mm,radial_mm,tension_N"),
        ("lateral_mm,radial_mm\n", "line 1", "no column rim_hole"),
        ("rim_hole\n1\n", "line 1", "nothing that was read"),
        ("rim_hole,radial_mm,radial_mm\n", "line 1", "radial_mm twice"),
        ("rim_hole,tension_N,pitch_hz\n4,900,350\n", "line 2", "both tension_N and pitch_hz"),
        (HEAD + "1,0.2,,\n33,0.1,,\n", "line 3, rim_hole", "found 33; this rim has holes 1 to 32"),
        (HEAD + "0,0.2,,\n", "line 2, rim_hole", "found 0"),
        (HEAD + "1.5,0.2,,\n", "line 2, rim_hole", '"1.5"'),
        (HEAD + "-4,0.2,,\n", "line 2, rim_hole", '"-4"'),
        (HEAD + ",0.2,,\n", "line 2, rim_hole", '""'),
        ("pass,rim_hole,lateral_mm\nb,4,0.2\n", "line 2, pass", '"b"; write the number of the pass'),
        ("4,0.2,1,900,7\n", "line 1", "has 5 cells and no header"),
        (HEAD[:-1] + ",turned\n4,0.2,,,11\n", "line 2, turned", "found 11 turns"),
        (HEAD + "4,0.2,,120 kgf\n", "line 2, tension_N", '"120 kgf"; write the number alone, in N'),
        (HEAD + "4,0.2mm,,\n", "line 2, lateral_mm", '"0.2mm"; write the number alone, in mm'),
        (HEAD + "4,nan,,\n", "line 2, lateral_mm", '"nan"'),
        (HEAD + "4,,inf,\n", "line 2, radial_mm", '"inf"'),
        (HEAD + "4,1_0,,\n", "line 2, lateral_mm", '"1_0"'),
        (HEAD + "4,,,-20\n", "line 2, tension_N", "found -20 N; readings from 0 to 4000 N"),
        (HEAD + "4,99,,\n", "line 2, lateral_mm", "found 99 mm"),
        ("rim_hole,pitch_hz\n4,7\n", "line 2, pitch_hz", "found 7 Hz"),
        (HEAD + "4,0,35,1,02,900\n", "line 2", "has 6 cells, the header 4"),
    ],
)
def test_a_slip_is_named_by_line_and_column(text: str, key: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        readings_of(text, "r.csv", 32)
    assert caught.value.key == key
    assert words in caught.value.text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"  \n\n", "is empty"),
        (b"RIFF\x24\x00\x00\x00WAVE", "wheelcalc pluck"),
        (b"rim_hole\xff\xfe", "not a text file"),
        (b"rim_hole,lateral_mm\n1,\x00", "not a text file"),
        (b"r" * 1_000_001, "larger than 1 MB"),
    ],
)
def test_a_file_that_holds_no_readings(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "readings.csv"
    path.write_bytes(data)
    with pytest.raises(InputError, match=words) as caught:
        read_readings(path, 32)
    assert caught.value.file == str(path)


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_readings(tmp_path / "none.csv", 32)
    with pytest.raises(InputError, match="a folder"):
        read_readings(tmp_path, 32)


@given(st.text(alphabet='rim_hole,lateral_mm;\t\n"0123456789.-# ', max_size=80))
def test_any_text_is_read_or_refused_in_one_way(text: str) -> None:
    try:
        found = readings_of(text, "r.csv", 24)
    except InputError:
        return
    assert isinstance(found, RimReadings)
    assert all(1 <= hole <= 24 for hole in found.lines)


def test_a_later_cell_of_a_hole_replaces_an_earlier_one_and_an_empty_one_does_not() -> None:
    found = readings_of(HEAD + "4,0.2,1.1,\n7,0,,\n4,0.3,,900\n", "r.csv", 20)
    assert found.of("lateral_mm") == {4: 0.3, 7: 0.0}
    assert (found.of("radial_mm"), found.of("tension_N")) == ({4: 1.1}, {4: 900.0})
    assert found.lines == {4: 4, 7: 3}


ROWS = {4: 0.25, 11: -0.4}


@pytest.mark.parametrize(
    "text",
    [
        "4,0.25,1.1,905\n11,-0.4,,880\n",
        "4, 0.25, 1.1, 905\n11, -0.4, , 880\n",
        "4 0.25 1.1 905\n11 -0.4 - 880\n",
        "4 0,25 1,1 905\n11  -0,4 x 880\n",
        "4;0,25;1,1;905\n11;-0,4;;880\n",
        "4\t0,25\t1,1\t905\n11\t-0,4\t\t880\n",
        "# a remark, with commas\nrim_hole lateral_mm radial_mm tension_N\n4 0.25 1.1 905\n11 -0.4 - 880\n",
    ],
)
def test_files_without_a_header_and_with_other_separators(text: str) -> None:
    """The same two rows, as a spreadsheet, a text editor and a country with decimal commas write them."""
    found = readings_of(text, "r.csv", 20)
    assert found.of("lateral_mm") == ROWS
    assert found.of("radial_mm") == {4: 1.1}
    assert found.of("tension_N") == {4: 905.0, 11: 880.0}


def test_a_file_of_several_passes_and_what_was_turned() -> None:
    head = "pass,rim_hole,lateral_mm,turned,sigma,tension_N,assigned\n"
    first, second = passes_of(head + "2,4,0.1,,,,\n1,4,0.9,-0.25,,,\n1,5,0.8,0.5,30,700,0.9\n", "r.csv", 20)
    assert first.of("lateral_mm") == {4: 0.9, 5: 0.8}
    assert first.of("turned") == {4: -0.25, 5: 0.5}
    assert (first.of("tension_sigma_N"), first.of("assigned")) == ({5: 30.0}, {5: 0.9})
    assert second.of("lateral_mm") == {4: 0.1}
    assert second.of("turned") == {}
    assert second.holes_read == [4]


def test_some_spokes_by_meter_and_some_by_ear_the_later_of_both_counts() -> None:
    """One log holds both columns; a spoke has one of the two."""
    (found,) = passes_of("rim_hole,tension_N,pitch_hz\n4,900,\n5,,350\n4,,362\n5,870,\n6,,341\n", "r.csv", 20)
    assert found.of("tension_N") == {5: 870}
    assert found.of("pitch_hz") == {4: 362, 6: 341}


def test_a_file_goes_on_under_another_header() -> None:
    first, second = passes_of(
        "rim_hole,radial_mm\n4,0.1\npass,rim_hole,lateral_mm,turned\n1,4,0.3,\n1,4,,-0.25\n2,5,0.7\n", "r.csv", 20
    )
    assert (first.of("radial_mm"), first.of("lateral_mm"), first.of("turned")) == ({4: 0.1}, {4: 0.3}, {4: -0.25})
    assert second.of("lateral_mm") == {5: 0.7}


def test_passes_keep_their_numbers() -> None:
    assert sorted(numbered("pass,rim_hole,lateral_mm\n3,4,0.1\n7,4,0.2\n", "r.csv", 20)) == [3, 7]
    assert numbered("pass,rim_hole,lateral_mm\n", "r.csv", 20) == {}


def test_the_line_that_names_the_wheel(tmp_path: Path) -> None:
    line = wheel_line("Rear, of the errand bike", 20, "ab12")
    assert line == "# wheel: Rear, of the errand bike, 20 holes, ab12"
    path = tmp_path / "r.csv"
    path.write_text(f"{line}\n{HEAD}4,0.1,,\n", encoding="utf-8")
    assert read_passes(path, 20, "ab12")[0].of("lateral_mm") == {4: 0.1}
    assert read_passes(path, 20)[0].of("lateral_mm") == {4: 0.1}
    with pytest.raises(
        InputError, match=r'"Rear, of the errand bike", 20 holes, ab12; this build has 20 holes, cd34'
    ) as caught:
        read_passes(path, 20, "cd34")
    assert (caught.value.file, caught.value.key) == (str(path), "line 1")


PASTED = {
    "tabs": "rim_hole\tlateral_mm\tradial_mm\ttension_N\n1\t0.25\t-0.1\t905\n2\t-0.3\t\t610.5\n",
    "tabs and decimal commas": "rim_hole\tlateral_mm\tradial_mm\ttension_N\r\n1\t0,25\t-0,1\t905\r\n2\t-0,3\t\t610,5\r\n",
    "quotes": '"rim_hole","lateral_mm","radial_mm","tension_N"\n"1","0.25","-0.1","905"\n"2","-0.3","","610.5"\n',
    "quoted decimal commas": 'rim_hole,lateral_mm,radial_mm,tension_N\n1,"0,25","-0,1",905\n2,"-0,3",,"610,5"\n',
    "semicolons and decimal commas": "rim_hole;lateral_mm;radial_mm;tension_N\n1;0,25;-0,1;905\n2;-0,3;;610,5\n",
    "a blank column in front": "\trim_hole\tlateral_mm\tradial_mm\ttension_N\n\t1\t0.25\t-0.1\t905\n\t2\t-0.3\t\t610.5\n",
    "blank columns between and behind": "rim_hole,,lateral_mm,radial_mm,,tension_N,,\n1,,0.25,-0.1,,905,,\n2,,-0.3,,,610.5,,\n",
    "words as a person writes them": "Rim hole\tLateral mm\tRadial mm\tTension N\n1\t0.25\t-0.1\t905\n2\t-0.3\t\t610.5\n",
    "empty lines": "\n\nrim_hole,lateral_mm,radial_mm,tension_N\n\n1,0.25,-0.1,905\n,,,\n2,-0.3,,610.5\n\n",
    "no header": "1\t0,25\t-0,1\t905\n2\t-0,3\t\t610,5\n",
}


@pytest.mark.parametrize("text", PASTED.values(), ids=PASTED)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_what_is_pasted_out_of_a_spreadsheet_is_read(text, encoding, tmp_path):
    path = tmp_path / "pasted.csv"
    path.write_bytes(text.encode(encoding))
    read = read_readings(path, 36)
    assert read.of("lateral_mm") == {1: 0.25, 2: -0.3}
    assert read.of("radial_mm") == {1: -0.1}
    assert read.of("tension_N") == {1: 905.0, 2: 610.5}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("rim_hole,,lateral_mm\n1,7,0.3\n", 'line 2: has "7" in a column without a name'),
        ("rim_hole\ttension_N\n1\t1,043\n", 'line 2, tension_N: found "1,043", which can be 1043 or 1.043'),
        ("rim_hole\tlateral_mm\n1\t1,043,5\n", 'line 2, lateral_mm: found "1,043,5"; write the number alone'),
    ],
)
def test_what_of_it_can_be_two_things_is_refused(text, said, tmp_path):
    path = tmp_path / "pasted.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=re.escape(said)):
        read_readings(path, 36)
