"""What `salvage` says: of the rim by the old wheel, of a wrong reading, of the old rim, of what the jar can build."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from wheelcalc.answers.ordering.page import lines_table
from wheelcalc.answers.salvaging.jar import JarAnswer, JarBuild
from wheelcalc.answers.salvaging.old import OldWheel
from wheelcalc.answers.salvaging.rim import Outcome, RimAnswer, RimForecast
from wheelcalc.page.blocks import Block, Column, Heading, Listed, Sentence, Step, Steps, Table
from wheelcalc.page.numbers import counted, percent
from wheelcalc.salvage.slips import Verdict
from wheelcalc.wheel.parts import SIDES

BUILDS, NEAR, SLIPS = 6, 4, 6  # shown with --all; the JSON and the CSV have them all
FEW_BUILDS, FEW_NEAR, FEW_SLIPS = 3, 1, 4  # shown without


def verdict(
    old: OldWheel | None, slips: Verdict | None, jar: JarAnswer | None, rim: RimAnswer | None, *, stops: bool
) -> str:
    """What the old wheel, the rim and the jar are good for, in one sentence."""
    said = []
    if old is not None:
        said.append(f"the rim's erd is {old.combined.value:.1f} +-{old.combined.within:.1f} mm")
    if slips is not None and not slips.agree:
        likeliest = slips.explanations[0]
        named = f"a reading is likely wrong ({likeliest.what}, {percent(likeliest.probability)})"
        said.append(named if slips.told else "the readings do not agree")
    if rim is not None:
        said.append(f"the old rim: {rim.verdict}")
    if jar is not None:
        said.append(_what_the_jar_builds(jar))
    text = "; ".join(said) or "nothing is known of an old wheel yet"
    return f"Not yet: {text}." if stops else f"{text[0].upper()}{text[1:]}."


def _what_the_jar_builds(jar: JarAnswer) -> str:
    if not jar.whole:
        return "the jar builds nothing whole"
    best = jar.whole[0]  # those with a stop come last
    if best.stops:
        return "the jar builds no wheel without a stop"
    return f"the jar builds {best.rim} on {best.hub}, chance {percent(best.chance)}"


def first_page(steps: Sequence[str]) -> list[Block]:
    """What to do and to read while the old wheel is still built."""
    return [Steps([Step(each) for each in steps])]


def old_wheel(old: OldWheel, *, whole: bool) -> list[Block]:
    """The rim's erd by the old wheel and as measured, and what to order with it."""
    return _whole_old_wheel(old) if whole else _old_wheel_in_brief(old)


def _old_wheel_in_brief(old: OldWheel) -> list[Block]:
    gauged = old.gauged
    sides = " and ".join(f"{each.value:.1f} by the {side} spokes" for side, each in gauged.sides.items())
    text = f"rim.erd: {sides}, {gauged.erd:.1f} +-{gauged.within:.1f} mm by both"
    if old.measured is not None:
        text += f"; measured {old.measured.value:.1f} +-{old.within(old.measured.sigma):.1f} mm: {old.agreement}"
    if old.spokes is None:
        return [Sentence(f"{text}."), Sentence(f"For the new spokes the file still lacks {', '.join(old.lacking)}.")]
    lines = ", ".join(f"{line.count} of {line.length:g} mm {line.side}" for line in old.spokes.lines)
    return [Sentence(f"{text}."), Sentence(f"New spokes with that rim.erd: {lines}.")]


def _whole_old_wheel(old: OldWheel) -> list[Block]:
    """The same with each side's error, what to read again, and the new spokes as `order` lists them."""
    gauged = old.gauged
    rows = [(f"old wheel, {side} spokes", each.value, old.within(each.sigma)) for side, each in gauged.sides.items()]
    rows.append(("old wheel, both sides", gauged.erd, gauged.within))
    if old.measured is not None:
        rows.append(("measured", old.measured.value, old.within(old.measured.sigma)))
        rows.append(("both together", old.combined.value, old.combined.within))
    columns = [
        Column("rim.erd from", lambda row: row[0], "left"),
        Column("mm", lambda row: f"{row[1]:.1f}"),
        Column("+- mm", lambda row: f"{row[2]:.1f}", meaning="how accurate; 19 of 20 such errors are smaller"),
    ]
    apart = "" if old.apart is None else f"Measured less old wheel: {old.apart:+.1f} mm; {old.agreement}. "
    more = f"Most of the old wheel's error comes from {gauged.named(next(iter(gauged.shares)))}: read more of them."
    out: list[Block] = [Table(columns, rows), Sentence(apart + more)]
    if old.spokes is None:
        return [*out, Sentence(f"For the new spokes the file still lacks {', '.join(old.lacking)}.")]
    return [*out, Heading("The new spokes with that rim.erd:"), *lines_table(old.spokes.lines, old.spokes.window)]


