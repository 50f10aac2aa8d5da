"""`true --broken`: a spoke has gone; how far the rim moved, whether it may roll, and which nipples bring it home."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

import numpy as np

from wheelcalc.answers import broken_page
from wheelcalc.answers.base import Answer, Source, defaults_taken, opened
from wheelcalc.arrays import in_rows
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import Overrides
from wheelcalc.files.needs import demand
from wheelcalc.joined.at_tensions import AtTensions, at_tensions
from wheelcalc.joined.findings import unsound_rim
from wheelcalc.measuring import assemble
from wheelcalc.page.blocks import Page
from wheelcalc.truing.broken import Gone, Home, home, without
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding, by_weight
from wheelcalc.wheel.given import count
from wheelcalc.wheel.wheel import Wheel

PREFIXES = ("truing.step", "truing.most_per_pass", "tension.floor_stop")
PAD_ROOM = 0.5  # mm, C: what a brake pad wants between itself and the rim
USUAL_PAD_GAP = 2.0  # mm, C: taken where the gap is unknown, so that there are turns at all


@dataclass(frozen=True, kw_only=True, eq=False)
class BrokenAnswer(Answer):
    """Answer of `true --broken`; a wheel that ran true before is taken.

    Parameters
    ----------
    broken : spokes, from 0
    gone : the wheel without them
    home : with the turns that bring the rim within the gaps
    pad_gap, tyre_gap : [mm], None where unknown
    rim_brake : whether pads stand beside the rim
    """

    schema: ClassVar[str] = "wheelcalc/true/1"
    records: ClassVar[str] = "spokes"
    build: Build
    wheel: Wheel
    at_tensions: AtTensions
    broken: Sequence[int]
    gone: Gone
    home: Home
    pad_gap: float | None
    tyre_gap: float | None
    rim_brake: bool

    @property
    def holes(self) -> list[int]:
        """Rim holes of the broken spokes."""
        return [int(self.wheel.lacing.rim_hole[i]) for i in self.broken]

    @property
    def furthest(self) -> float:
        """How far the rim then lies from where it ran, sideways [mm]."""
        return float(np.abs(self.home.lateral).max())

    def page(self) -> Page:
        """Return the answer laid out as blocks."""
        rows = self.turn_rows()
        return Page(
            verdict=broken_page.verdict(rows, self.furthest, stops=self.stops),
            title=broken_page.title(self.title, self.holes),
            answer=[
                *broken_page.turns(rows),
                broken_page.todo(rows, self.furthest, stops=self.stops),
                broken_page.figures(self.content()["broken"]),
            ],
            findings=self.findings,
            assumptions=self.assumptions,
        )

    def content(self) -> dict[str, Any]:
        """Return the run-out, the neighbours, the turns and what they leave."""
        return {
            "broken": {
                "rim_holes": self.holes,
                **_runout(self.gone.lateral, self.gone.radial),
                "neighbours": self.neighbours(self.gone.tensions),
                "slack": [int(self.wheel.lacing.rim_hole[i]) for i in self.gone.slack],
                "turns": self.turn_rows(),
                "after": {
                    **_runout(self.home.lateral, self.home.radial),
                    "neighbours": self.neighbours(self.home.tensions),
                },
                "undo": [{**row, "turns": -row["turns"]} for row in self.turn_rows()],
            },
            "spokes": self.spoke_rows(),
        }

    def neighbours(self, tensions: np.ndarray) -> list[dict[str, Any]]:
        """Return the spokes beside the broken ones: the next of either side on each side of the gap."""
        lacing = self.wheel.lacing
        count, near = len(lacing), set[int]()
        for spoke in self.broken:
            for step in (1, -1):
                seen: set[bool] = set()
                for away in range(1, count):
                    other = (spoke + step * away) % count
                    if other not in self.broken and bool(lacing.is_right[other]) not in seen:
                        seen.add(bool(lacing.is_right[other]))
                        near.add(other)
                    if len(seen) == 2:
                        break
        return [
            {"rim_hole": int(lacing.rim_hole[i]), "side": lacing.sides[i], "tension_N": float(tensions[i])}
            for i in sorted(near)
        ]

    def turn_rows(self) -> list[dict[str, Any]]:
        """Return the nipples to turn, in rim-hole order."""
        lacing, turns = self.wheel.lacing, self.home.turns
        return [
            {"rim_hole": int(lacing.rim_hole[i]), "side": lacing.sides[i], "turns": float(turns[i])}
            for i in np.flatnonzero(turns)
        ]

    def spoke_rows(self) -> list[dict[str, Any]]:
        """Return every spoke: its turns, the rim's place beside it and its tension, now and after the turns."""
        lacing, at = self.wheel.lacing, self.wheel.lacing.rim_hole - 1
        columns: dict[str, Any] = {"rim_hole": lacing.rim_hole, "side": lacing.sides, "turns": self.home.turns}
        for name, state in (("", self.gone), ("_after", self.home)):
            columns[f"lateral_mm{name}"] = state.lateral[at].round(3)
            columns[f"radial_mm{name}"] = state.radial[at].round(3)
            columns[f"tension_N{name}"] = state.tensions.round(1)
        return in_rows(columns)


