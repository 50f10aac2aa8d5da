"""The bench sheet: everything the hands need, as one HTML file to print."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer, Source, opened
from wheelcalc.files.buildfile import Overrides
from wheelcalc.page import blocks
from wheelcalc.page.numbers import counted
from wheelcalc.page.tags import Html, joined, listed, tag
from wheelcalc.paper.sheet.fit import fit_page
from wheelcalc.paper.sheet.gauges import gauges_page
from wheelcalc.paper.sheet.hung_rim import to_tap
from wheelcalc.paper.sheet.lace import lace_page
from wheelcalc.paper.sheet.material import Material
from wheelcalc.paper.sheet.measure import measure_page
from wheelcalc.paper.sheet.order import gate_page, labels_page, order_page
from wheelcalc.paper.sheet.page import PAPERS, SheetSection, document
from wheelcalc.paper.sheet.record import record_page
from wheelcalc.paper.sheet.salvage import salvage_page
from wheelcalc.paper.sheet.tension import ride_page, tension_page
from wheelcalc.paper.sheet.true import to_tick_page, truing_page
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import by_weight


@dataclass(frozen=True)
class SectionKind:
    """A section that the sheet may have.

    Parameters
    ----------
    title : heads it
    make : its content; raises `InputError` where the build lacks something for it
    group : name of the pages that it shares with its neighbours
    narrow_margins : for what needs all of the paper
    of_use : for which builds it is there unasked
    alone : it is a whole file, so nothing stands beside it
    """

    title: str
    make: Callable[[Material], list[Html]]
    group: str
    narrow_margins: bool = False
    of_use: Callable[[Material], bool] = lambda _: True
    alone: bool = False


# In the order of the job.
SECTIONS = {
    "salvage": SectionKind("The old wheel", salvage_page, "salvage", of_use=lambda material: material.tells_of_salvage),
    "measure": SectionKind("Measuring", measure_page, "measure"),
    "gauges": SectionKind("Gauges, true to scale", gauges_page, "gauges", narrow_margins=True),
    "tap": SectionKind("The bare rim tapped", lambda material: to_tap(material.build), "tap", of_use=lambda _: False),
    "fit": SectionKind("Does it fit", fit_page, "fit", of_use=lambda material: material.asks_of_fit),
    "order": SectionKind("Order slip", order_page, "order"),
    "labels": SectionKind("Labels for the jars", labels_page, "order"),
    "gate": SectionKind("Before lacing", gate_page, "order"),
    "lace": SectionKind("Lacing", lace_page, "lace"),
    "tension": SectionKind("Tension card", tension_page, "tension"),
    "ride": SectionKind("Before and after riding", ride_page, "tension"),
    "true": SectionKind("Log of trueing", truing_page, "true"),
    "bench": SectionKind("Turns to tick on a screen", to_tick_page, "bench", of_use=lambda _: False, alone=True),
    "record": SectionKind("Record", record_page, "record", of_use=lambda material: material.record),
}


@dataclass(frozen=True, kw_only=True)
class Sheet(Answer):
    """The bench sheet.

    Parameters
    ----------
    html : the file
    parts : names of the sections that it has, in order
    left_out : section that was wanted -> why it is not there
    """

    schema: ClassVar[str] = "wheelcalc/sheet/1"
    records: ClassVar[str] = "sections"
    html: str
    parts: Sequence[str]
    left_out: dict[str, str]

    def content(self) -> dict[str, Any]:
        """Return the sections, and those left out with the reason."""
        out = [{"name": name, "title": SECTIONS[name].title} for name in self.parts]
        return {"sections": out, "left_out": [{"name": name, "reason": why} for name, why in self.left_out.items()]}

    def page(self) -> blocks.Page:
        """Return which sections it has, and which were left out."""
        columns = [
            blocks.Column("section", lambda name: name, "left"),
            blocks.Column("holds", lambda name: SECTIONS[name].title, "left"),
        ]
        return blocks.Page(
            verdict=f"A sheet of {counted(len(self.parts), 'section')}; -o sheet.html writes it.",
            title=f"{self.title}: bench sheet",
            answer=[blocks.Table(columns, self.parts), *self.missing()],
            findings=self.findings,
        )

    def missing(self) -> list[blocks.Block]:
        """Return the sections left out, those for one reason together."""
        reasons: dict[str, list[str]] = {}
        for name, why in self.left_out.items():
            reasons.setdefault(why, []).append(name)
        return blocks.listed((f"{', '.join(names)}: {why}" for why, names in reasons.items()), "Left out:")

    def _repr_html_(self) -> str:
        return f'<iframe title="bench sheet" style="width: 100%; height: 40em" srcdoc="{escape(self.html)}"></iframe>'


def sheet(
    source: Source,
    overrides: Overrides = (),
    only: str | Sequence[str] = (),
    without: str | Sequence[str] = (),
    paper: str = "any",
    *,
    readings: str | Path | None = None,
    own_plane: bool = False,
    record: bool = False,
    **keys: Any,
) -> Sheet:
    """Return the bench sheet of a build.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them
    only, without : names of sections (`SECTIONS`)
    paper : "any" (what the printer holds), "A4" or "Letter"
    readings, own_plane : as `true` takes them: the log's first pass is filled in
    record : with the record: every key of the file, every spoke, the structure

    Raises
    ------
    InputError
        If the input cannot be used, a name is not known, or no section is left.
    """
    only, without = ([each] if isinstance(each, str) else each for each in (only, without))
    _check_names(only, without)
    if paper not in PAPERS:
        raise InputError("paper", f'found "{paper}"; write one of {", ".join(PAPERS)}')
    file = opened(source, overrides, keys)
    material = Material(file, readings=readings, own_plane=own_plane, record=record)
    if readings is not None:
        _ = material.true  # refuses what cannot be read before anything is made
    pages, left_out = _sections(material, _wanted(material, only, without))
    if not pages:
        name, why = next(iter(left_out.items()))
        raise InputError(file.name, f"no section can be made; {name}: {why}")
    return Sheet(
        title=file.title,
        findings=by_weight(material.findings()),
        assumptions=material.assumptions(),
        html=_whole(file.title, pages, paper),
        parts=[page.name for page in pages],
        left_out=left_out,
    )


def _whole(title: str, sections: Sequence[SheetSection], paper: str) -> str:
    return joined(sections[0].body) if SECTIONS[sections[0].name].alone else document(title, sections, paper)


def _sections(material: Material, wanted: Sequence[str]) -> tuple[list[SheetSection], dict[str, str]]:
    """Make the sections, and say why of those that cannot be made."""
    sections: list[SheetSection] = []
    left_out: dict[str, str] = {}
    for name in wanted:
        kind = SECTIONS[name]
        try:
            body = kind.make(material) + (_left_out(left_out) if name == "record" else [])
            sections.append(SheetSection(name, kind.title, body, kind.group, kind.narrow_margins))
        except InputError as error:
            left_out[name] = f"{error.key}: {error.text}" if error.key else error.text
    return sections, left_out


def _left_out(left_out: dict[str, str]) -> list[Html]:
    """The record says which sections are not there, and what they lack."""
    if not left_out:
        return []
    return [
        tag("h3", "Left out of this sheet"),
        listed(f"{SECTIONS[name].title}: {why}." for name, why in left_out.items()),
    ]


def _check_names(only: Sequence[str], without: Sequence[str]) -> None:
    for parameter, names in (("only", only), ("without", without)):
        for name in names:
            if name not in SECTIONS:
                raise InputError(parameter, f'found "{name}"; the sections are {", ".join(SECTIONS)}')
    alone = next((name for name in only if SECTIONS[name].alone), None)
    if alone and set(only) - set(without) != {alone}:
        raise InputError("only", f'found "{alone}" beside others; it is a file of its own, write it alone')


def _wanted(material: Material, only: Sequence[str], without: Sequence[str]) -> list[str]:
    asked = only or [name for name, kind in SECTIONS.items() if kind.of_use(material)]
    wanted = [name for name in SECTIONS if name in asked and name not in without]
    if not wanted:
        raise InputError("--without", "leaves no section; take one of them out")
    return wanted
