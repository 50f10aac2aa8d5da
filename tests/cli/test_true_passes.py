"""`true` over several passes: what was turned, what was learned; a file to fill in, the questions, the page that teaches."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from tests.cli.test_true_command import FACTS, HEAD, as_json, readings, run, untrue
from tests.making.builds import as_toml, with_keys
from wheelcalc import answers
from wheelcalc.cli.true import command
from wheelcalc.cli.true_asking import asked
from wheelcalc.files.readings import read_passes, readings_of
from wheelcalc.wheel.errors import InputError


@pytest.fixture
def build(tmp_path: Path) -> Path:
    path = tmp_path / "wheel.toml"
    path.write_text(as_toml(with_keys(rim__section=FACTS)))
    return path


def called(*arguments: str | Path, typed: str = "") -> str:
    done = CliRunner().invoke(command, [str(each) for each in arguments], input=typed, standalone_mode=False)
    assert done.exception is None, done.exception
    return done.stdout


def turned_as_told(first: answers.TrueAnswer) -> str:  # type: ignore[name-defined]
    """What the library's own wheel would read after the pass."""
    state, model = first.state_after, first.planner.model
    rows = zip(state[model.lateral], state[model.radial], state[model.tension], strict=True)
    return HEAD + "".join(f"{i},{x:.2f},{y:.2f},{t:.0f}\n" for i, (x, y, t) in enumerate(rows, 1))


def test_the_second_pass_holds_what_came_against_what_was_promised(tmp_path: Path, build: Path) -> None:
    one, two = tmp_path / "1.csv", tmp_path / "2.csv"
    one.write_text(readings())
    first = answers.true(build, one)
    two.write_text(turned_as_told(first))
    answer = answers.true(build, [one, two]).as_json()
    assert answer["promised"]["lateral_mm"] == pytest.approx(first.as_json()["after_reads"]["lateral_mm"], abs=0.1)
    assert "What was turned after pass 1 is not in the file" in " ".join(answer["assumptions"])
    assert answer["stuck"] == []
    assert answer["why"] in ("within limits", "the readings end here", "not yet")
    assert "Promised: lateral" in called(build, one, two)


def test_what_was_turned_is_written_beside_the_readings_and_read_again(tmp_path: Path, build: Path) -> None:
    one, following, two = tmp_path / "1.csv", tmp_path / "next.csv", tmp_path / "2.csv"
    one.write_text(readings())
    called(build, one, "-o", following)
    first = answers.true(build, one)
    (read,) = read_passes(following, 32)
    told = {row["rim_hole"]: row["turns"] for row in first.turn_rows()}
    assert {hole: turns for hole, turns in read.of("turned").items() if turns} == told
    assert read.of("lateral_mm") == readings_of(readings(), "r", 32).of("lateral_mm")
    two.write_text(turned_as_told(first))
    both = answers.true(build, [following, two])
    assert not [each for each in both.assumptions if "not in the file" in each]
    np.testing.assert_allclose(both.found.tables[0].turned, first.turns)
    # one file with a column pass is the same
    rows = list(csv.reader(line for line in following.read_text().splitlines() if not line.startswith("#")))
    more = [["2", *line.split(","), ""] for line in two.read_text().splitlines()[1:]]
    single = tmp_path / "both.csv"
    single.write_text("\n".join(",".join(row) for row in [*rows, *more]))
    np.testing.assert_allclose(answers.true(build, single).turns, both.turns)


def test_a_file_of_another_wheel_is_refused(tmp_path: Path, build: Path) -> None:
    text = called(build, "--blank")
    head, columns, *rows = text.splitlines()
    assert head.startswith("# wheel: ")
    assert (columns, len(rows)) == (HEAD.strip(), 32)
    assert rows[4] == "5,,,"
    filled = tmp_path / "filled.csv"
    filled.write_text(head + "\n" + readings())
    assert answers.true(build, filled).turns.any()
    other = with_keys(rim__section=FACTS, lacing__crosses=2)
    with pytest.raises(InputError, match="line 1: found the wheel"):
        answers.true(other, filled)


