"""Of `fit`: what a wheel or fork of another size does to the bike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any

from wheelcalc.answers.fitting.chain import CHAINSTAY_UNKNOWN
from wheelcalc.bike import geometry
from wheelcalc.bike.clearances import tight_tyre
from wheelcalc.bike.ends import Outcomes, Unchecked, unknown
from wheelcalc.bike.frame_points import BAR_ABOVE_BRACKET, BAR_AHEAD_OF_BRACKET, SADDLE_FROM_BRACKET, Moves, moves
from wheelcalc.bike.geometry import Bike, Stance
from wheelcalc.bike.toe import swept_toe_room
from wheelcalc.build.whole import Build
from wheelcalc.page.blocks import Brief
from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.findings import Finding

LARGEST_ROTOR = 223.0  # mm, C: the largest that is sold for a bicycle
TYRE_UNKNOWN = 40.0  # mm, C: a wide road tyre, for the toe's room only; 10 either way move that by 1 or 2
PEDAL_THICKNESS = 25.0  # C: of a plain pedal
WHEELS = ("front", "rear")
CHANGEABLE = ("fork_length", "fork_offset", "crank_length")
# What [geometry.new] may not name: it follows from the rest.
FOLLOWS = ("head_angle", "seat_angle", "wheelbase", "bracket_height")


@dataclass(frozen=True)
class Geometry:
    """The bike before and after; `after` is None where nothing changes.

    Parameters
    ----------
    bikes : before and after
    before, after : how each stands
    stack_change, reach_change : of the crown [mm], None where unknown
    moves : what the rider meets of bars, saddle and top tube; None where nothing changes or the bracket is unknown
    swept_toe_rooms : before and after, pedal's middle forward to the arc of the turned front tyre [mm], None where unknown
    """

    bikes: tuple[Bike, Bike | None]
    before: Stance
    after: Stance | None
    stack_change: float | None
    reach_change: float | None
    swept_toe_rooms: tuple[float | None, float | None]
    moves: Moves | None = None

    def as_json(self) -> dict[str, Any]:
        """Return before and after, and what moved."""
        before, after = self.swept_toe_rooms
        return {
            "before": {**vars(self.before), "swept_toe_room_mm": before},
            "after": None if self.after is None else {**vars(self.after), "swept_toe_room_mm": after},
            "stack_change_mm": self.stack_change,
            "reach_change_mm": self.reach_change,
            "moves": None if self.moves is None else asdict(self.moves),
        }


def changes_asked(build: Build) -> bool:
    """Whether [geometry.new] says anything."""
    return any(key.startswith("geometry.new.") and build.given(key) for key in build)


def asked(build: Build) -> bool:
    """Whether the build file has a section [geometry]."""
    return any(key.startswith("geometry.") and build.given(key) for key in build)


def _diameter(build: Build, section: str, wheel: str) -> float | None:
    """Diameter of a wheel with its tyre [mm]: measured, else by the marks of rim and tyre, else None."""
    key = f"{section}.wheel_diameter.{wheel}"
    if key in build:
        return build.number(key)
    bead, width = (_mark(build, section, name, wheel) for name in ("bead_seat_diameter", "tyre_width"))
    begun = any(f"{section}.{name}.{wheel}" in build for name in ("bead_seat_diameter", "tyre_width"))
    return geometry.tyre_diameter(bead, width) if begun and bead is not None and width is not None else None


def _mark(build: Build, section: str, name: str, wheel: str) -> float | None:
    """A number of the tyre's mark; a new wheel keeps what does not change."""
    for key in (f"{section}.{name}.{wheel}", f"geometry.{name}.{wheel}"):
        if key in build:
            return build.number(key)
    return None


def missing(build: Build) -> tuple[str, ...]:
    """Return the keys that the geometry lacks."""
    sizes = [f"geometry.wheel_diameter.{wheel}" for wheel in WHEELS if _diameter(build, "geometry", wheel) is None]
    return (*unknown(build, "geometry.head_angle", "geometry.wheelbase", "geometry.fork_offset"), *sizes)


def geometry_of(build: Build) -> Geometry | None:
    """Return the bike before and after; None where [geometry] is absent or incomplete.

    Raises
    ------
    InputError
        If a dimension is no bicycle's, or [geometry.new] names what follows from the rest.
    """
    if not asked(build):
        return None
    for name in FOLLOWS:
        if f"geometry.new.{name}" in build:
            raise InputError(
                f"geometry.new.{name}",
                "follows from the rest; write there what you change: wheel_diameter, fork_length, fork_offset or crank_length",
            )
    if missing(build):
        return None
    with under("geometry"):
        before = _bike(build)
        after = geometry.changed(before, **_new(build)) if changes_asked(build) else None
        swept = (_swept(build, before, "geometry"), None if after is None else _swept(build, after, "geometry.new"))
    return replace(_joined(before, after, swept), moves=_moves(build, before, after))


