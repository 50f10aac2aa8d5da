"""`tension` as an object: the contract's JSON, outside values through a whole build file, and every finding."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.making.builds import with_keys
from wheelcalc import answers
from wheelcalc.answers.base import in_kgf
from wheelcalc.answers.tensioning.answer import TensionAnswer
from wheelcalc.joined import solved
from wheelcalc.tension import balance
from wheelcalc.wheel.errors import InputError

ROOT = Path(__file__).parents[2]
EXACT = {
    "area": 138,
    "inertia_in_plane": 1450,
    "inertia_out_of_plane": 8700,
    "torsion_constant": 3400,
    "youngs_modulus": 69_000,
    "shear_modulus": 26_000,
    "centroid_diameter": 600,
}
PLAIN_FACTS = {"material": "aluminium", "mass": 497, "width": 23.6, "depth": 18.7}
LOAD = {"rider": "83 kg", "bike": "14.6 kg"}


def tension(**keys: Any) -> TensionAnswer:
    return answers.tension(with_keys(**keys))


def names(answer: TensionAnswer) -> list[str]:
    return [finding.name for finding in answer.findings]


def wheel_a(crosses: int, hub_radius: float, offset: float) -> dict[str, Any]:
    """Wheel A of check-values (invented data): R 300, 36 ideal spokes of 2.0 plain wire, the rim's section exact."""
    flange = {"holes": 18, "pcd": 2 * hub_radius, "offset": offset, "hole_diameter": 2.5}
    return {
        "title": "Wheel A",
        "position": "front",
        "rim": {"holes": 36, "erd": 600, "erd_to": "spoke end", "tension_limit": 1320, "section": EXACT},
        "hub": {"over_locknut": 100, "left": flange, "right": flange},
        "lacing": {"crosses": crosses},
        "spokes": {"end_give": 0},
        "tension": {"target": 1000},
    }


def test_wheel_a() -> None:
    """D: lateral 166.99 and radial 4768.0 at 1000 N (0.1 %), buckling 3733 (0.3 %), shrinking 0.18."""
    found = answers.tension(wheel_a(0, 20, 30)).as_json()["structure"]
    assert found["lateral_stiffness_N_per_mm"] == pytest.approx(166.99, rel=1e-3)
    assert found["radial_stiffness_N_per_mm"] == pytest.approx(4768.0, rel=1e-3)
    assert found["buckling_tension_N"] == pytest.approx(3733, rel=3e-3)
    assert found["rim_shrink_mm"] == pytest.approx(0.18, abs=0.005)


def test_windup() -> None:
    """D: Wheel A's rim, 36 spokes 3x, r 22, w 35: 19.5e6 N mm/rad."""
    found = answers.tension(wheel_a(3, 22, 35)).as_json()["structure"]
    assert found["windup_stiffness_Nmm_per_rad"] == pytest.approx(19.5e6, abs=0.05e6)


@pytest.mark.parametrize(("hold", "pitch", "note"), [(0, 349.261, "F4"), (1, 382.332, "G4")])
def test_pitch_of_a_plain_spoke(hold: float, pitch: float, note: str) -> None:
    """D: 2.0 wire, 290 mm, 1000 N, density 7900: pinned 349.261, clamped 382.332 Hz. ISO 16: F4 349.23, F#4 369.99, G4 392.00."""
    tree = wheel_a(3, 22, 35) | {"pluck": {"end_hold": hold, "free_length": 290}}
    side = answers.tension(tree).as_json()["sides"]["left"]
    assert side["pitch_hz"] == pytest.approx(pitch, rel=1e-4)
    assert side["note"] == note


def test_free_length_comes_from_the_geometry() -> None:
    """By hand: the geometric length less what a nipple of 14 mm with a slot of 1.2 hides."""
    lengths = answers.lengths(with_keys()).as_json()["sides"]["left"]["geometric_length_mm"]
    stated = tension(nipple__length=14, nipple__slot_depth=1.2, pluck__free_length=lengths - 12.8)
    found = tension(nipple__length=14, nipple__slot_depth=1.2)
    assert found.sides["left"].pitch_hz == pytest.approx(stated.sides["left"].pitch_hz)


