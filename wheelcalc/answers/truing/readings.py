"""Of `true`: the readings of every pass as arrays, and the wheel's model at their tensions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from wheelcalc.arrays import Bools, Floats, Ints
from wheelcalc.build.whole import Build
from wheelcalc.files.readings import RimReadings
from wheelcalc.joined.at_tensions import AtTensions, at_tensions, structure_of
from wheelcalc.joined.section import section_for_truing
from wheelcalc.tension.structure import Structure
from wheelcalc.truing.agreement import strays
from wheelcalc.truing.doubtful import doubtful, first_unsure
from wheelcalc.truing.evidence import Reader
from wheelcalc.truing.model import Model
from wheelcalc.truing.table import Table
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES
from wheelcalc.wheel.wheel import Wheel

if TYPE_CHECKING:
    from wheelcalc.answers.truing.pitches import FromPitches

STIFFER = (1.0, 1.25, 1.6, 2.0, 3.0)  # times the rim's stiffness, until the wheel stands
OTHER_SPOKE = 0.15  # of the tension, C: by which spokes of a side differ, so that a pluck of another one is off
OTHER_WIRE = 0.08  # ours, of the mean tension of a side: what a meter's tables for two wires differ by
STIFFNESSES = ("inertia_in_plane", "inertia_out_of_plane", "torsion_constant")


@dataclass(frozen=True, eq=False)
class Unsure:
    """Plucks that do not count, since it is doubtful whose spoke sounded.

    Parameters
    ----------
    rim_holes : of all of them
    from_hole : side of which none counts -> rim hole from which on its plucks are not sure
    """

    rim_holes: Sequence[int]
    from_hole: Mapping[str, int]

    @property
    def starts(self) -> str:
        """From where to pluck again, in words; empty where no side is left out."""
        return " and ".join(f"rim hole {hole}" for hole in self.from_hole.values())


class Stray(NamedTuple):
    """A reading that no wheel has beside the others, and that is not counted: "lateral", "radial" or "tension", rim hole, value [mm, N]."""

    column: str
    rim_hole: int
    value: float


@dataclass(frozen=True, eq=False)
class PassReadings:
    """Readings of a pass as arrays, nan where nothing was read.

    Parameters
    ----------
    lateral, radial : at every rim hole, (m,) [mm]
    tensions : of every spoke, (n,) [N]
    sigma : standard uncertainty of each tension, (n,) [N]; nan: that of a tension meter
    turned : turns made after these readings, (n,); None where the file does not say
    heard : what pitches gave, None where no pitch was read
    read : the file
    unsure : what was heard and does not count
    strays : readings that no wheel has, not among the arrays
    """

    lateral: Floats
    radial: Floats
    tensions: Floats
    sigma: Floats
    turned: Floats | None
    heard: FromPitches | None
    read: RimReadings
    unsure: Unsure
    strays: Sequence[Stray]

    def means(self, wheel: Wheel) -> dict[str, float]:
        """Mean tension of each side of which any was read [N]."""
        return side_means(wheel, self.tensions)

    @property
    def table(self) -> Table:
        """The readings as the estimate wants them; nothing turned where the file does not say."""
        n = len(self.tensions)
        shared = self.heard.shared if self.heard else np.zeros((0, n))
        turned = np.zeros(n) if self.turned is None else self.turned
        return Table(self.lateral, self.radial, self.tensions, self.sigma, shared, turned)


def side_means(wheel: Wheel, tensions: Floats) -> dict[str, float]:
    """Mean of each side of which any tension was read [N]."""
    read = {side: wheel.lacing.on(side) & np.isfinite(tensions) for side in SIDES}
    return {side: float(tensions[mask].mean()) for side, mask in read.items() if mask.any()}


def pass_readings(build: Build, wheel: Wheel, read: RimReadings) -> PassReadings:
    """Readings of a pass as arrays.

    Raises
    ------
    InputError
        If a tension, pitch or turn stands at a rim hole without a spoke, or a pitch cannot be.
    """
    holes, spoke_at = wheel.rim.holes, {int(hole): i for i, hole in enumerate(wheel.lacing.rim_hole)}

    def at_holes(column: str) -> Floats:
        out = np.full(holes, np.nan)
        for hole, value in read.of(column).items():
            out[hole - 1] = value
        return out

    def at_spokes(column: str) -> Floats:
        out = np.full(len(wheel.lacing), np.nan)
        for hole, value in read.of(column).items():
            if hole in spoke_at:
                out[spoke_at[hole]] = value
            elif value or column != "turned":
                raise read.error(hole, column, f"rim hole {hole} has no spoke; leave the cell empty")
        return out

    tensions, sigma, pitch = (at_spokes(column) for column in ("tension_N", "tension_sigma_N", "pitch_hz"))
    heard = None
    if np.isfinite(pitch).any():
        from wheelcalc.answers.truing.pitches import from_pitches  # noqa: PLC0415 - only where pitches were read

        heard = from_pitches(build, wheel, pitch, at_tensions(build, wheel).structure, section_for_truing(build)[0])
        tensions = np.where(np.isfinite(pitch), heard.tensions, tensions)
        sigma = np.fmax(heard.sigma, sigma)
    tensions, no_tension = _without_tight_strays(build, wheel, tensions)
    assigned = np.where(np.isfinite(tensions), at_spokes("assigned"), np.nan)
    tensions, sigma, unsure = _assigned(wheel, tensions, sigma, assigned)
    turned = np.nan_to_num(at_spokes("turned")) if read.of("turned") else None
    lateral, no_lateral = _without_strays(build, "lateral", at_holes("lateral_mm"))
    radial, no_radial = _without_strays(build, "radial", at_holes("radial_mm"))
    gone = [*no_lateral, *no_radial, *no_tension]
    return PassReadings(lateral, radial, tensions, sigma, turned, heard, read, unsure, gone)


def _without_strays(build: Build, name: str, column: Floats) -> tuple[Floats, list[Stray]]:
    """Lateral or radial without readings that no wheel has, and these."""
    holes = np.arange(1, len(column) + 1)
    far = strays(column, build.limits.named(f"{name}_reading"), _kept(build, name, holes))
    return _apart(name, holes, column, far)


def _without_tight_strays(build: Build, wheel: Wheel, tensions: Floats) -> tuple[Floats, list[Stray]]:
    """Tensions without those that no spoke of its side has, and these; slack spokes are real."""
    holes, far = wheel.lacing.rim_hole, np.zeros(len(tensions), dtype=bool)
    for side in SIDES:
        on = wheel.lacing.on(side)
        if np.isfinite(tensions[on]).any():
            usual = float(np.nanmedian(tensions[on]))
            most = (build.limits.tension_reading - 1) * usual
            far[on] = strays(np.maximum(tensions[on], usual), most, _kept(build, "tension", holes[on]))
    return _apart("tension", holes, tensions, far)


def _apart(name: str, holes: Ints, column: Floats, far: Bools) -> tuple[Floats, list[Stray]]:
    """A column without the readings that lie far off, and these by their rim holes."""
    strayed = [Stray(name, int(holes[i]), float(column[i])) for i in np.flatnonzero(far)]
    return np.where(far, np.nan, column), strayed


def _kept(build: Build, name: str, holes: Ints) -> Bools:
    """At which of some rim holes a column's reading was read again and is right."""
    return np.isin(holes, [each["rim_hole"] for each in build.truing.keep if each["column"] == name])