def _moves(build: Build, before: Bike, after: Bike | None) -> Moves | None:
    if after is None or before.bracket_height is None:
        return None
    read = build.geometry
    above = BAR_ABOVE_BRACKET if read.bar_height is None else read.bar_height - before.bracket_height
    bar = (BAR_AHEAD_OF_BRACKET if read.bar_ahead is None else read.bar_ahead, above)
    return moves(before, after, bar, read.saddle_height or SADDLE_FROM_BRACKET)


def _swept(build: Build, bike: Bike, section: str) -> float | None:
    """Toe room of the turned wheel [mm], None where the pedal's place is unknown."""
    if "geometry.pedal_middle" not in build:
        return None
    width = _mark(build, section, "tyre_width", "front")
    width = width or build.clearance.tyre_width or TYRE_UNKNOWN
    return swept_toe_room(bike, build.geometry.pedal_middle, width)


def _bike(build: Build) -> Bike:
    front, rear = (_diameter(build, "geometry", wheel) for wheel in WHEELS)
    given = build.values_below("geometry")
    height = given.get("bracket_height")
    return Bike(
        head_angle_deg=build.geometry.head_angle,
        seat_angle_deg=given.get("seat_angle"),
        wheelbase=build.geometry.wheelbase,
        fork_offset=build.geometry.fork_offset,
        fork_length=given.get("fork_length"),
        front_diameter=float(front or 0.0),
        rear_diameter=float(rear or 0.0),
        bracket_height=height,
        crank_length=given.get("crank_length"),
        chainstay=None if height is None else build.frame.chainstay or CHAINSTAY_UNKNOWN,
    )


def _new(build: Build) -> dict[str, float]:
    new = {name: build.value(f"geometry.new.{name}") for name in CHANGEABLE}
    new |= {f"{wheel}_diameter": _diameter(build, "geometry.new", wheel) for wheel in WHEELS}
    return {name: float(value) for name, value in new.items() if value is not None}


def _joined(before: Bike, after: Bike | None, swept: tuple[float | None, float | None]) -> Geometry:
    stack = reach = None
    if after is not None:
        here, there = (geometry.stack_and_reach(bike) for bike in (before, after))
        if here and there:
            stack, reach = there[0] - here[0], there[1] - here[1]
    return Geometry(
        bikes=(before, after),
        before=geometry.stance(before),
        after=None if after is None else geometry.stance(after),
        stack_change=stack,
        reach_change=reach,
        swept_toe_rooms=swept,
    )


def assumptions(build: Build, change: Geometry | None) -> list[str]:
    """Say what was taken for the geometry."""
    if change is None:
        return []
    said: list[str] = []
    if change.bikes[0].chainstay is not None and "frame.chainstay" not in build:
        said.append(
            f"frame.chainstay is not given: {CHAINSTAY_UNKNOWN:g} mm taken to turn the bracket (410 to 450 are usual)."
        )
    if any(f"geometry.wheel_diameter.{wheel}" not in build for wheel in WHEELS):
        said.append(
            Brief(
                "Wheels by their marks: bead seat and twice the tyre's width, unloaded; a measured, loaded diameter is better.",
                "Wheel sizes are those of their marks; a measured, loaded diameter is better.",
            )
        )
    if change.after is not None:
        said.append(Brief("The frame is taken as rigid and turns as one about the wheels' contact with the ground."))
        said += _bars_unknown(build, change)
        said += _rotor_clear(build)
    return said


def _bars_unknown(build: Build, change: Geometry) -> list[str]:
    if (
        change.moves is None
        or not change.moves.turn_deg
        or None not in (build.geometry.bar_height, build.geometry.bar_ahead)
    ):
        return []
    where = f"{BAR_ABOVE_BRACKET:g} mm above and {BAR_AHEAD_OF_BRACKET:g} mm ahead of the bracket"
    return [Brief(f"The bars are {where} where geometry.bar_height and geometry.bar_ahead do not say it.")]


