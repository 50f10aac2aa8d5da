"""HTML of a page: the same order as the text, everything escaped, numbers to the right."""

from __future__ import annotations

from html.parser import HTMLParser

from wheelcalc.page.blocks import Brief, Column, Heading, Listed, Page, Sentence, Step, Steps, Table, Verbatim
from wheelcalc.page.html import document, to_html
from wheelcalc.wheel.findings import Finding

EVIL = '<script>alert("1 & 2")</script>'
FINDINGS = [Finding("stop", "s", f"stop {EVIL}", "do this"), Finding("caution", "c", f"caution {EVIL}")]


def whole() -> Page:
    columns = [
        Column("side", lambda row: row[0], "left"),
        Column("length mm", lambda row: row[1], meaning=f"of {EVIL}"),
    ]
    answer = [Table(columns, [(EVIL, "290"), ("right", "289")]), Listed([EVIL])]
    details = [Heading(EVIL), Sentence(EVIL), Steps([Step(EVIL, EVIL, EVIL)]), Verbatim([EVIL])]
    return Page(f"Order {EVIL}.", EVIL, answer, FINDINGS, details, [EVIL, Brief("a default")])


class Tags(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in ("br", "meta"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def test_nothing_typed_becomes_markup() -> None:
    tags = Tags(document(whole()))
    assert not tags.open
    assert "script" not in {tag for tag, _ in tags.seen}
    assert sum(EVIL in text for text in tags.words) >= 12


def test_the_order_is_that_of_the_text() -> None:
    text = "".join(Tags(to_html(whole())).words)
    places = [text.index(each) for each in ("1 stop, 1 caution", "Stop:", "length mm: of", "Caution:", "Assumed")]
    assert places == sorted(places)


def test_numbers_stand_to_the_right() -> None:
    cells = [attributes.get("class") for tag, attributes in Tags(to_html(whole())).seen if tag == "td"]
    assert cells == [None, "number", None, "number"]
