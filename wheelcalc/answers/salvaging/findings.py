"""What `salvage` warns of."""

from __future__ import annotations

from collections.abc import Iterator

from wheelcalc.answers.salvaging.jar import JarAnswer
from wheelcalc.answers.salvaging.old import OldWheel
from wheelcalc.answers.salvaging.rim import RimAnswer
from wheelcalc.measuring.statistics import DISAGREE, HARDLY_BY_CHANCE
from wheelcalc.page.numbers import percent
from wheelcalc.salvage.slips import Verdict
from wheelcalc.wheel.findings import Finding


def findings_of(
    old: OldWheel | None, verdict: Verdict | None, jar: JarAnswer | None, rim: RimAnswer | None
) -> Iterator[Finding]:
    """What the parts say; the order of the new spokes and the rim may say the same."""
    yield from _old_wheel_findings(old, verdict)
    yield from _slip_findings(verdict)
    yield from _jar_findings(jar)
    yield from rim.findings if rim else ()


def _old_wheel_findings(old: OldWheel | None, slips: Verdict | None) -> Iterator[Finding]:
    if old is None:
        return
    yield Finding(
        "caution",
        "slacken-evenly",
        "If the old wheel still stands: deflate the tyre, wear eye protection, slacken all round by quarter turns before any spoke is "
        "taken out or cut. A tight spoke flies when cut; a rim pulled from one side folds.",
    )
    if old.gauged.chance < DISAGREE:
        yield Finding(
            "caution",
            "old-sides-disagree",
            f"The old wheel's left spokes put rim.erd at {old.gauged.sides['left'].value:.1f} mm, its right ones at "
            f"{old.gauged.sides['right'].value:.1f} mm: {abs(old.gauged.apart):.1f} mm apart, more than the readings allow.",
            "Read the old hub's flanges and a spoke of each side again; were left and right swapped?",
        )
    if old.measured is not None and not old.combined.agree:
        hardly = old.combined.chance < HARDLY_BY_CHANCE
        yield Finding(
            "stop" if hardly else "caution",
            "old-and-measured-disagree",
            f"rim.erd was measured as {old.measured.value:.1f} mm, the old wheel says {old.gauged.erd:.1f} mm: "
            f"{abs(old.apart or 0.0):.1f} mm apart; {old.agreement}. The error of their mean was widened to fit.",
            ("Do not order" if hardly else "Do not order yet") + f". {_read_again(slips)}",
        )
    if old.spokes is not None:
        yield from (each for each in old.spokes.findings if each.level != "note")


def _read_again(slips: Verdict | None) -> str:
    """What to read before anything is ordered."""
    look = "" if slips is None else slips.look
    return look or "Read rim.erd and a spoke of each side again."


def _slip_findings(verdict: Verdict | None) -> Iterator[Finding]:
    if verdict is not None and not verdict.agree:
        sure = percent(1 - verdict.none.probability)
        text = f"The spokes' ends sit {verdict.unexplained:.1f} mm off where the readings put them: one reading is wrong ({sure} sure)."
        yield Finding(
            "caution",
            "slip",
            f"{text} {verdict.words}",
            f"{verdict.look} Do it before you order or build on these readings.",
        )


def _jar_findings(jar: JarAnswer | None) -> Iterator[Finding]:
    if jar is None:
        return
    yield from jar.old_spokes.findings
    if not jar.whole:
        text = f"Nothing can be built from the jar as it is ({jar.tried} patterns tried)."
        if jar.near:
            text = f"{text} {jar.near[0].wish}"
        yield Finding(
            "note", "nothing-from-the-jar", text, "Widen the jar, or `wheelcalc order` spokes for the wheel you want."
        )
    elif jar.used_spokes:
        yield Finding(
            "caution",
            "old-spokes",
            "Old spokes: only straight ones without nicks, rust or a damaged thread; same side, a trailing one stays trailing, new "
            "nipples. Contested: others renew all once one has broken.",
            "Throw away what is bent at the elbow, and every spoke of a set in which some have broken.",
        )
        yield Finding(
            "caution",
            "old-notches",
            "A used hub's flanges crack where new spokes cross the marks of the old ones.",
            "Lace each hole in its old direction, heads on the old face.",
        )
