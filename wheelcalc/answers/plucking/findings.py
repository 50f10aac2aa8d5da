"""What `pluck` has to say besides the table: what to pluck again, what to look at, how far to trust it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from wheelcalc.answers.plucking.change import event_in_words
from wheelcalc.answers.plucking.content import HeardPluck, PluckContent
from wheelcalc.joined.pitch_tensions import LARGEST_MISFIT
from wheelcalc.page.numbers import counted
from wheelcalc.tension import targets
from wheelcalc.truing.two_recordings import MISREAD, SPOKE
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.findings import Finding

ONE_SIDE = 1.3  # C: sides whose tensions stand so far from the balance of a dished wheel are no such wheel's
MOST_NAMED = 6  # ours: more rim holes or moments in a sentence are not read
FAR_OFF = 0.25  # C: of a side's mean: loose or tight beyond what trueing leaves


def all_of(answer: PluckContent) -> list[Finding]:
    """All findings of the answer, in the order found."""
    return [
        *_over(answer),
        *_slack(answer),
        *_doubtful(answer),
        *_one_side(answer),
        *_count(answer),
        *_events(answer),
        *_unheard(answer),
        *_misfit(answer),
        *_wire(answer),
        *_tape(answer),
        *_uncalibrated(answer),
        *_touching(answer),
    ]


def _holes(answer: PluckContent, places: Sequence[int]) -> str:
    holes = sorted({int(answer.wheel.lacing.rim_hole[place]) for place in places})
    return f"rim hole{'s' if len(holes) > 1 else ''} {', '.join(map(str, holes))}"


def _over(answer: PluckContent) -> Iterator[Finding]:
    """Spokes over the lowest limit of their side, surely (19 times in 20) or probably."""
    limits = {side: targets.lowest_on(side, answer.target.limits) for side in ("left", "right")}
    limit = np.where(answer.wheel.lacing.is_right, limits["right"], limits["left"])
    surely = answer.tension - NINETEEN_IN_TWENTY * answer.sigma > limit
    probably = (answer.tension > limit) & ~surely
    if surely.any():
        holes = _holes(answer, np.flatnonzero(surely).tolist())
        text = f"Over the limit of {limit[surely].min():.0f} N even at the low end of the error: {holes}."
        yield Finding("stop", "over-limit", text, "Loosen before riding; `wheelcalc true` says by how much.")
    if probably.any() and answer.calibrated:
        text = f"Probably over the limit of {limit[probably].min():.0f} N: {_holes(answer, np.flatnonzero(probably).tolist())}."
        yield Finding("caution", "near-limit", text, "Do not tighten these further; check one with a meter.")


def _slack(answer: PluckContent) -> Iterator[Finding]:
    off = answer.against_side()
    low, high = np.flatnonzero(off < -FAR_OFF).tolist(), np.flatnonzero(off > FAR_OFF).tolist()
    if low:
        text = f"More than {100 * FAR_OFF:.0f} % looser than the others of its side: {_holes(answer, low)}."
        remedy = "Look there before riding: a nipple that unwound, a cracked rim hole, a spoke about to break."
        yield Finding("caution", "loose-spoke", text, remedy)
    if high:
        text = f"More than {100 * FAR_OFF:.0f} % tighter than the others of its side: {_holes(answer, high)}."
        yield Finding("caution", "tight-spoke", text, "Loosen it together with its neighbours: `wheelcalc true`.")


def _doubtful(answer: PluckContent) -> Iterator[Finding]:
    heard = [each for each in answer.heard if each.pluck.likely]
    faint = [each for each in answer.heard if not each.pluck.likely]
    if faint:
        text = f"{counted(len(faint), 'sound')} that may be plucks, but likelier are none (at {_times(faint)}), count for nothing."
        yield Finding("note", "faint-sound", text, "If a spoke is missing there, pluck it again, louder.")
    stray = [each for each in heard if each.spoke is None]
    if stray:
        text = f"At {_times(stray)} something rings that fits no spoke of the round; it was given none."
        yield Finding("note", "stray-sound", text, "")
    doubtful = [each for each in heard if each.spoke is not None and not each.pluck.sure]
    if doubtful:
        text = f"Not surely heard: {_few(answer, doubtful)}; marked ?."
        yield Finding("caution", "doubtful-pluck", text, "Pluck these again, near the middle of the spoke.")
    misplaced = [each for each in heard if each.spoke is not None and not each.pluck.placed]
    if misplaced:
        text = f"Which spoke it was is not sure: {_few(answer, misplaced)}; marked #."
        remedy = (
            "Pluck the round again, evenly in time, twice at its first spoke to begin with and twice there to end with."
        )
        yield Finding("caution", "doubtful-hole", text, remedy)


def _few(answer: PluckContent, heard: Sequence[HeardPluck]) -> str:
    """Rim holes and times of a few plucks; of many how many, and from when to when."""
    if len(heard) <= MOST_NAMED:
        return f"{_holes(answer, _places(heard))} (at {_times(heard)})"
    all_ = sum(each.pluck.likely for each in answer.heard)
    return f"{len(heard)} of {all_} plucks (from {heard[0].pluck.at:.1f} to {heard[-1].pluck.at:.1f} s)"


def _times(heard: Sequence[HeardPluck]) -> str:
    few = ", ".join(f"{each.pluck.at:.1f} s" for each in heard[:MOST_NAMED])
    return few if len(heard) <= MOST_NAMED else f"{few} and {len(heard) - MOST_NAMED} more"


def _places(heard: Sequence[HeardPluck]) -> list[int]:
    return [each.spoke for each in heard if each.spoke is not None]


def _one_side(answer: PluckContent) -> Iterator[Finding]:
    """Both sides heard at tensions that would pull the rim far off the middle: one side was plucked, most likely."""
    wanted = targets.ratio_left_to_right(answer.wheel)
    if wanted is None or len(answer.sides) < 2:
        return
    ratio = answer.sides["left"].tension / answer.sides["right"].tension
    if 1 / ONE_SIDE <= ratio / wanted <= ONE_SIDE:
        return
    text = (
        f"As heard, the left carries {100 * ratio:.0f} % of the right's tension; with the rim in the middle it would be "
        f"{100 * wanted:.0f} %. Was only one side plucked?"
    )
    remedy = "If so, say which side, left or right. If not, the rim stands off the middle: see to the dish first."
    yield Finding("caution", "one-side", text, remedy)


def _count(answer: PluckContent) -> Iterator[Finding]:
    """Where plucks and spokes do not go up one to one, the order is a guess."""
    assigned, order = answer.assigned, answer.round.spokes(answer.wheel)
    first = int(order[0])
    again = [
        each
        for each in answer.heard
        if each.again and each.pluck.likely and not (any(assigned.marked) and each.spoke == first)
    ]
    if any(assigned.marked):
        ends = " and ".join(name for name, marked in zip(("start", "end"), assigned.marked, strict=True) if marked)
        text = f"Two plucks of rim hole {answer.wheel.lacing.rim_hole[first]} mark the {ends} of the round."
        yield Finding("note", "round-marked", text, "")
    if again:
        times = ", ".join(f"{each.pluck.at:.1f} s" for each in again)
        places = [each.spoke for each in again if each.spoke is not None]
        text = f"Taken as the same spoke plucked once more: {_holes(answer, places)} (at {times})."
        yield Finding(
            "caution",
            "plucked-twice",
            text,
            "If that is wrong, the spokes after it are out by one: pluck the round again.",
        )
    if assigned.passed_over:
        text = f"Not heard, by the rhythm and the pitches: {_holes(answer, [int(order[i]) for i in assigned.passed_over])}."
        yield Finding(
            "caution",
            "passed-over",
            text,
            "If that is wrong, the spokes after it are out by one: pluck the round again.",
        )
    if assigned.left:
        hole = int(answer.wheel.lacing.rim_hole[int(order[len(order) - assigned.left - 1])])
        plural = "s" if assigned.left > 1 else ""
        heard = sum(each.pluck.likely for each in answer.heard)
        text = (
            f"{heard} plucks for {len(order)} spokes: the round ends at rim hole {hole}, {assigned.left} "
            f"spoke{plural} before its end."
        )
        remedy = "If you plucked them all, one was missed on the way and the later ones are out by one: pluck the round again."
        yield Finding("caution", "round-not-full", text, remedy)


def _events(answer: PluckContent) -> Iterator[Finding]:
    for each in answer.since.change.events if answer.since else ():
        text = event_in_words(answer.wheel, each)
        if each.kind == SPOKE and each.amount > 0:
            remedy = "Look there: has the nipple unwound, is the rim hole cracked or the nipple sinking in, is the head seated?"
            yield Finding("caution", "spoke-gave", text, remedy)
        elif each.kind == SPOKE:
            yield Finding(
                "note", "spoke-tightened", text, "If nobody turned that nipple, look whether the rim is bent there."
            )
        elif each.kind == MISREAD:
            yield Finding("note", "misread", text, "Pluck it again.")
        else:
            yield Finding("caution", "rim-bent", text, "Look there for a dent or a buckle before riding on.")


def _unheard(answer: PluckContent) -> Iterator[Finding]:
    if answer.calibration.unheard:
        holes = ", ".join(map(str, answer.calibration.unheard))
        text = f"pluck.known names rim hole {holes}, but it was not surely heard, so it calibrates nothing."
        yield Finding("caution", "known-unheard", text, "Pluck it in the same recording.")


def _misfit(answer: PluckContent) -> Iterator[Finding]:
    for hole, each in answer.calibration.loosened.items():
        if each.misfit > LARGEST_MISFIT:
            text = f"The pitches of rim hole {hole} while it was loosened do not fit each other."
            yield Finding("caution", "loosened-misfit", text, "Count the turns again, or check the pitches.")


def _wire(answer: PluckContent) -> Iterator[Finding]:
    """At a given pitch the tension goes with the wire's section, so that a guessed wire spoils the height."""
    if not answer.calibrated and not all(answer.build.given(f"spokes.wire.{side}") for side in answer.sides):
        wires = " and ".join(dict.fromkeys(str(answer.wheel.wire(side)) for side in answer.sides))
        text = f"The file does not name the wire; {wires} mm was taken. If the middle is 1.8, the tensions are a fifth lower."
        yield Finding("caution", "wire-assumed", text, "Measure the middle of a spoke and write spokes.wire.")


