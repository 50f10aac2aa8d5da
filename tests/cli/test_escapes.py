"""Nothing that stands in a file, a file's name or an argument comes back to the terminal as a command to it."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import pytest

from wheelcalc.cli.main import run
from wheelcalc.cli.output import to_json
from wheelcalc.stand import serving

EXAMPLES = Path(__file__).parents[2] / "examples"
# Sets a terminal's title, clears its screen (also by the one-byte form), turns what follows round.
RAW = "x\x1b]0;owned\x07\x1b[2J\u202ey\x9b2J"
IN_TOML = "x\\u001b]0;owned\\u0007\\u001b[2J\\u202ey\\u009b2J"
BUILD = "errand-rear.toml"


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The examples; copies of some under a name that no terminal should see; and files with such words in them."""
    for path in EXAMPLES.iterdir():
        shutil.copy(path, tmp_path)
    for name in (BUILD, "shed.toml", "errand-rear-right.wav", "errand-rear-readings.csv"):
        shutil.copy(EXAMPLES / name, tmp_path / f"{RAW}{name}")
    shed = (EXAMPLES / "shed.toml").read_text(encoding="utf-8")
    (tmp_path / "shed-raw.toml").write_text(shed.replace("black rim", IN_TOML), encoding="utf-8")
    text = (EXAMPLES / BUILD).read_text(encoding="utf-8")
    (tmp_path / "title.toml").write_text(
        f'title = "{IN_TOML}"\n{text.split("title", 1)[1].split(chr(10), 1)[1]}', encoding="utf-8"
    )
    (tmp_path / "key.toml").write_text(f'"{IN_TOML}" = 3\n', encoding="utf-8")
    (tmp_path / "word.toml").write_text(text.replace("[hub]", f'[hub]\nthread = "{IN_TOML}"'), encoding="utf-8")
    readings = (EXAMPLES / "errand-rear-readings.csv").read_text(encoding="utf-8")
    (tmp_path / "wheel.csv").write_text(f"# wheel: {RAW}, 36 holes, deadbeef\n{readings}", encoding="utf-8")
    (tmp_path / "column.csv").write_text(readings.replace("rim_hole", f"rim_hole,{RAW}", 1), encoding="utf-8")
    (tmp_path / "cell.csv").write_text(f"{readings}\n3,{RAW},0,\n", encoding="utf-8")
    assert run(["order", str(tmp_path / BUILD), "-o", str(tmp_path / "order.json")]) == 0
    order = json.loads((tmp_path / "order.json").read_text(encoding="utf-8"))
    for key in ("side", "wire", "head"):
        lines = [{**order["lines"][0], key: RAW}, *order["lines"][1:]]
        (tmp_path / f"order-{key}.json").write_text(json.dumps({**order, "lines": lines}), encoding="utf-8")
    (tmp_path / "order-schema.json").write_text(json.dumps({**order, "schema": RAW}), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


CALLS = [
    *([command, name] for command in ("order", "fit", "check", "measure") for name in ("title.toml", "key.toml", "word.toml", RAW + BUILD)),
    *(
        ["order", BUILD, "--parts", drawer, "--set", f'rim.part="{name}"']
        for drawer in ("shed-raw.toml", f"{RAW}shed.toml", RAW)
        for name in (IN_TOML, "none")
    ),
    *(["order", BUILD, "--set", f'{key}="{IN_TOML}"'] for key in ("title", "hub.axle", "hub.thread", "spokes.wire", "rim.erd")),
    ["order", BUILD, "--set", f'stock.on_hand={{"{IN_TOML}" = 3}}'],
    ["check", "shed-raw.toml"],
    ["check", f"{RAW}shed.toml"],
    ["check", f"{RAW}shed.toml", "--json"],
    ["salvage", "donor-hub.toml", "--parts", "shed-raw.toml"],
    *(["true", BUILD, name] for name in ("wheel.csv", "column.csv", "cell.csv", f"{RAW}errand-rear-readings.csv", RAW)),
    ["true", f"{RAW}{BUILD}", "--blank"],
    ["pluck", BUILD, f"{RAW}errand-rear-right.wav", "--side", "right"],
    ["pluck", BUILD, f"{RAW}{BUILD}"],
    ["pluck", BUILD, "errand-rear-right.wav", "--before", RAW],
    *(["pluck", BUILD, "errand-rear-right.wav", option, RAW] for option in ("--side", "--from", "--skip")),
    *(["tap", BUILD, option, name] for option in ("--radial", "--lateral") for name in (RAW, RAW + BUILD, f"{RAW}errand-rear-right.wav")),
    *(["compare", BUILD, "errand-rear-fitted.toml", "--order", f"order-{key}.json"] for key in ("side", "wire", "head", "schema")),
    ["compare", BUILD, f"{RAW}{BUILD}", "errand-rear-fitted.toml", "--order", "order.json"],
    ["compare", BUILD, f"{RAW}{BUILD}", "--order", RAW],
    *(["sheet", BUILD, option, RAW] for option in ("--only", "--without", "--paper", "--readings")),
    ["sheet", f"{RAW}{BUILD}", "-o", f"{RAW}.html"],
    ["stand", RAW],
    ["stand", BUILD, "--log", f"{RAW}/none/log.csv"],
    ["stand", BUILD, "--log", "cell.csv"],
    ["stand", BUILD, "--port", RAW],
    ["stand", BUILD, "--set", f"rim.erd={RAW}"],
    ["start", "n.toml", "--parts", "shed-raw.toml", "--rim-part", "none"],
    ["start", BUILD, "--parts", f"{RAW}.toml", "--keep", f"rim={RAW}"],
    ["start", BUILD, "--parts", f"{RAW}.toml", "--keep", "rim=black"],
    ["start", BUILD, "--parts", f"{RAW}/none.toml", "--keep", "rim=black"],
]  # fmt: skip


@pytest.mark.parametrize("call", CALLS, ids=range(len(CALLS)))
def test_what_is_said_is_only_said(call: list[str], desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert run(call) in (0, 1, 2)
    said = capsys.readouterr()
    assert (said.out + said.err).strip()
    for text in (said.out, said.err):
        assert text.replace("\n", "").isprintable(), call


def test_the_stand_says_where_its_log_is_in_letters(
    desk: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def ended(*_words: object, **_options: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(serving.Server, "serve_forever", ended)
    capsys.readouterr()
    assert run(["stand", BUILD, "--log", f"{RAW}.csv"]) == 0
    said = capsys.readouterr().out
    assert said.count("owned") == 2
    assert said.replace("\n", "").isprintable()


def test_json_escapes_what_a_terminal_would_obey() -> None:
    value = {"a": f"{RAW}\x7f\U000e0001\u00e9", "b": [1.5, None]}
    text = to_json(value)
    assert text.replace("\n", "").isprintable()
    assert "\u00e9" in text
    assert json.loads(text) == value


# What else a name could smuggle: marks that turn or hide text, a line of its own, a name without end, a formula.
MARKS = {
    "turned": "\\u2066\\u200f\\u061c",
    "hidden": "\\u200b\\u00ad\\u2060",
    "a line": "\\nSTOP     Do not ride.\\r\\u2028\\u0085\\u000b",
    "backwards": "\\u0000\\b\\b\\u007f",
    "endless": "black " * 60,
    "wide": "\u9ed2\u3044" * 60,
    "a formula": "=1+1|x",
    "long": "black-" * 30,
}
NAMED = [
    ["check", "shed.toml"],
    ["salvage", "donor-hub.toml", "--parts", "shed.toml"],
    ["salvage", "errand-rear-salvage.toml", "--all"],
    ["salvage", "errand-rear-salvage.toml", "-o", "builds.csv"],
    ["order", BUILD, "--parts", "shed.toml", "--set", 'rim.part="MARKblack rim"'],
    ["lengths", BUILD, "--parts", "shed.toml", "--set", 'hub.part="MARKnone"', "--working"],
    ["compare", BUILD, "errand-rear-fitted.toml", "--parts", "shed.toml"],
]


@pytest.mark.parametrize("mark", MARKS)
def test_the_name_of_a_part_says_only_its_name(mark: str, desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("shed.toml", "errand-rear-salvage.toml"):
        text = (desk / name).read_text(encoding="utf-8")
        assert text.count('name = "') >= 3
        (desk / name).write_text(text.replace('name = "', f'name = "{MARKS[mark]}'), encoding="utf-8")
    for call in NAMED:
        capsys.readouterr()
        status = run([each.replace("MARK", MARKS[mark]) for each in call])
        said = capsys.readouterr()
        assert status in (0, 1, 2)
        assert said.err.startswith("Error: ") == (status == 2)
        for text in (said.out, said.err):
            assert text.replace("\n", "").isprintable(), call
            assert not any(line.startswith("STOP     Do not") for line in text.splitlines()), call
        assert len(said.err.splitlines()) <= 1
        assert len(said.err) < 600
        assert max(map(len, said.out.splitlines()), default=0) <= 80
        if (desk / "builds.csv").exists():
            rows = list(csv.reader((desk / "builds.csv").read_text(encoding="utf-8").splitlines()))
            assert len({len(row) for row in rows}) == 1
            assert not any(cell.startswith("=") for row in rows for cell in row)


@pytest.mark.parametrize("mark", ["turned", "hidden", "a line", "wide"])
def test_the_name_of_a_file_says_only_its_name(mark: str, desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    raw = json.loads(f'"{MARKS[mark]}"')[:40]
    for name in ("shed.toml", "order.json"):
        shutil.copy(desk / name, desk / f"{raw}{name}")
    two = ["compare", BUILD, "errand-rear-fitted.toml", "--order"]
    for call, expected in (
        (["check", f"{raw}shed.toml"], 0),
        (["lengths", f"{raw}shed.toml"], 2),
        (["salvage", "donor-hub.toml", "--parts", f"{raw}shed.toml"], 0),
        (["order", BUILD, "--parts", f"{raw}none.toml"], 2),
        ([*two, f"{raw}order.json"], 0),
        ([*two, f"{raw}none.json"], 2),
        ([*two, f"{raw}shed.toml"], 2),
    ):
        capsys.readouterr()
        assert run(call) in {expected, 1 if expected == 0 else 2}, call
        said = capsys.readouterr()
        assert bool(said.err) == (expected == 2)
        assert len(said.err.splitlines()) <= 1
        for text in (said.out, said.err):
            assert text.replace("\n", "").isprintable(), call
            assert not any(line.startswith("STOP     Do not") for line in text.splitlines()), call
