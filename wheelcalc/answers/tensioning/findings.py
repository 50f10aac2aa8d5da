"""What `tension` has to say besides its numbers: targets that cannot be, sides too slack, spokes that riding slackens."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.tensioning import riding as ride
from wheelcalc.answers.tensioning.answer import TensionAnswer
from wheelcalc.joined import contradiction
from wheelcalc.joined import section as rim_section
from wheelcalc.joined.target import breaking_force
from wheelcalc.joined.turning import carries_torque
from wheelcalc.tension import remedies, targets
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES, opposite

NOISE = 1e-6  # of a limit: less is round-off of the balance
UNEVEN = 0.03  # of the side's tension: less drowns in the evenness that hands reach


def all_of(answer: TensionAnswer) -> list[Finding]:
    """All findings of the answer, in the order found."""
    return [
        *_no_target(answer),
        *_over_limit(answer),
        *_slack_side(answer),
        *_pattern(answer),
        *_riding(answer),
        *_turning(answer),
        *_windup(answer),
        *_buckling_decides(answer),
        *_missing(answer),
        *(contradiction.findings(answer.build, answer.estimate) if answer.estimate else ()),
    ]


def _rim_limit_known(answer: TensionAnswer) -> bool:
    return any(each.name.startswith("rim") for each in answer.target.limits)


def _no_target(answer: TensionAnswer) -> Iterator[Finding]:
    if not _rim_limit_known(answer):
        yield Finding(
            "stop",
            "rim-limit-unknown",
            "The tension that this carbon rim bears is unknown, and no usual figure stands in for it.",
            "Ask the rim's maker and write rim.tension_limit into the file.",
        )


def _over_limit(answer: TensionAnswer) -> Iterator[Finding]:
    """A given target is never clipped."""
    if not answer.build.given("tension.target") or answer.ratio is None or not answer.target.limits:
        return
    share = targets.by_side(answer.wheel, 1.0)
    given = answer.build.tension.target
    least = answer.target.limits[0]
    most = targets.on_tighter(least, share)
    if given > most * (1 + 1e-9):
        yield Finding(
            "stop",
            "target-over-limit",
            f"tension.target is {given:.0f} N on the {answer.tighter}, {given - most:.0f} N over the limit of {most:.0f} N "
            f"({least.reason}).",
            f"Lower tension.target to {most:.0f} N or less, or take it out of the file.",
        )
    elif given + answer.within(answer.build.sigma("tension.target")) > most * (1 + 1e-9):
        within = answer.within(answer.build.sigma("tension.target"))
        yield Finding(
            "caution",
            "target-may-be-over-limit",
            f"tension.target is {given:.0f} +-{within:.0f} N on the {answer.tighter}: it may lie up to {given + within - most:.0f} N over "
            f"the limit of {most:.0f} N ({least.reason}).",
            f"Check some spokes with a tension meter, or aim at {max(most - within, 0):.0f} N or less.",
        )
    yield from _breaks(answer)
    buckling = next((each for each in answer.target.limits if each.name == "buckling"), None)
    if buckling is not None:
        tension = buckling.value_N / answer.build.limits.buckling_share
        if given >= tension:
            yield Finding(
                "stop",
                "above-buckling",
                f"tension.target is {given:.0f} N; at {tension:.0f} N on the {answer.tighter} side this rim buckles, it folds sideways.",
                "Stay well below, or take a stiffer rim.",
            )


def _breaks(answer: TensionAnswer) -> Iterator[Finding]:
    for side in SIDES:
        strength = breaking_force(answer.build, answer.wheel, side)
        if answer.target.tension[side] >= strength:
            yield Finding(
                "stop",
                "above-wire-strength",
                f"The target of {answer.target.tension[side]:.0f} N breaks the spokes on the {side}: wire "
                f"{answer.wheel.wire(side)} bears {strength:.0f} N.",
                "Lower tension.target.",
            )


def _slack_side(answer: TensionAnswer) -> Iterator[Finding]:
    if answer.sides["left"].target_N is None:
        return
    build, slack = answer.build, opposite(answer.tighter)
    stop, caution = build.tension.floor_stop, build.tension.floor_caution
    at_limit = remedies.slack_at_limit(answer.wheel, answer.target.limits)
    now = min(answer.target.tension.values())
    if at_limit < stop:
        yield Finding(
            "stop",
            "slack-side-under-floor",
            f"The {slack} side gets only {at_limit:.0f} N even with the tighter side at its limit, {stop - at_limit:.0f} N under the "
            f"floor of {stop:.0f} N (tension.floor_stop): its spokes go slack in riding, loosen and break.",
            _first_remedy(answer, "Do not build it so."),
        )
    elif now < caution:
        floor = stop if now < stop else caution
        name = "tension.floor_stop" if now < stop else "tension.floor_caution"
        higher = _rim_limit_known(answer) and at_limit >= now + 1
        room = f" With the tighter side at its limit it would get {at_limit:.0f} N." if higher else ""
        yield Finding(
            "caution",
            "slack-side-low",
            f"The {slack} side gets {now:.0f} N, under {floor:.0f} N ({name}; common practice, contested).{room}",
            _first_remedy(answer, "Lock its threads and check it after the first rides."),
        )


def _first_remedy(answer: TensionAnswer, otherwise: str) -> str:
    best = next((each for each in answer.remedies if each.gain_N > 0), None)
    if best is None:
        return otherwise
    way = best.text[0].lower() + best.text[1:-1]
    return f"{otherwise} It gets {best.slack_side_N:.0f} N if you {way}; other ways are listed."


def _pattern(answer: TensionAnswer) -> Iterator[Finding]:
    aimed = answer.sides["left"].target_N is not None
    if aimed and answer.rest is None:
        yield Finding(
            "stop",
            "cannot-balance",
            "No tensions near these targets hold the rim in its place: some spokes would have to push.",
            "Check lacing: every spoke needs others that pull against it.",
        )
    if answer.rest is None:
        return
    for side in SIDES:
        tensions = answer.rest.tensions[answer.wheel.lacing.on(side)]
        if np.ptp(tensions) > UNEVEN * tensions.mean():
            yield Finding(
                "note",
                "pattern-uneven",
                f"This pattern itself is balanced only with unequal tensions on the {side}: {tensions.min():.0f} to "
                f"{tensions.max():.0f} N.",
                "Go by the spokes' own figures (the CSV and `rows()` list them).",
            )
    yield from _over_by_pattern(answer)


def _over_by_pattern(answer: TensionAnswer) -> Iterator[Finding]:
    """Single spokes over a limit that their side's mean keeps."""
    share = targets.by_side(answer.wheel, 1.0)
    for side in SIDES:
        limit = targets.lowest_on(side, answer.target.limits)
        if answer.rest is None or answer.target.tension[side] > limit * (1 + NOISE):
            continue
        tightest = float(answer.rest.tensions[answer.wheel.lacing.on(side)].max())
        if tightest > limit * (1 + NOISE):
            target = math.floor(answer.target.tension[side] / share[side] * limit / tightest)
            yield Finding(
                "caution",
                "spokes-over-limit",
                f"In this pattern the tightest spoke on the {side} needs {tightest:.0f} N, {tightest - limit:.0f} N over the limit of "
                f"{limit:.0f} N that the mean keeps.",
                f'Write target = "{target} N" below [tension]: then no spoke passes the limit.',
            )


