"""What can be built from the jar, as `salvage` tells it: choices from the build file, findings of each build."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import Any

import numpy as np

from wheelcalc.answers.fitting.compute import fit
from wheelcalc.answers.ordering.findings import frame_against_hub
from wheelcalc.answers.salvaging.in_the_bike import against_the_bike, present_bead_seat
from wheelcalc.arrays import Floats, Ints
from wheelcalc.bike.width import chosen_spacers
from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.joined.findings import no_sideways_pull, pattern_findings
from wheelcalc.joined.target import Target, target_of
from wheelcalc.measuring import assemble
from wheelcalc.salvage.cases import lacing_of, pattern_by_counts, wheel_of
from wheelcalc.salvage.jar import (
    Candidate,
    HubChoice,
    JarMatches,
    Pool,
    RimChoice,
    SpokeChoice,
    chance_of_lines,
    errors_of,
    heads_agree,
    pooled,
    search,
    unserved,
)
from wheelcalc.salvage.old_spokes import Lot, OldSpokes, sorted_out
from wheelcalc.spokes import findings as spoke_findings
from wheelcalc.spokes.lengths import combined, cut_lengths, unread_shares
from wheelcalc.spokes.ordering import Line, Stock, Window, plan
from wheelcalc.tension import targets
from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.findings import Finding, any_stop, by_weight
from wheelcalc.wheel.parts import SIDES, Wire, opposite
from wheelcalc.wheel.wheel import Wheel

THIS_RIM, THIS_HUB = "this rim", "this hub"
# Ours: so many of the likeliest wheels are planned spoke by spoke, so many of those are shown with all that speaks
# against them, and so many near misses.
PLANNED, SHOWN, NEAR_MISSES = 140, 80, 10
MOST_HOLES_APART = 8  # ours: a rim with so many holes more or fewer than the hub is not looked at
CROSSES_TRIED = (0, 1, 2, 3)  # of each side, where the counts of rim and hub differ
SIEVE_MORE = 0.15  # mm: what the sieve of such wheels leaves out of a spoke's stretch; planned, each is computed whole
# C: spacers cost nothing, a frame builder does.
FRAME_ORDER = ("fits", "fits with spacers", "needs respacing", "does not fit")


@dataclass(frozen=True)
class Bought:
    """Spokes that a wheel lacks: what to buy, and from which longer ones they could be cut."""

    side: str
    length: float
    count: int
    wire: Wire
    cut_from: tuple[tuple[float, int], ...]

    @property
    def nearest(self) -> list[tuple[float, int]]:
        """Of the longer ones the shortest that are enough."""
        out: list[tuple[float, int]] = []
        for each in self.cut_from:
            if sum(count for _, count in out) < self.count:
                out.append(each)
        return out

    @property
    def tool(self) -> str:
        """What it takes to cut spokes down."""
        return f"a spoke cutter and a thread roller for {self.wire.thread_end:g} mm wire (rolled, not cut with a die: a cut thread breaks)"

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        out: dict[str, Any] = {"side": self.side, "length_mm": self.length, "count": self.count, "wire": str(self.wire)}
        out["or_cut_from"] = [{"length_mm": length, "count": count} for length, count in self.cut_from]
        return {**out, "tool": self.tool if self.cut_from else ""}


@dataclass(frozen=True)
class JarBuild:
    """One wheel that could be built.

    Parameters
    ----------
    rim, hub, pattern : their names, and the pattern of the spokes
    crosses, wires : per side
    lines : which length serves which rim holes, as in an order
    chance : that the ends of both sides sit in the window
    short_of : spokes that would have to be bought; none where the jar has all
    fits : how the hub goes into the frame, in the words of `fit`; empty where the frame is not known
    spacers : with these, left and right [mm]
    findings : what speaks against it, stops first
    """

    rim: str
    hub: str
    pattern: str
    crosses: dict[str, int]
    wires: dict[str, Wire]
    lines: tuple[Line, ...]
    chance: float
    short_of: tuple[Bought, ...]
    fits: str = ""
    spacers: tuple[float, float] = (0.0, 0.0)
    findings: tuple[Finding, ...] = ()

    def of_side(self, side: str) -> list[Line]:
        """The lines of a side."""
        return [line for line in self.lines if line.side == side]

    def lengths_of(self, side: str) -> list[float]:
        """Lengths that a side takes, those to buy among them [mm]."""
        bought = [each.length for each in self.short_of if each.side == side]
        return sorted({*(line.length for line in self.of_side(side)), *bought})

    def end(self, side: str) -> float:
        """Mean end position of a side's spokes [mm]."""
        lines = self.of_side(side)
        return sum(line.end_position * line.count for line in lines) / max(sum(line.count for line in lines), 1)

    def mix(self, side: str) -> str:
        """A side's lengths as one reads them: "290+291"."""
        return "+".join(f"{length:g}" for length in self.lengths_of(side))

    @property
    def wish(self) -> str:
        """What would make it buildable, in a sentence; empty where the jar has all."""
        if not self.short_of:
            return ""
        buys = " and ".join(f"{each.count} of {each.length:g} mm ({each.wire}, {each.side})" for each in self.short_of)
        crosses = "/".join(str(self.crosses[side]) for side in SIDES)
        sides = " and ".join(f"{self.mix(side)} {side}" for side in SIDES)
        text = f"With {buys} bought: {self.rim} on {self.hub}, {crosses} crosses, {sides}."
        cut = next((each for each in self.short_of if sum(count for _, count in each.cut_from) >= each.count), None)
        if cut is None:
            return text
        longer = " or ".join(f"{length:g}" for length, _ in cut.nearest)
        return f"{text} Or cut {cut.count} of {longer} mm to {cut.length:g} mm."

    @property
    def tools(self) -> list[str]:
        """What it takes to cut the spokes that its wish would cut."""
        return [each.tool for each in self.short_of if sum(count for _, count in each.cut_from) >= each.count][:1]

    @property
    def stops(self) -> bool:
        """Whether it should not be built."""
        return any_stop(list(self.findings))

    @property
    def rank(self) -> tuple[bool, int, float, int]:
        """Stops last; hubs that go in as they are before others; the best chance first, then what has least against it."""
        frame = FRAME_ORDER.index(self.fits) if self.fits in FRAME_ORDER else 0
        return self.stops, frame, -round(self.chance, 3), len(self.findings)

    def as_json(self) -> dict[str, Any]:
        """Return it as the contract lists it, and where the ends would sit."""
        lengths = {side: self.lengths_of(side) for side in SIDES}
        return {
            "rim": self.rim,
            "hub": self.hub,
            "pattern": self.pattern,
            "crosses": self.crosses,
            "lengths": {side: own[0] if len(own) == 1 else own for side, own in lengths.items()},
            "lines": [{**line.as_json(), "wire": str(self.wires[line.side])} for line in self.lines],
            "chance_that_it_fits": self.chance,
            "in_the_frame": self.fits,
            "spacers_mm": dict(zip(SIDES, self.spacers, strict=True)),
            "short_of": [each.as_json() for each in self.short_of],
            "wires": {side: str(self.wires[side]) for side in SIDES},
            "end_position_mm": {side: self.end(side) for side in SIDES},
            "findings": [vars(finding) for finding in self.findings],
        }


