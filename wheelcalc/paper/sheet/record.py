"""Of the bench sheet: the record of every input, assumption, number and version, for the next rebuild."""

from __future__ import annotations

from typing import Any

from wheelcalc import __version__
from wheelcalc.answers.base import in_kgf, worded
from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.files.units import LARGEST
from wheelcalc.page.tags import Html, blank, listed, table, tag
from wheelcalc.paper.sheet.material import Material, findings
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

LEFT_ALONE = ("limits.", "truing.", "pluck.")  # defaults of these fill pages and say nothing of the wheel


def record_page(material: Material) -> list[Html]:
    """What went in, what was taken, what came out, and room for what was built."""
    return [
        tag("p", f"From {material.file.name}, by wheelcalc {__version__}. Printed on ", blank(30), "."),
        _as_built(),
        tag("h3", "What the build file says"),
        _inputs(material.build),
        *_numbers(material),
        *_taken(material),
    ]


def _as_built() -> Html:
    rows = [
        [what, blank(34), blank(34)]
        for what in (
            "spoke length built in",
            "spoke ends, + beyond the slot's bottom",
            "tension, N",
            "spacers on the axle",
            "date, by",
        )
    ]
    return tag("div", tag("h3", "As it was built"), table(["", "left", "right"], rows), class_="keep")


def _inputs(build: Build) -> Html:
    """What was given as a table, what was taken by default in one paragraph."""
    given = [
        [key, _value(key, each), _error(each), each.origin] for key, each in build.items() if each.origin != "default"
    ]
    taken = [
        f"{key} {_value(key, each)}"
        for key, each in build.items()
        if each.origin == "default" and not key.startswith(LEFT_ALONE)
    ]
    return Html(
        table(["key", "value", "19 times in 20", "from"], given, "dense record")
        + tag("p", tag("b", "Not in the file, so taken: "), "; ".join(taken), ".", class_="small")
    )


def _value(key: str, entry: Dimension) -> str:
    if entry.repeats:
        return f"{entry.value:.2f} mm, mean of " + ", ".join(f"{each:g}" for each in entry.repeats)
    if isinstance(entry.value, dict):
        return ", ".join(f"{name} = {_short(each)}" for name, each in entry.value.items())
    if isinstance(entry.value, list):
        return "; ".join(_short(each) for each in entry.value)
    return worded(
        key, round(entry.value, 2) if entry.origin == "readings" and isinstance(entry.value, float) else entry.value
    )


def _short(value: Any) -> str:
    if isinstance(value, list | tuple):
        return " ".join(_short(each) for each in value) or "none"
    if isinstance(value, dict):
        return ", ".join(f"{name} {_short(each)}" for name, each in value.items())
    return f"{value:g}" if isinstance(value, float | int) and abs(value) < LARGEST else str(value)


def _error(entry: Dimension) -> str:
    return f"+-{NINETEEN_IN_TWENTY * entry.sigma:.2g}" if entry.sigma else ""


def _numbers(material: Material) -> list[Html]:
    """The numbers behind the pages; what cannot be computed is left out (its own page says why)."""
    out = []
    for title, make in (
        ("Spoke by spoke", _spokes),
        ("Sides", _sides),
        ("Where the error comes from", _errors),
        ("The wheel as a structure", _structure),
    ):
        try:
            body = make(material)
        except InputError:
            continue
        if body:
            out += [tag("h3", title), body]
    return out


def _spokes(material: Material) -> Html:
    lengths = material.lengths
    lacing, cut, wheel = lengths.wheel.lacing, lengths.cut, lengths.wheel
    columns = [
        lacing.rim_hole.tolist(),
        lacing.hub_labels,
        lacing.crosses.tolist(),
        lacing.directions,
        lacing.heads,
        [f"{value:.2f}" for value in lacing.rim_angle_deg],
        [f"{value:.2f}" for value in lacing.hub_angle_deg],
        [f"{value:.2f}" for value in wheel.lengths],
        [f"{value:.2f}" for value in cut],
        [f"{value:.2f}" for value in wheel.bracing_angles_deg],
    ]
    headers = [
        "rim",
        "hub",
        "crosses",
        "direction",
        "heads",
        "rim deg",
        "hub deg",
        "geometric mm",
        "to buy mm",
        "bracing deg",
    ]
    return table(headers, zip(*columns, strict=True), "dense")


def _sides(material: Material) -> Html:
    lengths, tension = material.lengths, material.tension
    rows = []
    for side in SIDES:
        each, tight = lengths.sides[side], tension.sides[side]
        aim = (
            "none"
            if tight.target_N is None
            else f"{tight.target_N:.0f} N, {in_kgf(tight.target_N):.0f} kgf, {tight.pitch_hz:.1f} Hz"
        )
        rows.append(
            [
                side,
                each.count,
                f"{each.geometric:.2f}",
                f"{each.cut:.2f}",
                f"{each.sigma:.2f}",
                f"{each.spread:.2f}",
                f"{each.bracing_angle_deg:.2f}",
                aim,
            ]
        )
    headers = ["side", "spokes", "geometric mm", "to buy mm", "sigma mm", "spread mm", "bracing deg", "tension"]
    return table(headers, rows, "dense")


def _errors(material: Material) -> Html:
    rows = [
        [each.reading, each.side, f"{each.sigma_mm:.2f}", f"{each.effect_mm:.3f}"]
        for each in material.lengths.error_budget
    ]
    return table(["reading", "side", "sigma mm", "of the length, mm"], rows, "dense") if rows else Html("")


def _structure(material: Material) -> Html:
    rows = [
        [words, f"{value:.4g} {unit}"] for words, value, _, unit in material.tension.figure_rows() if value is not None
    ]
    return table(["", ""], rows, "dense headless") if rows else Html("")


def _taken(material: Material) -> list[Html]:
    out = []
    assumptions, every = material.assumptions(), material.findings()
    if assumptions:
        out += [tag("h3", "What was taken for it"), listed(assumptions, "small")]
    if every:
        out += [tag("h3", "What was found"), findings(every)]
    return out