def _runout(lateral: np.ndarray, radial: np.ndarray) -> dict[str, float]:
    return {"lateral_mm": float(np.ptp(lateral)), "radial_mm": float(np.ptp(radial))}


def broken(source: Source, rim_holes: int | Sequence[int], overrides: Overrides = (), **keys: Any) -> BrokenAnswer:
    """What a broken spoke does to a true wheel, and which nipples bring it home.

    Parameters
    ----------
    source, overrides, keys : as every answer takes them
    rim_holes : of the broken spokes

    Raises
    ------
    InputError
        If the input cannot be used, a rim hole has no spoke, or the others do not hold the rim.
    """
    rim_holes = [count("rim_holes", each) for each in (rim_holes if isinstance(rim_holes, Iterable) else [rim_holes])]
    file = opened(source, overrides, keys)
    with file.named():
        build = file.build
        demand("true", build)
        wheel = assemble.wheel(build)
        spokes = [_spoke(wheel, hole) for hole in rim_holes]
        if len(set(spokes)) < len(spokes) or not spokes:
            raise InputError("rim_holes", f"found {', '.join(map(str, rim_holes))}; name each broken spoke once")
        if len(spokes) == len(wheel.lacing):
            raise InputError(
                "rim_holes", f"found all {len(spokes)} spokes; a rim that hangs on none cannot be computed"
            )
        ready = at_tensions(build, wheel)
        gone = without(ready.structure, spokes)
    answer = BrokenAnswer(
        title=file.title,
        findings=[],
        assumptions=[
            "The wheel is taken to have run true and even before.",
            *ready.taken,
            *defaults_taken(build, PREFIXES),
        ],
        build=build,
        wheel=wheel,
        at_tensions=ready,
        broken=spokes,
        gone=gone,
        home=Home(np.zeros(len(gone.kept)), gone.lateral, gone.radial, gone.tensions),
        pad_gap=_maybe(build, "clearance.pad_gap"),
        tyre_gap=_maybe(build, "clearance.tyre_gap"),
        rim_brake=build.frame.brake in ("rim", None) or "clearance.pad_gap" in build,
    )
    lateral, radial = goals(answer)
    answer = replace(answer, home=home(gone, ready.room, lateral, radial))
    return replace(answer, findings=by_weight(list(_found(answer))))


def _maybe(build: Build, key: str) -> float | None:
    return build.number(key) if key in build else None


def _spoke(wheel: Wheel, hole: int) -> int:
    where = np.flatnonzero(wheel.lacing.rim_hole == hole)
    if not len(where):
        raise InputError("rim_holes", f"found {hole}; rim holes with a spoke are in 1 to {wheel.rim.holes}")
    return int(where[0])


def goals(answer: BrokenAnswer) -> tuple[float, float]:
    """How far the rim may lie sideways and outward so that nothing rubs [mm]."""
    free = math.inf
    if answer.tyre_gap is not None:
        free = max(answer.tyre_gap - answer.build.limits.broken_gap_stop, 0.0)
    lateral = free
    if answer.rim_brake:
        pads = USUAL_PAD_GAP if answer.pad_gap is None else answer.pad_gap
        lateral = min(free, max(pads - PAD_ROOM, PAD_ROOM))
    return lateral, free


def _found(answer: BrokenAnswer) -> Iterator[Finding]:
    yield from _wheel(answer)
    yield from _neighbours(answer)
    yield from _tyre(answer)
    yield from _pads(answer)
    if answer.at_tensions.lacking:
        yield Finding(
            "caution",
            "rim-section-unknown",
            "The rim's section is unknown, so a typical one stands in for it: the run-out may be off by a fifth.",
            "Look at the gaps themselves before you roll.",
        )