@dataclass(frozen=True)
class JarAnswer:
    """What the jar can build.

    Parameters
    ----------
    builds : the best, those that lack nothing first
    landing : wheels for which there seem to be spokes enough; more than the builds where there are many
    tried : patterns looked at
    left_out : what could not be tried, and why
    old_spokes : of the jar, and how many of them may serve again; their rules
    """

    builds: Sequence[JarBuild]
    landing: int
    tried: int
    left_out: Sequence[str]
    old_spokes: OldSpokes

    @property
    def whole(self) -> list[JarBuild]:
        """Builds that lack nothing."""
        return [each for each in self.builds if not each.short_of]

    @property
    def near(self) -> list[JarBuild]:
        """Builds that lack some spokes."""
        return [each for each in self.builds if each.short_of]

    @property
    def used_spokes(self) -> bool:
        """Whether old spokes would go into one of the builds."""
        return bool(self.whole) and self.old_spokes.may_serve > 0


@dataclass(frozen=True)
class _Part:
    """A rim or hub by name, and all dimensions with it in place; of a hub whether it goes into the frame, and what stops it."""

    name: str
    build: Build
    fits: str = ""
    stops: tuple[Finding, ...] = ()

    @cached_property
    def of_rim(self) -> dict[str, Dimension]:
        """The rim's dimensions alone."""
        return {key: entry for key, entry in self.build.items() if key.startswith("rim.")}

    @cached_property
    def without_rim(self) -> dict[str, Dimension]:
        """All others."""
        return {key: entry for key, entry in self.build.items() if not key.startswith("rim.")}


