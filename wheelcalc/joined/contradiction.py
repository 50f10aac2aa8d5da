"""A tapped rim against what its mass, width and depth let expect: which of them is likelier wrong."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from wheelcalc.build.whole import Build
from wheelcalc.joined.section import SECTION, section_of
from wheelcalc.tension.section import IN_N_MM2, TAPPED, SectionEstimate
from wheelcalc.wheel.findings import Finding

MOVED = 1.25  # ours, times: a stiffness this far from what is expected goes the way of one that is off
FACTOR = 2.0  # the guess's own 19 in 20: further apart, one of the two is wrong
WORDS = {"bending_in_plane": "EI in plane", "bending_out_of_plane": "EI out of plane", "torsion": "GJ"}


def findings(build: Build, estimate: SectionEstimate) -> Iterator[Finding]:
    """Caution where a tapped stiffness is a factor of two from the guess; nothing where there is no guess beside it."""
    guess = section_of(build.having({f"{SECTION}.{name}": None for name in TAPPED})) if estimate.tapped else None
    if guess is None:
        return
    ratios = {
        name: getattr(estimate.section, own) / getattr(guess.section, own)
        for name, (own, _) in TAPPED.items()
        if own in estimate.tapped
    }
    off = {name: ratio for name, ratio in ratios.items() if not 1 / FACTOR < ratio < FACTOR}
    if not off:
        return
    said = "; ".join(
        f"{WORDS[name]} {_stiffness(estimate, name):.0f} N m2, expected {_stiffness(guess, name):.0f}" for name in off
    )
    likelier, remedy = _likelier(ratios, off)
    text = f"The tapped rim is not the one that mass, width and depth describe: {said}. Likelier wrong: {likelier}."
    yield Finding("caution", "section-contradicts-taps", text, remedy)


def _stiffness(estimate: SectionEstimate, name: str) -> float:
    own, modulus = TAPPED[name]
    return float(getattr(estimate.section, own) * getattr(estimate.section, modulus)) / IN_N_MM2


def _likelier(ratios: Mapping[str, float], off: Mapping[str, float]) -> tuple[str, str]:
    """What is likelier wrong, and what to do.

    EI in plane and GJ both go with the depth, so a wrong depth moves both; EI out of plane alone goes with the width. What the
    facts cannot do, a peak taken for another mode does. The mass is in both and moves neither against the other.
    """
    again = "Tap the bare rim again (`wheelcalc tap`) and look at the modes that it names."
    by_depth = {name: ratio for name, ratio in ratios.items() if name != "bending_out_of_plane"}
    one_way = len({ratio > 1 for ratio in off.values()}) == 1
    if len(ratios) == len(off) == 3 and one_way:
        return (
            "the rim: all three are off alike, as those of another rim or material",
            "See that it is the same rim and material.",
        )
    if set(off) == {"bending_out_of_plane"}:
        return "the width", f"Measure {SECTION}.width again, over both flanges in mm; then tap again."
    alike = all(
        (ratio > 1) == (next(iter(off.values())) > 1) and not 1 / MOVED < ratio < MOVED for ratio in by_depth.values()
    )
    if set(off) <= set(by_depth) and one_way and alike:
        return "the depth", f"Measure {SECTION}.depth again, rim edge to inner face in mm; then tap again."
    return "the taps: no width or depth explains it, a peak was taken for another mode", again
