"""The tables of the trade against standards, plain arithmetic and each other."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest

from wheelcalc.files import tables

# D: the rows counted by hand in the written compilation that the tables were made from. tables/limits grows with its
# users and is checked for what it must hold instead.
ROWS = {
    "axle_ends": 16,
    "bodies": 14,
    "chainlines": 24,
    "chains": 11,
    "cogs": 17,
    "cup_spacers": 4,
    "forks": 10,
    "gauges": 6,
    "holes": 8,
    "materials": 6,
    "nipples": 19,
    "rim_sizes": 32,
    "rotors": 25,
    "schools": 28,
    "shells": 50,
    "spreading": 13,
    "strengths": 11,
    "tension_limits": 12,
    "threads": 27,
    "torques": 17,
    "trueness": 14,
    "tyre_fits": 11,
    "measured_tyres": 7,
    "widths": 39,
    "wires": 9,
}


def test_the_tables_are_these_and_have_so_many_rows():
    counted = {name: len(tables.load(name)) for name in tables.names() if name != "limits"}
    assert counted == ROWS


def rows_of_all():
    """Every row of every table, with the table's name."""
    return [(name, row) for name in tables.names() for row in tables.load(name)]


def test_every_row_has_its_label_and_a_source_that_resolves():
    assert {name for name, _ in rows_of_all()} == set(tables.names())
    for name, row in rows_of_all():
        assert row["label"] in {"P", "D", "C", "M"}, (name, row)
        assert tables.cited(row["source"]), (name, row)
        assert row.get("agree", 1) >= 1, (name, row)


def test_cells_are_numbers_text_yes_or_no_or_a_range():
    for name, row in rows_of_all():
        for key, value in row.items():
            if isinstance(value, list):
                low, high = value
                assert low < high, (name, key, row)
            else:
                assert isinstance(value, int | float | str | bool), (name, key, row)
                assert isinstance(value, str) or math.isfinite(value), (name, key, row)


def test_no_row_stands_twice():
    for name in tables.names():
        rows = tables.load(name)
        assert [row for i, row in enumerate(rows) if row in rows[:i]] == [], name


def test_only_a_published_or_common_row_counts_agreeing_sources():
    for name in tables.names():
        assert all(row["label"] in "PC" for row in tables.load(name) if "agree" in row), name


def test_each_source_is_listed_once_and_used():
    listed = [source["id"] for source in tables.sources()]
    assert len(listed) == len(set(listed))
    used = {each for name in tables.names() for row in tables.load(name) for each in tables.cited(row["source"])}
    words = " ".join(tables.about(name) + str(tables.load(name)) for name in tables.names())
    assert [each for each in listed if each not in used and not re.search(rf"\b{each}\b", words)] == []


def test_bead_seat_diameters():
    # P: ISO 5775-1 as given by the encyclopaedia's article (N), a tyre maker's and a touring club's (CT) tables.
    by_name = {"28": 622, "27": 630, "26 decimal": 559, "650A": 590, "650B": 584, "650C": 571, "24 decimal": 507}
    by_name |= {"20 decimal": 406, "16 decimal": 305, "16 x 1 3/8": 349, "700C": 622, "29": 622, "27.5": 584, "18": 355}
    by_name |= {"12 1/2": 203, "28 x 1 1/2": 635}
    for called, diameter in by_name.items():
        row = tables.row("rim_sizes", "bead_seat_diameter", diameter)
        assert called in row["called"].split(", "), called
    diameters = [row["bead_seat_diameter"] for row in tables.load("rim_sizes")]
    assert diameters == sorted(set(diameters), reverse=True)


def test_at_least_six_rims_are_called_26():
    # P: N: "at least six" sizes are called 26. 650A, B and C are 26 x 1 3/8, 26 x 1 1/2 and 26 x 1: D.
    called = [row["bead_seat_diameter"] for row in tables.find("rim_sizes", "26")]
    assert called == [599, 597, 590, 584, 571, 559]


def test_pitch_of_threads_given_per_inch():
    # P: one inch is 25.4 mm (international agreement of 1959); printed pitches keep four digits after the point.
    rows = [row for row in tables.load("threads") if "tpi" in row]
    assert len(rows) == 20
    for row in rows:
        assert row["pitch"] == pytest.approx(25.4 / row["tpi"], abs=0.00005), row["name"]