def jar_of(file: BuildFile) -> JarAnswer | None:
    """Return what can be built, None where the file has no jar.

    Raises
    ------
    InputError
        If an entry of the jar cannot be.
    """
    build = file.build
    if not any(file.jar.values()):
        return None
    left_out: list[str] = []
    rims = list(_parts(file, "rim", left_out))
    hubs = [_in_the_frame(each) for each in _parts(file, "hub", left_out)]
    spokes, old = _spokes(file)
    if not (rims and hubs and spokes):
        lacking = [word for word, there in (("rim", rims), ("hub", hubs), ("spokes", spokes)) if not there]
        return JarAnswer((), 0, 0, [*left_out, f"no {' and no '.join(lacking)} to build with"], old)
    left_out += [
        f"{rim.name}: no hub has holes for its {rim.build.rim.holes:.0f}"
        for rim in rims
        if all(abs(_apart(rim, hub)) > MOST_HOLES_APART for hub in hubs)
    ]
    shed = _Shed(build, rims, hubs, pooled(spokes), Window.of(build))
    even = _even(shed)
    uneven, uneven_tried = _uneven(shed)
    wanted = [*even.enough, *(each for each in uneven if not each.missing)]
    near = [*even.short, *(each for each in uneven if each.missing)]
    builds = [each for candidate in _by_turns(wanted)[:PLANNED] if (each := _planned(candidate, shed))]
    whole = sorted((each for each in builds if not each.short_of), key=lambda each: -each.chance)
    short = [each for each in builds if each.short_of]
    short += [each for candidate in near[: 3 * NEAR_MISSES] if (each := _planned(candidate, shed))]
    shown = sorted((_judged(each, shed) for each in whole[:SHOWN]), key=lambda each: each.rank)
    return JarAnswer([*shown, *_near_misses(short, whole, shed)], len(wanted), even.tried + uneven_tried, left_out, old)


def _in_the_frame(hub: _Part) -> _Part:
    """The hub with the spacers of the best plan, where the frame's width is known and none were chosen."""
    build = hub.build
    if not {"frame.dropout_spacing", "hub.over_locknut"} <= set(build):
        return hub
    answer = fit(BuildFile(hub.name, build))
    # Of its brake track each rim is asked by itself.
    stops = tuple(each for each in answer.findings if each.level == "stop" and each.name != "no-brake-track")
    if chosen_spacers(build) is None and answer.spacers is not None:
        spacers = {f"spacers.fitted.{s}": Dimension(v) for s, v in zip(SIDES, answer.spacers, strict=True)}
        build = Build({**build, **spacers})
    return _Part(hub.name, build, answer.verdict or "", stops)


def _by_turns(candidates: Sequence[Candidate]) -> list[Candidate]:
    """The likeliest of each rim and hub first, then the second of each, and so on: none crowds out the others."""
    turns: dict[tuple[int, int], int] = {}
    ranked = []
    for each in sorted(candidates, key=lambda each: each.room):
        turn = turns[each.rim, each.hub] = turns.get((each.rim, each.hub), -1) + 1
        ranked.append((turn, each.room, each))
    return [each for *_, each in sorted(ranked)]


def _near_misses(short: Sequence[JarBuild], whole: Sequence[JarBuild], shed: _Shed) -> list[JarBuild]:
    """Of each rim and hub that lack something the wheel that lacks least, without those that something stops."""
    served = {(each.rim, each.hub) for each in whole}
    out: dict[tuple[str, str], JarBuild] = {}
    for each in sorted(short, key=lambda each: sum(lack.count for lack in each.short_of)):
        pair = (each.rim, each.hub)
        if pair not in served and pair not in out and len(out) < NEAR_MISSES:
            judged = _judged(each, shed)
            if not judged.stops:
                out[pair] = judged
    return list(out.values())