def old_rim(answer: RimAnswer, *, whole: bool) -> list[Block]:
    """Whether the old rim is worth new spokes, and how it would build."""
    return _whole_old_rim(answer) if whole else [Sentence(_old_rim_in_brief(answer))]


def _old_rim_in_brief(answer: RimAnswer) -> str:
    said, told = f"The old rim: {answer.verdict}. {_reasons(answer)}".strip(), answer.forecast
    if told is None:
        return f"{said} A forecast of how it would build needs {answer.lacking}."
    even = told.even
    forecast = (
        f"Made to run true its tensions differ by {percent(told.straight.uneven)}; kept even it runs out "
        f"{even.lateral:.1f} mm sideways, {even.radial:.1f} mm up and down."
    )
    return f"{said} {forecast} {_longer(answer, told) if told.high_spots else ''}".strip()


def _whole_old_rim(answer: RimAnswer) -> list[Block]:
    worth = Heading("Is the old rim worth new spokes?")
    said = Sentence(f"{answer.verdict.capitalize()}. {_reasons(answer)}".strip())
    told = answer.forecast
    if told is None:
        return [worth, said, Sentence(f"A forecast of how it would build needs {answer.lacking}.")]
    columns = [
        Column("built", lambda row: row[0], "left"),
        Column("lateral mm", lambda row: f"{row[1].lateral:.1f}", meaning="and radial: peak to peak"),
        Column("radial mm", lambda row: f"{row[1].radial:.1f}"),
        Column("left N", lambda row: _range(row[1], "left")),
        Column("right N", lambda row: _range(row[1], "right")),
        Column("uneven", lambda row: percent(row[1].uneven), meaning="furthest spoke from its side's mean"),
    ]
    rows = [("made to run true", told.straight), ("tension kept even", told.even)]
    head = Heading(f"Forecast for a wheel on this rim, at the target tension; its shape from {told.shape}:")
    return [worth, said, head, Table(columns, rows), Sentence(_longer(answer, told))]


def _longer(answer: RimAnswer, told: RimForecast) -> str:
    """Where longer spokes belong, and which of the jar's."""
    if not told.high_spots:
        most = max(told.longer.values())
        return f"No hole needs a longer spoke: the most is {most:+.1f} mm, which the nipples take up."
    holes = ", ".join(f"{hole} (+{told.longer[hole]:.1f})" for hole in told.high_spots)
    text = f"Kept even, longer spokes belong at its high spots (mm over the side's mean): rim holes {holes}. Made to run true, none."
    jar = [
        f"From the jar: {each.length_mm:g} mm on the {each.side}, rim holes {', '.join(map(str, each.rim_holes))}."
        for each in answer.from_jar
    ]
    return " ".join([text, *jar])


def _reasons(answer: RimAnswer) -> str:
    """Why it is not simply used: the names only, the findings say more."""
    if not answer.findings:
        return "Nothing that was looked at speaks against it."
    return f"Because: {', '.join(finding.name.replace('-', ' ') for finding in answer.findings)}."


def _range(outcome: Outcome, side: str) -> str:
    return f"{outcome.lowest[side]:.0f}-{outcome.highest[side]:.0f}"


def slips(verdict: Verdict, *, whole: bool) -> list[Block]:
    """Which reading is wrong and how likely each slip is; the look that settles it stands in the finding."""
    if verdict.agree:
        return [Sentence(f"Which reading is wrong? {verdict.words}")]
    columns = [
        Column("chance", lambda each: percent(each.probability)),
        Column("left over mm", lambda each: f"{each.misfit:.1f}", meaning="what it would leave unexplained"),
        Column("slip", lambda each: "none: every reading is right" if each is verdict.none else each.what, "left"),
    ]
    return [
        Heading("Which reading is wrong?"),
        Sentence(verdict.look),
        Table(columns, verdict.explanations[: SLIPS if whole else FEW_SLIPS]),
    ]