def test_readings_from_standard_input(tmp_path: Path, build: Path) -> None:
    del tmp_path
    assert "Turn " in called(build, "-", typed=readings())


def test_a_sign_that_slipped_is_a_stop_without_turns(tmp_path: Path) -> None:
    cells = [[hole, f"{-2 * float(x):.2f}", y, t] for hole, x, y, t in untrue(2.0)]
    text = HEAD + "".join(",".join(row) + "\n" for row in cells)
    done = run(tmp_path, text, "--json")
    answer = as_json(done)
    assert done.return_value == 1
    assert (answer["turns"], answer["why"], answer["done"]) == ([], "read again", False)
    assert answer["slips"][0]["what"] == "lateral sign"
    assert answer["slips"][0]["likelier"] > 20
    assert "other sign" in answer["slips"][0]["would_be"]
    shown = run(tmp_path, text).stdout
    assert shown.startswith("Do not turn anything")
    assert [each["name"] for each in answer["findings"]].count("column-slip") == 1
    assert len([line for line in shown.splitlines() if line.startswith("STOP")]) == 1


def test_what_was_not_read_is_not_done(tmp_path: Path) -> None:
    true = readings(size=0.0)
    without = "\n".join(line.rsplit(",", 1)[0] for line in true.splitlines())
    answer = as_json(run(tmp_path, without, "--json"))
    assert (answer["done"], answer["why"], answer["turns"]) == (False, "within limits", [])
    assert as_json(run(tmp_path, true, "--json"))["done"]


def test_a_nipple_said_to_be_stuck_is_not_turned(tmp_path: Path) -> None:
    free = as_json(run(tmp_path, readings(), "--json"))["turns"]
    hole = free[0]["rim_hole"]
    answer = as_json(run(tmp_path, readings(), "--json", truing__stuck=[hole]))
    assert answer["stuck"] == [hole]
    assert hole not in {row["rim_hole"] for row in answer["turns"]}


def answering(*typed: str):  # type: ignore[no-untyped-def]
    lines = iter(typed)

    def read(_prompt: str) -> str:
        try:
            return next(lines)
        except StopIteration:
            raise KeyboardInterrupt from None

    return read


def test_the_questions_are_saved_as_typed_and_resumed(tmp_path: Path, build: Path) -> None:
    path = tmp_path / "pass1.csv"
    # hundredths; hole 1: 25, hole 2: not read, hole 3: nonsense then -4, back, -5 instead
    assert not asked(str(build), (), str(path), answering("hundredths", "25", "", "abc", "-4", "b", "-5"))
    (read,) = read_passes(path, 32)
    assert read.of("lateral_mm") == {1: 0.25, 3: -0.05}
    # again: it goes on at hole 4, decimal comma
    prompts: list[str] = []

    def second(prompt: str) -> str:
        prompts.append(prompt)
        return {1: "mm", 2: "0,3", 3: "stop"}[len(prompts)]

    assert not asked(str(build), (), str(path), second)
    assert prompts[1].startswith("Rim hole 4, sideways")
    assert read_passes(path, 32)[0].of("lateral_mm") == {1: 0.25, 3: -0.05, 4: 0.3}


def test_the_page_that_teaches_names_its_files(build: Path) -> None:
    text = called(build, "--how")
    for name in ("errand-rear-readings.csv", "errand-rear-readings-after.csv"):
        assert name in text
        assert (Path(__file__).parents[2] / "examples" / name).exists()
    assert max(map(len, text.splitlines())) <= 80 + len("errand-rear-readings-after.csv")


@pytest.mark.parametrize("pair", [("--blank", "--ask"), ("--how", "--blank")])
def test_one_thing_at_a_time(build: Path, pair: tuple[str, str]) -> None:
    done = CliRunner().invoke(command, [str(build), *pair], standalone_mode=False)
    assert isinstance(done.exception, InputError)