def test_butted_wire_sounds_as_its_segments() -> None:
    """D: 2.0/1.8/2.0 sounds within 0.5 % of plain 1.8 with soft ends."""
    butted = tension(spokes__wire="2.0/1.8/2.0", pluck__end_hold=0).sides["right"].pitch_hz
    plain = tension(spokes__wire="1.8", pluck__end_hold=0).sides["right"].pitch_hz
    assert butted == pytest.approx(plain, rel=5e-3)
    assert butted != pytest.approx(plain, rel=1e-4)


def test_the_contract_s_json() -> None:
    found = tension(rim__section=PLAIN_FACTS, load=LOAD).as_json()
    assert found["schema"] == "wheelcalc/tension/1"
    for side in ("left", "right"):
        assert {"target_N", "low_N", "high_N", "pitch_hz", "note"} <= set(found["sides"][side])
    assert {"name", "value_N", "side", "reason"} == set(found["limits"][0])
    assert set(found["structure"]) == {
        "radial_stiffness_N_per_mm",
        "lateral_stiffness_N_per_mm",
        "windup_stiffness_Nmm_per_rad",
        "buckling_tension_N",
        "slack_load_N",
        "slack_spoke",
        "slack_spokes",
        "rim_shrink_mm",
        "four_point_N_per_mm",
        "mode_buckling",
        "section",
        "surer",
        *(f"{name}_sigma_{unit}" for name, unit in FIGURES.items()),
    }
    assert [limit["name"] for limit in found["limits"]] == ["rim maker", "buckling", "wire"]
    assert {limit["side"] for limit in found["limits"]} == {"both", "right"}
    assert len(found["spokes"]) == 32


def test_targets_are_balanced_and_the_lowest_limit_decides() -> None:
    found = tension().as_json()
    left, right = found["sides"]["left"], found["sides"]["right"]
    assert right["target_N"] == pytest.approx(
        1150.0
    )  # D: 1265 of rim.tension_limit less the evenness of 10 % above the mean
    assert left["target_N"] == pytest.approx(1150.0 * found["ratio_left_to_right"])
    assert (right["low_N"], right["high_N"]) == pytest.approx((1035.0, 1265.0))
    assert (left["low_N"], left["high_N"]) == pytest.approx((0.9 * left["target_N"], 1.1 * left["target_N"]))


def test_evenness_is_a_setting() -> None:
    side = tension(tension={"evenness": 7, "target": "900 N"}).sides["right"]
    assert (side.target_N, side.low_N, side.high_N) == pytest.approx((900.0, 837.0, 963.0))


@pytest.mark.parametrize(
    ("keys", "limit"),
    [
        ({}, 1100.0),
        ({"rim__eyelets": True}, 1200.0),
        ({"rim__walls": "single"}, 700.0),
        ({"rim__walls": "single", "rim__eyelets": True}, 900.0),
        ({"rim__section": {"material": "steel"}}, 800.0),
        ({"rim__section": {"material": "steel"}, "rim__walls": "double", "rim__eyelets": True}, 800.0),
    ],
)
def test_usual_limits_where_the_maker_s_is_unknown(keys: dict[str, Any], limit: float) -> None:
    """The rows of reference/tension_limits.toml, each with its label and source in the reason."""
    found = tension(rim__tension_limit=None, **keys)
    assert found.sides["right"].target_N == pytest.approx(limit / 1.1)
    assert found.sides["right"].high_N == pytest.approx(limit)
    assert "a figure of its maker counts more" in found.target.limits[0].reason


