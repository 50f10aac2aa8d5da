"""The words of `lace --seen`: what the spokes seen are, and which to move."""

from __future__ import annotations

from collections.abc import Sequence

from wheelcalc.wheel import facts
from wheelcalc.wheel.findings import Finding
from wheelcalc.wheel.joining import DIRECTION, LETTER
from wheelcalc.wheel.seen import Diagnosis, Verdict
from wheelcalc.wheel.wheel import Wheel


def what_it_is(verdict: Verdict) -> str:
    """Direction and crosses of one spoke as it sits: "trailing, 3 crosses"."""
    return "radial" if verdict.lean == 0 else f"{DIRECTION[verdict.lean]}, {_crosses(verdict.crosses)}"


def _crosses(count: int) -> str:
    return f"{count} cross{'' if count == 1 else 'es'}"


def seen_findings(seen: Diagnosis) -> list[Finding]:
    """The caution that something sits wrong."""
    if seen.to_move:
        count = len(seen.to_move)
        seen_in_all = len(seen.verdicts)
        text = f"{count} of the {seen_in_all} spokes seen sit{'s' if count == 1 else ''} wrong."
        if seen_in_all == 1:
            text = "The spoke seen sits wrong."
        return [Finding("caution", "laced-wrong", text, "Put them right before you tighten anything.")]
    if seen.rim_turned:
        holes = abs(seen.rim_turned)
        text = f"The lacing is right but sits {holes} rim hole{'s' if holes > 1 else ''} away from where the valve wants it."
        return [Finding("caution", "laced-beside-valve", text, "Decide before you tighten anything.")]
    return []


def seen_words(seen: Diagnosis, wheel: Wheel) -> list[str]:
    """What the spokes seen are and which to move, one or two sentences a line."""
    if _begins_elsewhere(seen) and len(_groups(seen)) < 2 and not seen.to_move:
        return [
            f"These spokes agree with each other, but their hub numbers are not the plan's ({_begins_elsewhere(seen)}). Either your dot of "
            "paint sits on another hole, which is no mistake, or the group is out: add a spoke of another direction or flange to tell."
        ]
    out = []
    if _begins_elsewhere(seen):
        out.append(
            f"Your hub numbers begin elsewhere than the plan's ({_begins_elsewhere(seen)}); the hub is round, so that is no mistake."
        )
    if seen.rim_turned:
        return [*out, *_beside_valve(seen, wheel)]
    for alike in _alike(seen.to_move):
        beside = _beside_their_rim_holes(alike, seen, wheel)
        out += [beside] if beside else _group(alike) if len(alike) > 1 else [_single(alike[0])]
    out += _dots(seen)
    fine = [each for each in seen.verdicts if each.right]
    if fine:
        kinds = dict.fromkeys(f"{each.seen.side} {_planned(each)}" for each in fine)
        out.append(f"As planned: {', '.join(str(each.seen) for each in fine)} ({'; '.join(kinds)}).")
    return out


def _groups(seen: Diagnosis) -> set[tuple[str, int]]:
    return {(each.seen.side, each.planned_lean) for each in seen.verdicts}


def _begins_elsewhere(seen: Diagnosis) -> str:
    """By how many holes the hub's numbers of each flange seen begin elsewhere; empty where they do not."""
    sides = {each.seen.side for each in seen.verdicts}
    return ", ".join(
        f"{LETTER[side]} {abs(holes)} {'higher' if holes > 0 else 'lower'}"
        for side, holes in seen.hub_turned.items()
        if holes and side in sides
    )


def _beside_valve(seen: Diagnosis, wheel: Wheel) -> list[str]:
    holes = seen.rim_turned
    way = "forward" if holes > 0 else "back"
    if holes % 2:
        return [
            f"The pattern is right, but all of it sits {abs(holes)} rim hole{'s' if abs(holes) > 1 else ''} too far {way}: every rim hole "
            "carries a spoke of the other flange than the one it is drilled for. Take the spokes out of the rim and move all of them "
            f"{abs(holes)} {'back' if holes > 0 else 'forward'}."
        ]
    now, planned = facts.valve_opening(wheel, turn_rim_holes=-holes), facts.valve_opening(wheel)
    return [
        f"The pattern is right, with the crosses as planned, but all of it sits {abs(holes)} rim holes too far {way}: beside the valve "
        f"{now:.0f} mm stay free instead of {planned:.0f}. It may stay if your pump fits; else move every spoke {abs(holes)} rim holes "
        f"{'back' if holes > 0 else 'forward'}."
    ]