@dataclass(frozen=True, eq=False)
class _Shed:
    """All that there is: the build's own keys, rims, hubs, spokes; and where an end may sit."""

    build: Build
    rims: Sequence[_Part]
    hubs: Sequence[_Part]
    pools: Sequence[Pool]
    window: Window

    @property
    def widest_deg(self) -> float:
        """Widest angle between hub hole and rim hole that is looked at."""
        return self.build.limits.spoke_angle_stop


def _apart(rim: _Part, hub: _Part) -> int:
    """Holes of a rim less those of a hub."""
    return int(rim.build.rim.holes - sum(hub.build.hub.flange(side).holes for side in SIDES))


def _even(shed: _Shed) -> JarMatches:
    """Wheels with half of the rim's holes on each flange, all at once."""
    choices = [(index, choice) for index, part in enumerate(shed.rims) if (choice := _rim_choice(part, shed.hubs))]
    if not choices:
        return JarMatches((), (), 0)
    hubs = [_hub_choice(hub) for hub in shed.hubs]
    matches = search([choice for _, choice in choices], hubs, shed.pools, shed.window, shed.widest_deg)
    own = [index for index, _ in choices]
    enough, short = ([each._replace(rim=own[each.rim]) for each in many] for many in (matches.enough, matches.short))
    return JarMatches(enough, short, matches.tried)


def _uneven(shed: _Shed) -> tuple[list[Candidate], int]:
    """Wheels whose rim and hub differ in count, or whose flanges do, rim by rim and hub by hub; fewest lacking first."""
    out, tried = [], 0
    window = Window(shed.window.short + SIEVE_MORE, shed.window.beyond + SIEVE_MORE)
    for (r, rim), (h, hub) in product(enumerate(shed.rims), enumerate(shed.hubs)):
        flanges = assemble.hub(hub.build)
        alike = flanges.left.holes == flanges.right.holes
        if (alike and not _apart(rim, hub)) or abs(_apart(rim, hub)) > MOST_HOLES_APART:
            continue
        pairs = [
            (left, right)
            for left, right in product(range(len(shed.pools)), repeat=2)
            if heads_agree(flanges, {"left": shed.pools[left], "right": shed.pools[right]})
        ]
        for crosses, cut in _uneven_cuts(rim, hub):
            tried += len(pairs)
            lacks = {side: [unserved(own, pool, window) for pool in shed.pools] for side, own in cut.items()}
            for left, right in pairs:
                lacking = lacks["left"][left] + lacks["right"][right]
                if left == right and lacking <= _half(cut):
                    lacking = unserved(np.concatenate([*cut.values()]), shed.pools[left], window)
                if lacking <= _half(cut):
                    out.append(Candidate(r, h, *crosses, left, right, lacking, 1.0))
    return sorted(out, key=lambda each: each.missing), tried


def _half(cut: Mapping[str, Floats]) -> int:
    """Half of a wheel's spokes: one that lacks more is no near miss."""
    return sum(map(len, cut.values())) // 2


def _uneven_cuts(rim: _Part, hub: _Part) -> Iterator[tuple[tuple[int, int], dict[str, Floats]]]:
    """Every pair of crosses that can be laced, and what each side's spokes would have to be cut to [mm].

    What spokes and rim give is taken from the first of them: it changes by less than SIEVE_MORE with the crosses and wire.
    """
    first: tuple[Wheel, dict[str, float]] | None = None
    for left, right in product(CROSSES_TRIED, repeat=2):
        build = _together(rim, hub, {"left": left, "right": right})
        try:
            if first is None:
                wheel, cut, _ = _wheel_of(build)
                first = wheel, {side: float((wheel.lengths - cut)[wheel.lacing.on(side)].mean()) for side in SIDES}
            lacing = lacing_of(build)
        except InputError:
            continue
        wheel, given = replace(first[0], lacing=lacing), first[1]
        yield (left, right), {side: wheel.lengths[lacing.on(side)] - given[side] for side in SIDES}


def _wheel_of(build: Build) -> tuple[Wheel, Floats, Target]:
    """A wheel, the length that each of its spokes would have to be cut to [mm], and the target tensions."""
    wheel = wheel_of(build)
    target = target_of(build, wheel)
    return wheel, cut_lengths(wheel, target.per_spoke, target.shrink), target


