"""`wheelcalc tap` from the outside: what it prints and writes, what it refuses, and what its lines do in a build file."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from tests.making.errand_taps import IN_PLANE, OUT_OF_PLANE, RADIUS, RECORDINGS, TORSION
from tests.making.pluck_sessions import nothing
from tests.making.pluck_synthesis import write_wav
from wheelcalc import answers
from wheelcalc.answers.base import opened
from wheelcalc.cli.main import run
from wheelcalc.joined.section import section_of
from wheelcalc.paper.spectrum import spectrum

EXAMPLES = Path(__file__).parents[2] / "examples"
BUILD = str(EXAMPLES / "errand-rear.toml")
BOTH = ["--radial", str(RECORDINGS["radial"]), "--lateral", str(RECORDINGS["lateral"])]
CENTROID = ["--set", f"rim.section.centroid_diameter={2000 * RADIUS}"]
TRUE = {"bending_in_plane": IN_PLANE, "bending_out_of_plane": OUT_OF_PLANE, "torsion": TORSION}


def tap(*arguments: str) -> int:
    return run(["tap", *arguments])


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert tap(*arguments) == 2
    out, error = capsys.readouterr()
    assert out == ""
    assert error.startswith("Error: ")
    assert error.count("\n") == 1
    return error


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict:
    assert tap(BUILD, *arguments, "--json") == 0
    return json.loads(capsys.readouterr().out)


def test_the_invented_rim_is_found(capsys):
    """D: against the stiffness that the tests' own ring was given; the centroid as it is."""
    found = answer(capsys, *BOTH, *CENTROID)
    for name, true in TRUE.items():
        assert abs(found[f"{name}_Nm2"] - true) < 1.96 * found[f"{name}_sigma_Nm2"]
    assert found["bending_in_plane_Nm2"] == pytest.approx(IN_PLANE, rel=0.05)
    assert found["torsion_Nm2"] == pytest.approx(TORSION, rel=0.08)
    assert set(found["modes"][0]) == {"hz", "kind", "waves", "pair_hz"}
    assert {mode["kind"] for mode in found["modes"]} == {"radial", "lateral"}
    assert found["steady_hz"] == pytest.approx([100.0, 318.4], abs=0.7)


def test_errors_of_mass_and_diameter_count(capsys):
    sure = answer(capsys, *BOTH, *CENTROID)
    weighed = answer(capsys, *BOTH, *CENTROID, "--set", "rim.section.mass=520 +- 30 g")
    read = answer(capsys, *BOTH, "--set", f"rim.section.centroid_diameter={2000 * RADIUS} +- 12 mm")
    value, own = sure["bending_in_plane_Nm2"], sure["bending_in_plane_sigma_Nm2"]
    assert weighed["bending_in_plane_sigma_Nm2"] == pytest.approx(np.hypot(own, value * 30 / 520), rel=1e-6)
    assert read["bending_in_plane_sigma_Nm2"] == pytest.approx(np.hypot(own, 3 * value * 12 / 2000 / RADIUS), rel=1e-6)


def test_text_is_read_on_one_screen(capsys):
    assert tap(BUILD, *BOTH, "--working") == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert "".join(lines).isascii()
    assert lines[0].startswith("The rim's bending in plane (EI) is 13")
    assert any(line.strip().startswith('torsion = "') for line in lines[:20])
    assert any("2 pi R^3 m" in line for line in lines)


def test_the_lines_give_the_structure_exactly_this_stiffness(capsys):
    lines = answer(capsys, *BOTH, *CENTROID)["section_lines"]
    assert lines[0] == "[rim.section]"
    changes = [f"rim.section.{line.replace(' = ', '=')}" for line in lines[1:]]
    found = section_of(opened(BUILD, changes).build)
    section = found.section
    numbers = [float(line.split('"')[1].split(" ")[0]) for line in lines[1:]]
    assert section.youngs_modulus * section.inertia_in_plane == pytest.approx(1e6 * numbers[0], rel=1e-9)
    assert section.youngs_modulus * section.inertia_out_of_plane == pytest.approx(1e6 * numbers[1], rel=1e-9)
    assert section.shear_modulus * section.torsion_constant == pytest.approx(1e6 * numbers[2], rel=1e-9)
    assert run(["tension", BUILD, *(each for change in changes for each in ("--set", change))]) == 0