@pytest.mark.parametrize(
    ("name", "inches"),
    # P: the inch sizes as the trade writes them (S. Brown and J. S. Allen; ISO 6696 for the bracket); D: times 25.4.
    [
        ("5/16 in x 24", 5 / 16),
        ("3/8 in x 26", 3 / 8),
        ("13/32 in x 26", 13 / 32),
        ("1.370 in x 24", 1.370),
        ("1 3/8 in x 26", 1.375),
        ("1.29 in x 24 left-hand", 1.29),
    ],
)
def test_inch_threads_in_mm(name, inches):
    assert tables.row("threads", "name", name)["diameter"] == pytest.approx(25.4 * inches, abs=0.00005)


def test_thread_facts_that_mixing_up_would_hurt():
    # P: three eighths of an inch is 9.525 mm; 56 threads per inch are 0.4536 (check values: thread and stretch).
    assert tables.row("threads", "name", "3/8 in x 26")["diameter"] == 9.525
    assert tables.row("threads", "name", "FG 2.3")["pitch"] == 0.4536
    # P: S5: freewheels of ISO 34.92, British 34.80 and Italian 35.0 mm, all 24 tpi; French 34.7 x 1.
    freewheels = {row["name"].split()[0]: row for row in tables.load("threads") if row["part"] == "freewheel"}
    assert {key: row["diameter"] for key, row in freewheels.items()} == {
        "ISO": 34.92,
        "British": 34.8,
        "Italian": 35,
        "French": 34.7,
        "small": 30,
    }
    assert freewheels["French"]["pitch"] == 1
    # P: ISO 6696: 1.370 in x 24 tpi, right cup left-hand.
    assert "right cup left-hand" in tables.row("threads", "name", "1.370 in x 24")["note"]


def test_a_rolled_spoke_thread_is_wider_than_its_wire_and_its_core_thinner():
    # D: rolling a thread moves metal out of the core, none is cut away. DIN 79012 names it by its outside.
    rows = [row for row in tables.load("threads") if row["part"] == "spoke" and "core" in row]
    assert len(rows) == 5
    for row in rows:
        assert row["core"] < row["wire"] < row["diameter"]
        assert row["diameter"] - row["core"] == pytest.approx(0.483, abs=0.0035)  # D: same pitch, same depth
        assert f"FG {row['diameter']:.1f}" in row["name"] or "FG 2.0" in row["name"]


def test_stacks_of_cogs():
    # D: n cogs have n - 1 gaps: centre to centre of the outer ones, and half a cog beyond each.
    for row in tables.load("cogs"):
        stack = (row["count"] - 1) * row["pitch"] + row["cog"]
        assert row["stack"] == pytest.approx(stack, abs=0.005), (row["count"], row["family"])
        if "pitch_range" in row:
            low, high = row["pitch_range"]
            assert low <= row["pitch"] <= high


@pytest.mark.parametrize(
    ("count", "family", "printed"),
    # P and M, printed with one digit: S. Brown and J. S. Allen, crib sheet Frame and cog spacing (S1).
    [
        (5, "freewheel", 24.0),
        (5, "freewheel, one make", 23.2),
        (6, "freewheel", 29.5),
        (7, "any", 31.9),
        (8, "A", 35.4),
        (8, "B", 36.9),
        (9, "A", 36.5),
        (9, "B", 38.2),
        (10, "A", 37.2),
        (10, "B", 39.1),
    ],
)
def test_stacks_as_printed(count, family, printed):
    row = next(row for row in tables.load("cogs") if (row["count"], row["family"]) == (count, family))
    assert row["stack"] == pytest.approx(printed, abs=0.0501)


def test_rear_chainline_of_ten_cogs_agrees_with_the_road_double():
    # D: 130 between locknuts, first face 3.0 from the locknut, ten cogs of family A: 43.4; the trade's 43.5 (C(3)).
    stack = next(row for row in tables.load("cogs") if (row["count"], row["family"]) == (10, "A"))["stack"]
    face = next(row for row in tables.load("bodies") if row.get("cogs") == "10")["value"]
    assert 130 / 2 - face - stack / 2 == pytest.approx(43.4, abs=0.05)
    assert tables.row("chainlines", "name", "road double")["chainline"] == 43.5


