"""The lists of tables in [pluck], and numbers with an uncertainty."""

from __future__ import annotations

from typing import Any

import pytest

from tests.making.builds import with_keys
from wheelcalc.files.buildfile import build_of
from wheelcalc.wheel.errors import InputError


def build(**keys: Any):
    return build_of(with_keys(**keys), "wheel.toml").build


def test_known_spokes_with_units_and_their_uncertainty() -> None:
    known = build(pluck__known=[{"rim_hole": 3, "tension": "98.5 kgf"}, {"rim_hole": 8, "tension": "641 +- 25 N"}])
    first, second = known.value("pluck.known")
    # D: 98.5 times 9.80665 N.
    assert first == {"rim_hole": 3, "tension": pytest.approx(965.955, abs=0.001), "tension_sigma": None}
    assert second == {"rim_hole": 8, "tension": 641.0, "tension_sigma": 25.0}


def test_loosened_spokes() -> None:
    entry = {"rim_hole": 5, "turns": [0, 0.5, 1.25], "pitch_hz": [388, 352.5, 301]}
    assert build(pluck__loosened=[entry]).value("pluck.loosened") == (
        {"rim_hole": 5, "turns": (0.0, 0.5, 1.25), "pitch_hz": (388.0, 352.5, 301.0)},
    )


def test_an_end_hold_with_its_uncertainty() -> None:
    known = build(pluck__end_hold="0.42 +- 0.07")
    assert (known.number("pluck.end_hold"), known.sigma("pluck.end_hold")) == (0.42, 0.07)
    assert build(pluck__end_hold=0.42).sigma("pluck.end_hold") == 0


@pytest.mark.parametrize(
    ("key", "raw", "words"),
    [
        ("known", "980 N", "not a list of tables"),
        ("known", [], "not a list of tables"),
        ("known", [{"rim_hole": 1}], "needs rim_hole, tension"),
        ("known", [{"rim_hole": 1, "tension": 900, "note": "x"}], "nothing else"),
        ("known", [{"rim_hole": 1.5, "tension": 900}], "whole number"),
        ("known", [{"rim_hole": True, "tension": 900}], "whole number"),
        ("known", [{"rim_hole": 1, "tension": 900}, {"rim_hole": 1, "tension": 800}], "rim hole 1 twice"),
        ("known", [{"rim_hole": 1, "tension": "98 kg"}], "rim hole 1, tension"),
        ("known", [{"rim_hole": 1, "tension": "9 N"}], "sensible is 10 to 5000 N"),
        ("loosened", [{"rim_hole": 5, "turns": [0, 1], "pitch_hz": [300]}], "2 turns and 1 pitches"),
        ("loosened", [{"rim_hole": 5, "turns": [0.5, 1], "pitch_hz": [300, 280]}], "start at 0"),
        ("loosened", [{"rim_hole": 5, "turns": [0, 1, 1], "pitch_hz": [300, 280, 270]}], "rise"),
        ("loosened", [{"rim_hole": 5, "turns": [0, 1], "pitch_hz": [300, 310]}], "must fall"),
        ("loosened", [{"rim_hole": 5, "turns": "0, 1", "pitch_hz": [300, 310]}], "list of numbers"),
        ("loosened", [{"rim_hole": 5, "turns": [0, "1"], "pitch_hz": [300, 290]}], "plain number"),
        ("loosened", [{"rim_hole": 5, "turns": [0, 1], "pitch_hz": [30000, 290]}], "20 to 5000 Hz"),
        ("end_hold", "0.4 +- x", "its uncertainty"),
        ("end_hold", "0.4", "plain number"),
        ("end_hold", "1.4 +- 0.1", "sensible is 0 to 1"),
    ],
)
def test_refused(key: str, raw: Any, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        build(**{f"pluck__{key}": raw})
    assert f"pluck.{key}" in str(caught.value)
