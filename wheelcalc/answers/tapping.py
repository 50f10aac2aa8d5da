"""`tap`: the bare rim, hung on a string and tapped, tells its own stiffness."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

from wheelcalc.answers.base import Answer, Source, opened
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import Overrides, in_file
from wheelcalc.files.needs import demand
from wheelcalc.files.wav import Sound, read_wav
from wheelcalc.joined.section import centroid_diameter
from wheelcalc.joined.target import material_of
from wheelcalc.measuring.rim_modes import BareRim, sheared
from wheelcalc.measuring.ringing import Ringing, ringing
from wheelcalc.measuring.tapped import Tapped, tapped
from wheelcalc.page.blocks import Block, Column, Heading, Page, Sentence, Table, Verbatim
from wheelcalc.page.numbers import several
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, by_weight

KEYS = ("bending_in_plane", "bending_out_of_plane", "torsion")
NAMES = ("bending in plane (EI)", "bending out of plane (EI)", "torsion (GJ)")
STRUCK = {"radial": "inward", "lateral": "sideways"}
MASS, CENTROID = "rim.section.mass", "rim.section.centroid_diameter"
FROM_ENDS = 6.0  # mm, C: how far the centroid's diameter may lie from that of the spoke ends (one standard uncertainty)
FEW_TAPS = 3  # C: under three taps one bad one decides
# C: mean thickness of the walls of rims, were they boxes four radii of gyration deep and four and a half wide [mm]. The
# four measured rims of MF come to 0.9 to 1.5 (D). Steel is thinner, carbon thicker.
WALLS = {"aluminium": (0.75, 1.7), "steel": (0.45, 1.1), "carbon": (0.8, 2.8)}
DEEP, WIDE = 4.0, 4.5
MEASURED = 1.1  # ours: the bounds are nearer by this where width and depth were measured
NO_RIM = 1.7  # ours: beyond these times the bounds there is no such rim


@dataclass(frozen=True, kw_only=True, eq=False)
class TapAnswer(Answer):
    """Answer of `tap`; the spectra and the fit are there for a notebook.

    Parameters
    ----------
    tapped : what the recordings say
    stiffness : EI in plane, EI out of plane, GJ [N m2]; None where the recordings do not tell
    sigma : of each, mass and diameter counted in [N m2]
    material : of the rim
    """

    schema: ClassVar[str] = "wheelcalc/tap/1"
    records: ClassVar[str] = "modes"
    build: Build
    tapped: Tapped
    stiffness: Mapping[str, float | None]
    sigma: Mapping[str, float | None]
    material: str

    def content(self) -> dict[str, Any]:
        """Return modes, stiffness and the lines for the build file."""
        out: dict[str, Any] = {"modes": [vars(each) for each in self.tapped.fit.modes]}
        for key in KEYS:
            out[f"{key}_Nm2"] = self.stiffness[key]
            out[f"{key}_sigma_Nm2"] = self.sigma[key]
        return {
            **out,
            "section_lines": self.lines(),
            "taps": {kind: each.taps.tolist() for kind, each in self.tapped.recordings.items()},
            "steady_hz": self.tapped.steady.tolist(),
            "missing": [vars(each) for each in self.tapped.missing()],
        }

    def lines(self) -> list[str]:
        """The lines for the build file, a string each."""
        told = [f'{key} = "{_with_error(self.stiffness[key], self.sigma[key], " +- ")} N m2"' for key in self._told()]
        return ["[rim.section]", *told]

    def _told(self) -> list[str]:
        return [key for key in KEYS if self.stiffness[key] is not None]

    def page(self, *, working: bool = False) -> Page:
        """Return the stiffness first, then the modes that it comes from.

        Parameters
        ----------
        working : with the formulas
        """
        return Page(
            verdict=f"The rim's {self._said()}.",
            title=f"{self.title}: the tapped rim",
            answer=[self._figures(), Sentence("Into the build file:"), Verbatim(self.lines())],
            findings=self.findings,
            details=[Heading("What was heard:"), self._modes(), *(self._working() if working else [])],
            assumptions=self.assumptions,
        )

    def _said(self) -> str:
        words = dict(zip(KEYS, NAMES, strict=True))
        return several([f"{words[key]} is {self._within(key)} N m2" for key in self._told()])

    def _within(self, key: str) -> str:
        value, sigma = self.stiffness[key], self.sigma[key]
        return "-" if sigma is None else _with_error(value, NINETEEN_IN_TWENTY * sigma, " +-")

    def _figures(self) -> Table:
        words = dict(zip(KEYS, NAMES, strict=True))
        columns = [
            Column("stiffness", lambda key: words[key], "left"),
            Column("N m2", self._within, meaning="19 of 20 such errors are smaller than the one given"),
        ]
        return Table(columns, list(KEYS))

    def _modes(self) -> Table:
        columns = [
            Column("Hz", lambda each: f"{each.hz:.1f}"),
            Column(
                "pair Hz",
                lambda each: f"{each.pair_hz:.1f}" if each.pair_hz else "",
                meaning="joint and valve hole split a mode",
            ),
            Column("kind", lambda each: each.kind, "left", "radial: in the rim's plane; lateral: out of it"),
            Column("waves", lambda each: str(each.waves), meaning="round the rim"),
        ]
        return Table(columns, list(self.tapped.fit.modes))

    def _working(self) -> list[Block]:
        rim = self.tapped.rim
        ring = f"2 pi R^3 m = 2 pi ({rim.radius / 1000:.4f} m)^3 {rim.mass / 1000:.3f} kg = {rim.ring:.5f} m3 kg"
        out = ["radial: f = n (n^2 - 1) / sqrt(n^2 + 1) sqrt(EI / (2 pi R^3 m)), n waves", ring]
        out += ["lateral: f = n (n^2 - 1) / sqrt(mu n^2 + 1) sqrt(GJ / (2 pi R^3 m)), mu = GJ / EI out of plane"]
        value = self.stiffness[KEYS[0]]
        if value is not None:
            shear = f"; shear takes off {100 * self._sheared(value):.1f} %"
            out.append(
                f"n = 2 radial: 2.683 sqrt({value:.1f} / {rim.ring:.5f}) = {2.683 * math.sqrt(value / rim.ring):.1f} Hz{shear}"
            )
        return [Heading("Working:"), Verbatim(out)]

    def _sheared(self, value: float) -> float:
        return 1 - 1 / math.sqrt(float(sheared(self.tapped.rim, value)[0]))


def _with_error(value: float | None, error: float | None, mark: str) -> str:
    """A number and its error, with no more digits than the error has."""
    if value is None or not error:
        return "-"
    digits = max(0, 1 - math.floor(math.log10(error)))
    return f"{value:.{digits}f}{mark}{error:.{digits}f}"


def tap(
    source: Source,
    radial: str | Path | Sound | None = None,
    lateral: str | Path | Sound | None = None,
    overrides: Overrides = (),
    **keys: Any,
) -> TapAnswer:
    """Stiffness of a bare rim from recordings of it tapped.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them
    radial, lateral : paths of WAV files, or sounds already read, of the rim tapped inward and sideways; one may be absent

    Raises
    ------
    InputError
        If the input cannot be used; the message names file and key.
    """
    given = {kind: each for kind, each in (("radial", radial), ("lateral", lateral)) if each is not None}
    if not given:
        raise InputError(
            "radial", "is missing, and lateral too; give the recording of the rim tapped inward, sideways or both"
        )
    file = opened(source, overrides, keys)
    with file.named():
        demand("tap", file.build)
        rim, sigma = _rim(file.build)
    names = {kind: "recording" if isinstance(each, Sound) else str(each) for kind, each in given.items()}
    heard: dict[str, Ringing] = {}
    for kind, each in given.items():
        sound = each if isinstance(each, Sound) else read_wav(each)
        with in_file(names[kind]):
            heard[kind] = ringing(sound.samples, sound.rate)
    with in_file(" and ".join(names.values())):
        modes = tapped(rim, heard)
    with file.named():
        return _answer(file.title, file.build, modes, sigma)


def _rim(build: Build) -> tuple[BareRim, float]:
    """What is known of the rim, and the relative standard uncertainty of its m R^3."""
    material = material_of(_material(build))
    measured = CENTROID in build
    diameter = centroid_diameter(build)
    error = build.sigma(CENTROID) if measured else math.hypot(build.sigma("rim.erd"), FROM_ENDS)
    mass = build.number(MASS)
    sigma = math.hypot(build.sigma(MASS) / mass, 3 * error / diameter)
    return BareRim(diameter / 2, mass, material.youngs_modulus / material.density), sigma


def _material(build: Build) -> str:
    return build.rim.section.material or "aluminium"


def _answer(title: str, build: Build, modes: Tapped, outside: float) -> TapAnswer:
    fit = modes.fit
    values = {key: value if told else None for key, value, told in zip(KEYS, fit.stiffness, modes.told, strict=True)}
    sigmas = {
        key: value * math.hypot(sigma, outside) if told else None
        for key, value, sigma, told in zip(KEYS, fit.stiffness, fit.sigma, modes.told, strict=True)
    }
    material = _material(build)
    return TapAnswer(
        title=title,
        findings=by_weight([*_findings(build, modes, material)]),
        assumptions=_assumptions(build, modes),
        build=build,
        tapped=modes,
        stiffness=values,
        sigma=sigmas,
        material=material,
    )


def _assumptions(build: Build, modes: Tapped) -> list[str]:
    mass = "The modes cannot tell a wrong mass: all three figures are wrong by as much as it is, and by three times as much"
    mass += " as the diameter."
    out = [mass]
    if CENTROID not in build:
        out.append(
            f"{CENTROID} is taken as that of the spoke ends, {2 * modes.rim.radius:.1f} mm, good to "
            f"{NINETEEN_IN_TWENTY * FROM_ENDS:.0f} mm; half-way between the rim's inner and outer diameter is surer."
        )
    if build.rim.section.material is None:
        out.append("rim.section.material is taken as aluminium; it only says which modes are likely.")
    return out


def _findings(build: Build, modes: Tapped, material: str) -> Iterator[Finding]:
    """What the user must know besides."""
    yield from _mass(build, modes, material)
    if modes.swapped:
        text = "The recordings seem to be swapped: what was struck inward rings like a rim struck sideways."
        yield Finding(
            "caution", "swapped", text, "Give the one tapped inward as the radial one, the other as the lateral one."
        )
    elif modes.doubtful:
        text = "Few of what rings are modes of such a rim; another thing might ring so."
        remedy = "Record again: more taps, a quiet room, the phone a hand's breadth from the rim."
        yield Finding("caution", "doubtful-rim", text, remedy)
    yield from _untold(modes)
    missing = modes.missing()
    if missing:
        where = several([f"{each.kind} with {each.waves} waves (about {each.hz:.0f} Hz)" for each in missing])
        yield Finding(
            "note",
            "modes-missing",
            f"Not heard: {where}. Nothing was guessed for {'it' if len(missing) == 1 else 'them'}.",
            "",
        )
    if modes.steady.size:
        tones = ", ".join(f"{hz:.1f}" for hz in modes.steady[:6])
        yield Finding("note", "steady-tones", f"Sounding all the time, so no modes: {tones} Hz.", "")
    few = [STRUCK[kind] for kind, each in modes.recordings.items() if each.taps.size < FEW_TAPS]
    if few:
        yield Finding(
            "note",
            "few-taps",
            f"Under {FEW_TAPS} taps were heard {several(few)}.",
            "Tap five times or more, two seconds apart.",
        )


def _untold(modes: Tapped) -> Iterator[Finding]:
    names = [name for name, told in zip(NAMES, modes.told, strict=True) if not told]
    if not names:
        return
    absent = [kind for kind in STRUCK if kind not in modes.recordings]
    text = f"Not told, since too few of its modes were heard: {several(names)}."
    if absent:
        remedy = f"Record the rim tapped {STRUCK[absent[0]]} as well (--{absent[0]})."
    else:
        remedy = (
            "Record again with more taps, at several places, the phone near the rim: phones hear badly below 100 Hz."
        )
    yield Finding("caution", "not-told", text, remedy)


def _mass(build: Build, modes: Tapped, material: str) -> Iterator[Finding]:
    """The mass against the walls that the modes leave for it: their shape is known without the mass.

    Raises
    ------
    InputError
        If no rim has such walls.
    """
    section, rim = build.rim.section, modes.rim
    stiff = modes.fit.stiffness
    depth = section.depth or DEEP * float(rim.gyration(stiff.in_plane))
    width = section.width or WIDE * float(rim.gyration(stiff.out_of_plane))
    area = rim.mass / (material_of(material).density * 2 * math.pi * rim.radius)
    wall = area / (2 * (width + depth))
    nearer = MEASURED if section.width and section.depth else 1.0
    low, high = WALLS[material][0] * nearer, WALLS[material][1] / nearer
    if low <= wall <= high or not (modes.told.in_plane and modes.told.out_of_plane):
        return
    size = f"a rim about {width:.0f} mm wide and {depth:.0f} mm deep"
    text = (
        f"{rim.mass:g} g makes walls of {wall:.2f} mm for {size}, {low:.1f} to {high:.1f} mm are usual for {material}"
    )
    if not low / NO_RIM <= wall <= high * NO_RIM:
        raise InputError(MASS, f"found {text}; weigh the bare rim again, in g, and check its diameter")
    yield Finding(
        "caution",
        "mass-doubtful",
        f"{text[0].upper()}{text[1:]}.",
        "Weigh the bare rim again, without tape, tyre and nipples.",
    )