def _errors(build: Build, wheel: Wheel, target: Target, rim: _Part, hub: _Part) -> dict[str, tuple[float, float]]:
    """What leaves each side's lengths open: what moves both sides together, and the flange's own readings [mm]."""
    unread = unread_shares(build, wheel, target.per_spoke, target.shrink, target.shrink_sigma)
    of_readings = errors_of(wheel, rim.build.sigma("rim.erd"), _hub_choice(hub).sigma)
    return {side: (math.hypot(both, combined(unread, side)), own) for side, (both, own) in of_readings.items()}


def _planned(candidate: Candidate, shed: _Shed) -> JarBuild | None:
    """Give each rim hole its spoke, and say what lacks; None where no length that can be bought would do."""
    rim, hub = shed.rims[candidate.rim], shed.hubs[candidate.hub]
    crosses = {"left": candidate.cross_left, "right": candidate.cross_right}
    pools = {"left": shed.pools[candidate.wire_left], "right": shed.pools[candidate.wire_right]}
    build = _together(rim, hub, crosses, {side: pool.wire for side, pool in pools.items()})
    wheel, cut, target = _wheel_of(build)
    lacing = wheel.lacing
    own = {side: cut[lacing.on(side)] for side in SIDES}
    holes = {side: lacing.rim_hole[lacing.on(side)] for side in SIDES}
    errors = _errors(build, wheel, target, rim, hub)
    task = _Task(own, holes, {side: math.hypot(*errors[side]) for side in SIDES}, shed.window, build)
    lines, left_out = task.from_pools(pools)
    bought = _lacking(task, left_out, lines)
    every = [*lines, *bought]
    if {hole for line in every for hole in line.rim_holes} != set(lacing.rim_hole.tolist()):
        return None
    return JarBuild(
        rim=rim.name,
        hub=hub.name,
        pattern=build.lacing.pattern,
        crosses=crosses,
        wires={side: pool.wire for side, pool in pools.items()},
        lines=tuple(lines),
        chance=chance_of_lines(every, errors, shed.window),
        short_of=tuple(_bought(line, pools[line.side], lines) for line in bought),
    )


@dataclass(frozen=True, eq=False)
class _Task:
    """What a wheel wants of a jar: cut lengths and rim holes of each side, their errors, the window, its keys."""

    cut: dict[str, Floats]
    holes: dict[str, Ints]
    sigma: dict[str, float]
    window: Window
    build: Build

    def plan(
        self, stock: Stock, sides: Sequence[str], only: Sequence[int] | None = None
    ) -> tuple[list[Line], list[int]]:
        """The search of `order`, for some sides or some rim holes only."""
        kept = {s: np.isin(self.holes[s], self.holes[s] if only is None else only) & (s in sides) for s in SIDES}
        cut = {side: self.cut[side][kept[side]] for side in SIDES}
        holes = {side: self.holes[side][kept[side]] for side in SIDES}
        return plan(cut, holes, self.sigma, stock, self.window, 0, self.build.limits.low_chance)

    def from_pools(self, pools: dict[str, Pool]) -> tuple[list[Line], list[int]]:
        """Both sides at once where they share a wire, each from its own spokes where not."""
        if pools["left"] is pools["right"]:
            return self.plan(pools["left"].near(np.concatenate([*self.cut.values()]), self.window), SIDES)
        halves = [self.plan(pools[side].near(self.cut[side], self.window), [side]) for side in SIDES]
        return [line for lines, _ in halves for line in lines], [hole for _, left_out in halves for hole in left_out]


def _lacking(task: _Task, left_out: Sequence[int], lines: Sequence[Line]) -> list[Line]:
    """What to buy for the rim holes that the jar cannot serve: a length that is used already, where one does."""
    out: list[Line] = []
    for side in SIDES:
        mine = [hole for hole in left_out if hole in set(task.holes[side].tolist())]
        if mine:
            used = Stock(tuple(sorted({line.length for line in lines if line.side == side})) or (1.0,))
            bought, rest = task.plan(used, [side], mine)
            low = task.build.limits.low_chance
            if rest or any(line.chance < low for line in bought):
                wanted = task.cut[side][np.isin(task.holes[side], mine)]
                bought, _ = task.plan(Stock.by_step(task.build.stock.step, wanted, task.window), [side], mine)
            out += bought
    return out


