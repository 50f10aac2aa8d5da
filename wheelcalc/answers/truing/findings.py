"""What `true` has to say besides the turns: loose and tight spokes, a bent rim, readings that do not fit."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.joined.findings import build_findings
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES

SURE = 2.0  # standard uncertainties from which a bend is more than the readings' noise
MAY_BE_KGF = 160.0  # N: wheels have means of 500 to 1200 N, which are 50 to 120 kgf
MEANINGS = {"lateral": "lateral_mm", "radial": "radial_mm", "tension": "tension"}


def found(answer: TrueAnswer) -> list[Finding]:
    """All findings of the answer, in the order found."""
    return [
        *build_findings(answer.build, answer.wheel),
        *_slack(answer),
        *_beyond(answer),
        *_bent(answer),
        *_misread(answer),
        *_doubts(answer),
    ]


def _spokes(answer: TrueAnswer, mask: np.ndarray) -> str:
    holes = answer.wheel.lacing.rim_hole[mask].tolist()
    more = "s" if len(holes) > 1 else ""
    return f"the spoke{more} in rim hole{more} {', '.join(map(str, holes))}"


def _slack(answer: TrueAnswer) -> Iterator[Finding]:
    slack = answer.taken.tensions == 0
    if slack.any():
        yield Finding(
            "caution",
            "slack-spoke",
            f"Slack: {_spokes(answer, slack)}. How far it is from taking up load, no reading tells.",
            "First take up the slack there, until the spoke just stops rattling; then do the turns, and read again before riding.",
        )


def _beyond(answer: TrueAnswer) -> Iterator[Finding]:
    """Spokes over their limit, and sides whose mean is under the floor, by what was read."""
    tensions, room = answer.taken.tensions, answer.setup.room
    over = np.nan_to_num(tensions) > room.limit
    if over.any():
        yield Finding(
            "caution",
            "over-limit",
            f"Read over the limit of {room.limit[over].min():.0f} N: {_spokes(answer, over)}, up to {tensions[over].max():.0f} N.",
            "The turns take none further over. Read again after the pass; if many still are, loosen all nipples alike.",
        )
    floor = answer.build.tension.floor_stop
    for side, mean in answer.taken.means(answer.wheel).items():
        if mean < floor:
            yield Finding(
                "caution",
                "side-slack",
                f"The {side} spokes carry {mean:.0f} N in the mean, under the floor of {floor:.0f} N (tension.floor_stop).",
                "Do not ride it so; tighten as `wheelcalc tension` says, then true again.",
            )


def _bent(answer: TrueAnswer) -> Iterator[Finding]:
    limit = answer.build.limits.rim_bent_caution
    found = []
    bent = answer.bent
    for words, value, sigma in (
        ("out of flat", bent.lateral, bent.lateral_sigma),
        ("out of round", bent.radial, bent.radial_sigma),
    ):
        if value > limit and value > SURE * sigma:
            found.append(f"{value:.1f} mm {words} (+-{SURE * sigma:.1f})")
    if not found:
        return
    ends = {name: answer.compromises[name] for name in ("straight", "even")}
    straight, even = (
        f"{each.lateral:.1f} mm lateral, {each.radial:.1f} radial, tensions uneven by {max(each.spread):.0f} %"
        for each in ends.values()
    )
    yield Finding(
        "caution",
        "rim-bent",
        f"The rim itself is bent: without spokes it would be {' and '.join(found)}. Nipples can only hide that, at the price of "
        f"uneven tension. Straight would end at {straight}; even at {even}.",
        'Which do you want? Write truing.prefer = "straight" or "even" (now '
        f'"{answer.build.truing.prefer}"). A rim that is far out wants straightening or replacing.',
    )


def _misread(answer: TrueAnswer) -> Iterator[Finding]:
    words = [f"{MEANINGS[name]} at {', '.join(map(str, holes))}" for name, holes in answer.misread.items() if holes]
    if words:
        yield Finding(
            "caution",
            "misread",
            f"No turn of spokes gives such readings, so they were left out: {'; '.join(words)} (rim holes).",
            "Read them again. If they stand, the rim has a dent there, or (tension) the spokes touch or differ.",
        )
    means = answer.taken.means(answer.wheel)
    if answer.taken.heard is None and means and max(means.values()) < MAY_BE_KGF:
        yield Finding(
            "caution",
            "may-be-kgf",
            f"The tensions have a mean of {max(means.values()):.0f}: that would be a very loose wheel in N, a usual one in kgf.",
            "The column is in N; 1 kgf is 9.81 N.",
        )


def _doubts(answer: TrueAnswer) -> Iterator[Finding]:
    if answer.setup.lacking:
        yield Finding(
            "caution",
            "rim-section-unknown",
            "The rim's section is unknown, so a typical one stands in for it: each pass may fall short or go too far by a fifth.",
            f"Read again after every pass; {', '.join(answer.setup.lacking)} would sharpen it.",
        )
    doubt = NINETEEN_IN_TWENTY * answer.sigmas()["lateral_mm"]
    limit = answer.planner.done.lateral
    if doubt > limit:
        hole = answer.sigmas()["lateral_rim_hole"]
        yield Finding(
            "caution",
            "too-few-readings",
            f"Between the readings the rim may lie {doubt:.1f} mm elsewhere (19 times in 20; worst at rim hole {hole}), more than the "
            f"{limit:g} mm to be reached.",
            "Read lateral at more rim holes before you turn much, best at every second one.",
        )
    if not any(answer.was_read(side) for side in SIDES):
        yield Finding(
            "caution",
            "tension-not-read",
            "No tension was read: the turns make the rim run true, but cannot know which spokes are loose or near their limit.",
            "Pluck all spokes of a side and record it (`wheelcalc pluck`), or read them with a meter.",
        )
    heard = answer.taken.heard
    if heard is not None and len(heard.calibrated) < len(SIDES):
        yield Finding(
            "note",
            "pitch-uncalibrated",
            "Tension from pitch without a spoke of known tension: its evenness is right, its height may be off by a fifth.",
            "pluck.known, one spoke per side, would settle it.",
        )
