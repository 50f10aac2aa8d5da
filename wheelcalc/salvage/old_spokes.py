"""Which old spokes may serve again, by the schools of the trade."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wheelcalc.build.whole import Build
from wheelcalc.wheel.findings import Finding

# P: J. Neugent, spokes are good for 10 000 miles and more. C: once more than one of a set broke, the rest follows.
RIDDEN_ENOUGH = 16_000.0  # km
BROKEN_TOO_MANY = 2


@dataclass(frozen=True)
class Lot:
    """One [[jar.spokes]]: its keys below "spokes", and how many spokes it holds."""

    entry: Build
    count: int

    @property
    def old(self) -> bool:
        """Whether they were ridden."""
        return str(self.entry.value("spokes.taken_from", "")) != "new"

    @property
    def broken(self) -> int:
        """How many of their set broke in use."""
        return int(self.entry.value("spokes.broken", 0))

    @property
    def ridden(self) -> float | None:
        """Distance that they were ridden [km]; None where nobody knows."""
        value = self.entry.value("spokes.ridden_km")
        return None if value is None else float(value)

    @property
    def refused(self) -> str:
        """Why they must not serve again; empty where they may."""
        if self.entry.value("spokes.thread") == "worn":
            return "their threads are worn"
        if self.entry.value("spokes.condition") == "bent or rusty":
            return "they are bent, nicked or rusty"
        if self.broken >= BROKEN_TOO_MANY:
            return f"{self.broken} of their set broke in use, and the rest is as tired"
        return ""

    @property
    def serves(self) -> bool:
        """Whether they count as spokes on hand."""
        return not self.refused


@dataclass(frozen=True)
class OldSpokes:
    """Old spokes of the jar.

    Parameters
    ----------
    of, may_serve : how many there are, and how many of them may serve again
    refused : why the others may not, with their number
    findings : what to look at before they do
    """

    of: int
    may_serve: int
    refused: tuple[str, ...]
    findings: tuple[Finding, ...]


def sorted_out(lots: Sequence[Lot]) -> OldSpokes:
    """Count the old spokes that may serve again, and say what speaks against the others."""
    old = [lot for lot in lots if lot.old]
    refused = tuple(f"{lot.count}: {lot.refused}" for lot in old if not lot.serves)
    return OldSpokes(
        sum(lot.count for lot in old), sum(lot.count for lot in old if lot.serves), refused, tuple(_findings(old))
    )


def _findings(old: Sequence[Lot]) -> list[Finding]:
    findings = []
    if any(lot.serves and lot.broken for lot in old):
        findings.append(
            Finding(
                "caution",
                "one-spoke-broke",
                "One spoke of a set on hand broke in use. Schools: renew the whole set, since all have the same rides behind them; or "
                "replace the one and see whether a second goes.",
                "Take these for a wheel that is ridden near home, or leave them out.",
            )
        )
    if any(lot.serves and (lot.ridden or 0) > RIDDEN_ENOUGH for lot in old):
        findings.append(
            Finding(
                "note",
                "spokes-far-ridden",
                f"Spokes on hand were ridden more than {RIDDEN_ENOUGH:.0f} km. Good ones are said to last longer; nobody knows how much.",
                "",
            )
        )
    return findings