def _bought(line: Line, pool: Pool, lines: Sequence[Line]) -> Bought:
    """A line to buy, and the longer spokes on hand that could be cut to it."""
    wire = pool.wire
    # D: the thread must sit on the thick end: what is cut off plus the new thread stays within the butt.
    most = MOST_CUT if wire.middle == wire.thread_end else wire.butts[1] - wire.thread_length
    left = {
        length: count - sum(each.count for each in lines if each.length == length)
        for length, count in zip(pool.stock.lengths, pool.stock.counts or (), strict=True)
    }
    longer = [(length, count) for length, count in left.items() if 0 < length - line.length <= most and count > 0]
    return Bought(line.side, line.length, line.count, wire, tuple(longer))


MOST_CUT = 60.0  # mm; ours: beyond it a spoke is better kept for another wheel


def _judged(choice: JarBuild, shed: _Shed) -> JarBuild:
    """The same build with what speaks against it."""
    rim = next(part for part in shed.rims if part.name == choice.rim)
    hub = next(part for part in shed.hubs if part.name == choice.hub)
    build = _together(rim, hub, choice.crosses, choice.wires)
    in_bike = against_the_bike(build, present_bead_seat(shed.build))
    against = [*hub.stops, *in_bike, *_speaks_against(build, wheel_of(build)), *_moved(choice, shed.pools)]
    spacers = chosen_spacers(hub.build) or (0.0, 0.0)
    return replace(
        choice, fits=hub.fits, spacers=(spacers[0], spacers[1]), findings=tuple(by_weight(list(dict.fromkeys(against))))
    )


def _parts(file: BuildFile, kind: str, left_out: list[str]) -> Iterator[_Part]:
    """The file's own part and those of the jar, as far as their geometry is known."""
    build, own = file.build, own_name(file.build, kind)
    needed = {"rim": ("rim.holes", "rim.erd"), "hub": tuple(f"hub.{s}.{n}" for s in SIDES for n in ("holes", "pcd"))}[
        kind
    ]
    rest = {key: entry for key, entry in build.items() if not key.startswith((f"{kind}.", "spacers.fitted"))}
    entries = file.jar.get(f"jar.{kind}s", [])
    named = [(str(e.value(f"{kind}.name", f"{kind} {i} of the jar")), e) for i, e in enumerate(entries, start=1)]
    for name, part in [(own, build), *((name, Build({**rest, **entry})) for name, entry in named)]:
        lacking = [key for key in (*needed, *_distances(part, kind)) if key not in part]
        if not lacking:
            yield _Part(name, part)
        elif part is not build or any(part.given(key) for key in needed):
            left_out.append(f"{name}: {', '.join(lacking)} missing")


def own_name(build: Build, kind: str) -> str:
    """What the build's own rim or hub is called: its name in the drawer, where it is from one."""
    return str(build.value(f"{kind}.part", {"rim": THIS_RIM, "hub": THIS_HUB}[kind]))


def _distances(build: Build, kind: str) -> Iterator[str]:
    if kind == "rim":
        yield "rim.erd_to"
        return
    for side in SIDES:
        raw = f"hub.{side}.locknut_to_flange"
        if f"hub.{side}.offset" not in build:
            yield from (raw, "hub.over_locknut") if raw in build else (raw,)


def _spokes(file: BuildFile) -> tuple[list[SpokeChoice], OldSpokes]:
    """The spokes on hand, and which of the old ones may serve again."""
    build = file.build
    wire = assemble.wires(build)["right"]
    out = [
        SpokeChoice(wire, length, count)
        for length, count in (build.stock.on_hand if "stock.on_hand" in build else {}).items()
    ]
    lots = []
    for entry in file.jar.get("jar.spokes", []):
        with under("jar.spokes"):
            if "spokes.on_hand" not in entry:
                raise InputError("on_hand", 'is missing; write for example on_hand = { "288" = 20, "290" = 18 }')
            head, middle, thread = entry.value("spokes.wire", (wire.head_end, wire.middle, wire.thread_end))
            own = Wire(head, middle, thread, wire.butts, wire.thread_length, wire.youngs_modulus)
        on_hand = entry.needed("spokes.on_hand")
        lot = Lot(entry, sum(on_hand.values()))
        lots.append(lot)
        if lot.serves:
            side = str(entry.value("spokes.taken_from", ""))
            out += [
                SpokeChoice(own, length, count, side, str(entry.value("spokes.spoke_head", "")))
                for length, count in on_hand.items()
            ]
    return out, sorted_out(lots)