def _riding(answer: TensionAnswer) -> Iterator[Finding]:
    riding = answer.riding
    if riding is None:
        return
    hole = int(answer.wheel.lacing.rim_hole[riding.still.weakest])
    weight = f"the static load of {riding.weight:.0f} N"
    least = answer.build.limits.slack_load_caution
    if riding.slack_at < 1:
        yield Finding(
            "stop",
            "slack-standing-still",
            f"Already {weight} slackens a bottom spoke (rim hole {hole}): it goes slack at {riding.slack_at * riding.weight:.0f} N.",
            "More tension, more spokes, a stiffer rim or less load.",
        )
    elif riding.slack_at < least:
        yield Finding(
            "caution",
            "slack-near",
            f"A bottom spoke (rim hole {hole}) goes slack at {riding.slack_at:.1f} times {weight}, under {least:g} times "
            "(limits.slack_load_caution).",
            "More tension, more spokes or a stiffer rim; on rough roads it loosens.",
        )


def _turning(answer: TensionAnswer) -> Iterator[Finding]:
    if answer.riding is None or answer.rest is None:
        return
    for each in answer.riding.turning:
        left = answer.rest.tensions + each.changes
        if left.min() < 0:
            hole = int(answer.wheel.lacing.rim_hole[int(np.argmin(left))])
            doing = "pedalling" if each.what == "driving" else "braking"
            yield Finding(
                "caution",
                f"{each.what}-slackens",
                f"Hard {doing} ({each.torque / 1000:.0f} N m on the hub) slackens spokes, first at rim hole {hole}.",
                "More crosses or more spokes share the torque.",
            )


def _windup(answer: TensionAnswer) -> Iterator[Finding]:
    if answer.figures is None or answer.wheel.lacing.lean.any() or answer.figures.windup_stiffness is None:
        return
    turn, build = np.degrees(100_000 / answer.figures.windup_stiffness), answer.build
    text = f"All spokes are radial: the hub's turning in the rim is resisted by their tension only, 100 N m turn it {turn:.1f} degrees"
    if carries_torque(build):
        yield Finding("note", "windup-by-tension-only", f"{text}.")
    elif build.position == "rear" and "hub.drive" not in build:
        text += "; hub.drive is not given."
        yield Finding(
            "caution", "windup-by-tension-only", text, "A hub that drives wants crossed spokes: say what it is."
        )
    else:
        yield Finding("note", "windup-by-tension-only", f"{text}.", "That will do: this hub neither drives nor brakes.")


def _buckling_decides(answer: TensionAnswer) -> Iterator[Finding]:
    limits = answer.target.limits
    if not answer.target.known or answer.build.given("tension.target") or not limits or limits[0].name != "buckling":
        return
    yield Finding(
        "note",
        "buckling-decides",
        "The rim's stiffness decides the target, which `order` and `lengths` do not know.",
        f'To have them agree write target = "{answer.target.tension[answer.tighter]:.0f} N" below [tension].',
    )


def _missing(answer: TensionAnswer) -> Iterator[Finding]:
    lacking = rim_section.missing(answer.build)
    if lacking:
        yield Finding(
            "note",
            "section-unknown",
            "The wheel's stiffness, its buckling and what the rider's weight takes are not computed: the rim's section is unknown.",
            f"Missing: {', '.join(lacking)}.",
        )
    lacking = ride.missing(answer.build)
    if lacking and answer.figures is not None:
        yield Finding(
            "note",
            "load-unknown",
            "How near the bottom spokes come to slack under the rider is not computed.",
            f'Missing: {", ".join(lacking)} (with their unit, such as "85 kg").',
        )
