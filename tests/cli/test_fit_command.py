"""`wheelcalc fit`: what it prints and writes, and how it ends."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from wheelcalc.cli.main import run

EXAMPLES = Path(__file__).parents[2] / "examples"
DONOR = str(EXAMPLES / "donor-hub.toml")
MINIMAL = "[frame]\ndropout_spacing = 130\n[hub]\nover_locknut = 126\n"


@pytest.fixture
def minimal(tmp_path: Path) -> str:
    path = tmp_path / "minimal.toml"
    path.write_text(MINIMAL)
    return str(path)


def printed(capsys: pytest.CaptureFixture[str], *words: str, status: int = 0) -> str:
    assert run(["fit", *words]) == status
    return capsys.readouterr().out


@pytest.mark.parametrize(("name", "status"), [("donor-hub", 0), ("smaller-wheels", 1), ("errand-rear", 0)])
@pytest.mark.parametrize("more", [[], ["--working"]])
def test_the_examples_fit_80_columns_of_plain_text(
    capsys: pytest.CaptureFixture[str], name: str, status: int, more: list[str]
) -> None:
    text = printed(capsys, str(EXAMPLES / f"{name}.toml"), *more, status=status)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.isascii()
    assert "nan" not in text.lower()
    assert "None" not in text


def test_the_verdict_comes_first_then_what_to_do_then_the_plans(capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(capsys, DONOR)
    places = [
        text.index(words) for words in ("Fits with spacers", "What to do:", "Spacer plans", "Chainline", "Assumed")
    ]
    assert places == sorted(places)
    assert text.splitlines()[0] == "Fits with spacers: 3.5 mm left, 2.5 mm right. No stop, 1 caution."
    assert "Write fitted = { left = 3.5, right = 2.5 } below [spacers]" in " ".join(text.split())
    assert len(text.splitlines()) <= 40


@pytest.mark.parametrize(
    ("override", "status", "words"),
    [
        ("frame.width_slack=0", 0, "mind width: row 1 leaves the hub 0.05 mm too wide"),
        ("spacers.fitted={ left = 60, right = 60 }", 1, "mind axle: the plan fitted leaves only"),
        ("hub.axle_protrusion=80", 1, "mind axle: row 1 leaves"),
        ("spacers.fitted={ left = 21.7862, right = 21.7862 }", 1, "21.79"),
    ],
)
def test_plans_with_much_to_mind_fit_80_columns(
    capsys: pytest.CaptureFixture[str], override: str, status: int, words: str
) -> None:
    text = printed(capsys, DONOR, "--set", override, status=status)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert words in " ".join(text.split())


def test_thirteen_cogs_fit_80_columns(capsys: pytest.CaptureFixture[str]) -> None:
    more = [
        "--set",
        "cogs.count=13",
        "--set",
        "cogs.pitch=2.5",
        "--set",
        "cogs.chain_to_dropout=3",
        "--set",
        "crank.rings=3",
    ]
    text = printed(capsys, DONOR, "--working", *more)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert [line.split()[0] for line in text.splitlines() if line.split()[:1] == ["13"]] == ["13"]
    assert "ring 3" in text


def test_what_is_pasted_goes_below_a_section_that_is_there(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """TOML refuses a second [spacers]; the example has one already."""
    assert "    [spacers]" not in printed(capsys, DONOR)
    bare = tmp_path / "bare.toml"
    bare.write_text("[frame]\ndropout_spacing = 135\n[hub]\nover_locknut = 130\n")
    text = printed(capsys, str(bare))
    assert "    [spacers]\n    fitted = { left = " in text


def test_what_each_move_buys_is_said_where_the_chain_is_within_its_limit(capsys: pytest.CaptureFixture[str]) -> None:
    """D: rings at 43.5, cogs at 41.675: 1.8 by ring, cogs or hub spacer."""
    text = " ".join(printed(capsys, DONOR, "--working").split())
    assert "away: ring or crank 1.8 mm to the left, or the cogs 1.8 mm to the right on their body, or" in text
    text = " ".join(printed(capsys, DONOR, "--working", "--set", "crank.chainline=48").split())
    assert text.count("ring or crank") == 1


def test_set_tries_a_plan_and_marks_it(capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(capsys, DONOR, "--set", "spacers.fitted={ left = 3, right = 3 }")
    assert "(as chosen)" in text
    assert [line.split()[0] for line in text.splitlines() if line.lstrip().startswith("*3")] == ["*3"]
    assert "To store this plan" not in text
    text = printed(capsys, DONOR, "--set", "spacers.fitted={ left = 4, right = 2 }", status=1)
    assert [line.split()[0] for line in text.splitlines() if line.lstrip().startswith("*4")] == ["*4"]


def test_frame_and_hub_alone(capsys: pytest.CaptureFixture[str], minimal: str) -> None:
    text = printed(capsys, minimal)
    assert "Fits with spacers" in text
    assert "Not checked, so neither good nor bad:" in text
    assert "Read next: hub.axle" in text


def test_json_is_the_answer_with_the_contract_keys(capsys: pytest.CaptureFixture[str]) -> None:
    found = json.loads(printed(capsys, DONOR, "--json"))
    assert found["schema"] == "wheelcalc/fit/1"
    assert {"build", "findings", "assumptions", "verdict", "plans", "chainline", "shell", "geometry"} <= set(found)
    assert found["geometry"] is None
    assert found["chainline"]["gears"][0].keys() >= {"ring", "cog", "angle_deg"}


def test_written_files(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    plans = json.loads(printed(capsys, DONOR, "--json"))["plans"]
    for suffix in ("txt", "json", "csv"):
        printed(capsys, DONOR, "-o", str(tmp_path / f"plans.{suffix}"))
    rows = list(csv.DictReader(io.StringIO((tmp_path / "plans.csv").read_text())))
    assert len(rows) == len(plans)
    assert [float(row["left_mm"]) for row in rows] == [plan["left_mm"] for plan in plans]
    assert json.loads((tmp_path / "plans.json").read_text())["plans"] == plans
    assert "Spacer plans" in (tmp_path / "plans.txt").read_text()
    assert run(["fit", DONOR, "-o", str(tmp_path / "plans.svg")]) == 2


def test_working_has_the_numbers_in_it(capsys: pytest.CaptureFixture[str]) -> None:
    text = " ".join(printed(capsys, DONOR, "--working").split())
    assert "missing width = frame - hub = 126.20 - 120.25 = +5.95 mm" in text
    assert "error = front - rear = 43.50 - 41.17 = +2.33 mm" in text


@pytest.mark.parametrize(
    ("override", "words"),
    [
        ("frame.axle_diameter=12", ["frame.axle_diameter", "frame.dropout"]),
        ("cogs.count=10", ["cogs.count", "hub.right.locknut_to_flange"]),
        ("crank.chainline=450", ["crank.chainline", "450"]),
        ("crank.standard=road dubble", ["crank.standard", "road double"]),
        ("spacers.fitted={ left = -2, right = 3 }", ["spacers.fitted.left", "hub.loose_spacers"]),
        ("frame.dropout_spacing=nan", ["frame.dropout_spacing"]),
        ("frame.dropout=hook", ["frame.dropout", "slot"]),
        ("hub.thread=M10", ["hub.thread", "iso"]),
    ],
)
def test_bad_input_is_one_line(capsys: pytest.CaptureFixture[str], override: str, words: list[str]) -> None:
    assert run(["fit", DONOR, "--set", override]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("Error: ")
    assert err.count("\n") == 1
    assert all(word in err for word in words)


@pytest.mark.parametrize(
    "override", ["hub.axle=through", "frame.brake=disc", "hub.axle_diameter=12", "hub.axle_protrusion=9.1"]
)
def test_a_stop_ends_with_1(capsys: pytest.CaptureFixture[str], override: str) -> None:
    more = ["--set", "hub.rotor=false"] if "brake" in override else []
    text = printed(capsys, DONOR, "--set", override, *more, status=1)
    assert "STOP" in text


def test_nothing_to_fit_says_what_to_measure(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "rim.toml"
    path.write_text("[rim]\nholes = 36\n")
    assert run(["fit", str(path)]) == 2
    assert "frame.dropout_spacing: is missing and `fit` needs it" in capsys.readouterr().err
