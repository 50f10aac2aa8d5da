"""Of `fit`: the verdict, the steps, the trade-off and the working, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from wheelcalc.answers.fitting.chain import moves
from wheelcalc.answers.fitting.content import FitContent
from wheelcalc.answers.fitting.width import Width
from wheelcalc.arrays import Ints
from wheelcalc.bike.ends import USUAL_RECESS
from wheelcalc.bike.spacers import CLOSE, STEP
from wheelcalc.bike.stacks import Stacks
from wheelcalc.bike.width import Spacing, Verdict, frame_width
from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.files.writing import write_key
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.parts import SIDES

RIDER_FEELS = 2.0  # mm, ours: less nobody sets a stem by
AXLE_SPARED = 1.0  # mm a side, ours: an axle has so much to spare
SADDLE_TILT = 0.2  # deg, ours: about what a level on a saddle shows
WORTH_SAYING = 0.05  # mm: below it nothing moves that a rule would show
SPOKES_STILL_SERVE = 1.0  # mm, C: what a nipple's thread takes up either way
SAME_WIDTH = 0.75  # mm: a width is one of the table's within a reading's error


def put(spacers: Spacing) -> str:
    """Say what is to be put on or taken off, such as "1.5 mm on the left and nothing on the right"."""
    if abs(spacers.left - spacers.right) < CLOSE and spacers.left:
        return f"{abs(spacers.left):g} mm {'on' if spacers.left > 0 else 'off'} each side"
    parts = []
    for side, thick in spacers._asdict().items():
        action = "off" if thick < 0 else "on"
        parts.append(f"{abs(thick):g} mm {action} the {side}" if abs(thick) > CLOSE else f"nothing on the {side}")
    return " and ".join(parts)


def _in_short(spacers: Spacing) -> str:
    return put(spacers).replace(" on the ", " ").replace(" off the ", " off ").replace(" and ", ", ")


def verdict_sentence(verdict: Verdict | None, spacers: Spacing, chosen: Spacing | None, *, stops: bool) -> str:
    """Say in one sentence whether the hub fits; under a stop, that it must not be ridden yet."""
    if verdict is None:
        return "No verdict on the hub yet: the frame's or the hub's width is missing (see what to read next)."
    word = verdict[0].upper() + verdict[1:]
    with_what = (
        f": {_in_short(spacers)}{' (as chosen)' if chosen else ''}"
        if any(spacers) and verdict != "does not fit"
        else ""
    )
    warning = ", but do not ride it yet" if stops and verdict.startswith("fits") else ""
    return f"{word}{with_what}{warning}."


def width_sentence(width: Width | None, spacers: Spacing, verdict: Verdict | None) -> str:
    """Say how wide the frame and the hub are; empty where that is not known."""
    if width is None:
        return ""
    off = abs(width.missing)
    narrow = "too narrow" if verdict == "does not fit" else "to fill"
    to_fill = "no difference" if off < WORTH_SAYING else f"{off:.1f} mm {'too wide' if width.missing < 0 else narrow}"
    short = width.missing - sum(spacers)
    more = f" With {short:.1f} mm more of spacer it would fit." if verdict == "needs respacing" and short > 0 else ""
    return (
        f"The frame is {width.frame:.1f} mm wide between its ends, the hub {width.hub:.1f} mm over its locknuts: "
        f"{to_fill} (sure to +-{NINETEEN_IN_TWENTY * width.sigma:.1f} mm, 19 times of 20).{more}"
    )


def steps(answer: FitContent) -> list[str]:
    """Return what to do, in order."""
    bike = [*_shell_step(answer), *_moved_steps(answer)]
    if answer.width is None or answer.state is None or answer.verdict == "does not fit":
        return bike
    wheel = [*_spacer_step(answer), *_axle_step(answer), *_rim_step(answer), *_rotor_step(answer), *_cog_step(answer)]
    return [*wheel, *bike]


def _shell_step(answer: FitContent) -> Iterator[str]:
    shell = answer.shell
    if shell is None or min(shell.spacers) < 0 or not any(shell.spacers):
        return
    left, right = shell.spacers
    yield f"Crank bearings in this shell: {left:g} mm of spacer left and {right:g} mm right keep the chainline."


def _moved_steps(answer: FitContent) -> Iterator[str]:
    """Say what the rider sets anew after the frame was raised, lowered or turned."""
    moved = None if answer.geometry is None else answer.geometry.moves
    if moved is None:
        return
    bars, saddle = moved.bars, moved.saddle
    if abs(bars.above_bracket_mm) >= RIDER_FEELS or abs(bars.forward_mm) >= RIDER_FEELS:
        yield (
            f"Bars: {_up(bars.above_bracket_mm)} over the bracket, {_up(bars.above_ground_mm)} over the ground, "
            f"{abs(bars.forward_mm):.0f} mm further {'forward' if bars.forward_mm > 0 else 'back'}: set stem and its spacers to suit."
        )
    elif abs(bars.above_ground_mm) >= RIDER_FEELS:
        yield f"Bars and saddle stand {_up(bars.above_ground_mm)} over the ground and stay where they are against the bracket."
    if abs(moved.turn_deg) >= SADDLE_TILT:
        yield (
            f"Saddle: its tip points {abs(moved.turn_deg):.1f} degrees further {'up' if moved.turn_deg > 0 else 'down'}: set it level "
            f"again and push it {abs(saddle.forward_mm):.0f} mm {'back' if saddle.forward_mm > 0 else 'forward'} on its rails."
        )
    if abs(moved.standover_mm) >= RIDER_FEELS:
        yield f"Standing over the bike: the top tube is {_up(moved.standover_mm)} in the middle. Try it with both feet down."


def _up(mm: float) -> str:
    return f"{abs(mm):.0f} mm {'higher' if mm > 0 else 'lower'}"


def _spacer_step(answer: FitContent) -> Iterator[str]:
    if not any(answer.spacers):
        if answer.verdict == "fits":
            yield f"Nothing to add: put the wheel in as it is, ends pushed fully home.{_only_moved(answer)}"
        return
    if answer.build.hub.axle == "through":
        yield f"End caps thicker by the spacers, from the hub's maker: {put(answer.spacers)}."
        return
    on = "under the locknuts" if min(answer.spacers) >= 0 else "at the locknuts"
    yield f"Spacers {on}: {put(answer.spacers)}.{_pieces(answer.stacks)} Set the bearings again: no play, no drag."


def _only_moved(answer: FitContent) -> str:
    """Say what better plans are for, where the hub goes in as it is."""
    if answer.plans is None or not (answer.plans.left[0] or answer.plans.right[0]):
        return ""
    return " The rows above * only move spacers about: for a straighter chain or more even spokes, where nothing is against them."


def _pieces(stacks: Stacks | None) -> str:
    """Say which spacers the plan takes, such as " Of those on hand: 2.5 + 1 mm left, 2.5 mm right."."""
    if stacks is None:
        return ""
    off, on = (
        [(side, " + ".join(f"{size:g}" for size in sizes)) for side, sizes in zip(SIDES, pieces, strict=True) if sizes]
        for pieces in (stacks.off, stacks.on)
    )
    said = f" Take {' and '.join(f'{sizes} mm off the {side}' for side, sizes in off)}." if off else ""
    return said + (
        f" {'Then put on' if off else 'Of those on hand'}: {', '.join(f'{sizes} mm {side}' for side, sizes in on)}."
        if on
        else ""
    )


def _axle_step(answer: FitContent) -> Iterator[str]:
    state = answer.state
    if state is None or not any(answer.spacers):
        return
    if np.isnan(state.stub_left[0]):
        yield from _less_axle(answer)
        return
    left, right = float(state.stub_left[0]), float(state.stub_right[0])
    if abs(left - right) > WORTH_SAYING:
        side = "left" if left < right else "right"
        yield (
            f"Screw the axle {abs(left - right) / 2:.1f} mm to the {side}, so that {(left + right) / 2:.1f} mm stand out on each side "
            f"(else {left:.1f} left, {right:.1f} right){_write_it(answer, (left - right) / 2)}."
        )


def _less_axle(answer: FitContent) -> Iterator[str]:
    """Say what spacers take from an axle of which it is not known how far it stands out."""
    each = sum(answer.spacers) / 2
    if each < AXLE_SPARED or answer.build.hub.axle == "through" or "hub.axle_protrusion" in answer.build:
        return
    yield (
        f"The spacers leave {each:.2g} mm less axle on each side. What must stand out: half of the end's thickness (quick "
        "release), or the end's thickness and a whole nut (nutted); else fit a longer axle."
    )


def _write_it(answer: FitContent, further: float) -> str:
    """Say what stores a moved axle, where the plan does not pass without it."""
    state = answer.state
    if state is None or not (state.stub_short[0] or state.stub_long[0]):
        return ""
    moved = answer.build.hub.axle_moved + further
    return f"; once it is done write axle_moved = {moved:g} below [hub]"


def _rim_step(answer: FitContent) -> Iterator[str]:
    if answer.state is None:
        return
    shift = float(answer.state.rim_shift[0])
    if abs(shift) < WORTH_SAYING:
        if any(answer.spacers):
            yield "The rim stays where it is in the middle; an existing wheel needs no new dish."
        return
    yield (
        f"An existing wheel: the rim must move {abs(shift):.1f} mm to the {'right' if shift > 0 else 'left'}{_longer(answer)}. "
        "A new wheel: store the plan first, then `wheelcalc order` counts the spokes for it."
    )


def _longer(answer: FitContent) -> str:
    state = answer.state
    if state is None or np.isnan(state.length_change_left[0]):
        return ""
    left, right = float(state.length_change_left[0]), float(state.length_change_right[0])
    serve = "its spokes still serve" if max(abs(left), abs(right)) < SPOKES_STILL_SERVE else "it needs other spokes"
    left, right = (round(each, 1) + 0.0 for each in (left, right))  # no "-0.0"
    return f" ({serve}: {left:+.1f} mm on the left, {right:+.1f} on the right)"


def _rotor_step(answer: FitContent) -> Iterator[str]:
    left = answer.spacers.left
    if abs(left) < WORTH_SAYING or not answer.build.has_rotor:
        return
    way = "in" if left > 0 else "out"
    yield f"The rotor sits {abs(left):.1f} mm further {way} than before, against the calliper: shim it by that, or re-set the calliper."


def _cog_step(answer: FitContent) -> Iterator[str]:
    right = answer.spacers.right
    if answer.build.position == "front" or answer.build.hub.drive in ("none", None):
        return
    if abs(right) > WORTH_SAYING:
        way = "in from" if right > 0 else "out toward"
        shifted = answer.build.has_derailleur
        task = "re-set the derailleur" if shifted else "see that the chain still runs straight to its ring"
        yield f"The cogs sit {abs(right):.1f} mm further {way} the right end: {task}."


def lines_to_paste(answer: FitContent) -> list[str]:
    """Return the section and the key that store the plan."""
    if answer.width is None or answer.chosen is not None or answer.verdict == "does not fit" or not any(answer.spacers):
        return []
    return ["[spacers]", write_key("fitted", {"left": answer.spacers.left, "right": answer.spacers.right})]


def trade_off(answer: FitContent) -> str:
    """Say what the best plan for even spokes costs elsewhere, among those as wide as the best; empty without a choice."""
    plans = answer.plans
    if plans is None or len(plans) < 2 or np.isnan(plans.offset_left).all():
        return ""
    as_wide = np.abs(plans.width_left_over - plans.width_left_over[0]) < STEP / 2
    usable = np.flatnonzero(as_wide & ~(plans.stub_short | plans.stub_long))
    if len(usable) < 2:
        return ""
    even = int(usable[np.argmax(plans.evenness[usable])])
    worst = int(usable[np.argmin(plans.evenness[usable])])
    if plans.evenness[even] - plans.evenness[worst] < 0.01:
        return ""
    text = (
        f"The trade-off: most even spokes come from {put(_of(answer, even))} ({100 * plans.evenness[even]:.0f} % slack over tight side), "
        f"least even from {put(_of(answer, worst))} ({100 * plans.evenness[worst]:.0f} %)."
    )
    return text + _rotor_cost(answer, even, usable) + _chain_cost(answer, even, usable)


def _of(answer: FitContent, plan: int) -> Spacing:
    plans = answer.plans
    return Spacing(0.0, 0.0) if plans is None else Spacing(float(plans.left[plan]), float(plans.right[plan]))


def _rotor_cost(answer: FitContent, even: int, usable: Ints) -> str:
    plans = answer.plans
    if plans is None or answer.build.frame.brake != "disc":
        return ""
    moved = np.abs(plans.rotor_to_calliper)
    if moved[even] - moved[usable].min() < WORTH_SAYING:
        return ""
    return (
        f" But they move the rotor {moved[even]:.1f} mm from the calliper; at least it is {moved[usable].min():.1f} mm."
    )


def _chain_cost(answer: FitContent, even: int, usable: Ints) -> str:
    plans = answer.plans
    if plans is None or np.isnan(plans.chainline_error).all():
        return ""
    off = np.abs(plans.chainline_error)
    straight = int(usable[np.argmin(off[usable])])
    if off[even] - off[straight] < WORTH_SAYING:
        return ""
    return f" And the chain then runs {off[even]:.1f} mm out of line; straightest ({off[straight]:.1f} mm): {put(_of(answer, straight))}."


def straighter(answer: FitContent) -> str:
    """Say what each move would take of a chainline error that is within its limit."""
    error = None if answer.chain is None else answer.chain.error_fitted
    said = any(finding.name == "chainline-error" for finding in answer.findings)
    if error is None or said or abs(error) < WORTH_SAYING:
        return ""
    side, other = ("right", "left") if error > 0 else ("left", "right")
    return f"Within its limit. Any one of these takes the {abs(error):.1f} mm away: {', or '.join(moves(error, side, other))}."


def families(build: Build) -> list[str]:
    """Say which family of the trade a width belongs to."""
    said = []
    for name, key in (("frame", "frame.dropout_spacing"), ("hub", "hub.over_locknut")):
        if key not in build:
            continue
        width = frame_width(build) if name == "frame" else build.number(key)
        ends = (
            build.frame.dropout if name == "frame" else {"through": "through", None: None}.get(build.hub.axle, "slot")
        )
        rows = [
            row
            for row in tables.load("widths")
            if row["position"] == build.position
            and ends in (row["ends"], None)
            and abs(row["width"] - width) <= SAME_WIDTH
        ]
        if rows:
            nearest = min(rows, key=lambda row: abs(row["width"] - width))
            said.append(f"{width:g} mm ({name}): {nearest['use']} ({nearest['label']}, {nearest['source']}).")
    return said


def measured_between(build: Build) -> list[str]:
    """Say between which faces a width counts."""
    if build.frame.dropout == "through" or build.hub.axle == "through":
        return [
            "Through ends count from the floor of one recess to the floor of the other, where the hub's end caps sit: 142 is that, and "
            f"between its inner faces the same frame reads 135, twice {USUAL_RECESS:g} mm less."
        ]
    return ["Slot ends count between their inner faces, the hub over the outer faces of its locknuts."]


def working(answer: FitContent) -> list[str]:
    """Return the formulas with the numbers put in, for the spacers fitted or proposed."""
    lines: list[str] = []
    if answer.width is not None and answer.state is not None:
        lines += _plan_working(answer)
    if answer.chain is not None:
        lines += _chain_working(answer)
    if answer.geometry is not None:
        lines += _trail_working(answer)
    return lines


def _plan_working(answer: FitContent) -> Iterator[str]:
    width, state, (left, right) = answer.width, answer.state, answer.spacers
    if width is None or state is None:
        return
    yield f"missing width = frame - hub = {width.frame:.2f} - {width.hub:.2f} = {width.missing:+.2f} mm"
    yield f"left over = missing - left - right = {width.missing:.2f} - {left:g} - {right:g} = {state.width_left_over[0]:+.2f} mm"
    move = (left - right) / 2
    yield f"hub, cogs to the right = (left - right)/2 = ({left:g} - {right:g})/2 = {move:+.2f} mm; the rim must come back by it"
    if not np.isnan(state.offset_left[0]):
        yield f"offset left = {state.offset_left[0] + move:.2f} - ({move:+.2f}) = {state.offset_left[0]:.2f} mm"
        yield f"offset right = {state.offset_right[0] - move:.2f} + ({move:+.2f}) = {state.offset_right[0]:.2f} mm"
    if not np.isnan(state.tension_ratio[0]):
        yield f"tension left over right = sum(w/L) right / sum(w/L) left = {state.tension_ratio[0]:.3f}"
    if not np.isnan(state.stub_left[0]):
        yield f"axle beyond the locknuts = reach - spacer: left {state.stub_left[0]:.2f}, right {state.stub_right[0]:.2f} mm"


def _chain_working(answer: FitContent) -> Iterator[str]:
    chain, build = answer.chain, answer.build
    if chain is None:
        return
    if chain.rear is not None:
        count, first = build.cogs.count, build.cogs.locknut_to_smallest
        pitch = build.cogs.pitch if count > 1 else 0.0
        half, offset = build.hub.over_locknut / 2, build.frame.wheel_offset
        yield (
            f"rear chainline = hub/2 - first cog - stack/2 - wheel offset = {half:.2f} - {first:.2f} - {(count - 1) * pitch / 2:.2f} - "
            f"{offset:g} = {chain.rear:.2f} mm without spacers"
        )
    if chain.error is not None:
        yield f"error = front - rear = {chain.front:.2f} - {chain.rear:.2f} = {chain.error:+.2f} mm"
    if chain.angles_fitted_deg is not None and chain.rings is not None and chain.cogs is not None:
        yield (
            f"angle of ring 1, cog 1 = atan((cog - ring)/chainstay) = atan(({chain.cogs[0]:.2f} - {chain.rings[0]:.2f})/"
            f"{chain.chainstay:g}) = {chain.angles_fitted_deg[0, 0]:+.2f} degrees"
        )


def _trail_working(answer: FitContent) -> Iterator[str]:
    if answer.geometry is None:
        return
    for when, bike, stance in zip(
        ("before", "after"), answer.geometry.bikes, (answer.geometry.before, answer.geometry.after), strict=True
    ):
        if bike is not None and stance is not None:
            yield (
                f"trail {when} = (R cos H - offset)/sin H = ({bike.front_diameter / 2:.1f} x cos {bike.head_angle_deg:.2f} - "
                f"{bike.fork_offset:g})/sin {bike.head_angle_deg:.2f} = {stance.trail_mm:.1f} mm"
            )
