"""What would even out the sides of a wheel whose slack side is too slack, with this wheel's own numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from wheelcalc.tension import targets
from wheelcalc.tension.targets import Limit
from wheelcalc.wheel import lacing as patterns
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES, Wire, opposite
from wheelcalc.wheel.wheel import Wheel

# C: how far off-centre rims are commonly drilled.
OFFSET_RIM = 2.5  # mm
# C: the thinnest spacer that is commonly moved over; only where the file names none that are loose.
SPACER = 1.0  # mm
# C: of a flange, where it was not measured; only to say what heads on one face would give.
FLANGE_THICKNESS = 3.0  # mm
# C: the thinnest butted spokes in common use.
THIN = Wire(2.0, 1.5, 2.0)
WORTH = 0.01  # of the tension: less gain is no remedy
EQUAL_HALVES = ("crossed", "radial")


@dataclass(frozen=True)
class Remedy:
    """One change and what it gives.

    Parameters
    ----------
    name : short, stable, for scripts
    text : what to do
    slack_side_N : tension of the slack side after it, the tighter side at its limit [N]; unchanged by thinner wire
    gain_N : over now [N]
    """

    name: str
    text: str
    slack_side_N: float
    gain_N: float


@dataclass(frozen=True)
class Leeway:
    """What this build leaves open.

    Parameters
    ----------
    loose : thicknesses of the spacers that could come off the axle, by side [mm]
    carries_torque : sides that drive or brake, where radial spokes are not wanted
    widest_deg : largest angle between a spoke's hub hole and its rim hole
    """

    loose: Mapping[str, Sequence[float]]
    carries_torque: Sequence[str]
    widest_deg: float


def ranked(wheel: Wheel, limits: Sequence[Limit], leeway: Leeway) -> list[Remedy]:
    """Remedies that raise the slack side's tension, most first; the thinner wire, which does not, comes last.

    Parameters
    ----------
    wheel : as planned
    limits : upper bounds of the tension
    leeway : what may be changed
    """
    now = slack_at_limit(wheel, limits)
    remedies = []
    for name, text, slack in _offers(wheel, limits, leeway):
        if slack - now > WORTH * now:
            remedies.append(Remedy(name, text, slack, slack - now))
    remedies.sort(key=lambda remedy: -remedy.gain_N)
    return [*remedies, *_thinner(wheel, now)]


def slack_at_limit(wheel: Wheel, limits: Sequence[Limit]) -> float:
    """Tension of the less tight side with the tighter one at its limit [N]; 0 where no tensions keep the rim in place."""
    share = targets.by_side(wheel, 1.0)
    first = targets.deciding(limits, share)
    if first is None or targets.ratio_left_to_right(wheel) is None:
        return 0.0
    return targets.on_tighter(first, share) * min(share.values())


def _offers(wheel: Wheel, limits: Sequence[Limit], leeway: Leeway) -> Iterator[tuple[str, str, float]]:
    """Name, text and slack side's tension of every change that can be tried on this wheel."""
    slack = opposite(targets.tighter_side(wheel))
    if wheel.lacing.left_holes == wheel.lacing.right_holes:
        yield _two_to_one(wheel, limits, slack)
    for name, text, changed in [
        *_rims(wheel, slack),
        *_spacers(wheel, slack, leeway.loose),
        *_heads_out(wheel, slack, leeway.carries_torque),
        *_crosses(wheel, slack, leeway.widest_deg),
    ]:
        yield name, text, slack_at_limit(changed, limits)


def _rims(wheel: Wheel, slack: str) -> Iterator[tuple[str, str, Wheel]]:
    offset = wheel.rim.hole_offset
    if offset:
        rim = replace(wheel.rim, hole_offset=-offset)
        yield "rim-turned-round", "Mount this off-centre rim the other way round.", replace(wheel, rim=rim)
    else:
        toward = -OFFSET_RIM if slack == "left" else OFFSET_RIM
        text = f"Take a rim drilled {OFFSET_RIM:g} mm off-centre, its holes toward the {slack}."
        yield "offset-rim", text, replace(wheel, rim=replace(wheel.rim, hole_offset=toward))