def test_thin_wire_limits_too() -> None:
    """By hand: 1.6 plain: 0.6 x 850 x pi/4 x 1.6^2 = 1025.4 N on either side, for the tightest spoke."""
    found = tension(spokes__wire="1.6")
    assert found.sides["right"].high_N == pytest.approx(1025.4, abs=0.1)
    thin_left = tension(spokes__wire={"left": "1.4", "right": "2.0"}, hub__right__locknut_to_flange=33.0)
    # 0.6 x 850 x pi/4 x 1.4^2 = 785.1 N on the left bounds the right through the ratio.
    assert thin_left.sides["left"].high_N == pytest.approx(785.1, abs=0.1)
    assert thin_left.sides["right"].high_N == pytest.approx(785.1 / thin_left.ratio, abs=0.2)


def test_lengths_take_the_same_target_without_solving_the_structure() -> None:
    keys = {"rim__section": PLAIN_FACTS, "spokes__wire": "1.6"}
    assert answers.lengths(with_keys(**keys)).target.tension == tension(**keys).target.tension


def test_carbon_of_unknown_limit_is_promised_nothing_at_its_limit() -> None:
    keys = {"rim__section": {**PLAIN_FACTS, "material": "carbon"}, "tension__target": "800 N"}
    for limit, promised in ((None, False), (1150, True)):
        found = {each.name: each for each in answers.tension(with_keys(**keys, rim__tension_limit=limit)).findings}
        assert ("at its limit it would get" in found["slack-side-low"].text) is promised


def test_carbon_without_its_maker_s_limit_has_no_target() -> None:
    keys = {"rim__tension_limit": None, "rim__section": {**PLAIN_FACTS, "material": "carbon"}}
    found = tension(**keys)
    assert found.stops
    assert "rim-limit-unknown" in names(found)
    side = found.as_json()["sides"]["right"]
    assert (side["target_N"], side["low_N"], side["pitch_hz"], side["note"]) == (None, None, None, None)
    assert found.as_json()["structure"] is None
    assert answers.lengths(with_keys(**keys)).target.tension["right"] == 1000.0
    assert "rim-limit-unknown" not in names(tension(**keys | {"rim__tension_limit": 1230}))


@pytest.mark.parametrize("locknut_to_flange", [65.65, 70.0])
def test_a_flange_without_sideways_pull(locknut_to_flange: float) -> None:
    """One flange in the rim's plane, or beyond it: no ratio, no target, a stop; never a traceback."""
    for keys in ({}, {"lacing__crosses": 0}, {"rim__section": EXACT}):
        found = tension(hub__right__locknut_to_flange=locknut_to_flange, **keys)
        assert found.as_json()["ratio_left_to_right"] is None
        assert found.as_json()["sides"]["left"]["target_N"] is None
        assert "no-sideways-pull" in names(found)
        assert found.stops


