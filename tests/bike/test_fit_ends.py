"""Hub between the ends, one check at a time: which side, how many mm, which key; the limits themselves."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.making.builds import changed_from
from wheelcalc.bike import ends, width
from wheelcalc.bike.ends import Unchecked
from wheelcalc.bike.width import Spacing
from wheelcalc.build.whole import Build
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding

NONE = Spacing(0.0, 0.0)
# A steel slot frame of 131.6 and a hub of 131.3; limits that floats hold exactly where a test stands on one.
SOUND: dict[str, Any] = {
    "frame.dropout_spacing": 131.6,
    "frame.width_slack": 1.0,
    "frame.spring_at_most": 3.0,
    "frame.dropout": "slot",
    "frame.material": "steel",
    "frame.spacing_to": "faces",
    "hub.over_locknut": 131.3,
    "hub.axle": "quick release",
    "position": "rear",
    "limits.spread_stop": 10.0,
    "limits.set_far_stop": 6,
    "limits.spacers_most": 20.0,
    "limits.axle_over_end_stop": 0.25,
    "limits.axle_under_end_caution": 0.5,
    "limits.stub_of_dropout_stop": 0.5,
    "limits.nut_beyond_end_stop": 0.0,
}


def known(**changed: Any) -> Build:
    """The sound ends with some keys changed; two underscores stand for the dot, None takes a key out."""
    return changed_from(SOUND, **changed)


def one(found: Any) -> Finding:
    [finding] = [each for each in found if isinstance(each, Finding)]
    return finding


# What cannot be


def test_a_bolt_of_12_in_slots_is_no_through_axle() -> None:
    ends.refuse_contradictions(known(frame__axle_diameter=12, hub__axle="nutted"))
    with pytest.raises(InputError, match="through axle's"):
        ends.refuse_contradictions(known(frame__axle_diameter=12))


def test_a_slot_has_no_recess_however_shallow() -> None:
    ends.refuse_contradictions(known())
    with pytest.raises(InputError, match=r"frame\.recess_depth: found 0\.7 mm"):
        ends.refuse_contradictions(known(frame__recess_depth=0.7))


def test_only_what_is_loose_comes_off() -> None:
    loose = {"hub__loose_spacers": {"left": (1.6, 0.8)}}
    ends.refuse_contradictions(known(**loose, spacers__fitted__left=-2.4))
    with pytest.raises(InputError, match=r"spacers\.fitted\.left: found -3 mm .*2\.4 mm on the left"):
        ends.refuse_contradictions(known(**loose, spacers__fitted__left=-3))


# Width


@pytest.mark.parametrize(
    ("left_over", "slack", "said", "remedy", "not_said"),
    [
        # D: half of it on each side
        (1.4, 1.0, "1.4 mm narrower than the width between the ends: a steel frame closes so far by hand, 0.7 mm a side",
         "spacers that fill", None),
        (0.8, 0.5, "0.8 mm narrower than the width between the ends: a steel frame closes so far by hand, 0.4 mm a side",
         "spacers that fill", None),
        (-2.2, 1.0, "2.2 mm wider than the width between the ends: a steel frame opens so far by hand, 1.1 mm a side",
         "never with the axle nuts", "spacers"),
    ],
)  # fmt: skip
def test_a_frame_that_springs(left_over: float, slack: float, said: str, remedy: str, not_said: str | None) -> None:
    sprung = one(ends.width(known(frame__width_slack=slack), left_over))
    assert (sprung.level, sprung.name) == ("caution", "frame-sprung")
    assert said in sprung.text
    assert remedy in sprung.remedy
    assert not_said is None or not_said not in sprung.remedy


@pytest.mark.parametrize(("left_over", "remedy"), [(4.4, "Fill the width with spacers"), (-4.4, "Take a narrower hub")])
def test_a_frame_to_be_set(left_over: float, remedy: str) -> None:
    found = list(ends.width(known(), left_over))
    assert (one(found).level, one(found).name) == ("caution", "frame-respace")
    assert "more than the 3 mm that a steel frame is sprung" in one(found).text
    assert one(found).remedy.startswith(remedy)
    assert len(found) == 1


def test_a_frame_of_unknown_material_is_left_alone() -> None:
    unchecked, finding = ends.width(known(frame__material=None), -2.2)
    assert isinstance(unchecked, Unchecked)
    assert "only steel" in unchecked.what
    assert unchecked.keys == ("frame.material",)
    assert isinstance(finding, Finding)
    assert (finding.level, finding.name) == ("caution", "frame-respace")
    assert "2.2 mm wider" in finding.text
    assert "frame.material is not given" in finding.text
    assert "magnet" in finding.remedy


@pytest.mark.parametrize(
    ("changed", "left_over", "why", "remedy"),
    [
        ({"frame__dropout": "through"}, 1.7, "clamps the hub on its shoulders", "Fill the other 1.7 mm with spacers"),
        ({"frame__dropout": "through", "frame__recess_depth": 2.9}, -7.0, "on its shoulders", "Take a narrower hub"),
        ({"frame__dropout": "through", "hub__over_locknut": 138.6}, -7.0, "on its shoulders", "Count the recesses"),
        ({}, -10.2, "more than the 10 mm at which", "Take a narrower hub"),
        ({"frame__material": None}, 12.6, "more than the 10 mm at which", "Fill the other 12.6 mm"),
        ({"frame__material": "titanium"}, 1.3, "titanium is never", "Fill the other 1.3 mm"),
    ],
)
def test_never_by_force(changed: dict[str, Any], left_over: float, why: str, remedy: str) -> None:
    differs = one(ends.width(known(**changed), left_over))
    assert (differs.level, differs.name) == ("stop", "width-differs")
    assert f"{abs(left_over):.1f} mm {'narrower' if left_over > 0 else 'wider'}" in differs.text
    assert why in differs.text
    assert remedy in differs.remedy


@pytest.mark.parametrize("left_over", [22.7, 0.0])
def test_a_hub_that_no_spacers_make_wide_enough_says_what_would_have_to_be_true(left_over: float) -> None:
    """D: 131.6 - 108.9 = 22.7 to fill, 20 of spacers and 1 of slack are to be had: 110.6 to 132.6 would do."""
    differs = one(ends.width(known(hub__over_locknut=108.9), left_over))
    assert (differs.level, differs.name) == ("stop", "width-differs")
    assert "22.7 mm narrower" in differs.text
    assert "20 mm in all (limits.spacers_most)" in differs.text
    assert "a hub of 111 to 133 mm" in differs.remedy
    assert "an axle 23 mm longer, write limits.spacers_most = 23" in differs.remedy


def test_no_end_cap_makes_a_narrow_hub_wide_enough() -> None:
    differs = one(ends.width(known(hub__over_locknut=108.9, hub__axle="through"), 22.7))
    assert "no end cap" in differs.text
    assert "made for 132 mm" in differs.remedy
    assert list(ends.width(known(hub__over_locknut=110.6), 0.0)) == []


@pytest.mark.parametrize(
    ("position", "hub", "frame", "warned"),
    [
        ("rear", 148, 142, True),
        ("rear", 148.9, 134.1, True),
        ("rear", 146.9, 136, True),
        ("front", 148, 142, False),
        ("rear", 130, 135, False),
        ("rear", 148, 130, False),
    ],
)
def test_148_is_not_a_wider_cap(position: str, hub: float, frame: float, warned: bool) -> None:
    build = known(position=position, hub__over_locknut=hub, frame__dropout_spacing=frame)
    names = [each.name for each in ends.width(build, frame - hub) if isinstance(each, Finding)]
    assert ("148-into-narrower" in names) == warned


# Recesses


THROUGH = {"frame__dropout": "through", "hub__axle": "through"}


def test_recesses_that_were_not_read() -> None:
    # D: 138.6 - 131.6, twice 3.5
    forgotten = one(ends.recesses(known(**THROUGH, hub__over_locknut=138.6)))
    assert (forgotten.level, forgotten.name) == ("caution", "recess-forgotten")
    assert "The hub is 7.0 mm wider than the 131.6 mm read" in forgotten.text
    assert "frame.recess_depth = 3.5" in forgotten.remedy
    [open_check] = ends.recesses(known(**THROUGH))
    assert isinstance(open_check, Unchecked)
    assert "recesses" in open_check.what
    assert open_check.keys == ("frame.recess_depth",)
    for settled in ({"frame__recess_depth": 2.9}, {"frame__spacing_to": "recess floors"}, {"frame__dropout": "slot"}):
        assert list(ends.recesses(known(**{**THROUGH, **settled}, hub__over_locknut=138.6))) == []


@pytest.mark.parametrize(
    ("changed", "frame", "outward"),
    [
        # D: between the faces both recesses come on top; to their floors they are in it already
        ({"frame__recess_depth": 2.9}, 131.6 + 5.8, 2.9),
        ({"frame__recess_depth": 2.9, "frame__spacing_to": "recess floors"}, 131.6, 2.9),
        ({}, 131.6, 0.0),
        ({"frame__spacing_to": "recess floors"}, 131.6, 0.0),
        ({"frame__dropout": "through"}, 131.6, 0.0),
        ({"frame__dropout": "through", "frame__spacing_to": "recess floors"}, 131.6, None),
    ],
)
def test_what_a_recess_adds(changed: dict[str, Any], frame: float, outward: float | None) -> None:
    assert width.frame_width(known(**changed)) == pytest.approx(frame, abs=1e-9)
    assert width.recess(known(**changed)) == outward


def test_one_spacer_given_leaves_the_other_side_without() -> None:
    assert width.chosen_spacers(known()) is None
    assert width.chosen_spacers(known(spacers__fitted__left=2.3)) == (2.3, 0.0)
    assert width.chosen_spacers(known(spacers__fitted__right=1.7)) == (0.0, 1.7)


@pytest.mark.parametrize(
    ("changed", "left_over", "close"),
    [
        ({}, 1.0, "fits"),
        ({}, -1.0, "fits"),
        ({}, 1.1, "springs"),
        ({}, -3.0, "springs"),
        ({}, 3.1, "respace"),
        ({}, -10.0, "respace"),
        ({}, 10.1, "no"),
        ({"frame__material": None}, 1.1, "respace"),
        ({"frame__dropout": "through"}, 1.1, "no"),
        ({"frame__material": "carbon"}, 1.1, "no"),
    ],
)
def test_how_close(changed: dict[str, Any], left_over: float, close: str) -> None:
    assert width.closeness(known(**changed), left_over) == close


# Axle


@pytest.mark.parametrize(
    ("changed", "keys"),
    [
        ({"frame__dropout": None}, ("frame.dropout",)),
        ({"hub__axle": None}, ("hub.axle",)),
        ({"frame__dropout": None, "hub__axle": None}, ("hub.axle", "frame.dropout")),
    ],
)
def test_kinds_that_are_not_known(changed: dict[str, Any], keys: tuple[str, ...]) -> None:
    [unchecked] = ends.axle_kind(known(**changed))
    assert isinstance(unchecked, Unchecked)
    assert unchecked.keys == keys


@pytest.mark.parametrize(
    ("hub", "frame", "keys"),
    [
        (None, 10, ("hub.axle_diameter",)),
        (10, None, ("frame.axle_diameter",)),
        (None, None, ("hub.axle_diameter", "frame.axle_diameter")),
    ],
)
def test_diameters_that_are_not_known(hub: float | None, frame: float | None, keys: tuple[str, ...]) -> None:
    [unchecked] = ends.axle_diameter(known(hub__axle_diameter=hub, frame__axle_diameter=frame))
    assert isinstance(unchecked, Unchecked)
    assert unchecked.keys == keys


def test_a_diameter_at_the_limit_passes() -> None:
    """10.25 - 10 and 10 - 9.5 are the limits of 0.25 and 0.5 exactly, in binary too."""
    for axle in (10.25, 9.5):
        assert list(ends.axle_diameter(known(hub__axle_diameter=axle, frame__axle_diameter=10))) == []


def test_an_axle_too_thick_or_too_thin_by_how_much() -> None:
    thick = one(ends.axle_diameter(known(hub__axle_diameter=10.4, frame__axle_diameter=9.7)))
    assert (thick.level, thick.name) == ("stop", "axle-too-thick")
    assert "10.4 mm thick, the frame's ends take 9.7 mm: 0.7 mm too thick" in thick.text
    for dropout, level, remedy in (("slot", "caution", "Seat the wheel"), ("through", "stop", "end caps")):
        build = known(hub__axle_diameter=12.2, frame__axle_diameter=15, frame__dropout=dropout)
        thin = one(ends.axle_diameter(build))
        assert (thin.level, thin.name) == (level, "axle-too-thin")
        assert "12.2 mm" in thin.text
        assert "15 mm: 2.8 mm of play" in thin.text
        assert remedy in thin.remedy


# What stands out of the locknuts


@pytest.mark.parametrize(
    ("changed", "keys"),
    [
        ({"hub__axle": "through"}, ()),
        ({"hub__axle": None}, ("hub.axle",)),
        ({}, ("hub.axle_protrusion", "frame.dropout_thickness")),
        ({"frame__dropout_thickness": 6.2}, ("hub.axle_protrusion",)),
        ({"hub__axle_protrusion": 5.4}, ("frame.dropout_thickness",)),
        ({"hub__axle": "nutted", "frame__dropout_thickness": 6.2, "hub__axle_protrusion": 15}, ("hub.nut_length",)),
        ({"hub__axle": "nutted", "frame__dropout_thickness": 6.2, "hub__nut_length": 8}, ("hub.axle_protrusion",)),
    ],
)
def test_what_the_axle_s_ends_lack(changed: dict[str, Any], keys: tuple[str, ...]) -> None:
    assert ends.stub_keys(known(**changed)) == keys
    unchecked = [each for each in ends.stubs(known(**changed), NONE, chosen=True) if isinstance(each, Unchecked)]
    assert [each.keys for each in unchecked] == ([keys] if keys else [])


@pytest.mark.parametrize(
    ("changed", "wanted"),
    [
        ({}, (3.1, 6.2)),
        ({"limits__stub_of_dropout_stop": 0.75}, (4.65, 6.2)),
        ({"hub__nut_length": 8.4}, (3.1, 6.2)),
        # D: 6.2 + 8.4, and 1.5 of the nut's thread may stay free
        ({"hub__axle": "nutted", "hub__nut_length": 8.4}, (14.6, math.inf)),
        ({"hub__axle": "nutted", "hub__nut_length": 8.4, "limits__nut_beyond_end_stop": 1.5}, (13.1, math.inf)),
        ({"hub__axle": "nutted"}, None),
        ({"hub__axle": "through", "hub__nut_length": 8.4}, None),
        ({"frame__dropout_thickness": None}, None),
    ],
)
def test_how_much_axle_is_wanted(changed: dict[str, Any], wanted: tuple[float, float] | None) -> None:
    found = ends.stub_wanted(known(**{"frame__dropout_thickness": 6.2, **changed}))
    assert (found is None) == (wanted is None)
    assert found is None or found == pytest.approx(wanted, abs=1e-9)


def stubs(left: float, right: float, *, chosen: bool = True, moved: float = 0.0, **changed: Any) -> list[Finding]:
    """Findings where so much stands out: the axle reaches 9 and what is less is spacer; ends of 6.2."""
    build = {"frame__dropout_thickness": 6.2, "hub__axle_protrusion": 9.0, "hub__axle_moved": moved, **changed}
    spacers = Spacing(9.0 - left - moved, 9.0 - right + moved)
    return [each for each in ends.stubs(known(**build), spacers, chosen=chosen) if isinstance(each, Finding)]


@pytest.mark.parametrize(("left", "right"), [(3.1, 3.1), (6.2, 6.2), (3.1, 6.2), (5.4, 4.7)])
def test_a_stub_between_half_the_end_and_all_of_it_is_right(left: float, right: float) -> None:
    assert stubs(left, right) == stubs(left, right, chosen=False) == []


@pytest.mark.parametrize(
    ("left", "right", "side", "by", "to"),
    [
        # D: half the difference evens them; + is toward the right, so the left end grows by moving left
        (2.5, 5.9, "left", "1.7 mm to the left", -1.7),
        (5.9, 2.5, "right", "1.7 mm to the right", 1.7),
        (2.1, 4.1, "left", "1.0 mm to the left", -1.0),
    ],
)
@pytest.mark.parametrize("moved", [0.0, 0.6, -0.4])
def test_a_short_stub_that_the_other_side_can_spare(
    left: float, right: float, side: str, by: str, to: float, moved: float
) -> None:
    [short] = stubs(left, right, moved=moved)
    assert (short.level, short.name) == ("stop", "stub-short")
    assert f"{min(left, right):.1f} mm beyond the {side} locknut" in short.text
    assert "less than half of the end's 6.2 mm" in short.text
    assert (
        f"Screw the axle {by} through the hub, which leaves {(left + right) / 2:.1f} mm on both sides" in short.remedy
    )
    written = float(short.remedy.partition("hub.axle_moved = ")[2].rstrip("."))
    assert written == pytest.approx(moved + to, abs=1e-5)
    [proposed] = stubs(left, right, moved=moved, chosen=False)
    assert proposed.level == "caution"


def test_an_axle_too_short_wherever_it_stands() -> None:
    """D: 3.1 a side are wanted and (2.0 + 3.2)/2 = 2.6 are there, 0.5 short on two sides."""
    for chosen in (True, False):
        [short] = stubs(2.0, 3.2, chosen=chosen)
        assert short.level == "stop"
        assert "2.0 mm beyond the left locknut" in short.text
        assert "it would be 2.6 mm a side: fit an axle 1.0 mm longer" in short.remedy


def test_a_nut_that_is_not_fully_on() -> None:
    """D: 6.2 + 2.7 = 8.9 are wanted."""
    [short] = stubs(8.2, 8.9, hub__axle="nutted", hub__nut_length=2.7)
    assert "8.2 mm beyond the left locknut: the end and the whole nut need 8.9 mm" in short.text
    assert "0.7 mm longer" in short.remedy
    assert stubs(8.9, 8.9, hub__axle="nutted", hub__nut_length=2.7) == []


@pytest.mark.parametrize(
    ("left", "right", "side", "more", "remedy"),
    [
        # D: 7.4 - 6.2; half of 7.4 - 3.8 evens them
        (7.4, 3.8, "left", "1.2 mm more", "Screw the axle 1.8 mm to the right (hub.axle_moved)."),
        (3.8, 7.4, "right", "1.2 mm more", "Screw the axle 1.8 mm to the left (hub.axle_moved)."),
        (7.2, 5.2, "left", "1.0 mm more", "Screw the axle 1.0 mm to the right (hub.axle_moved)."),
        # D: (7.4 + 6.4)/2 is 0.7 too much on two sides
        (7.4, 6.4, "left", "1.2 mm more", "Shorten the axle by 1.4 mm in all"),
    ],
)
def test_a_stub_that_the_lever_would_clamp(left: float, right: float, side: str, more: str, remedy: str) -> None:
    [long] = stubs(left, right)
    assert (long.level, long.name) == ("stop", "stub-long")
    assert f"{max(left, right):.1f} mm beyond the {side} locknut, {more} than the end is thick" in long.text
    assert long.remedy.startswith(remedy)
    # What is only proposed may still be moved; too long even in the middle stays a stop.
    assert len(stubs(left, right, chosen=False)) == ("Shorten" in remedy)
