"""wheelcalc compare: only what changes, and whether the order still serves."""

import json
from pathlib import Path

import pytest

from tests.making.builds import with_keys
from wheelcalc import answers
from wheelcalc.cli.main import run

ERRAND, UNEVEN, DONOR = (
    str(Path(__file__).parents[2] / "examples" / f"{name}.toml")
    for name in ("errand-rear", "errand-uneven", "donor-hub")
)


def changed(answer):
    return {change.what: change for change in answer.changes}


def test_same_files_change_nothing():
    answer = answers.compare(with_keys(), with_keys())
    assert (answer.inputs, answer.changes) == ([], [])


def test_only_what_changes_is_listed_and_equals_two_answers():
    old, new = with_keys(), with_keys(hub__right__pcd=58.4)
    answer = answers.compare(old, new)
    found = changed(answer)
    assert [change.what for change in answer.inputs] == ["hub.right.pcd"]
    assert "left spokes to buy" not in found
    after, before = (answers.lengths(tree).sides["right"].cut for tree in (new, old))
    assert found["right spokes to buy"].difference == pytest.approx(after - before, abs=1e-5)


def test_an_order_that_no_longer_serves_is_a_stop_on_its_side():
    old, new = with_keys(), with_keys(lacing__crosses={"left": 2, "right": 2})
    ordered = {line.side: line.length for line in answers.order(old).lines}
    cut = answers.lengths(new).sides["right"].cut
    (finding,) = (each for each in answers.compare(old, new).findings if each.level == "stop")
    assert finding.name == "order-wrong"
    assert "on the right" in finding.text
    assert f"would end {ordered['right'] - cut:.1f} mm beyond" in finding.text


def test_an_order_that_still_serves_says_so():
    answer = answers.compare(with_keys(), with_keys(rim__erd=594.0))
    assert [finding.name for finding in answer.findings] == ["order-still-serves"]


def test_a_new_stop_is_a_change_and_one_that_went_is_noted():
    sound, stopped = with_keys(), with_keys(nipple={"for_wire": 1.8})
    answer = answers.compare(sound, stopped)
    assert [(each.level, each.name) for each in answer.findings] == [
        (each.level, each.name) for each in answers.order(stopped).findings if each.level == "stop"
    ]
    assert answer.stops
    back = answers.compare(stopped, sound)
    assert not back.stops
    assert any(each.text.startswith("This no longer stops it: ") for each in back.findings)
    assert not answers.compare(stopped, with_keys(nipple={"for_wire": 1.8}, title="Again")).findings
    cracked = answers.compare(sound, with_keys(old_rim={"cracks": True}))
    assert [each.name for each in cracked.findings] == ["rim-cracks"]


def test_a_spacer_moves_the_rim_of_a_built_wheel():
    answer = answers.compare(with_keys(), with_keys(spacers={"fitted": {"left": 0, "right": 3}}))
    # D: 3 mm more on the right put the middle between the locknuts 1.5 mm further right, and the rim with it
    assert changed(answer)["rim of a built wheel moves right"].after == pytest.approx(1.5)
    other_hub = answers.compare(with_keys(), with_keys(hub__right__pcd=58.0))
    assert "rim of a built wheel moves right" not in changed(other_hub)


def test_order_of_another_hole_count():
    tree = with_keys(rim__holes=28, hub__left__holes=14, hub__right__holes=14)
    names = [finding.name for finding in answers.compare(with_keys(), tree).findings if finding.level == "stop"]
    assert "order-pattern" in names


def test_what_a_file_lacks_is_said_and_the_rest_compared():
    answer = answers.compare(with_keys(rim__erd=None, rim__erd_to=None), with_keys())
    assert any("Not compared: lengths; build lacks rim.erd" in text for text in answer.assumptions)
    assert [change.what for change in answer.inputs] == ["rim.erd", "rim.erd_to"]