def _alike(wrong: Sequence[Verdict]) -> list[list[Verdict]]:
    """Wrong spokes that are out by the same amount, of one flange and direction, together."""
    groups: dict[tuple[str, int, int, bool], list[Verdict]] = {}
    for each in wrong:
        key = (each.seen.side, each.planned_lean, each.holes_out, each.wrong_flange)
        groups.setdefault(key, []).append(each)
    return list(groups.values())


def _beside_their_rim_holes(alike: Sequence[Verdict], seen: Diagnosis, wheel: Wheel) -> str:
    """Say that spokes on the wrong flange's rim holes sit in the right hub holes, by one rim hole out; else empty."""
    if len(alike) < 2 or not alike[0].wrong_flange:
        return ""
    homes = [_planned_rim_hole(each, seen, wheel) for each in alike]
    rim_holes = wheel.lacing.rim_holes
    off = {(each.seen.rim_hole - home + 1) % rim_holes - 1 for each, home in zip(alike, homes, strict=True) if home}
    if None in homes or off not in ({1}, {-1}):
        return ""
    moves = ", ".join(f"{each.seen.rim_hole} to {home}" for each, home in zip(alike, homes, strict=True))
    return (
        f"{', '.join(str(each.seen) for each in alike)}: these rim holes serve the other flange. They sit 1 rim hole too far "
        f"{'forward' if off == {1} else 'back'}, with the hub ends right. Move the rim ends: {moves}."
    )


def _planned_rim_hole(each: Verdict, seen: Diagnosis, wheel: Wheel) -> int | None:
    """Rim hole that the plan has for the hub hole that a spoke sits in."""
    lacing, side = wheel.lacing, each.seen.side
    hub_hole = (each.seen.hub_hole - 1 - seen.hub_turned[side]) % lacing.holes_of(side) + 1
    place = lacing.on(side) & (lacing.hub_hole == hub_hole)
    return int(lacing.rim_hole[place][0]) if place.any() else None


def _dots(seen: Diagnosis) -> list[str]:
    """Say where one flange's dot alone may be wrong: both its directions are out alike, and the other flange fits."""
    for side in LETTER:
        outs = {(each.planned_lean, each.holes_out) for each in seen.verdicts if each.seen.side == side}
        others = [each.right for each in seen.verdicts if each.seen.side != side]
        same = {holes for _, holes in outs}
        if len(outs) > 1 and len(same) == 1 and 0 not in same and others and all(others):
            return [
                f"Before you move them: all {side} spokes seen are out alike. If the dot of {LETTER[side]}1 sits so far "
                "beside the hole that `wheelcalc lace` names for it, only the numbers are out and nothing is to be moved."
            ]
    return []


def _single(each: Verdict) -> str:
    seen = each.seen
    if each.planned == "empty":
        return f"Rim hole {seen.rim_hole} stays empty in the plan; you have {_hub(each)} there. Take it out."
    if each.wrong_flange:
        text = f"Rim hole {seen.rim_hole} serves the other flange: you have {_hub(each)}, the plan has {each.planned}."
        return f"{text} Move it to {each.planned}."
    really = (
        "" if what_it_is(each) == _planned(each) else f" and really is {what_it_is(each)} instead of {_planned(each)}"
    )
    text = f"Rim hole {seen.rim_hole}: you have {_hub(each)}, the plan has {each.planned}. It sits {_out(each.holes_out)}{really}."
    return f"{text} Move it to {each.planned}."


def _hub(each: Verdict) -> str:
    return f"{LETTER[each.seen.side]}{each.seen.hub_hole}"


def _out(holes: int) -> str:
    return f"{abs(holes)} hub hole{'s' if abs(holes) > 1 else ''} too far {'forward' if holes > 0 else 'back'}"


def _planned(each: Verdict) -> str:
    return "radial" if each.planned_lean == 0 else f"{DIRECTION[each.planned_lean]}, {_crosses(each.planned_crosses)}"


def _group(alike: Sequence[Verdict]) -> list[str]:
    one = alike[0]
    names = ", ".join(str(each.seen) for each in alike)
    moves = ", ".join(f"{each.seen.rim_hole} to {each.planned}" for each in alike)
    if one.wrong_flange:
        return [f"{names}: these rim holes serve the other flange. Move them: {moves}."]
    kind = f"{one.seen.side} {DIRECTION[one.planned_lean]}"
    really = (
        "" if what_it_is(one) == _planned(one) else f"; they really are {what_it_is(one)} instead of {_planned(one)}"
    )
    return [
        f"{names}: these {kind} spokes all sit {_out(one.holes_out)}{really}. Move them: {moves}. Look at the other {kind} spokes too: "
        "most likely the whole group is out."
    ]