def _rotor_clear(build: Build) -> list[str]:
    """Say how far the new tyre stays outside the largest rotor; a wheel of another size moves neither rotor nor calliper."""
    bead = _mark(build, "geometry.new", "bead_seat_diameter", build.position)
    if build.frame.brake != "disc" or bead is None:
        return []
    clear, rotor = (bead - LARGEST_ROTOR) / 2, f"a rotor of {LARGEST_ROTOR:g} mm, the largest"
    return [f"A disc brake stays where it is; between the new tyre's bead and {rotor}, {clear:.0f} mm stay."]


def findings(build: Build, change: Geometry | None) -> Outcomes:
    """Judge what changes, and what the bike is after it."""
    if asked(build) and change is None:
        yield Unchecked("what another wheel or fork does to the bike", missing(build))
    if change is None:
        return
    yield from _ground(build, change.after or change.before)
    yield from _toe(build, change)
    if change.after is None:
        return
    yield from _steering(build, change.before, change.after)
    yield from _bracket(build, change.before, change.after)
    yield from _fork(build)
    yield from _brake_reach(build)
    yield from _new_tyre(build, change)


def _ground(build: Build, after: Stance) -> Outcomes:
    height = after.pedal_height_mm
    if height is None:
        yield Unchecked(
            "whether the pedals clear the ground", unknown(build, "geometry.bracket_height", "geometry.crank_length")
        )
        return
    thick = build.geometry.pedal_thickness or PEDAL_THICKNESS
    if height - thick / 2 <= 0:
        yield Finding(
            "stop",
            "pedal-on-ground",
            f"The middle of the lower pedal would be {height:.0f} mm above the ground: the pedal strikes it.",
            "Take shorter cranks, or larger wheels.",
        )
        return
    if "geometry.pedal_reach" not in build:
        yield Unchecked("how far the bike leans before a pedal strikes", ("geometry.pedal_reach",))
        return
    tyre = build.clearance.tyre_width or 0.0  # unknown: a thin one, the safe side
    with under("geometry"):
        lean = geometry.lean_angle_deg(height - thick / 2, build.geometry.pedal_reach, tyre)
    least = build.limits.pedal_lean_caution
    if lean < least:
        yield Finding(
            "caution",
            "pedal-strikes",
            f"A pedal strikes the ground when the bike leans {lean:.0f} degrees; the rule asks for {least:g} (16 CFR 1512.17).",
            "Take shorter cranks or thinner pedals, and do not pedal through bends.",
        )


def _toe(build: Build, change: Geometry) -> Iterator[Finding]:
    straight = (change.after or change.before).toe_room_mm
    swept = change.swept_toe_rooms[0 if change.after is None else 1]
    room, least = straight if swept is None else swept, build.limits.toe_gap_caution
    if room is None or room >= least:
        return
    where, more = f"to the turned front tyre there are {room:.0f} mm", "."
    if swept is None:
        where = f"to the front tyre there are {room:.0f} mm with the wheel straight"
        more = ". It measures to the arc of the turned tyre, commonly a little more: geometry.pedal_middle gives that."
    yield Finding(
        "caution",
        "toe-overlap",
        f"From the pedal's middle forward {where}; the rule asks for {least:g} (16 CFR 1512.17){more}",
        "The toe touches the turned wheel in slow bends: shorter cranks, a smaller front wheel, or ride knowing it.",
    )


def _steering(build: Build, before: Stance, after: Stance) -> Iterator[Finding]:
    if after.trail_mm <= 0:
        yield Finding(
            "stop",
            "trail-negative",
            f"The trail would be {after.trail_mm:.0f} mm: the front wheel no longer follows, it turns away by itself.",
            "Take a fork of less offset, or keep the wheels and fork as they are.",
        )
        return
    turned = after.head_angle_deg - before.head_angle_deg
    moved = after.trail_mm - before.trail_mm
    angle, trail = build.limits.head_angle_change_caution, build.limits.trail_change_caution
    if abs(turned) > angle or abs(moved) > trail:
        yield Finding(
            "caution",
            "steering-changed",
            f"The head angle gets {abs(turned):.1f} degrees {'steeper' if turned > 0 else 'slacker'} and the trail {abs(moved):.0f} mm "
            f"{'longer' if moved > 0 else 'shorter'}: the bike steers {'more slowly' if moved > 0 else 'more nervously'} than before.",
            "Try it where there is no traffic, without luggage first.",
        )


def _bracket(build: Build, before: Stance, after: Stance) -> Iterator[Finding]:
    if before.bracket_height_mm is None or after.bracket_height_mm is None:
        return
    lower = before.bracket_height_mm - after.bracket_height_mm
    if lower > build.limits.bracket_change_caution:
        yield Finding(
            "caution",
            "bracket-lower",
            f"The bracket comes {lower:.0f} mm lower, to {after.bracket_height_mm:.0f} mm: pedals strike sooner in bends and on kerbs.",
            "Shorter cranks give it back.",
        )