@pytest.mark.parametrize(
    ("keys", "name", "level", "words"),
    [
        ({"tension__target": "1325 N"}, "target-over-limit", "stop", "60 N over the limit of 1265 N"),
        ({"tension__target": "2700 N"}, "above-wire-strength", "stop", "bears 2670 N"),
        ({"tension__target": "4600 N", "rim__section": PLAIN_FACTS}, "above-buckling", "stop", "buckles"),
        ({"rim__tension_limit": 690}, "slack-side-under-floor", "stop", "floor of 400 N"),
        ({"rim__tension_limit": 900}, "slack-side-low", "caution", "under 600 N"),
        ({"tension__target": "500 N"}, "slack-side-low", "caution", "under 400 N"),
        ({"hub__drive": "cassette", "lacing__crosses": 0}, "radial-turns-hub", "stop", "radial"),
        ({"hub__brake": "drum", "lacing__crosses": 0}, "radial-turns-hub", "stop", "radial"),
        ({"hub__rotor": True, "lacing__crosses": 0}, "radial-turns-hub", "stop", "radial"),
        ({"frame__brake": "disc", "position": "front", "lacing__crosses": 0}, "radial-turns-hub", "stop", "brakes"),
        # A rear wheel of which nothing is said may well be driven.
        (
            {"lacing__crosses": 0, "rim__section": PLAIN_FACTS},
            "windup-by-tension-only",
            "caution",
            "hub.drive is not given",
        ),
        (
            {"lacing__crosses": 0, "rim__section": PLAIN_FACTS, "position": "front"},
            "windup-by-tension-only",
            "note",
            "resisted by their tension only",
        ),
        ({"rim__section": {"material": "aluminium", "width": 21.0}}, "section-unknown", "note", "not computed"),
        ({"rim__section": PLAIN_FACTS}, "load-unknown", "note", "not computed"),
        (
            {"rim__section": PLAIN_FACTS, "load": {**LOAD, "rider": "380 kg"}},
            "slack-standing-still",
            "stop",
            "rim hole",
        ),
        ({"rim__section": PLAIN_FACTS, "load": {**LOAD, "rider": "170 kg"}}, "slack-near", "caution", "times"),
        (
            {"rim__section": PLAIN_FACTS, "load": {**LOAD, "rider": "330 kg"}, "hub__drive": "cassette"},
            "driving-slackens",
            "caution",
            "pedalling",
        ),
        ({"rim__section": PLAIN_FACTS, "limits__buckling_share": 0.2}, "buckling-decides", "note", "stiffness decides"),
        (
            {"rim__holes": 36, "lacing__pattern": "uneven counts", "lacing__crosses": 2},
            "pattern-uneven",
            "note",
            "unequal tensions",
        ),
    ],
)
def test_findings(keys: dict[str, Any], name: str, level: str, words: str) -> None:
    found = [finding for finding in tension(**keys).findings if finding.name == name]
    assert [finding.level for finding in found][:1] == [level]
    assert words in found[0].text
    assert name not in names(tension(rim__section=PLAIN_FACTS, load=LOAD, hub__drive="cassette"))


def test_a_pattern_whose_own_unevenness_passes_the_limit() -> None:
    """D: balanced tensions scale with the target, so the remedy's target brings the tightest spoke to the limit."""
    keys = {"rim__holes": 36, "lacing__pattern": "uneven counts", "lacing__crosses": 2, "tension__evenness": 1.5}
    found = tension(**keys)
    [over] = [finding for finding in found.findings if finding.name == "spokes-over-limit"]
    assert over.level == "caution"
    assert f"{found.rest.tensions.max():.0f} N" in over.text
    target = over.remedy.partition('target = "')[2].partition('"')[0]
    lower = tension(**keys, tension__target=target)
    assert lower.rest.tensions.max() == pytest.approx(1265, abs=2)
    assert "spokes-over-limit" not in names(lower)
    assert "spokes-over-limit" not in names(tension())


def test_a_centroid_far_from_the_spoke_ends_is_refused() -> None:
    with pytest.raises(InputError, match=r"rim\.section\.centroid_diameter: found 206 mm, but rim\.erd .* 593\.7 mm"):
        tension(rim__section={**PLAIN_FACTS, "centroid_diameter": 206})


def test_missing_facts_are_named() -> None:
    found = tension(rim__section={"material": "aluminium", "width": 21.0})
    remedy = next(finding.remedy for finding in found.findings if finding.name == "section-unknown")
    assert remedy == "Missing: rim.section.mass, rim.section.depth."
    assert found.as_json()["structure"] is None
    assert found.sides["right"].target_N == pytest.approx(1150.0)


def test_above_buckling_only_the_buckling_is_said() -> None:
    structure = tension(tension__target="4600 N", rim__section=PLAIN_FACTS).as_json()["structure"]
    assert structure["buckling_tension_N"] < 4600
    assert structure["lateral_stiffness_N_per_mm"] is None
    assert structure["slack_load_N"] is None


