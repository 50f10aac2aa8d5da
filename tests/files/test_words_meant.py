"""Words and commas that people write: understood, or answered with what would do."""

from __future__ import annotations

from pathlib import Path

import pytest

from wheelcalc.files.buildfile import read_build
from wheelcalc.files.keys import keys
from wheelcalc.files.typed import value_of
from wheelcalc.wheel.errors import InputError


def read(folder: Path, text: str) -> object:
    path = folder / "wheel.toml"
    path.write_text(text, encoding="utf-8")
    return read_build(path).build


@pytest.mark.parametrize(
    ("line", "cure"),
    [
        ("erd = 602,4", 'line 3 is "erd = 602,4"; write the decimals behind a point: erd = 602.4'),
        ("erd = 23 in", 'line 3 is "erd = 23 in"; write text and numbers with a unit in quotes: erd = "23 in"'),
        ("erd_to = spoke end", 'erd_to = "spoke end"'),
        ("erd 602.4", 'line 3 is "erd 602.4"'),
    ],
)
def test_a_line_that_is_not_toml_is_shown_with_its_cure(tmp_path: Path, line: str, cure: str) -> None:
    with pytest.raises(InputError) as caught:
        read(tmp_path, f"[rim]\nholes = 36\n{line}\n")
    assert "is not TOML" in str(caught.value)
    assert cure in str(caught.value)


def test_case_is_no_matter_in_the_file(tmp_path: Path) -> None:
    build = read(tmp_path, '[hub]\ndrive = "Cassette"\naxle = "Quick Release"\n')
    assert (build.hub.drive, build.hub.axle) == ("cassette", "quick release")


@pytest.mark.parametrize(
    ("line", "word"),
    [('axle = "qr"', '"quick release"'), ('axle = "thru"', '"through"'), ('drive = "freehub"', '"cassette"')],
)
def test_a_wrong_word_is_answered_with_the_one_that_would_do(tmp_path: Path, line: str, word: str) -> None:
    with pytest.raises(InputError, match=f"; write {word}$"):
        read(tmp_path, f"[hub]\n{line}\n")


def test_the_word_of_the_trade_is_understood_in_the_dialogue() -> None:
    assert value_of("hub.axle", keys()["hub.axle"], "QR") == "quick release"
    assert value_of("hub.drive", keys()["hub.drive"], "Cassette") == "cassette"
