"""wheelcalc salvage."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, hanging, heading, percent, table, to_csv, wrapped
from wheelcalc.wheel.parts import SIDES

if TYPE_CHECKING:
    from wheelcalc.answers.ordering.answer import OrderAnswer
    from wheelcalc.answers.salvaging.answer import OldWheel, SalvageAnswer
    from wheelcalc.answers.salvaging.jar import JarAnswer, JarBuild
    from wheelcalc.answers.salvaging.rim import Forecast, Outcome, RimAnswer
    from wheelcalc.salvage.slips import Verdict

BUILDS, NEAR, SLIPS = 12, 4, 6  # lines shown; JSON has them all


HELP = """Use the old wheel as gauge, find the wrong reading, see what the jar can build.

Example: wheelcalc salvage errand-rear-salvage.toml

Without a file, or with one that has no [old_wheel], [fitted], [old_rim] or [[jar...]] yet, it prints what to do and
to read while the old wheel is still built. With -o it writes .txt, .json or .csv (the builds).
"""


@click.command(cls=options.JobCommand, help=HELP)
@click.argument("buildfile", metavar="[BUILDFILE]", required=False, shell_complete=options.files)
@options.common
def command(buildfile: str | None, overrides: tuple[str, ...], wanted: options.Wanted) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.salvage({"title": "A rim to salvage"} if buildfile is None else buildfile, overrides)
    more = {".csv": lambda: to_csv([_flat(row) for row in answer.as_json()["builds"]])}
    return emit(answer, lambda: text(answer), wanted, more)


def _flat(row: dict[str, object]) -> dict[str, object]:
    """One build as one line: per-side values in columns of their own, findings by their names."""
    out: dict[str, object] = {}
    for name, value in row.items():
        if isinstance(value, dict):
            out |= {f"{name}_{side}": each for side, each in value.items()}
        elif isinstance(value, list):
            out[name] = [_in_a_cell(each) for each in value]
        else:
            out[name] = value
    return out


def _in_a_cell(row: dict[str, object]) -> str:
    """A finding by its name, a line of spokes as one reads it."""
    return str(row["name"]) if "name" in row else f"{row['side']} {row['count']} x {row['length_mm']:g}"


def text(answer: SalvageAnswer) -> str:
    if answer.first_page:
        lines = heading(answer, "first page, while the old wheel is still built")
        for number, step in enumerate(answer.first_page, start=1):
            lines += hanging(f"{number:>2}. ", step)
        return "\n".join(lines)
    lines = heading(answer, "what the old wheel and the jar are good for")
    if answer.old_wheel is not None:
        lines += [*old_wheel(answer.old_wheel), ""]
    if answer.old_rim is not None:
        lines += [*old_rim(answer.old_rim), ""]
    if answer.slips is not None:
        lines += [*slips(answer.slips), ""]
    if answer.jar is not None:
        lines += [*builds(answer.jar), ""]
    return "\n".join([*lines[:-1], *findings(answer), *assumptions(answer)])


def old_wheel(old: OldWheel) -> list[str]:
    gauged = old.gauged
    rows = [
        [f"old wheel, {side} spokes", f"{each.value:.1f}", f"+-{old.within(each.sigma):.1f}"]
        for side, each in gauged.sides.items()
    ]
    rows.append(["old wheel, both sides", f"{gauged.erd:.1f}", f"+-{gauged.within:.1f}"])
    if old.measured is not None:
        rows.append(["measured", f"{old.measured.value:.1f}", f"+-{old.within(old.measured.sigma):.1f}"])
        rows.append(["both together", f"{old.combined.value:.1f}", f"+-{old.combined.within:.1f}"])
    lines = [
        "The rim, by the old wheel (rim.erd to the spoke end):",
        "",
        *table(rows, ["from", "erd mm", "19 in 20"], "lrr"),
        "",
    ]
    if old.apart is not None:
        lines += wrapped(f"Measured less old wheel: {old.apart:+.1f} mm; {old.agreement}.")
    worst = next(iter(gauged.shares))
    lines += wrapped(f"Most of the old wheel's error comes from {gauged.named(worst)}: read more of them.")
    if old.spokes is None:
        return [*lines, *wrapped(f"For the new spokes the file still lacks {', '.join(old.lacking)}.")]
    return [*lines, "", "The new spokes with that rim.erd:", "", *_spokes(old.spokes)]


def old_rim(answer: RimAnswer) -> list[str]:
    lines = [
        "Is the old rim worth new spokes?",
        "",
        *wrapped(f"{answer.verdict.capitalize()}. {_reasons(answer)}".strip()),
    ]
    told = answer.forecast
    if told is None:
        return [*lines, *wrapped(f"A forecast of how it would build needs {answer.lacking}.")]
    rows = [
        [
            name,
            f"{each.lateral:.1f}",
            f"{each.radial:.1f}",
            *(_range(each, side) for side in ("left", "right")),
            percent(each.uneven),
        ]
        for name, each in (("made to run true", told.straight), ("tension kept even", told.even))
    ]
    headers = ["built", "lateral mm", "radial mm", "left N", "right N", "uneven"]
    lines += ["", "Forecast for a wheel on this rim, at the target tension:", "", *table(rows, headers, "lrrrrr"), ""]
    lines += wrapped(f"Peak to peak; uneven: furthest spoke from its side's mean. Shape from {told.shape}.")
    return [*lines, *_longer(answer, told)]


def _longer(answer: RimAnswer, told: Forecast) -> list[str]:
    """Where longer spokes belong, and which of the jar's."""
    if not told.high_spots:
        most = max(told.longer.values())
        return wrapped(f"No hole needs a longer spoke: the most is {most:+.1f} mm, which the nipples take up.")
    holes = ", ".join(f"{hole} (+{told.longer[hole]:.1f})" for hole in told.high_spots)
    text = f"Kept even, longer spokes belong at its high spots (mm over the side's mean): rim holes {holes}. Made to run true, none."
    lines = wrapped(text)
    for each in answer.from_jar:
        lines += wrapped(
            f"From the jar: {each.length_mm:g} mm on the {each.side}, rim holes {', '.join(map(str, each.rim_holes))}."
        )
    return lines