def test_the_slack_side_s_remedies_are_there_when_it_needs_them() -> None:
    found = tension(rim__tension_limit=690)
    assert found.remedies[0].name == "two-to-one"
    stop = next(finding for finding in found.findings if finding.name == "slack-side-under-floor")
    assert f"{found.remedies[0].slack_side_N:.0f} N" in stop.remedy
    assert tension().as_json()["remedies"] == []


def test_load() -> None:
    """D: 0.55 x 97.6 kg x 9.80665 = 526.4 N static; impact 2; slack load over static load."""
    found = tension(rim__section=PLAIN_FACTS, load=LOAD, hub__drive="cassette", hub__rotor=True).as_json()
    load, structure = found["load"], found["structure"]
    assert load["wheel_load_N"] == pytest.approx(526.4, abs=0.05)
    assert load["with_impact"]["load_N"] == pytest.approx(2 * 526.4, abs=0.1)
    assert load["slack_at_times"] == pytest.approx(structure["slack_load_N"] / load["wheel_load_N"])
    assert load["with_impact"]["lost_N"] == pytest.approx(2 * load["static"]["lost_N"])
    assert load["driving"]["right"]["trailing_N"] > 0 > load["driving"]["right"]["leading_N"]
    assert load["braking"]["right"]["trailing_N"] < 0 < load["braking"]["right"]["leading_N"]
    # D: 83 kg x 9.80665 x 0.17 m on the pedal; 0.5 x 97.6 kg x 9.80665 at (622/2 + 30) mm.
    assert load["driving"]["torque_Nmm"] == pytest.approx(138_372, abs=1)
    assert load["braking"]["torque_Nmm"] == pytest.approx(163_190.5, abs=1)


def test_front_wheels_carry_less_and_a_given_share_counts() -> None:
    front = tension(position="front", rim__section=PLAIN_FACTS, load=LOAD)
    assert front.riding is not None
    assert front.riding.share == 0.45
    assert any("load.share" in each for each in front.assumptions)
    given = tension(rim__section=PLAIN_FACTS, load={**LOAD, "share": 0.6, "impact": 3})
    assert given.riding is not None
    assert (given.riding.share, given.riding.impact) == (0.6, 3)
    assert not any("load.share" in each for each in given.assumptions)


FIGURES = {
    "radial_stiffness": "N_per_mm",
    "lateral_stiffness": "N_per_mm",
    "four_point": "N_per_mm",
    "windup_stiffness": "Nmm_per_rad",
    "buckling_tension": "N",
    "slack_load": "N",
    "rim_shrink": "mm",
}


def test_an_exact_section_on_ideal_spokes_has_no_sigma() -> None:
    exact = tension(rim__section=EXACT, spokes__end_give=0).as_json()["structure"]
    assert all(exact[f"{name}_sigma_{unit}"] is None for name, unit in FIGURES.items())
    assert exact["surer"] is None
    assert exact["section"]["from"] == "given"
    # D: 69 000 x 1450, 69 000 x 8700, 26 000 x 3400 N mm2
    stiffness = [exact["section"][f"{name}_Nm2"] for name in ("bending_in_plane", "bending_out_of_plane", "torsion")]
    assert stiffness == pytest.approx([100.05, 600.3, 88.4])


def test_every_figure_has_its_sigma() -> None:
    found = tension(rim__section=PLAIN_FACTS).as_json()["structure"]
    for name, unit in FIGURES.items():
        assert 0.01 < found[f"{name}_sigma_{unit}"] / found[f"{name}_{unit}"] < 0.3
    assert found["section"]["from"] == "estimated"
    assert found["section"]["torsion_sigma_Nm2"] / found["section"]["torsion_Nm2"] == pytest.approx(0.253, abs=0.001)
    assert found["slack_spokes"][0] == found["slack_spoke"]
    assert 1 <= found["mode_buckling"] <= 4


