"""wheelcalc check: what a file is good for, what it lacks, what to read next."""

import json

import pytest

from tests.making.builds import as_toml, with_keys
from wheelcalc import answers
from wheelcalc.answers.checking import JOB
from wheelcalc.cli.main import COMMANDS, run
from wheelcalc.files.needs import NEEDS


def rows(tree):
    return {row["command"]: row for row in answers.check(tree).as_json()["commands"]}


def test_every_command_that_needs_keys_is_listed_in_the_order_of_the_job():
    listed = [each.command for each in answers.check(with_keys()).commands]
    assert set(listed) == set(NEEDS) <= set(COMMANDS)
    places = [JOB.index(command) for command in listed if command in JOB]
    assert places == sorted(places)


def test_what_is_missing_is_named_and_the_most_wanted_is_next():
    answer = answers.check(with_keys(rim__erd=None, rim__erd_to=None, lacing__crosses=None))
    found = {each.command: each for each in answer.commands}
    assert not found["lengths"].ready
    assert found["lengths"].missing == ("rim.erd", "rim.erd_to", "lacing.crosses")
    assert found["fit"].missing == ("frame.dropout_spacing",)
    assert answer.next.key == "rim.erd"
    assert "order" in answer.next.brings


def test_a_complete_file_gets_the_reading_to_repeat():
    answer = answers.check(with_keys(frame={"dropout_spacing": 131}, rim__erd="593.7 +- 0.9 mm"))
    plain = {"command": "lengths", "ready": True, "missing": [], "problem": "", "stopped_by": []}
    assert rows(with_keys())["lengths"] == plain
    assert answer.next.key == "rim.erd"
    assert "Read rim.erd again first" in answer.next.brings


def test_readings_count_as_what_they_give():
    tree = with_keys(rim__erd=None, rim__erd_to=None)
    tree["readings"] = {"rim": {"two_spokes": {"length": 255, "gap": 84}}}
    answer = answers.check(tree)
    assert next(each for each in answer.commands if each.command == "lengths").ready
    assert "rim.erd to spoke end 594.0" in answer.assumptions[0]


def test_parts_that_do_not_belong_together_are_a_stop():
    answer = answers.check(with_keys(hub__left__holes=18))
    assert answer.stops
    assert rows(with_keys(hub__left__holes=18))["order"]["ready"] is False
    assert "hub.left.holes" in answer.findings[0].text


def test_a_stop_of_the_readings_stops_all_that_needs_the_wheel():
    found = rows(with_keys(hub__left__locknut_to_flange=3.06, readings={"over_locknut": 131}))
    for command in ("lengths", "order", "lace", "tension", "true", "pluck", "sheet"):
        assert (found[command]["ready"], found[command]["stopped_by"]) == (False, ["flange-at-locknut"]), command
    for command in ("measure", "salvage", "compare"):
        assert (found[command]["ready"], found[command]["stopped_by"]) == (True, []), command


def test_what_stops_one_command_alone_does_not_stop_the_others():
    found = rows(with_keys(frame={"dropout_spacing": 137.4}))
    assert (found["order"]["ready"], found["order"]["stopped_by"]) == (False, ["width-differs"])
    assert found["lengths"]["ready"]
    assert found["fit"]["ready"]


@pytest.mark.parametrize("keys", [{}, {"frame": {"dropout_spacing": 137.4}}, {"rim__bead_seat_diameter": 590}])
def test_ready_says_what_the_command_itself_says(keys):
    tree = with_keys(**keys)
    for name, row in rows(tree).items():
        if name in ("lengths", "order", "lace", "tension", "fit") and not row["missing"]:
            assert row["ready"] is not getattr(answers, name)(tree).stops, name


def test_every_command_called_ready_runs(tmp_path, capsys):
    path = tmp_path / "build.toml"
    path.write_text(as_toml(with_keys(frame={"dropout_spacing": 131})))
    for each in answers.check(path).commands:
        if each.ready and each.command in ("lengths", "order", "tension", "fit", "salvage"):
            assert run([each.command, str(path)]) in (0, 1), each.command
            capsys.readouterr()


def test_every_command_called_not_ready_refuses(tmp_path, capsys):
    path = tmp_path / "build.toml"
    path.write_text(as_toml(with_keys(rim__erd=None, rim__erd_to=None)))
    for each in answers.check(path).commands:
        if each.missing and each.command in ("measure", "lengths", "order", "tension"):
            assert run([each.command, str(path)]) == 2, each.command
            assert each.missing[0] in capsys.readouterr().err


@pytest.mark.parametrize(
    ("keys", "missing"),
    [
        ({"hub__right__pcd": None, "old_wheel": {"crosses": 3, "lengths": 291}}, ["hub.right.pcd"]),
        (
            {"old_wheel": {"crosses": 3, "lengths": 291, "hub": {"left": {"holes": 18, "pcd": 44, "offset": 35}}}},
            ["old_wheel.hub.right.holes", "old_wheel.hub.right.pcd", "old_wheel.hub.right.locknut_to_flange"],
        ),
        ({"old_wheel": {"lengths": 291}}, ["old_wheel.crosses"]),
    ],
)
def test_an_old_wheel_half_told_is_not_ready_for_salvage(tmp_path, capsys, keys, missing):
    path = tmp_path / "build.toml"
    path.write_text(as_toml(with_keys(**keys)))
    row = rows(path)["salvage"]
    assert (row["ready"], row["missing"]) == (False, missing)
    assert run(["salvage", str(path)]) == 2
    said = capsys.readouterr().err
    assert all(key in said for key in missing)


def test_text_and_json(tmp_path, capsys):
    path = tmp_path / "build.toml"
    path.write_text('title = "Just begun"\n')
    assert run(["check", str(path)]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    assert "Next: " in text
    assert run(["check", str(path), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["schema"] == "wheelcalc/check/1"
    assert all(set(row) >= {"command", "ready", "missing"} for row in answer["commands"])


@pytest.mark.parametrize("text", ["rim = 3", "", "[rim]\nerd = 600\n", "[rum]\nerd = 600\n"])
def test_bad_files(text, tmp_path, capsys):
    path = tmp_path / "build.toml"
    path.write_text(text)
    assert run(["check", str(path)]) == 2
    assert capsys.readouterr().out == ""


def test_one_list_of_missing_keys_is_read_once(tmp_path, capsys):
    path = tmp_path / "little.toml"
    path.write_text('title = "Little"\n[rim]\nholes = 32\n', encoding="utf-8")
    assert run(["check", str(path)]) == 0
    out = capsys.readouterr().out
    assert out.count("hub.left.locknut_to_flange") == 1
    assert "order    not yet: lacks the same as lengths" in out


@pytest.mark.parametrize(
    ("lengths", "name"),
    [
        ([290.5, 280, 290.5], "length-out"),
        ([291, 281.5], "lengths-apart"),
        ([290.5, 290, 291.5], None),
        ([290, 288.5], None),
    ],
)
def test_a_spoke_length_that_does_not_go_with_the_others(lengths, name):
    found = [
        each.name for each in answers.check(with_keys(old_wheel__lengths={"left": 292, "right": lengths})).findings
    ]
    assert found == ([] if name is None else [name])
