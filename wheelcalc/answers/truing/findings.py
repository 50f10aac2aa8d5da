"""What `true` has to say besides the turns: loose and tight spokes, a bent rim, readings that do not fit."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.truing.content import MENDS, TrueContent
from wheelcalc.joined.findings import build_findings
from wheelcalc.truing.slips import ALL, NEWEST, Likelier
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.parts import SIDES

SURE = 2.0  # standard uncertainties from which a bend is more than the readings' noise
MAY_BE_KGF = 160.0  # N: wheels have means of 500 to 1200 N, which are 50 to 120 kgf
MANY_TIMES = 1000.0
MANY = 0.25  # ours, of the spokes: the wheel as a whole is too tight
HOLES_TOO = "; or count the holes anew, forward from the valve"
BLIND = "the turns make the rim run true, but cannot know which spokes are loose or near their limit"


def all_of(answer: TrueContent) -> list[Finding]:
    """All findings of the answer, in the order found."""
    return [
        *build_findings(answer.build, answer.wheel),
        *_slips(answer),
        *_disagreeing(answer),
        *_proof(answer),
        *_slack(answer),
        *_beyond(answer),
        *_bent(answer),
        *_misread(answer),
        *_nipples(answer),
        *_doubts(answer),
    ]


def _spokes(answer: TrueContent, mask: np.ndarray) -> str:
    holes = answer.wheel.lacing.rim_hole[mask].tolist()
    more = "s" if len(holes) > 1 else ""
    return f"the spoke{more} in rim hole{more} {', '.join(map(str, holes))}"


def _slack(answer: TrueContent) -> Iterator[Finding]:
    slack = answer.newest.tensions == 0
    if slack.any():
        yield Finding(
            "caution",
            "slack-spoke",
            f"Slack: {_spokes(answer, slack)}. How far it is from taking up load, no reading tells.",
            "First take up the slack there, until the spoke just stops rattling; then do the turns, and read again before riding.",
        )


def _beyond(answer: TrueContent) -> Iterator[Finding]:
    """Spokes over their limit, and sides whose mean is under the floor, by what was read."""
    tensions, room = answer.newest.tensions, answer.at_tensions.room
    over = np.nan_to_num(tensions) > room.limit
    if over.any():
        holes = answer.wheel.lacing.rim_hole[over].tolist()
        more, them = ("s", "them") if len(holes) > 1 else ("", "it")
        yield Finding(
            "caution",
            "over-limit",
            f"Over the limit of {room.limit[over].min():.0f} N: rim hole{more} {', '.join(map(str, holes))}, "
            f"{'up to ' if more else ''}{tensions[over].max():.0f} N.",
            f"No turn tightens {them} more.{' If they stay over, loosen all alike.' if over.mean() > MANY else ''}",
        )
    floor = answer.build.tension.floor_stop
    for side, mean in answer.newest.means(answer.wheel).items():
        if mean < floor:
            yield Finding(
                "caution",
                "side-slack",
                f"The {side} spokes carry {mean:.0f} N in the mean, under the floor of {floor:.0f} N (tension.floor_stop).",
                "Do not ride it so; tighten as `wheelcalc tension` says, then true again.",
            )


def _bent(answer: TrueContent) -> Iterator[Finding]:
    limit = answer.build.limits.rim_bent_caution
    bends = []
    bent = answer.bent
    for words, value, sigma in (
        ("out of flat", bent.lateral, bent.lateral_sigma),
        ("out of round", bent.radial, bent.radial_sigma),
    ):
        if value > limit and value > SURE * sigma:
            bends.append(f"{value:.1f} mm {words} (+-{SURE * sigma:.1f})")
    if not bends:
        return
    ends = {name: answer.compromises[name] for name in ("straight", "even")}
    straight, even = (
        f"{each.lateral:.1f} mm lateral, {each.radial:.1f} radial, tensions uneven by {max(each.spread):.0f} %"
        for each in ends.values()
    )
    yield Finding(
        "caution",
        "rim-bent",
        f"The rim itself is bent: without spokes it would be {' and '.join(bends)}. Nipples can only hide that, at the price of "
        f"uneven tension. Straight would end at {straight}; even at {even}.",
        'Which do you want? Write truing.prefer = "straight" or "even" (now '
        f'"{answer.build.truing.prefer}"). A rim that is far out wants straightening or replacing.',
    )


def _slips(answer: TrueContent) -> Iterator[Finding]:
    """The likeliest slip, where the readings without it are far likelier than as typed; others that mend them too are named."""
    sure = answer.slipped
    if not sure:
        return
    first, slip = sure[0], sure[0].slip
    times = f"{first.times:.0f}" if first.times < MANY_TIMES else "thousands of"
    named = named_slip(first)
    others = list(dict.fromkeys(named_slip(each) for each in sure[1:]))
    also = f" It may as well be: {'; '.join(others)}." if others else ""
    if slip.what == "turned the wrong way":
        text = f"The readings fit {times} times better if all nipples were turned the wrong way after the pass before."
    elif slip.scope == ALL and len(answer.passes) > 1:
        text = f"All readings fit the turns {times} times better with another count or sign: {named}."
    else:
        whose = {NEWEST: "The last readings fit", ALL: "All readings fit"}[slip.scope]
        text = f"{whose} a wheel {times} times better with a slip taken back: {named}."
    yield Finding(
        "stop", "column-slip", text + also, f"Do not turn anything yet. Look again; if so, {MENDS[slip.what]}."
    )


def _disagreeing(answer: TrueContent) -> Iterator[Finding]:
    """Columns that are scatter."""
    scatter = answer.disagreeing
    if not scatter:
        return
    words = " and ".join(
        f"{each.column} (each about {each.scatter:.1f} mm from what the others expect"
        f"{f', {each.left_out} left out besides' if each.left_out else ''})"
        for each in scatter
    )
    entry = " and ".join(f"truing.reading_error.{each.column} = {each.scatter:.1f}" for each in scatter)
    yield Finding(
        "stop",
        "readings-disagree",
        f"These readings do not agree with one another: {words}. No rim on spokes lies so.",
        "Do not turn anything. Look that the gauge is firm, readings are in mm and each stands beside its own rim hole; then read again. "
        f"If you cannot read better, write {entry}.",
    )


def _proof(answer: TrueContent) -> Iterator[Finding]:
    """Signs of which the readings do not tell whether they are right."""
    proof = answer.proof
    if proof is None:
        return
    several, holes_too = len(proof.columns) > 1, "lateral" in proof.columns
    yield Finding(
        "caution",
        "sign-not-proven",
        f"The readings do not tell whether {' and '.join(proof.columns)} {'have' if several else 'has'} the right sign"
        f"{' and the holes are counted forward' if holes_too else ''}; the first nipple turned does: begin with hole "
        f"{answer.wheel.lacing.rim_hole[proof.spoke]} alone.",
        f"Watch the gauge: {answer.proof_words}. If {'either' if several else 'it'} goes the other way, turn the nipple back and no "
        f"other: {'; '.join(MENDS[f'{column} sign'] for column in proof.columns)}{HOLES_TOO if holes_too else ''}.",
    )


def named_slip(each: Likelier) -> str:
    """What was done, and how."""
    return each.slip.what + (f" ({each.slip.detail})" if each.slip.detail else "")


def _misread(answer: TrueContent) -> Iterator[Finding]:
    out = answer.left_out_now
    if out:
        words = "; ".join(
            f"{each.column} at {each.rim_hole}: {_value(each.value, each.column)}, expected {_value(each.likely, each.column)}"
            for each in out
        )
        entry = f'truing.keep = [{{ rim_hole = {out[0].rim_hole}, column = "{out[0].column}" }}]'
        yield Finding(
            "caution",
            "misread",
            f"Left out, as neighbours and tensions speak against {'it' if len(out) == 1 else 'them'} (by rim hole): {words}.",
            f"Read {'it' if len(out) == 1 else 'them'} again and write the new value. One that stands: {entry}.",
        )
    means = answer.newest.means(answer.wheel)
    if answer.newest.heard is None and means and max(means.values()) < MAY_BE_KGF:
        yield Finding(
            "caution",
            "may-be-kgf",
            f"The tensions have a mean of {max(means.values()):.0f}: that would be a very loose wheel in N, a usual one in kgf.",
            "The column is in N; 1 kgf is 9.81 N.",
        )


def _value(value: float, column: str) -> str:
    return f"{value:.0f} N" if column == "tension" else f"{value:.2f} mm"


def _nipples(answer: TrueContent) -> Iterator[Finding]:
    """Nipples that do not turn, or were turned the wrong way; a stand that was moved."""
    said = set(answer.build.truing.stuck)
    unsaid = [hole for hole in answer.stuck if hole not in said]
    if unsaid:
        holes = ", ".join(map(str, unsaid))
        yield Finding(
            "caution",
            "nipple-stuck",
            f"Asked to turn, but the readings say that nothing came of it: the nipple{'s' if len(unsaid) > 1 else ''} in rim hole "
            f"{holes}. The next pass goes round {'them' if len(unsaid) > 1 else 'it'}.",
            f"Hold the spoke and look whether it turns with the nipple. If it is seized, write truing.stuck = [{holes}]; penetrating "
            "oil at both ends of the nipple, a day's wait, or a new spoke.",
        )
    for each in answer.backwards():
        yield Finding(
            "caution",
            "turned-backwards",
            f"After pass {each['pass']} the nipple in rim hole {each['rim_hole']} was most likely turned the wrong way.",
            "Tighter is clockwise, seen from the tyre. The next pass takes it for that.",
        )
    for number in (answer.first - 1 + each for each in answer.judged.fit.causes.moved):
        yield Finding(
            "note",
            "stand-moved",
            f"Between pass {number} and {number + 1} the plane that lateral is read from has moved.",
            "Set the stand by turning the wheel round in it; the dish is only as sure as that plane.",
        )


def _unsure(answer: TrueContent) -> Iterator[Finding]:
    """Plucks that do not count, since it is doubtful whose spoke sounded."""
    unsure, sides = answer.newest.unsure, " and ".join(answer.newest.unsure.from_hole)
    if sides:
        others = any(answer.side_was_read(side) for side in SIDES)
        yield Finding(
            "caution",
            "hearing-doubtful",
            f"Which spoke each pluck was is doubtful on the {sides}: no tension heard there counts, and no nipple is turned for "
            f"it{'' if others else f'; {BLIND}'}.",
            f"Pluck again from {unsure.starts} on, the first spoke twice to begin with and twice again to end with (`wheelcalc "
            "pluck` --from says where it began); or read the tensions with a meter.",
        )
    elif unsure.rim_holes:
        more, holes = "s" if len(unsure.rim_holes) > 1 else "", ", ".join(map(str, unsure.rim_holes))
        yield Finding(
            "note",
            "pluck-doubtful",
            f"Not counted, as another spoke may as well have sounded: the pluck{more} of rim hole{more} {holes}.",
            f"Pluck {'them' if more else 'it'} again, or read {'them' if more else 'it'} with a meter.",
        )


def _doubts(answer: TrueContent) -> Iterator[Finding]:
    if answer.at_tensions.lacking:
        yield Finding(
            "caution",
            "rim-section-unknown",
            "The rim's section is unknown, so a typical one stands in for it: each pass may fall short or go too far by a fifth.",
            f"Read again after every pass; {', '.join(answer.at_tensions.lacking)} would sharpen it.",
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
    yield from _unsure(answer)
    if not any(answer.side_was_read(side) for side in SIDES) and not answer.newest.unsure.from_hole:
        yield Finding(
            "caution",
            "tension-not-read",
            f"No tension was read: {BLIND}.",
            "Pluck all spokes of a side and record it (`wheelcalc pluck`), or read them with a meter.",
        )
    heard = answer.newest.heard
    if heard is not None and len(heard.calibrated) < len(SIDES) and np.isfinite(answer.newest.tensions).any():
        yield Finding(
            "note",
            "pitch-uncalibrated",
            "Tension from pitch without a spoke of known tension: its evenness is right, its height may be off by a fifth.",
            "pluck.known, one spoke per side, would settle it.",
        )
