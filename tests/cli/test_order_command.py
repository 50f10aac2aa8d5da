"""`wheelcalc order`: what it prints where spokes come from a jar, and where there are none."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.making.builds import as_toml, with_keys
from wheelcalc.cli.main import run


def printed(tmp_path: Path, capsys: pytest.CaptureFixture[str], status: int, **keys: Any) -> str:
    path = tmp_path / "wheel.toml"
    path.write_text(as_toml(with_keys(**keys)))
    assert run(["order", str(path)]) == status
    return " ".join(capsys.readouterr().out.split())


def test_spokes_of_a_jar_are_not_to_be_bought(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(tmp_path, capsys, 0, stock__on_hand={"283": 20, "287": 20})
    assert "To take from those on hand: 16 + 2 spare of 283 mm (left), 16 + 2 spare of 287 mm (right)" in text
    assert text.startswith("Take these from those on hand: 18 x 283 mm (left), 18 x 287 mm (right); 36 nipples to buy")
    assert "To buy, where none are at hand: 36 nipples" in text


def test_where_nothing_serves_there_is_no_empty_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(tmp_path, capsys, 1, stock__lengths=[250])
    assert "Nothing to order: see above." in text
    assert text.startswith("Do not order yet. ")
    assert "No spoke that can be had fits any left rim hole, any right rim hole." in text
    assert "side length mm" not in text.split("Lengths before rounding")[0]


def test_rim_holes_without_a_spoke_are_named_by_side(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # D: the left, even holes want 283, the right ones 287; 10 of those leave 6 of the 16 right holes
    text = printed(tmp_path, capsys, 1, stock__on_hand={"283": 17, "287": 10})
    assert "none is left that fits right rim holes " in text
    assert text.split("fits right rim holes ")[1].split(".")[0].count(",") == 5


def test_widths_in_inches_are_not_said_to_a_tenth_of_a_micrometre(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # D: 5 3/16 in = 131.7625 mm against 126
    text = printed(tmp_path, capsys, 1, hub__over_locknut="5 3/16 in", frame={"dropout_spacing": 126})
    assert "The frame is 126.0 mm wide between the ends, the hub 131.8 mm: 5.8 mm too wide" in text


# P (S6): gauge 14 is 2.0 mm, 15 is 1.8.
@pytest.mark.parametrize(("gauge", "diameter"), [("14g", "2.0"), ("14 gauge", "2.0"), ("15G", "1.8")])
def test_a_gauge_is_no_mass(tmp_path: Path, capsys: pytest.CaptureFixture[str], gauge: str, diameter: str) -> None:
    path = tmp_path / "wheel.toml"
    path.write_text(as_toml(with_keys(spokes__wire=gauge)))
    assert run(["order", str(path)]) == 2
    error = capsys.readouterr().err
    assert f'found "{gauge}", which is a gauge; in mm that is "{diameter}"' in error


def test_no_spokes_are_to_be_bought_for_a_rim_that_nothing_holds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # D: 131.3/2 - 70 = -4.35: the left flange lies right of the rim, so both flanges pull to the right
    text = printed(tmp_path, capsys, 1, hub__left__locknut_to_flange=70)
    assert "STOP The left flange does not pull the rim to the left" in text