def _fork_longer(build: Build) -> float:
    """How much further the new fork's crown is from the axle [mm]."""
    if unknown(build, "geometry.fork_length", "geometry.new.fork_length"):
        return 0.0
    return build.geometry.new.fork_length - build.geometry.fork_length


def _fork(build: Build) -> Iterator[Finding]:
    longer = _fork_longer(build)
    if longer > build.limits.fork_longer_caution:
        yield Finding(
            "caution",
            "fork-longer",
            f"The fork is {longer:.0f} mm longer than the frame had: it pulls harder on the head tube.",
            "Ask the frame's maker for the longest fork allowed; without an answer keep to the old length.",
        )


def _brake_reach(build: Build) -> Outcomes:
    """Rim brake of this build's wheel on a rim of another bead seat, or in the crown of another fork."""
    wheel = build.position
    keys = (f"geometry.bead_seat_diameter.{wheel}", f"geometry.new.bead_seat_diameter.{wheel}")
    if build.frame.brake != "rim":
        return
    resized = any(key.startswith("geometry.new.") and key.endswith(f".{wheel}") for key in build)
    lacking = unknown(build, *keys)
    if lacking and resized:
        yield Unchecked("whether the rim brake still reaches the rim", lacking)
        return
    change = _fork_longer(build) if wheel == "front" else 0.0
    change += geometry.brake_reach_change(*(build.number(key) for key in keys)) if resized else 0.0
    if not change:
        return
    what = (
        f"The brake track moves {abs(change):.1f} mm {'further from' if change > 0 else 'nearer to'} the brake's bolt"
    )
    if "clearance.brake_reach" not in build:
        lacking = unknown(build, "clearance.brake_reach", "clearance.reach_now")
        yield Unchecked(f"whether the brake reaches the rim (the track moves {change:+.1f} mm)", lacking)
        return
    reach = build.clearance.brake_reach
    if len(reach) != 2:
        raise InputError("clearance.brake_reach", f"found {len(reach)} lengths; write [least, most]")
    with under("clearance"):
        yield from within_reach(build, (reach[0], reach[1]), change, what)


def within_reach(build: Build, reach: tuple[float, float], change: float, what: str) -> Outcomes:
    """Judge a rim brake of this reach, (least, most), whose track moves by `change`, + further away [mm]."""
    now = build.clearance.reach_now
    serves = geometry.reach_now_that_serves(change, reach)
    if now is None and serves is not None:
        yield Unchecked(
            f"whether the brake reaches the rim: it does where it is now set to {serves[0]:g} to {serves[1]:g} mm",
            ("clearance.reach_now",),
        )
        return
    has = f"the brake has {reach[0]:g} to {reach[1]:g} mm"
    if now is None:
        text = f"{what}, more than its whole range: {has}."
        yield Finding("stop", "brake-reach", text, "Take a brake of another reach, or keep the old rim size.")
        return
    needed = float(now) + change
    misfit = geometry.reach_misfit(needed, reach)
    if misfit:
        yield Finding(
            "stop",
            "brake-reach",
            f"{what}: {needed:.1f} mm of reach are needed, {has}, {abs(misfit):.1f} mm too {'short' if misfit > 0 else 'long'}.",
            f"Take a brake that reaches {needed:.0f} mm, or keep the old rim size.",
        )


def _new_tyre(build: Build, change: Geometry) -> Outcomes:
    """Gap of this build's wheel after it changed its size."""
    wheel = build.position
    before, after = change.bikes
    if after is None:
        return
    sizes = (
        (before.front_diameter, after.front_diameter)
        if wheel == "front"
        else (before.rear_diameter, after.rear_diameter)
    )
    widths = [build.value(f"{section}.tyre_width.{wheel}") for section in ("geometry", "geometry.new")]
    under_crown = min(0.0, _fork_longer(build)) if wheel == "front" else 0.0
    larger = min(0.0, geometry.gap_change(*sizes) + under_crown)
    if None not in widths:
        larger = min(larger, geometry.gap_change(float(widths[0]), float(widths[1])))
    if not larger:
        return
    if "clearance.tyre_gap" not in build:
        yield Unchecked(
            f"whether the tyre still clears frame or fork ({-larger:.1f} mm less gap)", ("clearance.tyre_gap",)
        )
        return
    yield from tight_tyre(build, build.clearance.tyre_gap + larger, "With the new wheel the")