def _wheel(answer: BrokenAnswer) -> Iterator[Finding]:
    """What alone forbids to roll on."""
    build, walk = answer.build, "Do not ride on it: walk, or put in a spoke."
    yield from unsound_rim(build)
    if build.position == "front":
        yield Finding("stop", "front-wheel", "It is the front wheel: if it gives way, the rider falls at once.", walk)
    if build.rim.section.material == "carbon":
        yield Finding("stop", "carbon-rim", "It is a carbon rim: it may crack at the gap without a warning.", walk)
    few = int(build.limits.broken_spokes_stop)
    if len(answer.wheel.lacing) <= few:
        text = f"The wheel has {len(answer.wheel.lacing)} spokes; with {few} or fewer each of them carries too much."
        yield Finding("stop", "few-spokes", text, walk)
    if len(answer.broken) > 1:
        text = f"{len(answer.broken)} spokes are gone; where one follows another, more follow soon."
        yield Finding("stop", "two-broken", text, walk)
    unsaid = [
        words
        for key, words in (
            ("position", "whether it is a front wheel"),
            ("rim.section.material", "what the rim is made of"),
        )
        if not build.given(key)
    ]
    if unsaid:
        text = f"The file does not say {' or '.join(unsaid)} ({'position, ' * (len(unsaid) > 1)}rim.section.material)."
        if unsaid == ["whether it is a front wheel"]:
            text = "The file does not say whether it is a front wheel (position)."
        yield Finding("caution", "kind-unknown", text, "On a front wheel or a carbon rim: do not ride, walk.")


def _neighbours(answer: BrokenAnswer) -> Iterator[Finding]:
    """Neighbours over their limit; spokes that went slack."""
    room, lacing = answer.at_tensions.room, answer.wheel.lacing
    tensions = np.maximum(answer.gone.tensions, answer.home.tensions)
    over = tensions > room.limit
    if over.any():
        worst = int(np.argmax(np.where(over, tensions - room.limit, -np.inf)))
        holes = ", ".join(map(str, lacing.rim_hole[over].tolist()))
        yield Finding(
            "stop",
            "neighbour-over-limit",
            f"The spoke{'s' if over.sum() > 1 else ''} in rim hole{'s' if over.sum() > 1 else ''} {holes} would carry up to "
            f"{tensions[worst]:.0f} N, over the limit of {room.limit[worst]:.0f} N: the next to break, or to crack the rim.",
            "Do not ride on it: walk, or put in a spoke. (A tension.target lower than assumed would change this.)",
        )
    if answer.gone.slack:
        holes = ", ".join(str(int(lacing.rim_hole[i])) for i in answer.gone.slack)
        yield Finding(
            "caution",
            "slack-spoke",
            f"Slack besides: rim hole {holes}.",
            "Tape these spokes to a neighbour, as the broken one.",
        )


def _tyre(answer: BrokenAnswer) -> Iterator[Finding]:
    """Tyre and rim against what does not give."""
    least = answer.build.limits.broken_gap_stop
    if answer.tyre_gap is None:
        yield Finding(
            "caution",
            "tyre-gap-unknown",
            "How near the tyre runs to frame or fork is unknown.",
            f"Measure the smallest gap (clearance.tyre_gap); do not ride with less than {least:g} mm left anywhere.",
        )
        return
    moved = max(float(np.abs(answer.home.lateral).max()), float(answer.home.radial.max()))
    left = answer.tyre_gap - moved
    if left < least:
        yield Finding(
            "stop",
            "tyre-too-near",
            f"Even after the turns the tyre comes {moved:.1f} mm nearer, so {max(left, 0):.1f} mm of {answer.tyre_gap:g} are left; "
            f"{least:g} are the least.",
            "Do not ride on it: walk, or put in a spoke.",
        )


def _pads(answer: BrokenAnswer) -> Iterator[Finding]:
    """Rim against brake pads, which can be opened."""
    if not answer.rim_brake:
        return
    if answer.pad_gap is None:
        yield Finding(
            "caution",
            "pad-gap-unknown",
            f"How far the brake pads stand from the rim is unknown; {USUAL_PAD_GAP:g} mm are taken.",
            "Measure it (clearance.pad_gap), the smaller of the two sides, or see whether the rim rubs.",
        )
        return
    moved = float(np.abs(answer.home.lateral).max())
    if moved > answer.pad_gap - PAD_ROOM:
        yield Finding(
            "caution",
            "pads-rub",
            f"After the turns the rim still comes {moved:.1f} mm toward pads that stand {answer.pad_gap:g} mm away.",
            "Open this brake, so that nothing rubs, and ride only if the other brake stops you; slowly.",
        )