def test_chainlines_that_are_sums():
    # P: L. Zinn: for disc, 2.5 and 1.2 more than the road double.
    double, disc_a, disc_b = (
        tables.row("chainlines", "name", name)["chainline"]
        for name in ("road double", "road double disc A", "road double disc B")
    )
    assert disc_a - double == pytest.approx(2.5, abs=1e-9)
    assert disc_b - double == pytest.approx(1.2, abs=1e-9)


def test_chainline_names_serve_as_keys():
    names = [row["name"] for row in tables.load("chainlines")]
    assert len(names) == len(set(names))
    for row in tables.load("chainlines"):
        low, high = row.get("range", [row["chainline"], row["chainline"]])
        assert low <= row["chainline"] <= high
        assert 40 <= row["chainline"] <= 80  # D: half a shell (34 to 60) and a crank's foot


def test_through_widths_are_their_inner_faces_and_two_recesses():
    # P: N. Buckley: recesses of 3.5 each: 142 = 135 + 7, 157 = 150 + 7; D: 148 = 141 + 7, 177 = 170 + 7, 197 = 190 + 7.
    through = {row["width"]: row["inner_faces"] for row in tables.load("widths") if "inner_faces" in row}
    assert through == {142: 135, 148: 141, 157: 150, 177: 170, 197: 190}
    assert all(width == inner + 2 * 3.5 for width, inner in through.items())
    slots = {row["width"] for row in tables.load("widths") if row["position"] == "rear" and row["ends"] == "slot"}
    assert {135, 141, 170, 190} <= slots


def test_the_widths_of_the_trade():
    # P: S1: front 91 96 100; rear 110 114 120 126 130 135 140 145 160. D: 170 = 135 + 2 x 17.5.
    slots = [row for row in tables.load("widths") if row["ends"] == "slot"]
    assert {row["width"] for row in slots if row["position"] == "front"} == {70, 74, 79, 91, 96, 100, 135}
    rear = {row["width"] for row in slots if row["position"] == "rear"}
    assert rear == {110, 112, 114, 116, 120, 126, 129, 130, 132.5, 135, 140, 141, 145, 160, 170, 190}
    offset = next(row for row in tables.load("widths") if "frame_offset" in row)
    assert offset["width"] + 2 * offset["frame_offset"] == 170


def test_gauges_against_the_old_wire_gauge():
    # P: British standard wire gauge, 12 to 17: 0.104 0.092 0.080 0.072 0.064 0.056 in.
    inches = {12: 0.104, 13: 0.092, 14: 0.080, 15: 0.072, 16: 0.064, 17: 0.056}
    rows = {row["gauge"]: row for row in tables.load("gauges")}
    assert rows.keys() == inches.keys()
    for gauge, inch in inches.items():
        assert rows[gauge]["old_wire"] == pytest.approx(25.4 * inch, abs=0.005)
        assert rows[gauge]["diameter"] == pytest.approx(25.4 * inch, abs=0.05)
    # P: S6: French 13 is British 14, French 15 is British 13.
    assert (rows[14]["french"], rows[13]["french"]) == (13, 15)


def test_wire_names_spell_their_diameters():
    for row in tables.load("wires"):
        parts = [float(part) for part in row["name"].split("/")]
        wanted = {1: parts * 3, 2: [parts[0], parts[-1], parts[-1]], 3: parts}[len(parts)]
        assert [row["head"], row["middle"], row["thread"]] == wanted


def test_strength_of_wire_falls_with_its_diameter():
    # P: Machinery's Handbook 25th ed. p. 384: 1606, 1655, 1689, 1731 N/mm2 at 2.34, 2.0, 1.8, 1.6 (second hand).
    rows = {row["diameter"]: row["strength"] for row in tables.load("strengths") if row["name"] == "wire 18/8"}
    assert rows == {2.34: 1606, 2: 1655, 1.8: 1689, 1.6: 1731}
    # D: 3340 N over the area of a 2.0 wire.
    spoke = tables.row("strengths", "name", "wire of that spoke")
    assert spoke["strength"] == pytest.approx(spoke["force"] / (math.pi * 1.0**2), abs=5)


