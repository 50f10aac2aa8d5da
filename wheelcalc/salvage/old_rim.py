"""Is the old rim worth new spokes: sorted by what eye, calliper and a flat table say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding

MOST_WAYS = 4
# A plane and two waves are five unknowns: fewer gaps than these give only their largest one.
FEWEST_GAPS = 5


@dataclass(frozen=True)
class OldRim:
    """What was read off a bare rim; None where nobody looked.

    Parameters
    ----------
    diameters : over its outside, two to four ways [mm]
    gaps : over a flat table, rim hole -> gap [mm]
    flat_gap : the largest of them [mm]
    brake_wall : where the brake track is thinnest [mm]
    cracks, bulges : whether there are any
    braked : whether rim brakes rub on it
    """

    diameters: tuple[float, ...] = ()
    gaps: Mapping[int, float] | None = None
    flat_gap: float | None = None
    brake_wall: float | None = None
    cracks: bool | None = None
    bulges: bool | None = None
    braked: bool = True

    def __post_init__(self) -> None:
        if self.diameters and not 2 <= len(self.diameters) <= MOST_WAYS:
            text = f"found {len(self.diameters)}; measure the outside across 2 to {MOST_WAYS} ways, spread evenly"
            raise InputError("diameters", text)

    @property
    def out_of_round(self) -> float | None:
        """Widest less narrowest diameter [mm]."""
        return max(self.diameters) - min(self.diameters) if self.diameters else None

    @property
    def widest_gap(self) -> float | None:
        """Largest gap over the table [mm]."""
        each = [*(self.gaps or {}).values(), *([] if self.flat_gap is None else [self.flat_gap])]
        return max(each, default=None)


def gaps_of(pairs: Sequence[object], holes: int | None) -> dict[int, float]:
    """Read [[rim_hole, gap], ...] as rim hole -> gap.

    Raises
    ------
    InputError
        If an entry is none, a hole does not exist or comes twice, or a gap is negative.
    """
    out: dict[int, float] = {}
    for pair in pairs:
        if not (isinstance(pair, list | tuple) and len(pair) == 2 and all(_is_number(each) for each in pair)):
            raise InputError("flat", "write pairs of rim hole and gap in mm, such as [[1, 0], [7, 0.6], [13, 0.8]]")
        hole, gap = int(pair[0]), float(pair[1])
        if hole != pair[0] or hole < 1 or (holes is not None and hole > holes):
            most = f"1 to {holes}" if holes is not None else "1 and up"
            raise InputError("flat", f"found rim hole {pair[0]:g}; the rim's holes are {most}")
        if hole in out:
            raise InputError("flat", f"found rim hole {hole} twice; write each once")
        if not 0 <= gap <= 100:
            raise InputError("flat", f"found a gap of {gap:g} mm at rim hole {hole}; it is 0 to 100 mm")
        out[hole] = gap
    return out


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def sort(rim: OldRim, limits: Mapping[str, float]) -> list[Finding]:
    """Return what speaks against a rim; limits by their names."""
    return [*_broken(rim), *_brake_wall(rim, limits), *_shape(rim, limits), *_not_looked(rim)]


def verdict(findings: Sequence[Finding]) -> str:
    """Sort a rim: "use", "use with care" or "do not use"."""
    levels = {finding.level for finding in findings}
    return "do not use" if "stop" in levels else "use with care" if "caution" in levels else "use"


def _broken(rim: OldRim) -> Iterator[Finding]:
    if rim.cracks:
        yield Finding(
            "stop",
            "rim-cracks",
            "The rim is cracked: cracks grow with every turn, and spokes pull through or the rim opens.",
            "Do not build on it.",
        )
    if rim.bulges:
        yield Finding(
            "stop",
            "rim-bulges",
            "The rim bulges: its side wall has given way, by a blow or by wear, and the tyre's pressure opens it.",
            "Do not build on it.",
        )


def _brake_wall(rim: OldRim, limits: Mapping[str, float]) -> Iterator[Finding]:
    wall = rim.brake_wall
    if wall is None or not rim.braked:
        return
    if wall < limits["brake_wall_stop"]:
        yield Finding(
            "stop",
            "brake-wall-thin",
            f"The brake track's wall is worn to {wall:g} mm (under {limits['brake_wall_stop']:g}): it bursts under tyre and brake.",
            "Do not build on it for rim brakes.",
        )
    elif wall < limits["brake_wall_caution"]:
        yield Finding(
            "caution",
            "brake-wall-thin",
            f"The brake track's wall is down to {wall:g} mm (under {limits['brake_wall_caution']:g}): little is left to brake away.",
            "Build it for light use and look at the wall every season, or for a wheel without rim brake.",
        )


def _shape(rim: OldRim, limits: Mapping[str, float]) -> Iterator[Finding]:
    shapes = (
        ("out_of_round", rim.out_of_round, "out of round", "its diameters differ by"),
        ("flat_gap", rim.widest_gap, "not flat", "on a flat table it gapes by"),
    )
    for name, value, what, how in shapes:
        if value is None:
            continue
        for level, word in (
            ("stop", "spokes cannot pull that straight"),
            ("caution", "it takes uneven tension to run true"),
        ):
            limit = limits[f"{name}_{level}"]
            if value > limit:
                remedy = (
                    "Do not build on it."
                    if level == "stop"
                    else "See what the forecast says before you order spokes for it."
                )
                text = f"The bare rim is {what}: {how} {value:.1f} mm (over {limit:g}); {word}."
                yield Finding("stop" if level == "stop" else "caution", f"rim-{name.replace('_', '-')}", text, remedy)
                break


def _not_looked(rim: OldRim) -> Iterator[Finding]:
    asked = [word for word, seen in (("cracks", rim.cracks), ("bulges", rim.bulges)) if seen is None]
    if rim.braked and rim.brake_wall is None:
        asked.append("brake_wall")
    if asked:
        yield Finding(
            "caution",
            "rim-not-looked-at",
            f"Not looked at yet: {', '.join(asked)}. Until then nobody can say that the rim is sound.",
            "`wheelcalc measure --how old_rim` says how; write it into [old_rim].",
        )