def _reasons(answer: RimAnswer) -> str:
    """Why it is not simply used: the names only, the findings below say more."""
    if not answer.findings:
        return "Nothing that was looked at speaks against it."
    return f"Because: {', '.join(finding.name.replace('-', ' ') for finding in answer.findings)} (see below)."


def _range(outcome: Outcome, side: str) -> str:
    return f"{outcome.lowest[side]:.0f}-{outcome.highest[side]:.0f}"


def slips(verdict: Verdict) -> list[str]:
    lines = ["Which reading is wrong?", "", *wrapped(verdict.words)]
    if verdict.agree:
        return lines
    lines += [*wrapped(verdict.look), "", "How likely each is, and what it would leave unexplained:"]
    for each in verdict.explanations[:SLIPS]:
        what = "none: every reading is right" if each is verdict.none else each.what
        lines += hanging(f"{percent(each.probability):>5}  {each.misfit:>5.1f} mm  ", what)
    return lines


def builds(jar: JarAnswer) -> list[str]:
    lines = [f"What you can build ({jar.landing} of {jar.tried} patterns have spokes enough in reach):", ""]
    if jar.whole:
        shown = list(enumerate(jar.whole[:BUILDS], start=1))
        headers = ["", "rim", "hub", "crosses", "lengths", "ends", "chance", "mind"]
        lines += [*table([_row(number, each) for number, each in shown], headers, "rlllllrl"), ""]
        note = "crosses, lengths, ends (mm): left/right. ends: + beyond, - short of the slot's bottom. chance: that both sides fit."
        lines += wrapped(note)
        said: dict[str, list[str]] = {}
        for number, each in shown:
            for finding in each.findings:
                said.setdefault(f"{finding.level}: {finding.text} {finding.remedy}".strip(), []).append(str(number))
        for finding_text, numbers in said.items():
            lines += hanging(f"{', '.join(numbers)}: ", finding_text)
    for each in jar.near[:NEAR]:
        lines += hanging("Nearly: ", each.wish)
    if jar.old_spokes.of:
        refused = f" (not {'; not '.join(jar.old_spokes.refused)})" if jar.old_spokes.refused else ""
        lines += wrapped(
            f"Old spokes that may serve again: {jar.old_spokes.may_serve} of {jar.old_spokes.of}{refused}."
        )
    for reason in jar.left_out:
        lines += hanging("Not tried: ", f"{reason}.")
    return lines


def _row(number: int, build: JarBuild) -> list[str]:
    worst = build.findings[0].level if build.findings else ""
    crosses = "/".join(f"{build.crosses[side]:g}" for side in SIDES)
    lengths = "/".join(build.mix(side) for side in SIDES)
    ends = "/".join(f"{build.end(side):+.1f}" for side in SIDES)
    return [
        str(number),
        build.rim[:14],
        build.hub[:14],
        crosses,
        lengths,
        ends,
        percent(build.chance),
        worst,
    ]


def _spokes(spokes: OrderAnswer) -> list[str]:
    from wheelcalc.answers.ordering.page import lines_table  # noqa: PLC0415
    from wheelcalc.page.text import lines_of  # noqa: PLC0415

    return lines_of(lines_table(spokes.lines, spokes.window))