def test_one_recording_says_what_it_does_not_tell(capsys):
    assert tap(BUILD, "--lateral", str(RECORDINGS["lateral"])) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Not told, since too few of its modes were heard: bending in plane (EI)." in text
    assert "Record the rim tapped inward as well (--radial)." in text
    found = answer(capsys, "--lateral", str(RECORDINGS["lateral"]))
    assert found["bending_in_plane_Nm2"] is None
    assert found["bending_in_plane_sigma_Nm2"] is None
    assert found["torsion_Nm2"] == pytest.approx(TORSION, rel=0.12)


@pytest.mark.parametrize("suffix", [".txt", ".json", ".csv", ".svg", ".html"])
def test_files(tmp_path, suffix):
    path = tmp_path / f"rim{suffix}"
    assert tap(BUILD, *BOTH, "-o", str(path)) == 0
    text = path.read_text("utf-8")
    if suffix == ".csv":
        assert text.startswith("hz,kind,waves,pair_hz\n88.6")
    if suffix == ".svg":
        assert ET.fromstring(text).get("viewBox")
        assert ">L2<" in text
        assert ">R2<" in text
    assert tap(BUILD, *BOTH, "-o", str(path)) == 2


def test_names_in_the_picture_do_not_lie_on_each_other():
    drawing = spectrum(answers.tap(BUILD, RECORDINGS["radial"], RECORDINGS["lateral"]))
    assert drawing.overlapping() == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "--radial: is missing, and lateral too"),
        (["--radial", "none.wav"], "none.wav: there is no such file"),
        ([*BOTH, "--set", "rim.section.mass=0.52"], "rim.section.mass: found 0.52 g; sensible is"),
        ([*BOTH, "--set", "rim.section.mass=130"], "weigh the bare rim again"),
        (
            [*BOTH, "--set", "rim.section.centroid_diameter=23.9"],
            "rim.section.centroid_diameter: found 23.9 mm; sensible is",
        ),
        ([*BOTH, "--set", "rim.section.centroid_diameter=390"], "rim.erd puts the spokes' ends at 602.4 mm"),
        (["--radial", str(EXAMPLES / "errand-rear-right.wav")], "errand-rear-right.wav: "),
    ],
)
def test_what_cannot_be_used(capsys, arguments, words):
    assert words in refused(capsys, BUILD, *arguments)


def test_without_a_mass(capsys, tmp_path):
    path = tmp_path / "rim.toml"
    path.write_text("[rim.section]\ncentroid_diameter = 607\n")
    error = refused(capsys, str(path), *BOTH)
    assert "rim.section.mass: is missing and `tap` needs it: weigh the bare rim" in error
    path.write_text("[rim.section]\nmass = 520\n")
    assert "rim.section.centroid_diameter: is missing" in refused(capsys, str(path), *BOTH)
    path.write_text("[rim.section]\nmass = 520\ncentroid_diameter = 607\n")
    assert tap(str(path), *BOTH) == 0


def test_sounds_of_another_kind(capsys, tmp_path):
    path = tmp_path / "sound.wav"
    speech = nothing("speech", 3, 8000, 6.0)
    write_wav(path, 0.7 * speech / np.abs(speech).max(), 8000)
    assert str(path) in refused(capsys, BUILD, "--radial", str(path))
    write_wav(path, np.zeros(16000), 8000)
    assert "is silent" in refused(capsys, BUILD, "--radial", str(path))
    assert refused(capsys, BUILD, "--radial", str(path), "--lateral", str(RECORDINGS["lateral"]))


@pytest.mark.parametrize(("mass", "level"), [("520", None), ("693", "caution"), ("347", "caution")])
def test_a_mass_that_makes_unusual_walls_is_doubted(capsys, mass, level):
    """The modes are the same whatever the mass; what tells is how thick it makes the walls."""
    found = answer(capsys, *BOTH, *CENTROID, "--set", f"rim.section.mass={mass}")
    levels = [each["level"] for each in found["findings"] if each["name"] == "mass-doubtful"]
    assert levels == ([level] if level else [])
