"""The bench sheet as HTML: valid, self-contained, escaped, readable in order, and with the numbers of the other commands."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString

from tests.making.builds import with_keys
from wheelcalc import answers
from wheelcalc.files.buildfile import build_of
from wheelcalc.page.tags import in_css, joined, tag
from wheelcalc.paper.sheet.bench_sheet import SECTIONS, sheet
from wheelcalc.paper.sheet.gauges import crossing_angle, foot_height
from wheelcalc.paper.sheet.material import Material
from wheelcalc.paper.sheet.order import crossing_pair, may_measure
from wheelcalc.wheel.errors import InputError

EXAMPLE = Path(__file__).parents[2] / "examples" / "errand-rear.toml"
MARKUP = "</title></style><script>alert(1)</script><b id='x'>\"&amp; \\ \u00fc"
XHTML, SVG = "{http://www.w3.org/1999/xhtml}", "{http://www.w3.org/2000/svg}"

BUILDS: dict[str, Any] = {
    "example": EXAMPLE,
    "plain": with_keys(),
    "markup": with_keys(title=MARKUP),
    "radial front": with_keys(position="front", lacing__crosses=0, hub__left__spoke_head="straight"),
    "little": {"rim": {"holes": 36}},
    "stop": with_keys(nipple={"for_wire": 1.8}, frame={"dropout_spacing": 126.4}),
    "readings": EXAMPLE.with_name("errand-rear-salvage.toml"),
}


def parsed(html: str) -> Element:
    """The tree; any error of the markup raises."""
    root: Element = html5lib.HTMLParser(strict=True).parse(html)
    return root


def elements(root: Element, name: str) -> list[Element]:
    return [each for each in root.iter() if each.tag in (XHTML + name, SVG + name)]


def text_of(root: Element) -> str:
    return " ".join(" ".join(each.itertext()) for each in elements(root, "body"))


@pytest.fixture(scope="module", params=BUILDS)
def root(request: pytest.FixtureRequest) -> Element:
    return parsed(sheet(BUILDS[request.param]).html)


# Whatever the build


def test_nothing_comes_from_outside(root: Element) -> None:
    names = {str(each.tag).rsplit("}", 1)[-1] for each in root.iter()}
    assert not names & {"script", "link", "img", "iframe", "object", "image", "use", "foreignObject"}
    for each in root.iter():
        for name, value in each.attrib.items():
            assert not name.startswith("on")
            assert name not in ("src", "href")
            assert "url(" not in value
    style = "".join("".join(each.itertext()) for each in elements(root, "style"))
    assert "url(" not in style
    assert "@import" not in style


def test_headings_go_down_one_level_at_a_time(root: Element) -> None:
    levels = [int(str(each.tag)[-1]) for each in root.iter() if re.search(r"}h[1-6]$", str(each.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert max(after - before for before, after in pairwise(levels)) == 1


def test_tables_have_headers_and_pictures_have_words(root: Element) -> None:
    tables = elements(root, "table")
    assert len(tables) >= 5
    for each in tables:
        assert len(elements(each, "thead")) == 1
        assert all(head.get("scope") in ("col", "row", "colgroup") for head in elements(each, "th"))
    pictures = elements(root, "svg")
    assert len(pictures) >= 5
    for picture in pictures:
        assert picture.get("role") == "img"
        assert len("".join(elements(picture, "title")[0].itertext())) > 5


def test_every_id_is_there_once(root: Element) -> None:
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))


def test_letters_are_large_and_all_is_black_on_white(root: Element) -> None:
    style = "".join("".join(each.itertext()) for each in elements(root, "style"))
    assert min(float(size) for size in re.findall(r"([0-9.]+)pt", style)) >= 9.5
    assert set(re.findall(r"#[0-9a-fA-F]+", style)) <= {"#000", "#fff"}
    for picture in elements(root, "svg"):
        if picture.get("width") is None:  # as wide as what holds it
            continue
        scale = float(str(picture.get("width")).removesuffix("mm")) / float(str(picture.get("viewBox")).split()[2])
        for each in picture.iter():
            assert each.get("fill", "none") in ("none", "black", "white")
            assert each.get("stroke", "none") in ("none", "black", "white")
            if each.get("font-size"):
                assert float(str(each.get("font-size"))) * scale > 1.9  # mm: 5.4 pt, the least in a picture


# Escaping


def test_what_the_user_typed_stays_text() -> None:
    root = parsed(sheet(BUILDS["markup"]).html)
    assert "".join(elements(root, "title")[0].itertext()) == f"{MARKUP}: bench sheet"
    assert MARKUP in text_of(root)
    assert not [each for each in root.iter() if each.get("id") == "x"]


@given(st.text())
def test_text_in_css_is_a_string_and_comes_back(text: str) -> None:
    written = in_css(text)
    assert written.isascii()
    inner = written[1:-1]
    assert not set(inner) & set("\"'<>{};\n\r")
    back = re.sub(r"\\([0-9a-f]{6})", lambda match: chr(int(match[1], 16)), inner)
    assert back == text


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"])))
def test_text_in_a_tag_comes_back(text: str) -> None:
    body = html5lib.parseFragment(tag("p", text, title=text))
    assert body[0].get("title") == text
    assert "".join(body[0].itertext()) == text
    assert joined([text, None]) == joined(text)


# Sections


def test_sections_by_choice() -> None:
    assert sheet(EXAMPLE, only=["order", "lace"]).parts == ["order", "lace"]
    assert sheet(EXAMPLE, without=["record"], record=True).parts == [
        name for name in SECTIONS if name not in ("salvage", "tap", "fit", "bench", "record")
    ]
    with pytest.raises(InputError, match=r"only: found .*; the sections are salvage"):
        sheet(EXAMPLE, only=["lacing"])
    with pytest.raises(InputError, match="leaves no section"):
        sheet(EXAMPLE, only=["lace"], without=["lace"])


def test_a_section_that_lacks_something_is_left_out_and_says_what() -> None:
    found = sheet(BUILDS["little"], record=True)
    assert found.parts == ["measure", "gauges", "ride", "record"]
    assert set(found.left_out) == set(SECTIONS) - set(found.parts) - {"salvage", "tap", "bench"}
    assert "frame.dropout_spacing" in found.left_out["fit"]
    assert all("rim.erd" in found.left_out[name] for name in ("order", "labels", "gate", "lace", "tension", "true"))
    text = text_of(parsed(found.html))
    assert f"Lacing: {found.left_out['lace']}." in text
    with pytest.raises(InputError, match="no section can be made"):
        sheet(BUILDS["little"], only=["lace"])


def test_the_old_wheel_is_there_where_the_file_tells_of_one_or_on_demand() -> None:
    assert sheet(BUILDS["readings"]).parts[0] == "salvage"
    assert "salvage" not in sheet(EXAMPLE).parts
    text = text_of(parsed(sheet(EXAMPLE, only=["salvage"]).html))
    assert "Slacken all round by quarter turns" in text
    assert "Freewheel or cassette off first" in text
    read = sheet(BUILDS["readings"], only=["salvage"]).html
    assert "Freewheel or cassette" not in read
    assert "slacken all round by quarter turns" in read
    with pytest.raises(InputError, match="leaves no section"):
        sheet(EXAMPLE, without=[name for name in SECTIONS if name != "salvage"])


def test_the_numbers_of_salvage_stand_there() -> None:
    answer = answers.salvage(BUILDS["readings"])
    found, text = answer.as_json(), text_of(parsed(sheet(BUILDS["readings"], only=["salvage"]).html))
    old = found["old_wheel"]
    wanted = [f"{value:.1f}" for value in (found["erd_mm"], old["measured_erd_mm"], old["apart_mm"])]
    wanted += [f"{side['erd_mm']:.1f}" for side in old["sides"].values()]
    wanted += [f"{line['side']} {line['length_mm']:g} mm, {line['count']} + {line['spares']}" for line in old["lines"]]
    wanted += [f"{build['lengths']['left']:g}/{build['lengths']['right']:g}" for build in found["builds"][:8]]
    for name, low in found["old_rim"]["forecast"]["straight"]["lowest_tension_N"].items():
        wanted.append(f"{low:.0f}-{found['old_rim']['forecast']['straight']['highest_tension_N'][name]:.0f}")
    assert len(wanted) > 15
    assert [each for each in wanted if each not in text] == []


def test_a_wrong_reading_stands_on_the_sheet_with_the_look_that_settles_it() -> None:
    build = EXAMPLE.with_name("errand-rear-fitted.toml")
    found = answers.salvage(build).as_json()["slips"]
    text = text_of(parsed(sheet(build, only=["salvage"]).html))
    assert f"%): {found[0]['what']}." in text
    assert found[0]["look"] in text


def test_no_labels_where_nothing_can_be_ordered() -> None:
    found = sheet(with_keys(stock={"on_hand": {"188": 30}}))
    assert {"labels", "gate"} <= set(found.left_out)
    assert "order" in found.parts
    assert "cannot-be-filled" in {finding.name for finding in found.findings}
    stop = next(finding for finding in found.findings if finding.name == "cannot-be-filled")
    assert stop.text in text_of(parsed(found.html))


def test_the_labels_say_where_one_jar_does_and_number_the_bundles_of_a_side() -> None:
    flange = {"holes": 16, "pcd": 44.7, "locknut_to_flange": 30.6}
    hub = {"over_locknut": 100, "left": flange, "right": flange}
    alike = with_keys(position="front", hub=hub, lacing__crosses=3)
    assert len({line.length for line in answers.order(alike).lines}) == 1
    assert "one jar holds them all" in text_of(parsed(sheet(alike, only=["labels"]).html))
    assert "one jar holds them all" not in text_of(parsed(sheet(EXAMPLE, only=["labels"]).html))
    few = ['stock.on_hand={ "290" = 12, "291" = 8, "289" = 18 }']
    lines = answers.order(EXAMPLE, few).lines
    assert [line.side for line in lines] == ["left", "left", "right"]
    text = text_of(parsed(sheet(EXAMPLE, few, only=["labels"]).html))
    for number, line in enumerate(lines[:2], start=1):
        assert f"bundle {number}, for rim holes {', '.join(map(str, line.rim_holes))}" in text


def test_a_stop_stands_where_it_matters() -> None:
    found = sheet(BUILDS["stop"])
    assert found.stops
    root = parsed(found.html)
    for name in ("order", "labels", "gate"):
        section = next(each for each in elements(root, "section") if each.get("id") == name)
        stops = [each for each in section.iter() if each.get("class") == "finding stop"]
        assert stops, name


# Numbers


def test_the_numbers_of_the_other_commands_stand_there() -> None:
    text = text_of(parsed(sheet(EXAMPLE, record=True).html))
    lengths, order, tension = (each(EXAMPLE).as_json() for each in (answers.lengths, answers.order, answers.tension))
    wanted = []
    for side in lengths["sides"].values():
        wanted += [
            f"{side['geometric_length_mm']:.2f}",
            f"{side['cut_length_mm']:.2f}",
            f"{side['bracing_angle_deg']:.2f}",
        ]
    for spoke in lengths["spokes"]:
        wanted += [
            f"{spoke[name]:.2f}" for name in ("geometric_length_mm", "cut_length_mm", "rim_angle_deg", "hub_angle_deg")
        ]
    for line in order["lines"]:
        wanted += [f"{line['length_mm']:g} mm", f"{line['count']} + {line['spares']}"]
    for side in tension["sides"].values():
        wanted += [
            f"{side['target_N']:.0f} N",
            f"{side['low_N']:.0f} to {side['high_N']:.0f} N",
            f"{side['pitch_hz']:.0f} Hz",
            side["note"],
        ]
        wanted.append(f"{side['target_N'] / 9.80665:.0f} kgf")  # P: the kilogram-force, 3rd CGPM 1901
    wanted.append(f"{tension['limits'][0]['value_N']:.0f} N")
    assert len(wanted) > 150
    assert [each for each in wanted if each not in text] == []


READ = EXAMPLE.with_name("errand-rear-readings.csv")


def test_readings_fill_in_the_first_pass_of_the_log() -> None:
    found = answers.true(EXAMPLE, READ).as_json()
    root = parsed(sheet(EXAMPLE, only=["true"], readings=READ).html)
    rows = {}
    for row in [each for table in elements(root, "table")[:2] for each in elements(table, "tr")[1:]]:
        hole, *cells = ("".join(cell.itertext()).strip() for cell in row)
        rows[int(hole.split()[0])] = cells
    assert sorted(rows) == list(range(1, 37))
    # the file's own first lines: "1,-0.02,0.67," and "2,-0.08,0.66,486"; radial has any zero, so it stays as read
    assert rows[1][1:4] == ["-0.02", "+0.67", ""]
    assert rows[2][1:4] == ["-0.08", "+0.66", "486"]
    turns = {each["rim_hole"]: each["turns"] for each in found["turns"]}
    for hole, cells in rows.items():
        value = sum(Fraction(part) for part in cells[4][1:].split()) if cells[4] else 0
        assert (-value if cells[4].startswith("-") else value) == turns.get(hole, 0)
    text = text_of(root)
    assert f"the rim must move {abs(found['dish']['move_mm']):.1f} mm to the left" in text
    assert f"sideways {found['now']['lateral_mm']:.2f} mm, then {found['after']['lateral_mm']:.2f}" in text
    assert "Passes 2 to 5" in text


def test_an_odd_turn_is_written_as_the_text_writes_it() -> None:
    odd = ["truing.step=0.093"]
    root = parsed(sheet(EXAMPLE, odd, only=["true"], readings=READ).html)
    written = answers.true(EXAMPLE, READ, odd)
    turns = {f"{each['turns']:+.3g}" for each in written.as_json()["turns"]}
    assert turns & {"+0.186", "+0.558", "-0.558"}
    cells = {"".join(each.itertext()).strip() for table in elements(root, "table")[:2] for each in elements(table, "b")}
    assert cells == turns
    assert all(each in str(written) for each in turns)


def test_readings_that_cannot_be_used_make_no_sheet(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    from wheelcalc.cli.main import run

    target, few = tmp_path / "sheet.html", tmp_path / "few.csv"
    few.write_text("rim_hole,lateral_mm,radial_mm,tension_N\n3,0.2,,\n")
    assert run(["sheet", str(EXAMPLE), "--readings", str(few), "-o", str(target)]) == 2
    assert "few.csv: holds readings at 1 rim hole" in capfd.readouterr().err
    assert run(["sheet", str(EXAMPLE), "--own-plane", "-o", str(target)]) == 2
    assert not target.exists()
    assert (
        run(["sheet", str(EXAMPLE), "--readings", str(READ), "--own-plane", "--only", "true", "-o", str(target)]) == 0
    )
    assert "Dish: the rim must move" not in target.read_text(encoding="utf-8")


def test_every_key_that_was_given_is_in_the_record() -> None:
    known = build_of(with_keys(title="Kept"), "x").build
    text = text_of(parsed(sheet(with_keys(title="Kept"), only=["record"]).html))
    given = [key for key, entry in known.items() if entry.origin == "given"]
    assert len(given) > 12
    assert [key for key in given if key not in text] == []


def test_weights_of_people_are_in_kilograms_in_the_record() -> None:
    text = text_of(parsed(sheet(EXAMPLE, only=["record"]).html))
    assert "load.rider 85 kg" in text
    assert "rim.section.mass 520 g" in text


def test_lengths_that_would_do_and_would_not() -> None:
    text = text_of(parsed(sheet(EXAMPLE, only=["order"]).html))
    lines = {line["side"]: line for line in answers.order(EXAMPLE).as_json()["lines"]}
    for side, line in lines.items():
        good = sorted([line["length_mm"], *line["also_fits_mm"]])
        assert (
            f"{side}: {' or '.join(f'{each:g}' for each in good)} mm; not {good[0] - 1:g}, not {good[-1] + 1:g}."
            in text
        )


def test_a_length_that_cannot_be_had_is_not_called_wrong() -> None:
    # D, of ideal spokes: cut 290.86 and 289.04 mm, ends from 2 mm short to 1 mm beyond: 288.86 to 291.86 and 287.04 to 290.04 mm fit,
    # whatever lies in the jar or the shop.
    for stock in ("stock.lengths=[286, 288, 290, 292]", 'stock.on_hand={ "288" = 20, "290" = 20 }'):
        text = text_of(parsed(sheet(EXAMPLE, [stock, "spokes.end_give=0"], only=["order"]).html))
        assert "left: 289 or 290 or 291 mm; not 288, not 292." in text
        assert "right: 288 or 289 or 290 mm; not 287, not 291." in text


def test_straight_spokes_have_no_elbows_to_press() -> None:
    straight = with_keys(hub__left__spoke_head="straight", hub__right__spoke_head="straight")
    text = text_of(parsed(sheet(straight, only=["gate", "lace", "tension"]).html))
    assert "lbows" not in text
    assert "Heads pulled fully into their seats" in text
    assert "Elbows pressed flat" in text_of(parsed(sheet(with_keys(), only=["lace"]).html))


def test_no_tensions_on_the_way_where_there_is_no_aim() -> None:
    rim = {"material": "carbon", "mass": "520 g", "width": 24, "depth": 19}
    carbon = with_keys(rim__tension_limit=None, rim__section=rim)
    assert answers.tension(carbon).as_json()["sides"]["left"]["target_N"] is None
    text = text_of(parsed(sheet(carbon, only=["tension"]).html))
    assert "No target can be set" in text
    assert "At about" not in text
    aimed = text_of(parsed(sheet(EXAMPLE, ["tension.target=1200"], only=["tension"]).html))
    assert "At about 300, 600, 900 N" in aimed


def test_a_front_wheel_has_no_cogs_to_measure() -> None:
    assert "the smallest cog" not in text_of(parsed(sheet(with_keys(position="front"), only=["measure"]).html))
    assert "the smallest cog" in text_of(parsed(sheet(EXAMPLE, only=["measure"]).html))


def test_the_box_for_erd_says_what_the_file_means_by_it() -> None:
    texts = {}
    for to in ("spoke end", "nipple seat"):
        build = with_keys(rim__erd_to=to, nipple={"seat_to_end": 3.1})
        texts[to] = text_of(parsed(sheet(build, only=["measure"]).html))
        assert f"{to} to {to} = erd" in texts[to]
    assert "spoke end to spoke end" not in texts["nipple seat"]


def test_what_the_five_may_measure_is_the_window() -> None:
    material = Material(build_of(with_keys(), "x"))
    for line in material.order.lines:
        low, high = may_measure(material.order, line)
        # D: an end moves with its spoke, so the window lies as far from the length as from the end's place.
        assert low == pytest.approx(line.length - line.least_end - 2.0)
        assert high == pytest.approx(line.length - line.most_end + 1.0)


# Geometry of the helpers


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_two_spokes_to_dry_fit_cross_and_are_neighbours(side: str) -> None:
    material = Material(build_of(with_keys(hub__phase="aligned"), "x"))
    wheel = material.lengths.wheel
    pair = crossing_pair(material, side)
    assert pair is not None
    places = [int(np.flatnonzero(wheel.lacing.rim_hole == hole)[0]) for hole, _ in pair]
    assert [wheel.lacing.sides[place] for place in places] == [side, side]
    assert [wheel.lacing.directions[place] for place in places] == ["trailing", "leading"]
    assert [wheel.lacing.hub_labels[place] for place in places] == [label for _, label in pair]
    lines = [LineString([wheel.hub_points[place, 1:], wheel.rim_points[place, 1:]]) for place in places]
    assert lines[0].crosses(lines[1])
    assert pair[1][0] - pair[0][0] == 2


def test_radial_spokes_have_no_crossing() -> None:
    material = Material(build_of(with_keys(lacing__crosses=0), "x"))
    assert crossing_pair(material, "left") is None
    assert crossing_angle(material.lengths.wheel, "left") is None


def test_the_angle_of_the_outermost_crossing() -> None:
    wheel = answers.lengths(EXAMPLE).wheel
    # D: 36 holes, 3 crosses, the pair 10 degrees to both sides of a plane of symmetry at the rim, 50 at the hub.
    for side, pcd in (("left", 44.7), ("right", 45.1)):
        rim, hub = 602.4 / 2, pcd / 2
        across = rim * np.sin(np.radians(10)) + hub * np.sin(np.radians(50))
        along = rim * np.cos(np.radians(10)) - hub * np.cos(np.radians(50))
        assert crossing_angle(wheel, side) == pytest.approx(2 * np.degrees(np.arctan2(across, along)), abs=0.02)


def test_the_lath_of_the_dish_gauge_clears_the_axle() -> None:
    for width, stub in ((130.0, 5.5), (148.0, 0.0), (100.0, 26.0)):
        keys = with_keys(hub__over_locknut=width, hub__axle_protrusion=stub)
        assert foot_height(build_of(keys, "x").build) > width / 2 + stub


# As an object and as a command


def test_it_shows_itself_and_tells_its_sections() -> None:
    found = sheet(with_keys(), only=["order", "fit"])
    assert 'srcdoc="&lt;!DOCTYPE html&gt;' in found._repr_html_()
    content = json.loads(json.dumps(found.as_json()))
    assert content["schema"] == "wheelcalc/sheet/1"
    assert content["sections"] == [{"name": "order", "title": "Order slip"}]
    assert content["left_out"][0]["name"] == "fit"


def test_the_command(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    from wheelcalc.cli.main import run

    target = tmp_path / "sheet.html"
    assert run(["sheet", str(EXAMPLE), "-o", str(target), "--only", "order, gauges", "--paper", "a4"]) == 0
    html = target.read_text(encoding="utf-8")
    assert "size: 210mm 297mm" in html
    assert [each.get("id") for each in elements(parsed(html), "section")] == ["gauges", "order"]
    assert run(["sheet", str(EXAMPLE), "-o", str(target)]) == 2
    assert run(["sheet", str(EXAMPLE), "--only", "all"]) == 2
    assert run(["sheet", str(EXAMPLE), "--paper", "A5"]) == 2
    capfd.readouterr()
    assert run(["sheet", str(EXAMPLE)]) == 0
    shown = capfd.readouterr().out
    assert all(f"\n{name}" in shown for name in SECTIONS if name not in ("salvage", "tap", "fit", "bench", "record"))
    assert max(map(len, shown.splitlines())) <= 80
