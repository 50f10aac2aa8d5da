"""What tests/benchmarks/fuzz.py found, made small; and a few thousand generated calls on every run."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.making.builds import as_toml, with_keys
from tests.tools import fuzz_calls, fuzz_values, fuzzing

EXAMPLE = (Path(__file__).parents[2] / "examples" / "errand-rear.toml").read_bytes()
TENSIONS = "rim_hole,tension_N\n" + "".join(
    f"{hole},{900 + 7 * hole % 90 - 380 * (hole % 2)}\n" for hole in range(1, 37)
)
KNOWN = 'pluck.known=[{ rim_hole = 1, tension = "980 N" }]'
LOOSENED = "pluck.loosened=[{ rim_hole = 5, turns = [0, 0.5, 1], pitch_hz = [388, 352, 311] }]"


def case(*arguments: str, build: bytes | dict[str, Any] = EXAMPLE) -> fuzz_calls.Case:
    data = build if isinstance(build, bytes) else as_toml(build).encode()
    return fuzz_calls.Case(arguments, {"wheel.toml": data})


FOUND = {
    "sheet: the crank's chainline is known, the cogs' is not": case(
        "sheet",
        "wheel.toml",
        "-o",
        "sheet.html",
        build=with_keys(crank={"chainline": 43.5}, frame={"dropout_spacing": 131.3}),
    ),
    "sheet: the cogs' chainline is known, the crank's is not": case(
        "sheet",
        "wheel.toml",
        build=with_keys(cogs={"count": 8, "pitch": 4.8, "locknut_to_smallest": 6}, frame={"dropout_spacing": 131.3}),
    ),
    "compare: spokes of known tension": case("compare", "wheel.toml", "--set", KNOWN),
    "compare: spokes loosened": case("compare", "wheel.toml", "--set", LOOSENED),
    "sheet: spokes of known tension": case("sheet", "wheel.toml", "--set", KNOWN, "-o", "sheet.html"),
    "salvage: flanges of different counts cannot have been swapped": case(
        "salvage",
        "wheel.toml",
        build=with_keys(
            rim__holes=48,
            hub__left__holes=32,
            lacing={"pattern": "two to one", "crosses": 0},
            fitted={"lengths": {"left": 276, "right": 277}, "end_position": {"left": -2, "right": -1.5}},
        ),
    ),
    "lengths: the rule of thumb for crosses switched off": case(
        "lengths", "wheel.toml", "--set", "limits.crosses_per_hole=0"
    ),
    "true: the picture of tensions alone": fuzz_calls.Case(
        ("true", "wheel.toml", "readings.csv", "-o", "out.svg"),
        {"wheel.toml": EXAMPLE, "readings.csv": TENSIONS.encode()},
    ),
    "lace: lengths of many digits": case("lace", "wheel.toml", "--set", "stock.step=1.464073"),
    "lace: lengths in half millimetres": case("lace", "wheel.toml", "--set", "stock.step=0.5"),
}


@pytest.mark.parametrize("name", FOUND)
def test_found(name: str, tmp_path: Path) -> None:
    assert fuzzing.check(FOUND[name], tmp_path) in (0, 1)


def test_a_stack_of_one_cog_has_no_pitch(tmp_path: Path) -> None:
    one = case(
        "fit", "wheel.toml", build=with_keys(cogs={"count": 1}, readings={"cogs": {"stack": 32.6, "thickness": 1.8}})
    )
    assert fuzzing.check(one, tmp_path) == 2
    assert "readings.cogs.stack" in fuzzing.run(one, tmp_path)[2]


@pytest.mark.parametrize("part", range(8))
def test_generated_calls(part: int, tmp_path: Path) -> None:
    """A short fixed run; tests/benchmarks/fuzz.py makes as many as one likes."""
    statuses = set()
    for number in range(250):
        folder = tmp_path / str(number)
        folder.mkdir()
        statuses.add(fuzzing.check(fuzz_calls.case(fuzz_values.Draw(f"short {part} {number}")), folder))
    assert statuses == {0, 1, 2}


@given(st.binary(max_size=2000))
@example(b"")
def test_calls_that_hypothesis_chooses(data: bytes) -> None:
    """The same generators, drawing from bytes that shrink."""
    with tempfile.TemporaryDirectory() as folder:
        fuzzing.check(fuzz_calls.case(fuzz_values.Chosen(data)), Path(folder))


def test_the_checks_of_the_fuzzer_can_fail(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(printed: str, error: str, status: int) -> None:
        def run(arguments: list[str]) -> int:
            print(printed, end="")
            print(error, end="", file=sys.stderr)
            return status

        monkeypatch.setattr(fuzzing.main, "run", run)
        with pytest.raises(fuzzing.BrokenError):
            fuzzing.check(case("lengths", "wheel.toml", "--json"), tmp_path)

    breaks("{}", "Error: x\n", 2)
    breaks("", "Error: x\nmore\n", 2)
    breaks("", "", 2)
    breaks("", "", 3)
    breaks('{"a": NaN}', "", 0)
    breaks("{}", "words\n", 0)
