"""`true` over several passes: what was turned, what was learned; a file to fill in, the questions, the page that teaches."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from tests.cli.test_true_command import FACTS, HEAD, as_json, readings, run, untrue
from tests.making import errand_session
from tests.making.builds import as_toml, with_keys
from tests.making.last_pass import readings_of
from wheelcalc import answers
from wheelcalc.cli.true import command
from wheelcalc.cli.true_asking import asked, ticked, turns_of
from wheelcalc.cli.true_how import lesson
from wheelcalc.files.readings import read_passes
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
    np.testing.assert_allclose(both.judged.tables[0].turned, first.turns)
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


def test_later_passes_ask_only_what_is_worth_reading(tmp_path: Path) -> None:
    build, one, two = errand_session.BUILD, errand_session.READINGS, tmp_path / "2.csv"
    prompts: list[str] = []

    def read(prompt: str) -> str:
        prompts.append(prompt)
        return "mm" if len(prompts) == 1 else "0.1"

    assert asked(str(build), (), str(two), read, earlier=[str(one)])
    worth = answers.true(build, one).worth_reading
    assert len(prompts) == 1 + len(worth)
    assert 20 < len(worth) < 0.75 * 108
    (got,) = read_passes(two, 36)
    columns = ("lateral_mm", "radial_mm", "tension_N")
    assert {(column, hole) for column in columns for hole in got.of(column)} == worth
    # nothing is left to ask
    assert asked(str(build), (), str(two), answering(), earlier=[str(one)])


def test_what_was_really_turned_is_written_back(tmp_path: Path) -> None:
    build, path = errand_session.BUILD, tmp_path / "pass1.csv"
    path.write_text(errand_session.READINGS.read_text())
    turns = {row["rim_hole"]: row["turns"] for row in answers.true(build, path).turn_rows()}
    first, second, third, *_ = turns
    # as told; nonsense, then a quarter tighter; one back, half a turn looser instead; not turned; then an interruption
    typed = answering("", "x", "+1/4", "b", "-1/2", "0")
    assert not ticked(str(build), (), str(path), turns, typed)
    (got,) = read_passes(path, 36)
    assert got.of("turned") == {first: turns[first], second: -0.5, third: 0.0}
    assert got.of("lateral_mm") == read_passes(errand_session.READINGS, 36)[0].of("lateral_mm")
    # it goes on where it was
    assert ticked(str(build), (), str(path), turns, lambda _: "")
    (got,) = read_passes(path, 36)
    assert set(got.of("turned")) == set(turns)
    assert got.of("turned")[second] == -0.5
    # as turns of a pass that was not read yet, they change nothing of the advice
    assert {row["rim_hole"]: row["turns"] for row in answers.true(build, path).turn_rows()} == turns


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("+1/4", 0.25),
        ("-1 1/8", -1.125),
        ("0,5", 0.5),
        ("0", 0.0),
        ("1/0", None),
        ("11", None),
        ("one", None),
        ("1 1/0", None),
    ],
)
def test_turns_as_they_are_typed(text: str, value: float | None) -> None:
    assert turns_of(text) == value


def test_the_command_asks_for_readings_and_then_for_turns(tmp_path: Path, build: Path) -> None:
    path = tmp_path / "pass1.csv"
    rows = [line.split(",") for line in readings().splitlines()[1:]]
    cells = [row[place] for place in (1, 2, 3) for row in rows]
    shown = called(build, path, "--ask", typed="\n".join(["mm", *cells, "", "-1/8", "stop"]) + "\n")
    assert "Turn " in shown
    (got,) = read_passes(path, 32)
    told = answers.true(build, path).turn_rows()
    assert got.of("turned") == {told[0]["rim_hole"]: told[0]["turns"], told[1]["rim_hole"]: -0.125}


def lesson_lines(mark: str) -> list[str]:
    return [line.strip() for line in lesson().splitlines() if line.strip().startswith(mark)]


@pytest.mark.parametrize("line", lesson_lines("wheelcalc true"))
def test_every_command_of_the_page_that_teaches_runs(
    line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the example's files under the names that the page uses."""
    monkeypatch.chdir(tmp_path)
    for name in (errand_session.BUILD, errand_session.READINGS, errand_session.AFTER):
        (tmp_path / name.name).write_bytes(name.read_bytes())
    first, after = errand_session.READINGS.read_bytes(), errand_session.AFTER.read_bytes()
    (tmp_path / "wheel.toml").write_bytes(errand_session.BUILD.read_bytes())
    (tmp_path / "pass1.csv").write_bytes(first)
    (tmp_path / "pass2.csv").write_bytes(after)
    if "next.csv pass2" in line:
        called("wheel.toml", "pass1.csv", "-o", "next.csv")
    typed = "stop\n" * 2 if "--ask" in line else ""
    shown = called(*line.split()[2:], typed=typed)
    assert shown or (tmp_path / "next.csv").exists()


def test_what_the_page_that_teaches_shows_is_what_comes(build: Path) -> None:
    shown = called(errand_session.BUILD, errand_session.READINGS).splitlines()
    shown += called(errand_session.BUILD, errand_session.READINGS, errand_session.AFTER).splitlines()
    quoted = [line.removeprefix("> ") for line in lesson_lines("> ")]
    assert len(quoted) == 2
    assert set(quoted) <= set(shown)
    assert max(map(len, lesson().splitlines())) <= 80 + len("errand-rear-readings-after.csv")
    assert called(build, "--how").strip() == lesson()


@pytest.mark.parametrize("pair", [("--blank", "--ask"), ("--how", "--blank")])
def test_one_thing_at_a_time(build: Path, pair: tuple[str, str]) -> None:
    done = CliRunner().invoke(command, [str(build), *pair], standalone_mode=False)
    assert isinstance(done.exception, InputError)
