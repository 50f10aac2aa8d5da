"""The word of the build file that is meant by a word somebody wrote."""

from __future__ import annotations

from collections.abc import Sequence

# C: what the trade and the street say -> the build file's words, the one that is among the choices is meant.
SAID = {
    "qr": ("quick release",),
    "skewer": ("quick release",),
    "nuts": ("nutted",),
    "bolt": ("nutted",),
    "bolts": ("nutted",),
    "bolted": ("nutted",),
    "solid": ("nutted",),
    "thru": ("through",),
    "hole": ("through",),
    "holes": ("through",),
    "slots": ("slot",),
    "horizontal": ("slot",),
    "vertical": ("slot",),
    "open": ("slot",),
    "free hub": ("cassette",),
    "freehub": ("cassette",),
    "free wheel": ("freewheel",),
    "screw on": ("freewheel",),
    "gear": ("internal gear",),
    "gears": ("internal gear",),
    "hub gear": ("internal gear",),
    "back pedal": ("coaster",),
    "back pedalling": ("coaster",),
    "electric": ("motor",),
    "e bike": ("motor",),
    "alu": ("aluminium",),
    "alloy": ("aluminium",),
    "aluminum": ("aluminium",),
    "chrome": ("steel",),
    "chromed": ("steel",),
    "iron": ("steel",),
    "box": ("double",),
    "hollow": ("double",),
    "caliper": ("calliper", "rim"),
    "callipers": ("calliper",),
    "digital caliper": ("calliper",),
    "vernier": ("calliper",),
    "ruler": ("rule",),
    "disk": ("disc",),
    "rims": ("rim",),
    "v": ("rim",),
    "cantilever": ("rim",),
    "cantilevers": ("rim",),
    "drum": ("hub",),
    "roller": ("hub",),
    "coaster": ("hub",),
    "nipple": ("nipple seat",),
    "crows foot": ("crow's foot",),
    "2:1": ("two to one",),
}
# Behind which a word is what it is without them: "single wall", "rim brake".
KINDS = ("wall", "brake", "hub", "wheel", "axle", "release", "measure", "brakes", "walls")
NUMBERS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def meant(choices: Sequence[str], text: str) -> str | None:
    """Return the one choice that a word means, by itself, by what the trade calls it or by its beginning; else None."""
    wanted = " ".join(text.lower().replace("-", " ").strip(" .").split())
    plain, _, kind = wanted.rpartition(" ")
    for word in (wanted, plain) if kind in KINDS else (wanted,):
        if word in choices:
            return word
        for said in SAID.get(word, ()):
            if said in choices:
                return said
        begun = [choice for choice in choices if word and choice.startswith(word)]
        if len(begun) == 1:
            return begun[0]
    return None
