"""Which plan `fit` proposes: the best that nothing forbids, and the hub as it is where that is as wide as the best."""

from __future__ import annotations

from typing import Any

import pytest

from tests.making.builds import as_toml
from wheelcalc import answers
from wheelcalc.cli.main import run

# An old road frame and a hub of its width; the spacers on the axle could move.
ROAD: dict[str, Any] = {
    "frame": {"dropout_spacing": 126, "dropout": "slot", "material": "steel", "chainstay": 412},
    "hub": {
        "over_locknut": 126,
        "drive": "cassette",
        "loose_spacers": {"left": [2.5, 1], "right": [1]},
        "left": {"holes": 18, "pcd": 38.3, "locknut_to_flange": 30.2},
        "right": {"holes": 18, "pcd": 45.1, "locknut_to_flange": 45.8},
    },
    "crank": {"chainline": 44.6},
    "cogs": {"count": 8, "pitch": 4.8, "locknut_to_smallest": 5.2},
}


def changed(spacing: float, **sections: dict[str, Any]) -> dict[str, Any]:
    tree = {**ROAD, "frame": {**ROAD["frame"], "dropout_spacing": spacing}}
    for name, keys in sections.items():
        tree[name] = {**tree[name], **keys}
    return tree


def test_a_hub_as_wide_as_the_frame_goes_in_as_it_is() -> None:
    found = answers.fit(ROAD).as_json()
    # D: moving the 1 mm from right to left would bring the chain to 5.2 - 7.3/2 - 1 = 0.55 mm from the end, a stop
    assert (found["plans"][0]["left_mm"], found["plans"][0]["right_mm"]) == (1, -1)
    assert (found["state"]["left_mm"], found["state"]["right_mm"]) == (0, 0)
    assert found["verdict"] == "fits"
    assert [each["level"] for each in found["findings"] if each["level"] == "stop"] == []


@pytest.mark.parametrize(("first_cog", "right"), [(5.2, -0.5), (7.2, -1.0)])
def test_a_plan_that_jams_the_chain_is_not_proposed(first_cog: float, right: float) -> None:
    # D: of 122 = 126 - 4 the straightest chain takes 1 mm off the right: 0.55 mm are left with a cog at 5.2, 2.55 at 7.2
    found = answers.fit(changed(122, cogs={"locknut_to_smallest": first_cog})).as_json()
    assert found["state"]["right_mm"] == pytest.approx(right)
    assert found["state"]["left_mm"] == pytest.approx(-4 - right)
    assert found["plans"][0]["right_mm"] == pytest.approx(-1)


def test_where_every_plan_is_forbidden_the_best_is_shown_with_its_stop() -> None:
    found = answers.fit(changed(122, cogs={"locknut_to_smallest": 4.0})).as_json()
    assert found["state"]["right_mm"] == found["plans"][0]["right_mm"]
    assert "chain-near-dropout" in [each["name"] for each in found["findings"]]


def test_the_table_marks_the_plan_proposed(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "road.toml"
    path.write_text(as_toml(ROAD))
    assert run(["fit", str(path)]) == 0
    text = capsys.readouterr().out
    assert [line.split()[:2] for line in text.splitlines() if line.strip().startswith("*")] == [["*0", "0"]]
    assert "*: the plan above" in " ".join(text.split())
    assert "The rows above * only move spacers about" in " ".join(text.split())


@pytest.mark.parametrize(
    ("drive", "count", "words"),
    [("cassette", 8, "re-set the derailleur"), ("internal gear", 1, "see that the chain still runs straight")],
)
def test_what_to_do_about_moved_cogs(drive: str, count: int, words: str) -> None:
    tree = changed(129, hub={"drive": drive}, cogs={"count": count, "locknut_to_smallest": 6})
    steps = answers.fit({**tree, "spacers": {"fitted": {"left": 1, "right": 2}}}).steps()
    assert [words in step for step in steps if step.startswith("The cogs sit 2.0 mm further in")] == [True]


def findings_of(tree: dict[str, Any]) -> dict[str, dict[str, str]]:
    return {each["name"]: each for each in answers.fit(tree).as_json()["findings"]}


@pytest.mark.parametrize(("first_cog", "words"), [(4.25, "run 0.6 mm from the"), (3.05, "cut 0.6 mm into the")])
def test_a_chain_without_room_is_no_negative_gap(first_cog: float, words: str) -> None:
    # D: the cog's middle less half a chain of 7.3 mm
    tree = changed(126, cogs={"locknut_to_smallest": first_cog})
    assert words in findings_of({**tree, "spacers": {"fitted": {"left": 0, "right": 0}}})["chain-near-dropout"]["text"]


def test_a_better_reading_of_the_width_is_not_asked_for_where_the_axle_never_goes_in() -> None:
    assert "width-unsure" in findings_of(changed(126.9, hub={"axle": "quick release"}))
    never = findings_of(changed(126.9, hub={"axle": "through"}))
    assert never["through-axle-in-slots"]["level"] == "stop"
    assert "width-unsure" not in never


def test_where_only_the_rotor_is_known_it_says_which_spacer_it_wants() -> None:
    # D: the calliper wants the rotor 15.3 from the left end, the hub has it 10.4 from its own: 4.9 on the left
    fork = {"dropout_spacing": 110, "brake": "disc", "rotor_to_dropout": 15.3, "dropout": "slot"}
    tree = {"position": "front", "frame": fork, "hub": {"over_locknut": 100, "rotor_face": 10.4, "drive": "none"}}
    assert "with 4.9 mm on the left" in findings_of(tree)["plans-undecided"]["remedy"]


def test_a_drawer_with_too_little_is_not_only_a_frame_to_be_set() -> None:
    # D: 132 - 126 = 6, of which 1 mm is at hand
    tree = changed(132, hub={"loose_spacers": {"left": [], "right": []}})
    answer = answers.fit({**tree, "spacers": {"on_hand": {"1": 1}}})
    assert answer.verdict == "needs respacing"
    assert "With 5.0 mm more of spacer it would fit." in answer.sentence()
    assert "more of spacer" not in answers.fit(changed(120)).sentence()


@pytest.mark.parametrize(("frame", "hub", "each"), [(135, 130, 2.5), (100, 96, 2.0), (126, 120, 3.0), (145, 142, 1.5)])
def test_two_widths_alone_give_the_equal_split(frame: float, hub: float, each: float) -> None:
    """C: washers in pairs move neither rim nor cogs; nothing else is known that would ask for another plan."""
    answer = answers.fit({"frame": {"dropout_spacing": frame}, "hub": {"over_locknut": hub}}).as_json()
    assert (answer["plans"][0]["left_mm"], answer["plans"][0]["right_mm"]) == (each, each)
    assert answer["plans"][0]["rim_shift_mm"] == 0
    said = next(each for each in answer["findings"] if each["name"] == "plans-undecided")
    assert "rotor" not in said["text"] + said["remedy"]


def test_a_declared_rotor_is_moved_least() -> None:
    tree = {"frame": {"dropout_spacing": 135}, "hub": {"over_locknut": 130, "rotor": True}}
    best = answers.fit(tree).as_json()["plans"][0]
    assert (best["left_mm"], best["right_mm"]) == (0, 5)
