"""The pages of the bench sheet: their size, letters, lines and running titles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wheelcalc.page.tags import Html, in_css, tag

# What fits on A4 and on Letter alike, inside the margins [mm].
WIDTH = 186.0
PAPERS = {"any": "", "A4": "size: 210mm 297mm;", "Letter": "size: 8.5in 11in;"}

STYLE = """
html { background: #fff; color: #000; }
body { margin: 0 auto; padding: 0 0.3mm; font: 9.5pt/1.28 "Liberation Sans", Arial, Helvetica, sans-serif; }
body { font-size-adjust: 0.528; overflow-wrap: break-word; }
@media screen { body { padding: 6mm; max-width: 186mm; } section { margin-bottom: 20mm; } }
h1 { position: absolute; width: 1px; height: 1px; overflow: hidden; margin: -1px; }
.head { display: flex; align-items: stretch; border: 0.6mm solid #000; margin: 0 0 2.5mm; }
section + section > .head { margin-top: 2.5mm; }
.head { break-inside: avoid; break-after: avoid; }
.head .number { background: #000; color: #fff; font-weight: bold; font-size: 13pt; padding: 0.5mm 3mm; }
.head .number { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
.head h2 { flex: 1; margin: 0; padding: 0.5mm 3mm; font-size: 13pt; line-height: 1.25; }
.head p { margin: 0; padding: 0.8mm 3mm; border-left: 0.3mm solid #000; font-size: 10pt; max-width: 70mm; }
.head p { white-space: nowrap; overflow: hidden; text-overflow: ellipsis; align-self: center; }
h3 { font-size: 11.5pt; margin: 3mm 0 1mm; break-after: avoid; }
p { margin: 0 0 1.8mm; orphans: 3; widows: 3; }
.large { font-size: 12pt; line-height: 1.25; }
.small { font-size: 9.5pt; }
td .large, th .large { white-space: nowrap; }
table { border-collapse: collapse; width: 100%; margin: 0 0 2mm; }
caption { text-align: left; font-weight: bold; padding-bottom: 1mm; }
th, td { border: 0.25mm solid #000; padding: 0.7mm 1.5mm; text-align: left; vertical-align: middle; font-weight: normal; }
.number { text-align: right; }
th, td { overflow-wrap: break-word; }
thead th { font-weight: bold; border-bottom-width: 0.6mm; font-size: 9.5pt; }
tbody th { font-weight: bold; }
tr { break-inside: avoid; }
.log td, .log th { height: 5.6mm; padding: 0 1mm; }
.passes td, .passes th { height: 5.1mm; line-height: 1.1; padding: 0 0.5mm; font-size: 9.5pt; white-space: nowrap; }
.passes.low td, .passes.low th { height: 3.9mm; line-height: 1; }
.passes .begins { border-left-width: 0.7mm; }
.slip td:nth-child(n+5) { white-space: nowrap; }
.filled td, .filled th { white-space: nowrap; font-size: 10.5pt; padding: 0 0.9mm; }
.dense td, .dense th { font-size: 9.5pt; padding: 0.5mm 1.5mm; line-height: 1.25; }
.record td:nth-child(2) { overflow-wrap: anywhere; }
.record th, .record td:last-child { white-space: nowrap; }
.dense tbody th { font-weight: normal; }
.plain td, .plain th { border: 0; padding: 0.5mm 2mm 0.5mm 0; }
.pair { display: flex; gap: 6mm; align-items: flex-start; }
.pair > * { flex: 1; min-width: 0; }
ul, ol { margin: 0 0 3mm; padding-left: 6mm; }
li { margin-bottom: 1.2mm; break-inside: avoid; }
ul.tick { list-style: none; padding: 0; }
ul.tick > li { display: flex; gap: 3mm; margin-bottom: 1.2mm; }
ul.tick.two { columns: 2; column-gap: 6mm; }
.box { display: inline-block; flex: none; width: 4mm; height: 4mm; border: 0.4mm solid #000; margin-top: 0.3mm; vertical-align: -1mm; }
.blank { display: inline-block; border-bottom: 0.35mm solid #000; height: 4.5mm; vertical-align: baseline; }
.finding { border: 0.4mm solid #000; padding: 1.5mm 2.5mm; margin: 0 0 2.5mm; break-inside: avoid; }
.finding.stop { border-width: 1.4mm; }
.finding.note { border-style: dashed; }
.finding b { text-transform: uppercase; letter-spacing: 0.04em; }
.step { border-left: 1mm solid #000; padding: 0 0 0 3mm; margin: 0 0 2.5mm; break-inside: avoid; }
.step h3 { margin: 0 0 1mm; }
.keep, #labels, #gate, #ride { break-inside: avoid; }
.next-page { break-before: page; }
figure { margin: 0 0 3mm; break-inside: avoid; }
figcaption { font-size: 10pt; }
svg { display: block; max-width: 100%; height: auto; }
.true-size svg, #gauges svg { max-width: none; }
.measure { columns: 2; column-gap: 6mm; }
.measure h3 { margin-top: 0; }
.measure .keep { margin-bottom: 2mm; }
.reading figure { width: 36mm; margin: 0 0 0.5mm; }
.reading table { margin-bottom: 1mm; }
.log.readings td, .log.readings th { height: 4.7mm; line-height: 1.05; }
.readings tbody td:first-of-type { width: 42%; }
.readings .blank { height: 3.5mm; }
.readings td:last-child, .readings thead th { white-space: nowrap; }
.readings td, .readings th { font-size: 9.5pt; }
.flange figure { flex: none; }
.headless thead { display: none; }
.ruler { position: relative; }
.ruler figure { margin: 0; }
.corner { position: absolute; width: 84mm; }
.corner.upper { top: 0; left: 0; }
.corner.lower { bottom: 0; right: 0; width: 116mm; }
.corner .checked { display: block; }
.corner .circle { width: 76.5mm; margin-left: auto; }
.corner h3 { margin-top: 0; }
.checked { display: flex; gap: 4mm; align-items: center; break-inside: avoid; margin: 1mm 0 3mm; }
.checked svg { flex: none; }
.checked p { margin: 0; }
.wrap { display: flex; flex-wrap: wrap; gap: 4mm 3mm; }
.wrap figure { margin: 0; }
.labels { display: flex; flex-wrap: wrap; gap: 4mm; margin-bottom: 2mm; }
.label { border: 0.5mm dashed #000; padding: 2.5mm; flex: 1 1 80mm; break-inside: avoid; }
.label .side, .label .length { display: inline-block; font-size: 22pt; font-weight: bold; line-height: 1.1; margin-right: 4mm; }
.label p { margin: 0; }
ul.samples { list-style: none; padding: 0; } ul.samples li { display: flex; gap: 2mm; align-items: center; margin-bottom: 0.5mm; }
ul.samples svg { flex: none; }
.maps { display: grid; grid-template-columns: 118mm 1fr; gap: 2mm 4mm; align-items: start; }
.maps figure { margin: 0; }
.two-sides { display: flex; gap: 6mm; } .two-sides > * { flex: 1; min-width: 0; }
@media screen and (max-width: 700px) {
  body { padding: 3mm; font-size: 12pt; overflow-wrap: anywhere; }
  .measure { columns: 1; } .pair, .reading, .two-sides, .maps, .checked { display: block; }
  ul.tick.two { columns: 1; }
  .head { flex-wrap: wrap; } .head p { border-left: 0; max-width: none; white-space: normal; overflow-wrap: anywhere; }
  section > table, .labels, .passes, .scroll { display: block; overflow-x: auto; }
  .reading figure { width: 80mm; max-width: 100%; }
  .maps figure, .maps p { margin-bottom: 3mm; }
  .ruler .corner { position: static; width: auto; }
  .true-size, #gauges figure, #gauges .checked { overflow-x: auto; }
}
"""
MARGIN_BOX = 'font: 9.5pt "Liberation Sans", Arial, Helvetica, sans-serif; color: #000;'


@dataclass(frozen=True)
class SheetSection:
    """One section of the sheet, on as many pages as it needs.

    Parameters
    ----------
    name : for --only and --without
    title : heads it and runs along the top of its pages
    body : what stands on it
    group : name of the pages that it shares with its neighbours
    narrow_margins : for what needs all of the paper
    """

    name: str
    title: str
    body: Sequence[Html]
    group: str
    narrow_margins: bool = False


def document(build: str, sections: Sequence[SheetSection], paper: str) -> str:
    """Return the whole HTML file.

    Parameters
    ----------
    build : title of the build, as the user typed it
    sections : the sections
    paper : "any" (whatever the printer holds), "A4" or "Letter"
    """
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", name="viewport", content="width=device-width"),
        tag("title", f"{build}: bench sheet"),
        tag("style", Html(STYLE + "".join(_running(build, group, paper) for group in _grouped(sections)))),
    )
    written = [_section(build, number, section) for number, section in enumerate(sections, start=1)]
    body = tag("body", tag("main", tag("h1", f"{build}: bench sheet"), written))
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n"


def shortened(text: str, most: int) -> str:
    """Return a text cut to a number of signs; the record has the whole."""
    return text if len(text) <= most else text[: most - 3].rstrip() + "..."


def _section(build: str, number: int, section: SheetSection) -> Html:
    head = tag(
        "div",
        tag("span", number, class_="number"),
        tag("h2", section.title),
        tag("p", shortened(build, 70)),
        class_="head",
    )
    return tag("section", head, section.body, id=section.name, style=f"page: {section.group}")


def _grouped(sections: Sequence[SheetSection]) -> list[SheetSection]:
    """One page for each group, with the titles of all its sections."""
    groups: dict[str, list[SheetSection]] = {}
    for section in sections:
        groups.setdefault(section.group, []).append(section)
    return [
        SheetSection(name, ", ".join(section.title for section in own), [], name, own[0].narrow_margins)
        for name, own in groups.items()
    ]


def _running(build: str, section: SheetSection, paper: str) -> str:
    """CSS that puts the titles and the page's number on every page of a section."""
    margin, below = ("11mm 8mm 10mm", "1.5mm") if section.narrow_margins else ("13mm 12mm 12mm", "2.5mm")
    titles = f"@top-left {{ content: {in_css(shortened(build, 40))}; {MARGIN_BOX} vertical-align: bottom; padding-bottom: {below}; }} "
    titles += f"@top-right {{ content: {in_css(section.title)}; {MARGIN_BOX} vertical-align: bottom; padding-bottom: {below}; }}"
    number = (
        f'@bottom-right {{ content: "page " counter(page) " of " counter(pages); {MARGIN_BOX} vertical-align: top; }}'
    )
    maker = f"@bottom-left {{ content: {in_css('wheelcalc bench sheet; print at 100 %')}; {MARGIN_BOX} vertical-align: top; }}"
    return f"@page {section.name} {{ {PAPERS[paper]} margin: {margin}; {titles} {number} {maker} }}\n"
