"""`lengths` of several build files in one start: a line for each file and side; where one is bad, each such is named and none listed."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from wheelcalc import answers
from wheelcalc.cli.main import run

EXAMPLES = Path(__file__).parents[2] / "examples"
GOOD = [str(EXAMPLES / name) for name in ("errand-rear.toml", "trailer-two-to-one.toml")]


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_each_file_and_side_has_its_line(capsys: pytest.CaptureFixture[str]) -> None:
    status = run(["lengths", *GOOD, "--csv", "--set", "spokes.end_give=0.17"])
    found = rows(capsys.readouterr().out)
    assert [(row["file"], row["side"]) for row in found] == [
        (path, side) for path in GOOD for side in ("left", "right")
    ]
    for row in found:
        alone = answers.lengths(row["file"], {"spokes.end_give": 0.17}).sides[row["side"]]
        assert float(row["cut_length_mm"]) == pytest.approx(alone.cut, abs=1e-5)
        assert int(row["count"]) == alone.count
    assert status == max(int(answers.lengths(path).stops) for path in GOOD)


def test_bad_files_are_named_each_and_no_part_of_the_list_is_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken, wrong = tmp_path / "broken.toml", tmp_path / "wrong.toml"
    broken.write_text("[rim\n")
    wrong.write_text('[rim]\nerd = "3 kg"\nerd_to = "spoke end"\n')
    assert run(["lengths", GOOD[0], str(broken), str(wrong), GOOD[1], "--csv"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    lines = said.err.splitlines()
    assert [line.split(":")[0] for line in lines] == ["Error", "Error"]
    assert "broken.toml" in lines[0]
    assert "wrong.toml: rim.erd" in lines[1]
    out = tmp_path / "all.csv"
    assert run(["lengths", GOOD[0], str(broken), "-o", str(out)]) == 2
    assert not out.exists()


def test_the_list_can_be_a_file_and_a_stop_counts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "all.csv"
    assert run(["lengths", *GOOD, "-o", str(out), "--set", "rim.erd=300"]) == 1
    assert all(row["stops"] for row in rows(out.read_text()))
    assert "Written" in capsys.readouterr().err


@pytest.mark.parametrize("extra", [[], ["--json"], ["--csv", "--working"], ["-o", "x.txt"]])
def test_several_files_are_csv_or_nothing(extra: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["lengths", *GOOD, *extra]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("Error: --csv: several files are listed as CSV")