def builds(jar: JarAnswer, *, whole: bool, most: int = BUILDS) -> list[Block]:
    """What can be built of the jar, so many at most where the whole is told, what nearly, and what was not tried."""
    shown = list(enumerate(jar.whole[: most if whole else FEW_BUILDS], start=1))
    out: list[Block] = [
        Heading(f"What you can build ({jar.landing} of {jar.tried} patterns have spokes enough in reach):")
    ]
    if shown:
        out.append(Table(_columns(mind=any(each.findings for _, each in shown)), shown))
    near = jar.near[: NEAR if whole else FEW_NEAR]
    more = [*_spoken_against(shown), *_wires(shown), *_in_the_frame([each for _, each in shown])]
    more += [f"Nearly: {wish}" for wish in _wishes(near)]
    more += [f"Cutting takes {tool}." for tool in dict.fromkeys(tool for each in near for tool in each.tools)]
    if jar.old_spokes.of:
        refused = f" (not {'; not '.join(jar.old_spokes.refused)})" if jar.old_spokes.refused else ""
        more.append(f"Old spokes that may serve again: {jar.old_spokes.may_serve} of {jar.old_spokes.of}{refused}.")
    more += [f"Not tried: {reason}." for reason in jar.left_out]
    rest = {"more": len(jar.whole) - len(shown), "that nearly can be built": len(jar.near) - len(near)}
    counts = [f"{counted(count, 'wheel')} {word}" for word, count in rest.items() if count > 0]
    if counts:
        more.append(f"Not shown: {' and '.join(counts)} ({'--json' if whole else '--all or --json'}).")
    return [*out, Listed(more)] if more else out


def _columns(*, mind: bool) -> list[Column]:
    columns = [
        Column("", lambda row: str(row[0])),
        Column("rim", lambda row: row[1].rim, "left"),
        Column("hub", lambda row: row[1].hub, "left"),
        Column(
            "crosses", lambda row: _sides(row[1], lambda build, side: f"{build.crosses[side]:g}"), "left", "left/right"
        ),
        Column("lengths", lambda row: _sides(row[1], lambda build, side: build.mix(side)), "left"),
        Column(
            "ends mm",
            lambda row: _sides(row[1], lambda build, side: f"{build.end(side):+.1f}"),
            "left",
            "+ beyond, - short of the nipple's slot",
        ),
        Column("chance", lambda row: percent(row[1].chance), meaning="that both sides fit"),
    ]
    level = Column("mind", lambda row: row[1].findings[0].level if row[1].findings else "", "left")
    return [*columns, *([level] if mind else [])]


def _spoken_against(shown: Sequence[tuple[int, JarBuild]]) -> list[str]:
    """What speaks against which of them, each thing once."""
    said: dict[str, list[str]] = {}
    for number, each in shown:
        for finding in each.findings:
            said.setdefault(f"{finding.level}: {finding.text} {finding.remedy}".strip(), []).append(str(number))
    return [f"{', '.join(numbers)}: {text}" for text, numbers in said.items()]


def _wires(shown: Sequence[tuple[int, JarBuild]]) -> list[str]:
    """The wire of each, where they are of unlike ones."""
    wires: dict[str, list[str]] = {}
    for number, each in shown:
        wires.setdefault(_wire(each), []).append(str(number))
    said = "; ".join(f"{', '.join(numbers)}: {wire}" for wire, numbers in wires.items())
    return [f"Wire: {said}."] if len(wires) > 1 else []


def _wishes(near: Sequence[JarBuild]) -> list[str]:
    """What to buy for each; hubs for which it is the same stand together."""
    hubs: dict[str, list[JarBuild]] = {}
    for each in near:
        hubs.setdefault(replace(each, hub="").wish, []).append(each)
    return [replace(alike[0], hub=" or ".join(each.hub for each in alike)).wish for alike in hubs.values()]


def _wire(build: JarBuild) -> str:
    left, right = (str(build.wires[side]) for side in SIDES)
    return left if left == right else f"{left} left, {right} right"


def _in_the_frame(shown: Sequence[JarBuild]) -> list[str]:
    """How each hub goes into the frame, and with which spacers its wheels are computed."""
    said = {}
    for each in shown:
        if each.fits:
            left, right = each.spacers
            said[each.hub] = f"{each.fits} of {left:g} mm left, {right:g} mm right" if any(each.spacers) else each.fits
    return ["In the frame: " + "; ".join(f"{hub}: {how}" for hub, how in said.items()) + "."] if said else []


def _sides(build: JarBuild, cell: Callable[[JarBuild, str], str]) -> str:
    return "/".join(cell(build, side) for side in SIDES)