def _spacers(wheel: Wheel, slack: str, loose: Mapping[str, Sequence[float]]) -> Iterator[tuple[str, str, Wheel]]:
    """Spacers moved from the tight side to the slack one take the hub's centre away from the tight flange."""
    tight = opposite(slack)
    have = [thickness for thickness in loose.get(tight, ()) if thickness > 0]
    move = sum(have) or SPACER
    spacers = {slack: move, tight: -move}
    what = (
        f"Move the {move:g} mm of loose spacers from the {tight} end of the axle to the {slack}"
        if have
        else f"Move {move:g} mm of spacers from the {tight} end of the axle to the {slack}, if cogs and rotor leave the room"
    )
    yield "spacers", f"{what}.", replace(wheel, hub=wheel.hub.with_spacers(spacers["left"], spacers["right"]))


def _two_to_one(wheel: Wheel, limits: Sequence[Limit], slack: str) -> tuple[str, str, float]:
    """Twice as many spokes on the tight side as on the slack one: the sums of the sideways pulls, statics (D)."""
    pull = {side: float(wheel.sideways[wheel.lacing.on(side)].mean()) for side in SIDES}
    tight = opposite(slack)
    ratio = 2 * pull[tight] / pull[slack] if pull[slack] > 0 and pull[tight] > 0 else 0.0
    share = {tight: min(1.0, 1 / ratio) if ratio else 1.0, slack: min(1.0, ratio)}
    first = targets.deciding(limits, share) if ratio else None
    text = f"Take rim and hub drilled two to one, twice as many spokes on the {tight} as on the {slack}."
    # Where the sides change roles the slack one is now the other; the lower of the two counts.
    return "two-to-one", text, targets.on_tighter(first, share) * min(share.values()) if first else 0.0


def _heads_out(wheel: Wheel, slack: str, carries_torque: Sequence[str]) -> Iterator[tuple[str, str, Wheel]]:
    flange = wheel.hub.flange(slack)
    if wheel.lacing.pattern not in EQUAL_HALVES or slack in carries_torque or flange.spoke_head == "straight":
        return
    thick = replace(flange, thickness=flange.thickness or FLANGE_THICKNESS)
    hub = replace(wheel.hub, left=thick) if slack == "left" else replace(wheel.hub, right=thick)
    crosses = {**_crosses_now(wheel), slack: 0}
    changed = _laced(replace(wheel, hub=hub), crosses, {slack: "none"})
    if changed is not None:
        text = f"Lace the {slack} side radially, all its heads out (ask the hub's maker: not every flange bears it)."
        yield "radial-heads-out", text, changed


def _crosses(wheel: Wheel, slack: str, widest_deg: float) -> Iterator[tuple[str, str, Wheel]]:
    if wheel.lacing.pattern not in EQUAL_HALVES:
        return
    now, tight = _crosses_now(wheel), opposite(slack)
    for side, step, words in ((slack, 1, "One cross more"), (tight, -1, "One cross fewer")):
        crosses = now[side] + step
        if crosses < 1 or 360 * crosses / wheel.lacing.holes_of(side) > widest_deg:
            continue
        changed = _laced(wheel, {**now, side: crosses}, {})
        if changed is not None:
            yield f"crosses-{side}", f"{words} on the {side}: {crosses}.", changed


def _crosses_now(wheel: Wheel) -> dict[str, int]:
    return {side: int(wheel.lacing.crosses[wheel.lacing.on(side)].max()) for side in SIDES}


def _laced(wheel: Wheel, crosses: dict[str, int], heads: dict[str, str]) -> Wheel | None:
    """The wheel laced anew, or None where its flanges do not allow that."""
    words = {side: heads.get(side, "leading") for side in SIDES}
    try:
        laced = patterns.crossed(wheel.rim.holes, crosses, wheel.rim.first_hole, wheel.hub.phase, words)
        return replace(wheel, lacing=laced)
    except InputError:
        return None


def _thinner(wheel: Wheel, slack_tension: float) -> Iterator[Remedy]:
    slack = opposite(targets.tighter_side(wheel))
    mask, wire = wheel.lacing.on(slack), wheel.wire(slack)
    length = float(wheel.spans[mask].mean())
    now, then = (slack_tension * each.flexibility(length) for each in (wire, replace(THIN, butts=wire.butts)))
    if then > now * (1 + WORTH):
        text = (
            f"Thinner wire on the {slack} ({THIN}) leaves its tension as it is, but stretches {then:.2f} mm where {wire} "
            f"stretches {now:.2f} mm, so it goes slack later."
        )
        yield Remedy("thinner-wire", text, slack_tension, 0.0)