def test_sigmas_against_many_wheels() -> None:
    """Monte Carlo: section, give and tension drawn from what is stated, every wheel solved whole. D; 400 draws tell a sigma to 4 %."""
    section = EXACT | {
        name: f"{EXACT[name]} +- {0.1 * EXACT[name]} mm4" for name in ("inertia_out_of_plane", "torsion_constant")
    }
    section |= {"youngs_modulus": "69000 +- 1400 N/mm2"}
    tree = wheel_a(3, 22, 35) | {"spokes": {"end_give": "0.2 +- 0.03"}, "tension": {"target": "900 +- 40 N"}}
    tree["rim"] |= {"section": section}
    found = answers.tension(tree)
    stated = found.as_json()["structure"]
    draw = np.random.default_rng(6)
    rows = []
    for _ in range(400):
        real = replace(
            found.estimate.section,
            inertia_out_of_plane=8700 * (1 + 0.1 * draw.normal()),
            torsion_constant=3400 * (1 + 0.1 * draw.normal()),
            youngs_modulus=69_000 + 1400 * draw.normal(),
        )
        wheel = replace(found.wheel, end_give=max(0.2 + 0.03 * draw.normal(), 0.0))
        rest = replace(found.rest, tensions=found.rest.tensions * (1 + 40 / 900 * draw.normal()))
        solved_one = solved.figures(wheel, balance.structure_at(wheel, rest, real))
        rows.append([getattr(solved_one, name) for name in FIGURES])
    spread = np.std(np.array(rows), axis=0)
    expected = [stated[f"{name}_sigma_{unit}"] for name, unit in FIGURES.items()]
    assert spread == pytest.approx(expected, rel=0.12)


def test_what_would_make_the_least_sure_figure_surer() -> None:
    guessed = tension(rim__section=PLAIN_FACTS, spokes__end_give=0.2)
    assert guessed.surer is not None
    assert [each.key for each in guessed.surer.ways] == ["rim.section"]
    assert "tapping the bare rim" in str(guessed.surer)
    assert guessed.surer.ways[0].then < 0.7 * guessed.surer.sigma
    heard = tension(rim__section=EXACT)
    assert heard.surer is not None
    assert [each.key for each in heard.surer.ways] == ["spokes.end_give"]
    loose = tension(rim__section=EXACT, spokes__end_give=0, tension__target="900 +- 90 N")
    assert loose.surer is not None
    assert ([each.key for each in loose.surer.ways], "meter" in str(loose.surer)) == (["tension.target"], True)
    wide = tension(rim__section={**PLAIN_FACTS, "width": "23.6 +- 4 mm"}, spokes__end_give=0.2)
    assert wide.surer is not None
    assert {each.key for each in wide.surer.ways} == {"rim.section", "rim.section.width"}


TAPS = {"bending_in_plane": 150, "bending_out_of_plane": 200, "torsion": 45}


@pytest.mark.parametrize(
    ("taps", "likelier"),
    [
        ({}, None),
        ({"torsion": 15}, "the taps"),  # GJ alone: a wrong depth would move EI in plane too
        ({"torsion": 120, "bending_in_plane": 450}, "the depth"),
        ({"bending_out_of_plane": 700}, "the width"),
        ({"bending_in_plane": 420, "bending_out_of_plane": 610, "torsion": 130}, "the rim"),
        ({"bending_in_plane": 450, "torsion": 15}, "the taps"),
    ],
)
def test_taps_that_contradict_the_plain_facts(taps: dict[str, float], likelier: str | None) -> None:
    """D, estimate: these facts let expect EI 164 in plane, 205 out of plane, GJ 47 N m2; twice or half of it is a contradiction."""
    found = tension(rim__section={**PLAIN_FACTS, **TAPS, **taps})
    said = [each for each in found.findings if each.name == "section-contradicts-taps"]
    assert [each.level for each in said] == (["caution"] if likelier else [])
    assert all(f"Likelier wrong: {likelier}" in each.text for each in said)


