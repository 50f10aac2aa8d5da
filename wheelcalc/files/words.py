"""The word of the build file that is meant by a word somebody wrote."""

from __future__ import annotations

from collections.abc import Sequence

# C: what the trade and the street say -> the build file's word.
SAID = {
    "qr": "quick release",
    "quick-release": "quick release",
    "skewer": "quick release",
    "nuts": "nutted",
    "bolted": "nutted",
    "solid": "nutted",
    "thru": "through",
    "thru axle": "through",
    "through axle": "through",
    "cassette hub": "cassette",
    "free hub": "cassette",
    "freehub": "cassette",
    "screw-on": "freewheel",
    "alu": "aluminium",
    "alloy": "aluminium",
    "aluminum": "aluminium",
    "caliper": "calliper",
    "callipers": "calliper",
    "ruler": "rule",
    "disk": "disc",
    "rims": "rim",
    "nipple": "nipple seat",
}


def meant(choices: Sequence[str], text: str) -> str | None:
    """Return the one choice that a word means, by itself, by what the trade calls it or by its beginning; else None."""
    wanted = " ".join(text.lower().split())
    wanted = SAID.get(wanted, wanted)
    if wanted in choices:
        return wanted
    begun = [choice for choice in choices if wanted and choice.startswith(wanted)]
    return begun[0] if len(begun) == 1 else None