def test_materials():
    # P: J. Brandt, The Bicycle Wheel, p. 133: rim 69 GPa. Data sheets of 304: 193 to 200 GPa, 7.9 to 8.03 g/cm3.
    aluminium = next(row for row in tables.load("materials") if row["part"] == "rim" and row["name"] == "aluminium")
    wire = tables.row("materials", "name", "stainless wire")
    assert aluminium["youngs_modulus"] == 69000
    assert 193000 <= wire["youngs_modulus"] <= 200000
    assert 7.9 <= wire["density"] <= 8.03
    # D: isotropic, G = E / (2 (1 + nu)).
    steel = next(row for row in tables.load("materials") if row["part"] == "rim" and row["name"] == "steel")
    for row, poisson in ((aluminium, 0.33), (steel, 0.3), (wire, 0.3)):
        assert row["shear_modulus"] == pytest.approx(row["youngs_modulus"] / (2 * (1 + poisson)), rel=0.01)


def test_cup_seats_lie_the_same_on_both_mountain_shells():
    # D: half the shell and the spacers: 39.0 right, 36.5 left, whichever shell the frame has.
    rows = [row for row in tables.load("cup_spacers") if row["crank"] == "mountain"]
    assert {row["shell"] for row in rows} == {68, 73}
    for row in rows:
        assert (row["shell"] / 2 + row["left"], row["shell"] / 2 + row["right"]) == (36.5, 39.0)


def test_shells():
    # P: two makers' charts and two tables; 79 = 68 and 11 more on the left.
    pressed = {}
    for row in tables.load("shells"):
        pressed.setdefault((row["kind"], row.get("bore")), []).append(row["width"])
    assert pressed == {
        ("threaded", None): [68, 70, 73, 83, 100, 120],
        ("pressed", 42): [68, 73, 83, 79],
        **{("pressed", bore): [65, 68, 70] for bore in (30, 33, 35, 38, 40, 45)},
        ("pressed", 46): [61, 68, 73, 79, 83, 86.5],
        ("pressed", 41): [86.5, 89.5, 92, 104.5, 107, 121],
        ("pressed", 37): [90, 95],
        ("threaded M47 x 1", None): [68, 73, 77, 85.5, 86.5],
        ("one-piece", 51.3): [65, 68],
        ("one-piece, small", 43): [65],
    }
    lopsided = [row for row in tables.load("shells") if "left_more" in row]
    assert [row["bore"] for row in lopsided] == [42, 46]
    assert all(row["width"] - row["left_more"] == 68 for row in lopsided)


def test_chain_widths_in_fractions_of_an_inch():
    # D: 1/8, 3/32 and 11/128 in, to two digits.
    inner = [row["value"] for row in tables.load("chains") if row["name"] == "inner width"]
    assert inner == [pytest.approx(25.4 * inch, abs=0.0051) for inch in (1 / 8, 3 / 32, 11 / 128)]


def test_chains_get_no_wider_with_more_cogs():
    outer = [row["value"] for row in tables.load("chains") if row["name"] == "outer width"]
    assert len(outer) == 8
    highs = [value[1] if isinstance(value, list) else value for value in outer]
    assert all(later <= earlier for earlier, later in pairwise(highs))


def test_rotor_positions_follow_from_each_other():
    # D: 142 is 135 with caps 3.5 longer; 148 as 142; the older 110 x 20 is 100 and 5 more.
    at = {}
    for row in tables.load("rotors"):
        if row["name"] == "face to rotor":
            at.setdefault((row["position"], row["width"]), []).append(row["value"])
    (rear,), (cap,), (wide,), (front,) = at["rear", 135], at["rear", 142], at["rear", 148], at["front", 100]
    assert cap == wide == [value + 3.5 for value in rear]
    assert at["front", 110] == [front, [value + 5 for value in front]]


def test_cassette_bodies():
    # P: C. Bell: A 31, 35, 36.85 (11 road: 1.85 more), B 24, 36, 38.
    lengths = [row["value"] for row in tables.load("bodies") if row["name"] == "body length"]
    assert lengths == [31, 35, 36.85, 24, 36, 38]
    assert lengths[2] - lengths[1] == pytest.approx(1.85, abs=1e-9)


