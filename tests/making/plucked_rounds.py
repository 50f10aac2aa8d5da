"""Whole rounds: a wheel with its build file, a person who plucks it with his habits and slips, a recording, and the truth.

Geometry (free lengths, crossings, balance of the sides) is taken from the library; the sound is not.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.making import formula_plucks, grid_plucks, wheel_plucks
from tests.making.rooms_and_phones import Hearing, any_hearing, heard

RATE = 48_000
SECONDS, GRID_SECONDS = 1.1, 0.75

FLANGE = {"pcd": 45, "hole_diameter": 2.5}


def _build(
    holes: int, crosses: Any, erd: float, flanges: tuple[float, float], wire: str, over: float = 131
) -> dict[str, Any]:
    return {
        "title": f"{holes} holes, {crosses} crosses",
        "rim": {"holes": holes, "erd": erd, "erd_to": "spoke end", "bead_seat_diameter": 622},
        "hub": {
            "over_locknut": over,
            "left": {**FLANGE, "holes": holes // 2, "locknut_to_flange": flanges[0]},
            "right": {**FLANGE, "holes": holes // 2, "locknut_to_flange": flanges[1]},
        },
        "lacing": {"crosses": crosses},
        "spokes": {"wire": wire},
        "nipple": {"length": 12},
    }


BUILDS = {
    "rear 36": _build(36, 3, 602.5, (31, 46.5), "2.0/1.8/2.0"),
    "even 36": _build(36, 3, 598, (33, 33), "2.0", 101),
    "even 32": _build(32, 3, 591, (34, 34), "2.0/1.8/2.0", 100),
    "disc 32": _build(32, 3, 588, (38, 31), "1.8", 100.5),
    "radial 28": _build(28, 0, 585, (33, 33), "2.0/1.8/2.0", 101),
    "two side 24": _build(24, {"left": 0, "right": 2}, 570, (29, 47), "2.0/1.8/2.0"),
    "small 20": _build(20, 0, 342, (25, 25), "2.0", 75),
    "steep 28": _build(28, 2, 560, (30, 47.5), "2.0/1.5/2.0"),
}


@dataclass
class Truth:
    """One pluck: when [s], its pitch [Hz], the rim hole."""

    at: float
    pitch: float
    rim_hole: int
    again: bool = False


@dataclass
class Recorded:
    """A recording, the build file that goes with it, and what is in it; `missing` are rim holes of the round not heard."""

    sound: np.ndarray
    rate: int
    build: dict[str, Any]
    plucks: list[Truth]
    side: str
    touching: bool
    strays: list[float] = field(default_factory=list)
    missing: list[int] = field(default_factory=list)
    what: str = ""


Sounds = Callable[[list[dict[str, Any]], np.random.Generator], tuple[list[np.ndarray], list[float]]]


def by_grid(rows: list[dict[str, Any]], rng: np.random.Generator) -> tuple[list[np.ndarray], list[float]]:
    """Finite differences in time."""
    common = {
        "elbow_turn": rng.uniform(1, 40),
        "nipple_turn": rng.uniform(5, 80),
        "nipple_length": rng.uniform(3, 9),
        "elbow_spring": 10 ** rng.uniform(5.8, 6.8),
        "press": rng.uniform(2, 15),
    }
    spokes, plucks = [], []
    for row in rows:
        lengths, diameters = row["lengths"], row["diameters"]
        spokes.append(
            grid_plucks.GridSpoke(
                lengths,
                diameters,
                row["tensions"],
                row["crossing"],
                air=rng.uniform(1.5, 6),
                inner=10 ** rng.uniform(-4.2, -3.3),
                end_loss=10 ** rng.uniform(-0.5, 0.6),
                **{name: value * rng.uniform(0.9, 1.1) for name, value in common.items()},
            )
        )
        how = row["how"]
        plucks.append(
            grid_plucks.GridPluck(
                place=row["place"],
                far=rng.uniform(0.2, 1.2),
                width={"finger": rng.uniform(8, 15), "pick": 2.0, "key": 3.0}[how],
                let_go={"finger": rng.uniform(0.6, 3), "pick": 0.2, "key": 0.1}[how],
                near=rng.uniform(0.1, 0.9),
                ear=rng.uniform(0.15, 0.85),
            )
        )
    sounds, pitches = grid_plucks.plucked(spokes, plucks, GRID_SECONDS)
    out = []
    for sound, row in zip(sounds, rows, strict=True):
        t = np.arange(sound.size) / RATE
        loud = {"finger": 0.1, "pick": 0.3, "key": 0.7}[row["how"]] * rng.uniform(0, 1)
        touch = rng.normal(size=sound.size) * np.exp(-t / rng.uniform(0.001, 0.005))
        out.append(sound * np.minimum(1, (t[-1] - t) / 0.1) + loud * touch / np.abs(touch).max())
    return out, pitches.tolist()


def by_formula(rows: list[dict[str, Any]], rng: np.random.Generator) -> tuple[list[np.ndarray], list[float]]:
    """Closed formulas."""
    hold = rng.uniform(0.1, 0.95)
    sounds, pitches = [], []
    for row in rows:
        ends = row["diameters"]
        spoke = formula_plucks.FormulaSpoke(
            sum(row["lengths"]),
            ends[len(ends) // 2],
            ends[0],
            float(np.mean(row["tensions"])),
            hold * rng.uniform(0.95, 1.05),
            row["crossing"],
        )
        sounds.append(formula_plucks.plucked(spoke, row["how"], row["place"], RATE, SECONDS, rng))
        pitches.append(spoke.pitch)
    return sounds, pitches


def by_modes(rows: list[dict[str, Any]], rng: np.random.Generator) -> tuple[list[np.ndarray], list[float]]:
    """Sums of the modes of a fine grid."""
    from tests.making.pluck_synthesis import Pluck, Spoke, plucked

    hold = rng.uniform(0.05, 0.95)
    sounds, pitches = [], []
    for row in rows:
        lengths = tuple(float(max(round(each), 1)) for each in row["lengths"])
        crossing = round(row["crossing"] * sum(lengths)) if row["crossing"] else None
        spoke = Spoke(lengths, row["diameters"], row["tensions"], hold, crossing)
        how = Pluck(
            place=row["place"],
            ring=rng.uniform(0.08, 0.4),
            loss=rng.uniform(0.15, 0.5),
            sharp=rng.uniform(0, 0.005),
            second=rng.uniform(0, 0.5),
            split=rng.uniform(0, 0.0015),
            thump=rng.uniform(0, 0.6),
            near=rng.uniform(0.2, 0.8),
        )
        sounds.append(plucked(spoke, how, RATE, SECONDS, rng))
        pitches.append(spoke.pitch)
    return sounds, pitches


def by_wheel(rows: list[dict[str, Any]], rng: np.random.Generator) -> tuple[list[np.ndarray], list[float]]:
    """One whole wheel, whose other spokes and rim ring along."""
    numbers = list(dict.fromkeys(row["spoke"] for row in rows))
    by_number = {row["spoke"]: row for row in rows}
    numbers += [row["partner"] for row in by_number.values() if row["partner"] >= 0 and row["partner"] not in by_number]
    place = {number: i for i, number in enumerate(numbers)}
    spokes = []
    for number in numbers:
        row = by_number.get(number)
        if row is None:
            row = next(each for each in by_number.values() if each["partner"] == number)
            row = dict(row, tensions=row["tensions"][::-1], angle=row["angle"] + 0.1, partner=row["spoke"])
        partner = place[row["partner"]] if row["partner"] >= 0 else None
        spokes.append(
            wheel_plucks.WheelSpoke(
                row["lengths"], row["diameters"], row["tensions"][0], row["angle"], partner, row["crossing"]
            )
        )
    wheel = wheel_plucks.PluckedWheel(spokes, rng)
    near, rim, stretch = rng.uniform(0.2, 0.8), rng.uniform(0.0, 0.4), rng.uniform(0, 0.3)
    out = []
    for row in rows:
        pluck = wheel_plucks.WheelPluck(
            place[row["spoke"]],
            row["place"],
            rng.normal(0, 0.3),
            rng.uniform(0.2, 1.5),
            {"finger": rng.uniform(0.5, 2.5), "pick": 0.15, "key": 0.08}[row["how"]],
            float(np.clip(near + rng.normal(0, 0.05), 0.05, 0.95)),
            float(np.clip(rim + rng.normal(0, 0.05), 0, 0.9)),
            stretch,
        )
        sound = wheel.plucked(pluck, 1.4, rng)
        t = np.arange(sound.size) / RATE
        touch = np.cumsum(rng.normal(size=t.size)) if row["how"] == "finger" else rng.normal(size=t.size)
        touch = np.diff(touch, prepend=0.0) * np.exp(-t / rng.uniform(0.001, 0.004))
        if row["how"] == "key":
            touch = touch + np.abs(touch).max() * sum(
                np.exp(-t / rng.uniform(0.003, 0.012)) * np.sin(2 * np.pi * rng.uniform(2200, 7000) * t)
                for _ in range(3)
            )
        loud = {"finger": 0.1, "pick": 0.4, "key": 0.7}[row["how"]] * rng.uniform(0, 1)
        out.append(sound * np.minimum(1, (t[-1] - t) / 0.2) + loud * touch / np.abs(touch).max())
    return out, [float(wheel.pitch[place[row["spoke"]]]) for row in rows]


MAKERS: dict[str, Sounds] = {"grid": by_grid, "formula": by_formula, "modes": by_modes, "wheel": by_wheel}


@dataclass
class Person:
    """How a person plucks: evenly or not, with which slips."""

    gap: float = 0.9  # s
    uneven: float = 0.12  # of the logarithm of the gap
    scatter: float = 0.05  # of tension within a side
    side: str = "both"
    again: int = 0
    unheard: int = 0  # plucks too faint to be heard, at their time
    left_out: int = 0  # holes stepped over without a pause
    pauses: int = 0
    strays: int = 0  # knocks, tools put down
    ends_early: int = 0
    marks: bool = False  # plucks twice at the valve spoke, at the start and at the end
    touching: bool = True
    how: str = "finger"
    places: tuple[float, float] = (0.2, 0.6)


def any_person(rng: np.random.Generator, **fixed: Any) -> Person:
    """Someone, mostly careful."""
    person = Person(
        gap=rng.uniform(0.55, 1.2),
        uneven=rng.uniform(0.05, 0.25),
        scatter=rng.uniform(0.02, 0.1),
        side=str(rng.choice(["both", "both", "right", "left"])),
        again=int(rng.random() < 0.3),
        pauses=int(rng.integers(0, 3)),
        strays=int(rng.integers(0, 3)),
        touching=bool(rng.random() < 0.75),
        how=str(rng.choice(["finger", "pick", "key"])),
        places=(0.05, 0.95) if rng.random() < 0.3 else (0.2, 0.6),
    )
    for name, value in fixed.items():
        setattr(person, name, value)
    return person


def recorded(
    maker: str, seed: int, build: str | None = None, hearing: Hearing | None = None, **habits: Any
) -> Recorded:
    """One round by one synthesis."""
    rng = np.random.default_rng([seed, 77])
    name = build or str(rng.choice(sorted(BUILDS)))
    person = any_person(rng, **habits)
    tree, wheel, order, rows, partner = _wheel(name, person, rng)
    plan, missing = _walk(order, person, rng)
    played = [dict(rows[spoke], spoke=spoke, place=rng.uniform(*person.places), how=person.how) for spoke, _, _ in plan]
    sounds, pitches = MAKERS[maker](played, rng)
    hearing = hearing or any_hearing(rng)
    faint = np.array([each for _, _, each in plan])
    times = _times(plan, person, rng)
    total = np.zeros(round((times[-1] + 1.5) * RATE))
    loud = 10 ** (rng.uniform(-8, 0, len(plan)) / 20) * np.where(faint, 0.003, 1.0)
    # A spoke that is plucked anew is silent before.
    for i, (at, sound) in enumerate(zip(times, sounds, strict=True)):
        begin = round(at * RATE)
        end = min(total.size, begin + sound.size)
        total[begin:end] += loud[i] * sound[: end - begin]
    strays = sorted(rng.uniform(times[0], times[-1], person.strays).tolist())
    for at in strays:
        t = np.arange(RATE // 5) / RATE
        knock = rng.normal(size=t.size) * np.exp(-t / rng.uniform(0.002, 0.01))
        for _ in range(4):
            knock += (
                rng.uniform(0.3, 1.5)
                * np.exp(-t / rng.uniform(0.005, 0.03))
                * np.sin(2 * np.pi * rng.uniform(120, 2500) * t)
            )
        begin = round(at * RATE)
        total[begin : begin + knock.size] += 0.6 * (knock / np.abs(knock).max())[: total.size - begin]
    level = float(
        np.median([np.sqrt(np.mean(total[round(at * RATE) : round((at + 0.3) * RATE)] ** 2)) for at in times])
    )
    sound = heard(total, RATE, hearing, level, rng)
    holes = wheel.lacing.rim_hole
    truth = [
        Truth(float(at), float(pitch), int(holes[spoke]), again)
        for at, pitch, (spoke, again, weak) in zip(times, pitches, plan, strict=True)
        if not weak
    ]
    pairs = bool(person.touching and (partner >= 0).any())
    missing_holes = sorted(
        {int(holes[spoke]) for spoke in missing} | {int(holes[s]) for s, again, weak in plan if weak and not again}
    )
    what = f"{maker} {seed} {name} {person.side} {person.how} gap {person.gap:.2f}+-{person.uneven:.2f}"
    return Recorded(sound, hearing.rate, tree, truth, person.side, pairs, strays, missing_holes, what)


def _wheel(name: str, person: Person, rng: np.random.Generator):
    from wheelcalc.answers.base import opened
    from wheelcalc.answers.plucking.content import Round
    from wheelcalc.joined import tone as spoke_tone
    from wheelcalc.joined.touching import pairs
    from wheelcalc.measuring import assemble
    from wheelcalc.tension import targets

    tree = deepcopy(BUILDS[name])
    known = opened(tree).build
    wheel = assemble.wheel(known)
    found = pairs(known, wheel)
    partner = found.partner if person.touching else np.full(len(wheel.lacing), -1)
    ratio = targets.ratio_left_to_right(wheel) or 1.0
    tighter = rng.uniform(650, 1200)
    share = {"right": 1.0, "left": ratio} if ratio < 1 else {"right": 1 / ratio, "left": 1.0}
    tension = np.array([tighter * share[side] for side in wheel.lacing.sides])
    tension *= np.exp(person.scatter * rng.normal(size=tension.size)) * np.where(
        wheel.lacing.is_right, 1, np.exp(rng.normal(0, 0.04))
    )
    longer, thicker = rng.normal(0, 2, 3), rng.normal(0, 0.012)
    rows = []
    for spoke, side in enumerate(wheel.lacing.sides):
        lengths, diameters = spoke_tone.segments(known, wheel, side)
        real = np.asarray(lengths, float).copy()
        real += longer[: real.size] * (0.4 if real.size > 1 else 1)
        force = (tension[spoke],) if partner[spoke] < 0 else (tension[spoke], tension[partner[spoke]])
        rows.append(
            {
                "lengths": tuple(real),
                "diameters": tuple(np.asarray(diameters) + thicker),
                "tensions": tuple(map(float, force)),
                "crossing": float(np.clip(found.along[spoke] + 0.01, 0.05, 0.9)) if partner[spoke] >= 0 else None,
                "partner": int(partner[spoke]),
                "angle": float(np.deg2rad(wheel.lacing.rim_angle_deg[spoke])),
            }
        )
    order = Round(side=person.side).spokes(wheel)
    return tree, wheel, order, rows, partner


def _walk(order: np.ndarray, person: Person, rng: np.random.Generator):
    """(spoke, again, too faint) in time; spokes left out."""
    count = len(order)
    inner = rng.permutation(np.arange(2, count - 2))
    again, weak, out = (
        set(inner[a:b].tolist())
        for a, b in (
            (0, person.again),
            (person.again, person.again + person.unheard),
            (person.again + person.unheard, person.again + person.unheard + person.left_out),
        )
    )
    plan = []
    for place in range(count - person.ends_early):
        if place in out:
            continue
        plan.append((int(order[place]), False, place in weak))
        if place in again or (person.marks and place == 0):
            plan.append((int(order[place]), True, False))
    if person.marks:
        plan += [(int(order[0]), True, False)] * 2
    missing = [int(order[i]) for i in sorted(out)] + [int(each) for each in order[count - person.ends_early :]]
    return plan, missing


def _times(plan, person: Person, rng: np.random.Generator) -> np.ndarray:
    gaps = person.gap * np.exp(person.uneven * rng.normal(size=len(plan)))
    for i in range(1, len(plan)):
        if plan[i][1] and plan[i][0] == plan[i - 1][0]:
            gaps[i] *= rng.uniform(0.6, 1.0)
    for _ in range(person.pauses):
        gaps[rng.integers(1, len(plan))] *= rng.uniform(1.5, 4)
    gaps = np.maximum(gaps, 0.33)
    gaps[0] = rng.uniform(0.4, 1.5)
    return np.cumsum(gaps)