def _assigned(wheel: Wheel, tensions: Floats, sigma: Floats, assigned: Floats) -> tuple[Floats, Floats, Unsure]:
    """Tensions that count, less sure where a pluck's spoke is not certain, and what does not count."""
    holes, masks = wheel.lacing.rim_hole, {side: wheel.lacing.on(side) for side in SIDES}
    left_out, whole = doubtful(assigned, masks.values())
    again = {
        side: int(holes[first_unsure(assigned, masks[side])]) for side, each in zip(SIDES, whole, strict=True) if each
    }
    doubt = np.sqrt(1 - np.nan_to_num(assigned, nan=1.0)) * OTHER_SPOKE * tensions
    wider = np.where(doubt > 0, np.hypot(sigma, doubt), sigma)
    return np.where(left_out, np.nan, tensions), wider, Unsure(holes[left_out].tolist(), again)


def reader_of(build: Build, wheel: Wheel, *, own_plane: bool) -> Reader:
    """Who reads, as far as the build file says."""
    usual, spoke_at = build.truing.reading_error, {int(hole): i for i, hole in enumerate(wheel.lacing.rim_hole)}
    places = {"lateral": 0, "radial": wheel.rim.holes}
    keep = {
        2 * wheel.rim.holes + spoke_at[each["rim_hole"]]
        if each["column"] == "tension"
        else places[each["column"]] + each["rim_hole"] - 1
        for each in build.truing.keep
        if each["rim_hole"] <= wheel.rim.holes and (each["column"] != "tension" or each["rim_hole"] in spoke_at)
    }
    side = 0.0 if wheel.wire("left") == wheel.wire("right") else OTHER_WIRE
    return Reader(usual.lateral, usual.radial, usual.tension / 100, side, own_plane, frozenset(keep))


@dataclass
class Maker:
    """Makes the wheel's linear model at the tensions of readings; each is made once.

    Parameters
    ----------
    ready : all that planning needs
    """

    ready: AtTensions
    made: dict[tuple[float, ...], Model] = field(default_factory=dict)

    def __call__(self, tables: Sequence[Table], give: float = 1.0, stiffness: float = 1.0) -> Model:
        """The model at the tensions of the newest table that has any.

        Parameters
        ----------
        tables : oldest first
        give, stiffness : factors on what is believed of the ends' give and the rim's stiffnesses
        """
        wheel = self.ready.wheel
        means = next((of_sides for each in reversed(tables) if (of_sides := side_means(wheel, each.tensions))), {})
        key = (*(round(means.get(side, 0.0), 1) for side in SIDES), give, stiffness)
        if key not in self.made:
            structure = structure_of(self.ready, means) if means else self.ready.structure
            self.made[key] = self._standing(structure, give, stiffness)
        return self.made[key]

    def _standing(self, structure: Structure, give: float, stiffness: float) -> Model:
        """The model with a rim no softer than this: the wheel was read, so its tensions do not buckle it."""
        right = self.ready.wheel.lacing.is_right
        for factor in STIFFER:
            model = Model(_other(structure, give, factor * stiffness), right)
            with suppress(InputError):
                model.by_spoke  # noqa: B018 - solves the wheel
                return model
        return model


def _other(structure: Structure, give: float, stiffness: float) -> Structure:
    section = structure.section
    scaled: Mapping[str, float] = {name: stiffness * getattr(section, name) for name in STIFFNESSES}
    return replace(structure, section=replace(section, **scaled), end_give=give * np.asarray(structure.end_give))