def test_every_rim_but_carbon_has_one_default_tension_limit():
    chosen = [row for row in tables.load("tension_limits") if row.get("default")]
    kinds = {(row["material"], row["wall"], row["eyelets"]): row["limit"] for row in chosen}
    assert len(kinds) == len(chosen) == 5
    assert "carbon" not in {row["material"] for row in chosen}
    # P: a wheel builder: rims usually allow 120 kgf, 1200 N. No default may be above it.
    assert max(kinds.values()) == kinds["aluminium", "double", True] == 1200
    # M: light old rims 70 to 90 kgf, steel 80 to 100: the defaults stay inside (1 kgf = 9.80665 N, P: CGPM 1901).
    assert 70 * 9.80665 < kinds["aluminium", "single", False] < kinds["aluminium", "single", True] < 90 * 9.80665 + 20
    assert 80 * 9.80665 < kinds["steel", "single", False] < 100 * 9.80665


def test_a_wider_tyre_never_asks_for_a_narrower_rim():
    # M: the older table; the three rows of the newer schools follow it.
    rims = [row["rim_inner"] for row in tables.load("tyre_fits") if row["label"] == "M"]
    assert len(rims) == 8
    pairs = [rim if isinstance(rim, list) else [rim, rim] for rim in rims]
    for narrow, wide in pairwise(pairs):
        assert narrow[0] <= wide[0]
        assert narrow[1] <= wide[1]


def test_rim_holes_take_the_nipple_with_room_as_stated():
    # P: a wheel builder's note: hole = body + 0.3 to 0.6.
    rows = [row for row in tables.load("holes") if row["name"] == "rim hole"]
    assert [row["for_body"] for row in rows] == [4, 4.3, 4.9]
    low, high = tables.row("nipples", "name", "rim hole less body")["value"]
    for row in rows:
        hole = row["value"] if isinstance(row["value"], list) else [row["value"]]
        assert all(low - 1e-9 <= each - row["for_body"] <= high + 1e-9 for each in hole)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("tyre_gap_stop", 1.6),  # P: 16 CFR 1512.11(b), wheel to frame or fork
        ("tyre_gap_caution", 4),  # P: EN 14781 4.10.2 (second hand)
        ("toe_gap_caution", 89),  # P: 16 CFR 1512.17(d), 3.5 in
        ("pedal_lean_caution", 25),  # P: 16 CFR 1512.17(c)
        ("crosses_per_hole", 9),  # P: a wheel firm's rule: 4 crosses on 36 holes, 3 on 32 and 28, 2 on 24 and 20
        ("nipple_tilt_stop", 90 - 70),  # P: R. Hjertberg: below 70 degrees from the tangent is beyond the parts
        ("nipple_tilt_caution", 90 - 75),  # P: R. Hjertberg: below 75 perhaps
        ("nipple_tilt_note", 90 - 80),  # P: R. Hjertberg: 80 to 90 is easy
        ("chainline_derailleur_caution", 3),  # P: a ring maker's tests
    ],
)
def test_limits_that_are_published(name, value):
    assert tables.limits()[name] == value
    assert tables.row("limits", "name", name)["label"] == "P"


def test_limits_are_ordered_by_how_bad_they_are():
    # D: what stops has gone past what warns: tilts, angles and errors upward, gaps and walls downward.
    limits = tables.limits()
    for rising in ("nipple_tilt", "spoke_angle", "chainline_fixed"):
        assert limits[f"{rising}_caution"] < limits[f"{rising}_stop"]
    for falling in ("cog_to_spokes", "tyre_gap", "rotor_gap", "brake_wall"):
        assert limits[f"{falling}_stop"] < limits[f"{falling}_caution"]


def test_limit_rows_are_complete_and_named_once():
    rows = tables.load("limits")
    assert len({row["name"] for row in rows}) == len(rows) >= 37
    for row in rows:
        assert {"name", "value", "unit", "label", "source", "text"} <= row.keys(), row
        assert row["value"] >= 0
        assert "\n" not in row["text"]