def test_a_target_whose_error_reaches_over_the_limit_is_said() -> None:
    unsure = tension(tension__target="1000 +- 300 N")  # rim.tension_limit 1265
    caution = next(each for each in unsure.findings if each.name == "target-may-be-over-limit")
    assert "up to 323 N over the limit of 1265 N" in caution.text  # D: 1000 + 1.96 x 300 - 1265
    assert "target-may-be-over-limit" not in names(tension(tension__target="1000 +- 30 N"))


def test_four_points_only_where_the_holes_are_divisible_by_four() -> None:
    flange = {"hub__left__holes": 15, "hub__right__holes": 15, "lacing__crosses": 0}
    found = tension(rim__holes=30, rim__section=PLAIN_FACTS, **flange).as_json()["structure"]
    assert found["four_point_N_per_mm"] is None
    assert found["four_point_sigma_N_per_mm"] is None


def test_a_give_that_is_none_names_its_unit() -> None:
    with pytest.raises(
        InputError, match=r"spokes\.end_give\.left: found -0.1 mm per 1000 N; sensible is 0 to 2 mm per 1000 N"
    ):
        tension(spokes__end_give=-0.1)
    with pytest.raises(
        InputError, match=r"spokes\.end_give\.left: found 3 mm per 1000 N; .* were mm per 1000 N meant\?"
    ):
        tension(spokes__end_give=3)
    with pytest.raises(
        InputError, match=r"spokes\.end_give\.left: found 0.2 mm; write a plain number of mm per 1000 N"
    ):
        tension(spokes__end_give="0.2 mm")


def test_facts_that_make_no_rim_name_their_key() -> None:
    with pytest.raises(InputError, match=r"rim\.section\.mass: .* makes walls of"):
        tension(rim__section={**PLAIN_FACTS, "mass": 60})


@pytest.mark.parametrize(
    "keys",
    [
        {"limits__spoke_strength_share": 0.01},
        {"limits__buckling_share": 0.01},
        {"tension__evenness": 50},
        {"tension__floor_stop": 0},
        {"pluck__end_hold": 1},
        {"lacing__crosses": 0, "hub__phase": "aligned"},
        {
            "rim__holes": 24,
            "lacing__pattern": "two to one",
            "hub__left__holes": 8,
            "lacing__crosses": {"left": 0, "right": 2},
        },
        {"rim__holes": 36, "lacing__pattern": "uneven counts", "lacing__crosses": 0},
        {
            "rim__holes": 36,
            "hub__left__holes": 18,
            "hub__right__holes": 18,
            "lacing__pattern": "crow's foot",
            "lacing__crosses": 2,
        },
    ],
)
def test_odd_settings_and_patterns_are_computed(keys: dict[str, Any]) -> None:
    found = tension(rim__section=PLAIN_FACTS, load=LOAD, **keys).as_json()
    numbers = [value for value in found["structure"].values() if isinstance(value, float)]
    assert len(numbers) >= 2
    assert all(map(math.isfinite, numbers)), found["structure"]
    tensions = np.array([spoke["tension_N"] for spoke in found["spokes"]])
    assert tensions.min() >= 0


def test_kilograms_force() -> None:
    """P: 1 kgf = 9.80665 N exactly (3rd CGPM, 1901)."""
    assert in_kgf(1200.0) == pytest.approx(122.366, abs=0.001)


def test_lengths_and_order_load_no_structure() -> None:
    """The issue: `lengths` may use a closed form for the rim's shrinking and need not build the structure."""
    program = (
        "import sys; from tests.making.builds import with_keys; from wheelcalc import answers; "
        "answers.order(with_keys(rim__section={'material': 'steel', 'mass': 800})); "
        "print([name for name in sys.modules if name.startswith('wheelcalc.tension')])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT)
    assert "wheelcalc.tension.targets" in done.stdout
    assert "structure" not in done.stdout
    assert "stepped" not in done.stdout
