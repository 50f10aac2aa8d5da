"""The command tension: what it prints, writes, refuses."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.making.builds import as_toml, with_keys
from wheelcalc.cli.tension import command
from wheelcalc.page.numbers import sure
from wheelcalc.wheel.errors import InputError

FACTS = {"material": "aluminium", "mass": 497, "width": 23.6, "depth": 18.7}
LOAD = {"rider": "83 kg", "bike": "14.6 kg"}
FULL = {"rim__section": FACTS, "load": LOAD, "hub__drive": "cassette", "hub__rotor": True}


def run(tmp_path: Path, *arguments: str, **keys: Any) -> Result:
    path = tmp_path / "wheel.toml"
    path.write_text(as_toml(with_keys(**keys)))
    return CliRunner().invoke(command, [str(path), *arguments], standalone_mode=False)


@pytest.mark.parametrize(
    "keys",
    [
        {},
        FULL,
        FULL | {"rim__tension_limit": 690},
        FULL | {"tension__target": "4600 N"},
        {"rim__tension_limit": None, "rim__section": {**FACTS, "material": "carbon"}},
        {"hub__right__locknut_to_flange": 67.0},
        FULL | {"lacing__crosses": 0},
        {"lacing__crosses": 0, "title": "A title so long that it fills the line " * 3},
        FULL | {"load": {"rider": "390 kg", "bike": "14.6 kg"}},
        FULL | {"load": {"rider": "83 kg", "bike": "14.6 kg", "impact": 7.20368}},
    ],
)
def test_it_fits_80_columns_of_latin_1(tmp_path: Path, keys: dict[str, Any]) -> None:
    text = run(tmp_path, "--structure", "--working", **keys).output
    assert max(len(line) for line in text.splitlines()) <= 80
    text.encode("latin-1")
    assert not {"nan", "None", "inf", "0 %)"} & set(text.split())


def test_targets_come_first_and_the_caution_once(tmp_path: Path) -> None:
    text = run(tmp_path, **FULL).output
    words = " ".join(text.split())
    assert text.splitlines()[0].startswith("Tighten the right to 1150 N and the left to ")
    assert text.index("1150") < text.index("The limit") < text.index("Riding, ")
    assert "structure" not in text
    assert words.count("Never tighten past the rim's limit") == 1
    assert "clockwise seen from the tyre" in words
    assert "6 to 22 % only" in words
    assert "held apart from the one it touches" in words


def test_a_stop_stands_before_all_else(tmp_path: Path) -> None:
    text = run(tmp_path, **FULL, tension__target="1325 N").output
    assert text.startswith("Do not tighten yet")
    assert text.index("STOP") < text.index("target N") < text.index("How to get there")
    assert "Working:" in run(tmp_path, "--working").output


def test_nothing_is_said_of_a_pair_where_nothing_crosses(tmp_path: Path) -> None:
    assert "held apart" not in " ".join(run(tmp_path, lacing__crosses=0).output.split())


def test_the_structure_in_the_digits_that_the_section_supports(tmp_path: Path) -> None:
    text = run(tmp_path, "--structure", **FULL).output
    row = next(line.split() for line in text.splitlines() if line.startswith("lateral stiffness"))
    value, within = float(row[-3]), float(row[-2])
    assert within == float(f"{within:.1g}")
    assert value % within == pytest.approx(0, abs=1e-9) or value % (within / int(f"{within:e}"[0])) == pytest.approx(0)
    exact = {"area": 138, "inertia_in_plane": 1450, "inertia_out_of_plane": 8700, "torsion_constant": 3400}
    exact |= {"youngs_modulus": 69_000, "shear_modulus": 26_000, "centroid_diameter": 600}
    assert "exact" in run(tmp_path, "--structure", rim__section=exact).output


@pytest.mark.parametrize(
    ("value", "within", "said"),
    [
        (128.72, 17.3, ("130", "20")),
        (4768.0, 612.0, ("4800", "600")),
        (0.2287, 0.018, ("0.23", "0.02")),
        (0.2287, 0.0951, ("0.23", "0.10")),
        (166.9912, 0.0, ("167", "exact")),
        # Round-off alone: a figure that hardly rests on the section, such as the wind-up of radial spokes.
        (9.8614928, 2e-7, ("9.861", "exact")),
        (0.2287, 3e-5, ("0.22870", "0.00003")),
        (None, None, ("-", "")),
    ],
)
def test_digits(value: float | None, within: float | None, said: tuple[str, str]) -> None:
    assert sure(value, within) == said


def test_json_holds_what_the_answer_does(tmp_path: Path) -> None:
    found = json.loads(run(tmp_path, "--json", **FULL).output)
    assert found["build"] == "Test wheel"
    assert found["sides"]["right"]["target_N"] == 1150.0
    assert found["structure"]["radial_stiffness_N_per_mm"] > 1000


def test_csv_has_every_spoke(tmp_path: Path) -> None:
    run(tmp_path, "-o", str(tmp_path / "spokes.csv"), **FULL)
    rows = list(csv.DictReader(io.StringIO((tmp_path / "spokes.csv").read_text())))
    assert [int(row["rim_hole"]) for row in rows] == list(range(1, 33))
    assert min(float(row["loaded_N"]) - float(row["tension_N"]) for row in rows) < -100


def test_exit_statuses(tmp_path: Path) -> None:
    assert run(tmp_path, **FULL).return_value == 0
    assert run(tmp_path, tension__target="1325 N").return_value == 1


def test_no_strip_without_a_target(tmp_path: Path) -> None:
    target = tmp_path / "strip.svg"
    done = run(tmp_path, "-o", str(target), hub__right__locknut_to_flange=67.0)
    assert isinstance(done.exception, InputError)
    assert "no tension to draw" in str(done.exception)
    assert not target.exists()


def test_needs_what_lengths_needs(tmp_path: Path) -> None:
    done = run(tmp_path, hub__right__pcd=None)
    assert isinstance(done.exception, InputError)
    assert "hub.right.pcd: is missing and `tension` needs it" in str(done.exception)


def test_the_errand_bike() -> None:
    """The example as a user runs it; by hand: 0.55 x 104 kg x 9.80665 = 561 N."""
    example = Path(__file__).parents[2] / "examples" / "errand-rear.toml"
    done = CliRunner().invoke(command, [str(example)], standalone_mode=False)
    assert done.return_value == 0
    assert "Riding, 561 N on this wheel" in done.output
    # What a guessed section supports: tens of newtons.
    loses, keeps = re.search(r"loses (\d+) N and keeps (\d+) N", " ".join(done.output.split())).groups()
    assert int(loses) % 10 == int(keeps) % 10 == 0
    plain = re.sub(r"(?m)^(Caution|Note| {9}).*\n", "", done.output)  # findings come on top
    assert len(plain.splitlines()) <= 31  # a blank line and the count of findings are among them


def test_a_target_over_its_limit_has_no_low_and_high(tmp_path: Path) -> None:
    # D: 10 % under 2000 N is over the limit of 1150 N, so no tension lies between
    printed = run(tmp_path, tension__target="2000 N").output
    rows = {line.split()[0]: line.split() for line in printed.splitlines() if line.startswith(("left ", "right "))}
    assert rows["right"][1] == "2000"
    assert rows["right"][3] == "-"
    assert rows["right"][-1] == "-"
