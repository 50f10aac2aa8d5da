"""Every command on the examples at 40, 80 and 100 columns: nothing wider, the verdict and its stops first, and short."""

from __future__ import annotations

from pathlib import Path

import pytest

from wheelcalc import answers
from wheelcalc.cli.main import run
from wheelcalc.page.blocks import Page
from wheelcalc.page.text import Screen, to_text

EXAMPLES = Path(__file__).parents[2] / "examples"
WIDTHS = (40, 80, 100)
REAR, DONOR, SHED = (str(EXAMPLES / f"{name}.toml") for name in ("errand-rear", "donor-hub", "errand-rear-salvage"))
CALLS = [
    *(
        [command, str(path)]
        for path in sorted(EXAMPLES.glob("errand-*.toml"))
        for command in ("order", "lace", "fit", "tension")
    ),
    ["lengths", REAR, "--working", "--assumed"],
    ["order", DONOR],
    ["fit", DONOR, "--working"],
    ["fit", str(EXAMPLES / "smaller-wheels.toml")],
    ["tension", REAR, "--structure", "--working"],
    ["measure", SHED, "--working"],
    ["measure", "--how", "rim.erd"],
    ["salvage", SHED],
    ["salvage"],
    ["check", str(EXAMPLES / "smaller-wheels.toml")],
    ["compare", REAR, DONOR],
    ["true", REAR, str(EXAMPLES / "errand-rear-readings.csv")],
    ["true", REAR, "--broken", "14"],
    ["pluck", REAR, str(EXAMPLES / "errand-rear-right.wav"), "--side", "right", "--working"],
]


@pytest.mark.parametrize("call", CALLS, ids=lambda call: " ".join(Path(word).stem for word in call))
def test_no_line_is_wider_than_the_screen(call: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """The page is laid out once and written at each width, as the command does where COLUMNS says so."""
    written: list[str] = []

    def at_every_width(page: Page, screen: Screen, **how: bool) -> str:
        written.extend(to_text(page, screen._replace(width=width), **how) for width in WIDTHS)
        return written[0]

    monkeypatch.setattr("wheelcalc.page.text.to_text", at_every_width)
    monkeypatch.setenv("COLUMNS", str(WIDTHS[0]))
    if run(call) == 2:
        pytest.skip("this example lacks what the command needs")
    assert len(written) == len(WIDTHS)
    for width, text in zip(WIDTHS, written, strict=True):
        assert max(map(len, text.splitlines())) <= width
        text.encode("latin-1")


@pytest.mark.parametrize("width", WIDTHS)
def test_the_width_is_that_of_the_surroundings(
    width: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    assert run(["fit", DONOR]) in (0, 1)
    assert width - 12 < max(map(len, capsys.readouterr().out.splitlines())) <= width


@pytest.mark.parametrize("width", WIDTHS)
def test_a_stop_is_read_in_the_first_five_lines(
    width: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    for call in (["order", DONOR], ["tension", REAR, "--set", "tension.target=4600 N"]):
        assert run(call) == 1
        top = capsys.readouterr().out.splitlines()[:5]
        assert top[0].startswith(("Do not order yet. 1 stop", "Do not tighten yet"))
        assert any(line.startswith("STOP") for line in top)


@pytest.mark.parametrize(
    ("name", "most"), [("errand-rear", 20), ("errand-rear-fitted", 20), ("trailer-two-to-one", 20)]
)
def test_an_order_is_short(name: str, most: int, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["order", str(EXAMPLES / f"{name}.toml")]) == 0
    assert len(capsys.readouterr().out.splitlines()) <= most


def test_the_library_prints_what_the_command_prints(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["order", REAR]) == 0
    assert capsys.readouterr().out == f"{answers.order(REAR)}\n"
