"""Readings that cannot be as they stand are met at the door, with the likely slip; sound ones raise nothing."""

from __future__ import annotations

from typing import Any

import pytest

from tests.making.builds import with_keys
from wheelcalc import answers
from wheelcalc.wheel.findings import Finding


def found(**keys: Any) -> dict[str, Finding]:
    return {finding.name: finding for finding in answers.order(with_keys(**keys)).findings}


# The build of the tests: erd 593.7, bead seat 622, flanges at 29.8 and 46.1 from the locknuts, pcd 41.9 and 47.3.
@pytest.mark.parametrize(
    ("keys", "name", "words"),
    [
        ({"rim__erd": 296.9}, "erd-far-under-bead-seat", "looks like a radius"),
        ({"rim__erd": 562.0}, "erd-far-under-bead-seat", "60 mm less than the bead seat diameter of 622 mm"),
        ({"hub__left__locknut_to_flange": 2.98}, "flange-at-locknut", "likely the decimal point (29.8 mm)"),
        ({"hub__right__locknut_to_flange": 1.75}, "flange-at-locknut", "inches (44.45 mm)"),
        ({"hub__left__pcd": 21.2}, "pcd-small", "likely a radius (42.4 mm)"),
        ({"hub__left__pcd": 32.4, "hub__drive": "cassette"}, "pcd-small", "a hub for a cassette"),
        ({"hub__rotor_face": 31.2}, "rotor-beyond-flange", "hub.rotor_face is 31.2 mm"),
        ({"rim__bead_seat_diameter": 660.4}, "bead-seat-unknown", "26 inches"),
    ],
)
def test_what_cannot_be_stops_the_order_and_names_its_key(keys: dict[str, Any], name: str, words: str) -> None:
    finding = found(**keys)[name]
    assert finding.level == "stop"
    assert words in finding.text
    assert next(iter(keys)).replace("__", ".") in finding.text
    assert finding.remedy


@pytest.mark.parametrize(
    ("keys", "name"),
    [
        ({"rim__erd": 574.0}, "erd-far-under-bead-seat"),
        ({"rim__bead_seat_diameter": 612.0, "rim__erd": 589.0}, "bead-seat-unknown"),
        ({"rim__erd": "593.7 +- 0.1 mm"}, "erd-too-sure"),
        ({"measuring__tool": "calliper"}, "erd-too-sure"),
    ],
)
def test_what_is_only_unusual_is_a_caution(keys: dict[str, Any], name: str) -> None:
    assert found(**keys)[name].level == "caution"


@pytest.mark.parametrize(
    "keys",
    [
        {},
        {"rim__erd": 558.0, "rim__section": {"depth": 31.0}},  # C: a deep rim explains it
        {"rim__bead_seat_diameter": 622.6},
        {"measuring__tool": "calliper", "rim__erd": [593.5, 593.9, 593.6]},
        {"hub__left__pcd": 29.6, "hub__right__pcd": 29.6},
    ],
)
def test_no_false_alarm(keys: dict[str, Any]) -> None:
    names = {
        "erd-far-under-bead-seat",
        "flange-at-locknut",
        "pcd-small",
        "rotor-beyond-flange",
        "bead-seat-unknown",
        "erd-too-sure",
    }
    assert not names & set(found(**keys))


def test_the_limits_are_settings() -> None:
    assert "pcd-small" in found(limits__pcd_least=44)
    assert "erd-far-under-bead-seat" in found(limits__erd_under_seat_caution=20)
