"""Text folds to a width of 40 to 100 and loses nothing; colour only on a terminal, and never alone."""

from __future__ import annotations

import re

from hypothesis import example, given
from hypothesis import strategies as st

from wheelcalc.page.blocks import (
    Brief,
    Column,
    Figure,
    Heading,
    Listed,
    Page,
    Sentence,
    Step,
    Steps,
    Table,
    Verbatim,
)
from wheelcalc.page.text import Screen, to_text
from wheelcalc.wheel.findings import Finding

words = st.text(st.sampled_from("abcdefghijklm0123456789+-.,/"), min_size=1, max_size=14)
cells = st.lists(words, max_size=6).map(" ".join)
sentences = st.lists(words, min_size=1, max_size=40).map(" ".join)
widths = st.integers(20, 130)
STOP = Finding("stop", "narrow", "The frame is 6 mm too narrow.", "Choose spacers.")
CAUTION = Finding("caution", "pads", "The pads may not reach.", "Measure the gap.")


@st.composite
def tables(draw: st.DrawFn) -> Table:
    count, rows = draw(st.integers(2, 9)), draw(st.integers(1, 12))
    about = [[draw(cells) for _ in range(count)] for _ in range(rows)]
    align = [draw(st.sampled_from(["left", "right"])) for _ in range(count)]
    meanings = [draw(cells) for _ in range(count)]
    columns = [
        Column(draw(words), lambda row, place=place: row[place], align[place], meanings[place])
        for place in range(count)
    ]
    below = (lambda row: row[0]) if draw(st.booleans()) else None
    return Table(columns, about, draw(st.booleans()), below)


def page(*answer: object, findings: list[Finding] | None = None, assumptions: list[str] | None = None) -> Page:
    return Page("Order these: 36 spokes.", "Bike: spokes to order", answer, findings or [], (), assumptions or [])  # type: ignore[arg-type]


def letters(text: str) -> str:
    return re.sub(r"[\s-]", "", text)


@given(tables(), widths)
def test_a_table_never_breaks(table: Table, width: int) -> None:
    text = to_text(page(table), Screen(width))
    assert max(map(len, text.splitlines())) <= min(max(width, 40), 100)
    shown = set(re.findall(r"\S+", text)) | {letters(text)}
    for word in {word for row in table.rows for cell in row for word in cell.split()}:
        assert word in shown or letters(word) in letters(text)


@given(st.lists(sentences, min_size=1, max_size=5), widths)
@example(["hub.left.locknut_to_flange.and.a.word.that.is.longer.than.forty.letters"], 40)
def test_no_block_is_wider_than_the_screen(texts: list[str], width: int) -> None:
    steps = Steps([Step(text, title=text, check=text) for text in texts])
    blocks = [Heading(texts[0]), Sentence(texts[0]), Listed(texts), steps, Figure("", texts[0])]
    findings = [Finding("note", "n", text, text) for text in texts]
    text = to_text(page(*blocks, findings=findings, assumptions=texts), Screen(width))
    assert max(map(len, text.splitlines())) <= min(max(width, 40), 100)


def test_stops_are_in_the_first_five_lines_at_every_width() -> None:
    for width in (40, 80, 100):
        top = "\n".join(to_text(page(findings=[STOP, CAUTION]), Screen(width)).splitlines()[:5])
        assert "1 stop, 1 caution" in " ".join(top.split())
        assert "STOP" in top
        assert "6 mm too narrow" in " ".join(top.split())


def test_cautions_stand_below_the_answer() -> None:
    text = to_text(page(Sentence("The answer."), findings=[CAUTION]))
    assert text.index("The answer.") < text.index("Caution")


def test_the_last_line_counts_what_has_scrolled_away() -> None:
    long = page(Listed([f"item {n}" for n in range(30)]), findings=[STOP, CAUTION, CAUTION])
    assert to_text(long).splitlines()[-1] == "Read them at the top: 1 stop, 2 cautions."
    assert "Read them" not in to_text(long, Screen(height=60))
    assert "Read them" not in to_text(page(Listed(["item"] * 30)))


def test_colour_is_never_alone() -> None:
    of = page(Heading("How:"), findings=[STOP, CAUTION])
    shown = to_text(of, Screen(colour=True))
    assert "\x1b[" in shown
    assert re.sub(r"\x1b\[[0-9;]*m", "", shown) == to_text(of)
    assert "\x1b" not in to_text(of)


def test_defaults_of_little_matter_are_one_line() -> None:
    of = page(
        assumptions=[
            "Heads out is contested.",
            Brief("rim: hole_offset 0 mm, hole_stagger 0 mm.", defaults=2),
            Brief("Long.", "Short."),
            Brief("x."),
        ]
    )
    text = to_text(of)
    assert "Heads out is contested." in text
    assert "3 defaults used; --assumed lists them." in text
    assert "Short." in text
    assert "Long." not in text
    assert "hole_stagger" not in text
    assert "hole_stagger" in to_text(of, every_assumption=True)


def test_lines_to_copy_stand_as_they_are() -> None:
    assert "    fitted = { left = 3.5, right = 2.5 }" in to_text(
        page(Verbatim(["fitted = { left = 3.5, right = 2.5 }"]))
    )


def test_words_under_a_row_stand_under_it_at_every_width() -> None:
    columns = [Column("name", str, "left"), Column("twice", lambda n: f"{n} {n}" * 20, "left")]
    table = Table(columns, ["first", "second"], abreast=True, below=lambda name: f"about the {name} one")
    for width in (40, 80, 100):
        text = " ".join(to_text(page(table), Screen(width)).split())
        assert text.index("about the first one") < text.index("second") < text.index("about the second one")


def test_many_short_rows_stand_side_by_side_where_there_is_room() -> None:
    columns = [Column("rim", str), Column("hub", lambda n: f"R{n}", "left")]
    table = Table(columns, range(1, 37), abreast=True)
    assert len(to_text(page(table), Screen(80)).splitlines()) < 25
    assert "1 R1" in " ".join(to_text(page(table), Screen(80)).split())
    alone = Table(columns, range(1, 37))
    assert len(to_text(page(alone), Screen(80)).splitlines()) > 36