def spokes_left(file: BuildFile, best: JarBuild) -> dict[float, int]:
    """Return what the jar has left of each length when a wheel has been built from it [mm] -> count."""
    left: dict[float, int] = {}
    for each in _spokes(file)[0]:
        left[each.length] = left.get(each.length, 0) + each.count
    for line in best.lines:
        left[line.length] -= line.count
    return left


def _rim_choice(part: _Part, hubs: Sequence[_Part]) -> RimChoice | None:
    """A rim with the tension that it is to have and what it gives, found with the first hub that it matches."""
    for hub in hubs:
        build = _together(part, hub, dict.fromkeys(SIDES, 0))
        if any(2 * build.hub.flange(side).holes != build.rim.holes for side in SIDES):
            continue
        wheel = assemble.wheel(build)
        target = target_of(build, wheel)
        give = target.shrink / targets.hoop_force(wheel, target.per_spoke)
        tension = max(target.tension.values())
        return RimChoice(part.name, assemble.rim(part.build), part.build.sigma("rim.erd"), tension, give)
    return None


def _hub_choice(part: _Part) -> HubChoice:
    build = part.build
    sigma = {}
    for side in SIDES:
        raw = f"hub.{side}.locknut_to_flange"
        from_width = math.hypot(build.sigma("hub.over_locknut") / 2, build.sigma(raw))
        sigma[side] = (
            build.sigma(f"hub.{side}.pcd"),
            from_width if raw in build else build.sigma(f"hub.{side}.offset"),
        )
    return HubChoice(part.name, assemble.hub(build), sigma, {side: assemble.end_give(build, side) for side in SIDES})


def _together(rim: _Part, hub: _Part, crosses: dict[str, int], wires: dict[str, Wire] | None = None) -> Build:
    """Return the dimensions of one wheel: this rim, that hub, these crosses and spokes."""
    entries = hub.without_rim | rim.of_rim
    entries |= {f"lacing.crosses.{side}": Dimension(k) for side, k in crosses.items()}
    for side, wire in (wires or {}).items():
        entries[f"spokes.wire.{side}"] = Dimension((wire.head_end, wire.middle, wire.thread_end))
    return Build({**entries, "lacing.pattern": Dimension(pattern_by_counts(entries))})


def _speaks_against(build: Build, wheel: Wheel) -> Iterator[Finding]:
    yield from pattern_findings(build, wheel)
    yield from frame_against_hub(build, wheel)
    yield from spoke_findings.parts(build, assemble.nipple(build), assemble.wires(build))
    target = target_of(build, wheel)
    slack = min(target.tension, key=lambda side: target.tension[side])
    floor = build.tension.floor_stop
    yield from no_sideways_pull(wheel)
    if targets.ratio_left_to_right(wheel) is not None and target.tension[slack] < floor:
        text = f"The {slack} side would have only {target.tension[slack]:.0f} N (floor {floor:.0f}): its spokes work loose."
        yield Finding("caution", "slack-side", text, "A hub with more even flanges, or a rim with offset holes.")


def _moved(build: JarBuild, pools: Sequence[Pool]) -> Iterator[Finding]:
    """Old spokes that would have to change sides: more of a length than there are from this side, new, or of unknown side."""
    moved: dict[str, int] = {}
    for pool in pools:
        left = {length: dict(by) for length, by in pool.sides.items()}
        for line in build.lines:
            if build.wires[line.side] == pool.wire:
                wanted = line.count
                for origin in (line.side, "new", "", opposite(line.side)):
                    taken = min(wanted, left[line.length].get(origin, 0))
                    wanted -= taken
                    left[line.length][origin] = left[line.length].get(origin, 0) - taken
                    if origin == opposite(line.side) and taken:
                        moved[line.side] = moved.get(line.side, 0) + taken
    for side, count in moved.items():
        yield Finding(
            "caution",
            "spokes-change-sides",
            f"{count} old spokes from the {opposite(side)} would go to the {side}: their elbows took the shape of the other side.",
            "Old spokes keep their side by the rule of the trade (contested); set the elbows anew by hand if you move them.",
        )
