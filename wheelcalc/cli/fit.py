"""wheelcalc fit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, formulas, hanging, heading, signed, table, to_csv, wrapped

if TYPE_CHECKING:
    from wheelcalc.answers.fitting.answer import FitAnswer
    from wheelcalc.answers.fitting.chain import Chain
    from wheelcalc.answers.fitting.plans import Caution
    from wheelcalc.bike.spacers import Plans

PLANS_SHOWN = 8
KEYS_SHOWN = 3
NOTHING = 0.005  # mm
LEGEND = (
    "mm. left, right: spacers. over: width left over. chain: how far the rings stand right of the cogs. L/R: tension left over right. "
    "rim to: where the rim of an existing wheel must go, left or right. spokes: change of length, left and right. axle: what stands "
    "out beyond the locknuts, left and right. *: "
)
SHARP = 1  # digits behind the point of a length


@click.command(cls=options.Step)
@options.build_file
@options.common
@options.working
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted, working: bool) -> int:
    """Tell whether the hub fits the frame, and how the chain runs.

    Example: wheelcalc fit donor-hub.toml --set spacers.fitted="{ left = 2, right = 4 }"

    With -o it writes .txt, .json or .csv (every spacer plan).
    """
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.fit(buildfile, overrides)
    more = {".csv": lambda: to_csv(answer.as_json()["plans"])}
    return emit(answer, lambda: text(answer, working=working), wanted, more)


def text(answer: FitAnswer, *, working: bool = False) -> str:
    lines = [
        *heading(answer, "does the hub fit"),
        *wrapped(answer.sentence()),
        *findings(answer),
        *to_do(answer),
        *plans(answer),
        *chain(answer),
        *shell(answer),
        *geometry(answer),
    ]
    if working:
        lines += formulas(answer.working())
    return "\n".join([*lines, *not_checked(answer), *assumptions(answer)])


def to_do(answer: FitAnswer) -> list[str]:
    steps = [line for number, step in enumerate(answer.steps(), start=1) for line in hanging(f"{number}. ", step)]
    lines = ["", "What to do:", *steps] if steps else []
    paste = answer.lines_to_paste()
    if paste:
        lines += ["", "To store this plan, put these lines into the build file:", *(f"    {line}" for line in paste)]
        if answer.build.given("spacers.on_hand"):
            lines += wrapped("(The section [spacers] is in the file already: put the second line alone below it.)")
    return lines


def plans(answer: FitAnswer) -> list[str]:
    found = answer.plans
    if found is None or answer.state is None or (len(found) == 1 and not any(answer.spacers)):
        return []
    shown = range(min(len(found), PLANS_SHOWN))
    rows = [_plan(found, plan, answer.cautions(plan), taken=answer.is_taken(plan)) for plan in shown]
    if not any(answer.is_taken(plan) for plan in shown):
        rows.append(_plan(answer.state, 0, answer.state_cautions(), taken=True))
    more = f", the best {len(shown)} shown; -o plans.csv writes all" if len(found) > len(shown) else ""
    headers = ["left", "right", "over", "chain", "L/R", "rim to", "spokes", "axle", "mind"]
    lines = [
        "",
        *wrapped(f"Spacer plans, best first ({len(found)} in all{more}):"),
        "",
        *table(rows, headers, "rrrrrrrrl"),
    ]
    lines += ["", *wrapped(LEGEND + ("fitted." if answer.chosen else "the plan above."))]
    return [*lines, *_mind(answer, shown), *([""] if answer.trade_off() else []), *wrapped(answer.trade_off())]


def _mind(answer: FitAnswer, shown: range) -> list[str]:
    """Return what each word of the last column means, by the first plan that has it."""
    first: dict[str, str] = {}
    for plan in shown:
        for word, said in answer.cautions(plan):
            first.setdefault(word, f"row {plan + 1} {said}.")
    for word, said in answer.state_cautions():
        first.setdefault(word, f"the plan {'fitted' if answer.chosen else 'proposed'} {said}.")
    return [line for word, said in first.items() for line in hanging(f"mind {word}: ", said)]


def _plan(found: Plans, plan: int, cautions: list[Caution], *, taken: bool) -> list[str]:
    shift = float(found.rim_shift[plan])
    spokes = [_number(found.length_change_left[plan]), _number(found.length_change_right[plan])]
    axle = [_stub(found.stub_left[plan]), _stub(found.stub_right[plan])]
    words = list(dict.fromkeys(caution.word for caution in cautions))
    return [
        ("*" if taken else "") + f"{found.left[plan]:.4g}",
        f"{found.right[plan]:.4g}",
        _number(found.width_left_over[plan]),
        _number(found.chainline_error[plan]),
        "-" if _unknown(found.tension_ratio[plan]) else f"{found.tension_ratio[plan]:.2f}",
        "stays" if abs(shift) < NOTHING else f"{abs(shift):.2g} {'R' if shift > 0 else 'L'}",
        "-" if spokes == ["-", "-"] else " ".join(spokes),
        "-" if axle == ["-", "-"] else " ".join(axle),
        words[0] + ("+" if words[1:] else "") if words else "",
    ]


def _stub(value: float) -> str:
    return "none" if value <= 0 else _number(value, sign=False)


def _unknown(value: float) -> bool:
    return value != value  # noqa: PLR0124 - nan alone differs from itself


def _number(value: Any, *, sign: bool = True) -> str:
    if value is None or _unknown(value):
        return "-"
    return signed(float(value), SHARP) if sign else f"{value:.{SHARP}f}"


def chain(answer: FitAnswer) -> list[str]:
    found = answer.chain
    if found is None:
        return []
    rows = [
        ["without spacers", _number(found.front, sign=False), _number(found.rear, sign=False), _number(found.error)],
    ]
    if any(answer.spacers):
        rows.append(
            [
                "with them",
                _number(found.front, sign=False),
                _number(found.rear_fitted, sign=False),
                _number(found.error_fitted),
            ]
        )
    lines = ["", "Chainline, mm right of the bike's middle:", "", *table(rows, ["", "front", "rear", "error"], "lrrr")]
    further = wrapped(answer.straighter()) if answer.straighter() else []
    return [*lines, *(["", *further] if further else []), *gears(answer, found)]


def gears(answer: FitAnswer, found: Chain) -> list[str]:
    marks, angles = answer.gear_marks(), found.angles_fitted_deg
    if angles is None or angles.size == 1:
        return []
    rings, cogs = angles.shape
    headers = ["cog", *(f"ring {ring + 1}" for ring in range(rings))]
    rows = [
        [str(cog + 1), *(f"{signed(angles[ring, cog])} {marks[ring][cog]:<2}" for ring in range(rings))]
        for cog in range(cogs)
    ]
    legend = (
        "Degrees sideways, + where the cog lies further right; ring 1 and cog 1 are the outermost, right ones. "
        f"x: cross-chained, leave these gears alone; s: steeper than {answer.build.limits.chain_angle_caution:g} degrees."
    )
    return [
        "",
        "The chain in every gear:",
        "",
        *table(rows, headers, "r" + "l" * rings),
        "",
        *wrapped(legend),
    ]


def shell(answer: FitAnswer) -> list[str]:
    found = answer.shell
    if found is None or min(found.spacers) < 0:
        return []
    left, right = found.spacers
    what = (
        f"{left:g} mm of spacer on the left and {right:g} mm on the right keep the chainline"
        if any(found.spacers)
        else "no spacers"
    )
    return ["", *wrapped(f"Crank bearings in this shell: {what}.")]


def geometry(answer: FitAnswer) -> list[str]:
    found = answer.geometry
    if found is None:
        return []
    names = {
        "head angle, deg": "head_angle_deg",
        "seat angle, deg": "seat_angle_deg",
        "trail": "trail_mm",
        "wheelbase": "wheelbase_mm",
        "bracket height": "bracket_height_mm",
        "lower pedal's middle": "pedal_height_mm",
        "pedal forward to tyre": "toe_room_mm",
    }
    rows = []
    for label, name in names.items():
        before, after = getattr(found.before, name), None if found.after is None else getattr(found.after, name)
        change = None if before is None or after is None else after - before
        rows.append([label, _number(before, sign=False), _number(after, sign=False), _number(change)])
    swept, then = found.swept_toe_rooms
    if swept is not None:
        change = None if then is None else then - swept
        rows.append(["the same, wheel turned", _number(swept, sign=False), _number(then, sign=False), _number(change)])
    for label, change in (("crown's stack", found.stack_change), ("crown's reach", found.reach_change)):
        if change is not None:
            rows.append([label, "", "", _number(change)])
    return ["", "The bike, mm:", "", *table(rows, ["", "before", "after", "change"], "lrrr")]


def not_checked(answer: FitAnswer) -> list[str]:
    """Return what could not be checked, and the one reading to take next."""
    if not answer.not_checked:
        return []
    lines = ["", "Not checked (not taken as bad, nor as good):"]
    for each in answer.not_checked:
        keys, more = each.keys[:KEYS_SHOWN], len(each.keys) - KEYS_SHOWN
        rest = f" and {more} more (`wheelcalc check` lists them)" if more > 0 else ""
        lines += hanging("- ", f"{each.what}: give {', '.join(keys)}{rest}")
    following = answer.next_reading()
    if following:
        count = len(answer.not_checked)
        share = (
            "It helps to settle that."
            if count == 1
            else f"It helps to settle {len(following['settles'])} of these {count}."
        )
        lines += ["", *wrapped(f"Read next: {following['key']}: {following['how']}. {share}")]
    return lines