def test_one_file_with_set(capsys):
    assert run(["compare", ERRAND, "--set", "rim.erd=603 mm"]) == 0
    text = capsys.readouterr().out
    assert "rim.erd" in text
    assert max(map(len, text.splitlines())) <= 80
    assert run(["compare", ERRAND, "--set", "rim.erd=607", "--json"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert answer["schema"] == "wheelcalc/compare/1"
    rows = {row["what"]: row for row in answer["changes"]}
    row = rows["left spokes to buy"]
    assert row["difference"] == pytest.approx(row["after"] - row["before"], abs=1e-6)
    # D: +4.6 of erd is about half of it, 2.3, of every spoke (radius times cos of a small angle)
    assert row["difference"] == pytest.approx(2.27, abs=0.05)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["compare", ERRAND], "NEW"),
        (["compare", "-"], "NEW"),
        (["compare", "-", "-"], "standard input"),
        (["compare", ERRAND, "no-such.toml"], "no-such.toml"),
        (["compare", ERRAND, "--set", "rim.erdd=600"], "rim.erd"),
        (["compare"], "OLD"),
    ],
)
def test_bad_input(arguments, words, capsys):
    assert run(arguments) == 2
    out = capsys.readouterr()
    assert out.out == ""
    assert words in out.err
    assert out.err.count("\n") == 1


def kept(tmp_path, tree):
    """The JSON of an order, as `order -o` keeps it."""
    path = tmp_path / "order.json"
    path.write_text(json.dumps(answers.order(tree).as_json()))
    return path


def test_three_builds_stand_in_one_table():
    one, two, three = (
        with_keys(title="one"),
        with_keys(title="two", hub__right__pcd=58.4),
        with_keys(title="three", rim__erd=596.1),
    )
    found = answers.compare(one, two, more=[three]).as_json()
    assert found["builds"] == ["one", "two", "three"]
    rows = {row["what"]: row for row in found["changes"]}
    right = rows["right spokes to buy"]["values"]
    assert right == pytest.approx([answers.lengths(tree).sides["right"].cut for tree in (one, two, three)], abs=1e-5)
    assert rows["right spokes to buy"]["difference"] == pytest.approx(right[2] - right[0], abs=1e-5)
    assert rows["left order"]["values"][:2] == [rows["left order"]["before"]] * 2
    assert {row["what"] for row in found["inputs"]} == {"title", "hub.right.pcd", "rim.erd"}
    assert next(row["values"] for row in found["inputs"] if row["what"] == "hub.right.pcd") == [47.3, 58.4, 47.3]


