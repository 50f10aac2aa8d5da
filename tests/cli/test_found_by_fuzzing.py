"""What tests/benchmarks/fuzz.py found, made small; and a few thousand generated calls on every run."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import fuzzing
import pytest
from builds import as_toml, with_keys

EXAMPLE = (Path(__file__).parents[2] / "examples" / "errand-rear.toml").read_bytes()
KNOWN = 'pluck.known=[{ rim_hole = 1, tension = "980 N" }]'
LOOSENED = "pluck.loosened=[{ rim_hole = 5, turns = [0, 0.5, 1], pitch_hz = [388, 352, 311] }]"


def case(*arguments: str, build: bytes | dict[str, Any] = EXAMPLE) -> fuzzing.Case:
    data = build if isinstance(build, bytes) else as_toml(build).encode()
    return fuzzing.Case(arguments, {"wheel.toml": data})


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