def _tape(answer: PluckContent) -> Iterator[Finding]:
    found_by_tape = answer.calibration.tape
    if found_by_tape is None:
        return
    each = " and ".join(
        f"{found_by_tape.by_side[side]:.0f} N {side}" for side in ("right", "left") if side in answer.sides
    )
    within = 100 * NINETEEN_IN_TWENTY * found_by_tape.share
    text = f"The rim's circumference gives {each} in the mean, +-{within:.0f} % (19 times in 20)."
    if not found_by_tape.useful:
        text += " That is no surer than the pitches alone, so it calibrates nothing."
    yield Finding("note", "tape", text, "" if found_by_tape.useful else "Read it several times and give a list.")


def _uncalibrated(answer: PluckContent) -> Iterator[Finding]:
    if answer.calibrated:
        return
    text = (
        "Not calibrated: compare the spokes of a side with each other, and do not take the newtons as measured. How the "
        "ends are held is not known, and it moves them all together."
    )
    remedy = "One spoke read with a meter settles it: pluck.known."
    if answer.advice:
        hole, turns, sigma = answer.advice
        half = f"{turns / 2:g} turn"
        remedy += (
            f" Without a meter:{_apart(answer)} pluck rim hole {hole}, loosen its nipple by {half}, pluck, by {half} more, pluck, "
            f"and write turns and pitches into pluck.loosened (then tighten it again by {turns:g}): the tension is then sure to "
            f"about +-{NINETEEN_IN_TWENTY * sigma:.0f} N."
        )
    yield Finding("note", "uncalibrated", text, remedy)


def _apart(answer: PluckContent) -> str:
    return " hold the spoke that it touches aside," if (answer.pairs.partner >= 0).any() else ""


def _touching(answer: PluckContent) -> Iterator[Finding]:
    if (answer.pairs.partner >= 0).any():
        text = (
            "Crossed spokes that touch sound together: each pitch tells the mean tension of its pair (it reads 0.9 % low "
            "where the two are 10 % to either side of it), so single spokes may differ more than the table shows."
        )
        yield Finding(
            "note",
            "pairs",
            text,
            "To tell the two apart, hold them apart with a finger and set pluck.touching = false.",
        )