def test_of_three_builds_what_one_cannot_do_is_left_out_and_said(capsys, tmp_path):
    from tests.making.builds import as_toml

    paths = []
    for name, keys in (
        ("one", {}),
        ("two", {"lacing__crosses": {"left": 2, "right": 2}}),
        ("three", {"hub__left__pcd": None}),
    ):
        paths.append(tmp_path / f"{name}.toml")
        paths[-1].write_text(as_toml(with_keys(title=name, **keys)))
    assert run(["compare", *map(str, paths)]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Not compared: lengths of three; it lacks hub.left.pcd" in text
    assert "right order: - A: 16 of 287 mm" in text
    assert run(["compare", *map(str, paths), "-o", str(tmp_path / "table.csv")]) == 0
    head, *rows = (tmp_path / "table.csv").read_text().splitlines()
    assert head == "what,unit,one,two,three"
    assert any(row.startswith("right spokes to buy,mm,") for row in rows)


def test_spokes_already_bought_are_given_out_anew(tmp_path):
    """An order of equal lengths for both sides serves a wheel whose sides are swapped: which go where is worked out."""
    bought = kept(tmp_path, with_keys())
    lines = {line.side: line.length for line in answers.order(with_keys()).lines}
    swapped = with_keys(
        lacing__crosses={"left": 3, "right": 2},
        hub={
            "over_locknut": 131.3,
            "left": {"holes": 16, "pcd": 47.3, "locknut_to_flange": 46.1, "hole_diameter": 2.4},
            "right": {"holes": 16, "pcd": 41.9, "locknut_to_flange": 29.8, "hole_diameter": 2.6},
        },
    )
    answer = answers.compare(with_keys(), swapped, bought=bought)
    assert not answer.stops
    serves = answer.as_json()["bought"]
    assert [each["serves"] for each in serves] == [True, True]
    assert {line["side"]: line["length_mm"] for line in serves[1]["lines"]} == {
        "left": lines["right"],
        "right": lines["left"],
    }


def test_spokes_already_bought_that_do_not_serve_are_a_stop(tmp_path, capsys):
    from tests.making.builds import as_toml

    bought = kept(tmp_path, with_keys())
    (tmp_path / "old.toml").write_text(as_toml(with_keys()))
    (tmp_path / "new.toml").write_text(as_toml(with_keys(lacing__crosses={"left": 2, "right": 2})))
    args = ["compare", str(tmp_path / "old.toml"), str(tmp_path / "new.toml"), "--order", str(bought)]
    assert run([*args, "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert [each["serves"] for each in found["bought"]] == [True, False]
    # D: 17 spare spokes and all fit nowhere on the right; every right rim hole is left over
    assert found["bought"][1]["not_served"] == list(range(1, 33, 2))
    stop = next(each for each in found["findings"] if each["level"] == "stop")
    assert "none fits 16 on the right (they take 279 mm)" in stop["text"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("not json", "is not JSON"),
        ('{"schema": "' + 1_000_000 * "x" + '"}', "is larger than 1 MB"),
        ('{"schema": "wheelcalc/lengths/1"}', "has no schema wheelcalc/order/"),
        ('{"schema": "wheelcalc/order/1", "lines": []}', "lines: is missing or empty"),
        ('{"schema": "wheelcalc/order/1", "lines": [{"side": "up"}]}', "lines.side: found 'up' in line 1"),
        ('{"schema": "wheelcalc/order/1", "lines": [{"side": "left", "length_mm": "290"}]}', "lines.length_mm"),
        ('{"schema": "wheelcalc/order/1", "lines": [{"side": "left", "length_mm": 290, "count": 1.5}]}', "lines.count"),
    ],
)
def test_an_order_that_cannot_be_read_is_named(tmp_path, capsys, text, words):
    (tmp_path / "order.json").write_text(text)
    assert run(["compare", ERRAND, "--order", str(tmp_path / "order.json")]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert words in captured.err
    assert "order.json" in captured.err


def test_one_build_and_spokes_bought_is_a_question_of_its_own(tmp_path, capsys):
    bought = str(kept(tmp_path, ERRAND))
    for arguments, first, status in (
        ([ERRAND], "The spokes bought serve. No stop.", 0),
        ([ERRAND, ERRAND], "The spokes bought serve both; nothing changes: the two files say the same. No stop.", 0),
        (
            [ERRAND, ERRAND, ERRAND],
            "The spokes bought serve all; 3 builds side by side: nothing that is computed differs.",
            0,
        ),
        ([UNEVEN], "The spokes bought do not serve. 1 stop.", 1),
        ([ERRAND, UNEVEN], "The spokes bought serve the first only. 1 stop.", 1),
        ([UNEVEN, ERRAND], "The spokes bought serve the second only; ", 0),
        ([ERRAND, "--set", "lacing.crosses=2"], "The spokes bought serve the first only. 1 stop.", 1),
        # the spokes would do, but the wheel should not be built so: the hub is 6 mm too narrow for its frame
        ([DONOR], "Not yet: there is a stop that must go first. 1 stop.", 1),
    ):
        capsys.readouterr()
        assert run(["compare", *arguments, "--order", bought]) == status
        text = " ".join(capsys.readouterr().out.split())
        assert text.startswith(first)
        assert text.count("the spokes already bought") <= max(sum(not each.startswith("-") for each in arguments), 2)
