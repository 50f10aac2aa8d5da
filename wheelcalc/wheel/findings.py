"""What an answer has to say besides its numbers: stop, caution, note."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Level = Literal["stop", "caution", "note"]
ORDER: tuple[Level, ...] = ("stop", "caution", "note")
ROUND_OFF = 1e-9  # a value at its limit keeps to it


@dataclass(frozen=True)
class Finding:
    """One thing that the user must know.

    Parameters
    ----------
    level : stop (do not order, do not ride), caution or note
    name : short, stable, for scripts ("end-short-of-slot")
    text : what was found, how many mm, on which side
    remedy : what to do about it
    """

    level: Level
    name: str
    text: str
    remedy: str = ""


def gravest(value: float, limits: Mapping[Level, float], *, under: bool = False) -> Level | None:
    """Gravest level whose limit a value is over, or under; None where it keeps to all that there are."""
    sign = -1 if under else 1
    return next((level for level in ORDER if level in limits and sign * (value - limits[level]) > ROUND_OFF), None)


def by_weight(findings: list[Finding]) -> list[Finding]:
    """Stops first, then cautions, then notes; each finding once, otherwise in the order found."""
    return sorted(dict.fromkeys(findings), key=lambda finding: ORDER.index(finding.level))


def any_stop(findings: list[Finding]) -> bool:
    """Whether the answer says: do not order, do not ride."""
    return any(finding.level == "stop" for finding in findings)
