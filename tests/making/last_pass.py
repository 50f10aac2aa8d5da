"""Readings of the last pass that a text holds."""

from __future__ import annotations

from wheelcalc.files.readings import RimReadings, passes_of


def readings_of(text: str, name: str, holes: int) -> RimReadings:
    return passes_of(text, name, holes)[-1]
