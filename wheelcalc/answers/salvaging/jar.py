"""What can be built from the jar, as `salvage` tells it: choices from the build file, findings of each build."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from wheelcalc.answers.ordering.findings import frame_against_hub
from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.joined.findings import pattern_findings
from wheelcalc.joined.target import target_of
from wheelcalc.measuring import assemble
from wheelcalc.salvage.jar import Combination, Found, HubChoice, RimChoice, SpokeChoice, search
from wheelcalc.spokes import checks as spoke_checks
from wheelcalc.spokes.ordering import Window
from wheelcalc.tension import targets
from wheelcalc.wheel.errors import InputError, under
from wheelcalc.wheel.findings import Finding, any_stop, by_weight
from wheelcalc.wheel.parts import SIDES, Wire
from wheelcalc.wheel.wheel import Wheel

THIS_RIM, THIS_HUB = "this rim", "this hub"
SHOWN = 40  # builds that get their findings


@dataclass(frozen=True)
class JarBuild:
    """One wheel that could be built.

    Parameters
    ----------
    rim, hub : their names
    crosses, lengths, wires, ends : per side; lengths and end positions in mm
    chance : that the ends of both sides sit in the window
    findings : what speaks against it, stops first
    """

    rim: str
    hub: str
    crosses: dict[str, int]
    lengths: dict[str, float]
    wires: dict[str, str]
    ends: dict[str, float]
    chance: float
    findings: tuple[Finding, ...]

    @property
    def stops(self) -> bool:
        """Whether it should not be built."""
        return any_stop(list(self.findings))

    @property
    def alike(self) -> tuple[object, ...]:
        """What makes two builds the same, whichever bundle the spokes come from."""
        parts = (self.crosses, self.lengths, self.wires)
        return self.rim, self.hub, *(by[side] for by in parts for side in SIDES)

    @property
    def rank(self) -> tuple[bool, float, int]:
        """Stops last, the best chance first; at the same chance what has least against it."""
        return self.stops, -round(self.chance, 3), len(self.findings)

    def as_json(self) -> dict[str, Any]:
        """Return it as the contract lists it, and where the ends would sit."""
        return {
            "rim": self.rim,
            "hub": self.hub,
            "crosses": self.crosses,
            "lengths": self.lengths,
            "chance_that_it_fits": self.chance,
            "wires": self.wires,
            "end_position_mm": self.ends,
            "findings": [vars(finding) for finding in self.findings],
        }


@dataclass(frozen=True)
class JarAnswer:
    """What the jar can build: the best builds, how many more land, how many were tried, and what could not be tried."""

    builds: Sequence[JarBuild]
    landing: int
    tried: int
    left_out: Sequence[str]
    used_spokes: bool


@dataclass(frozen=True)
class _Part:
    """A rim or hub by name, and all dimensions with it in place."""

    name: str
    known: Build


def jar_of(build: BuildFile) -> JarAnswer | None:
    """Return what can be built, None where the file has no jar.

    Raises
    ------
    InputError
        If an entry of the jar cannot be.
    """
    known = build.dimensions
    if not any(build.jar.values()):
        return None
    left_out: list[str] = []
    rims = list(_parts(build, "rim", left_out))
    hubs = list(_parts(build, "hub", left_out))
    spokes = _spokes(build)
    choices = [(part, choice) for part in rims if (choice := _rim_choice(part, hubs)) is not None]
    left_out += [
        f"{part.name}: no hub has half of its {part.known.rim.holes:.0f} holes on each flange"
        for part in rims
        if part not in [each for each, _ in choices]
    ]
    if not (choices and hubs and spokes):
        lacking = [word for word, there in (("rim", choices), ("hub", hubs), ("spokes", spokes)) if not there]
        return JarAnswer((), 0, 0, [*left_out, f"no {' and no '.join(lacking)} to build with"], used_spokes=False)
    window = Window(known.stock.short_at_most, known.stock.beyond_at_most)
    found = search(
        [choice for _, choice in choices],
        [_hub_choice(hub) for hub in hubs],
        spokes,
        window,
        known.limits.spoke_angle_stop,
    )
    return _answer(found, [part for part, _ in choices], hubs, spokes, left_out)


def _parts(build: BuildFile, kind: str, left_out: list[str]) -> Iterator[_Part]:
    """The file's own part and those of the jar, as far as their geometry is known."""
    known, own = build.dimensions, {"rim": THIS_RIM, "hub": THIS_HUB}[kind]
    needed = {"rim": ("rim.holes", "rim.erd"), "hub": tuple(f"hub.{s}.{n}" for s in SIDES for n in ("holes", "pcd"))}[
        kind
    ]
    rest = {key: entry for key, entry in known.items() if not key.startswith((f"{kind}.", "spacers.fitted"))}
    entries = build.jar.get(f"jar.{kind}s", [])
    named = [(str(e.value(f"{kind}.name", f"{kind} {i} of the jar")), e) for i, e in enumerate(entries, start=1)]
    for name, part in [(own, known), *((name, Build({**rest, **entry})) for name, entry in named)]:
        lacking = [key for key in (*needed, *_distances(part, kind)) if key not in part]
        if not lacking:
            yield _Part(name, part)
        elif part is not known or any(part.given(key) for key in needed):
            left_out.append(f"{name}: {', '.join(lacking)} missing")


def _distances(known: Build, kind: str) -> Iterator[str]:
    if kind == "rim":
        yield "rim.erd_to"
        return
    for side in SIDES:
        raw = f"hub.{side}.locknut_to_flange"
        if f"hub.{side}.offset" not in known:
            yield from (raw, "hub.over_locknut") if raw in known else (raw,)


def _spokes(build: BuildFile) -> list[SpokeChoice]:
    known = build.dimensions
    wire = assemble.wires(known)["right"]
    out = [SpokeChoice(wire, length, count) for length, count in known.value("stock.on_hand", {}).items()]
    for entry in build.jar.get("jar.spokes", []):
        with under("jar.spokes"):
            if "spokes.on_hand" not in entry:
                raise InputError("on_hand", 'is missing; write for example on_hand = { "288" = 20, "290" = 18 }')
            head, middle, thread = entry.value("spokes.wire", (wire.head_end, wire.middle, wire.thread_end))
            own = Wire(head, middle, thread, wire.butts, wire.thread_length, wire.youngs_modulus)
        side = str(entry.value("spokes.taken_from", ""))
        out += [SpokeChoice(own, length, count, side) for length, count in entry.needed("spokes.on_hand").items()]
    return out


def spokes_left(build: BuildFile, best: JarBuild) -> dict[float, int]:
    """Return what the jar has left of each length when a wheel has been built from it [mm] -> count."""
    left: dict[float, int] = {}
    for each in _spokes(build):
        left[each.length] = left.get(each.length, 0) + each.count
    half = build.dimensions.rim.holes // 2
    for length in best.lengths.values():
        left[length] -= half
    return left


def _rim_choice(part: _Part, hubs: Sequence[_Part]) -> RimChoice | None:
    """A rim with the tension that it is to have and what it gives, found with the first hub that it matches."""
    for hub in hubs:
        known = _together(part, hub, dict.fromkeys(SIDES, 0))
        if any(2 * known.hub.flange(side).holes != known.rim.holes for side in SIDES):
            continue
        wheel = assemble.wheel(known)
        target = target_of(known, wheel)
        give = target.shrink / targets.hoop_force(wheel, target.per_spoke)
        tension = max(target.tension.values())
        return RimChoice(part.name, assemble.rim(part.known), part.known.sigma("rim.erd"), tension, give)
    return None


def _hub_choice(part: _Part) -> HubChoice:
    known = part.known
    sigma = {}
    for side in SIDES:
        raw = f"hub.{side}.locknut_to_flange"
        from_width = math.hypot(known.sigma("hub.over_locknut") / 2, known.sigma(raw))
        sigma[side] = (
            known.sigma(f"hub.{side}.pcd"),
            from_width if raw in known else known.sigma(f"hub.{side}.offset"),
        )
    return HubChoice(part.name, assemble.hub(known), sigma)


def _together(rim: _Part, hub: _Part, crosses: dict[str, int], wires: dict[str, Wire] | None = None) -> Build:
    """Return the dimensions of one wheel: this rim, that hub, these crosses and spokes."""
    entries = {key: entry for key, entry in hub.known.items() if not key.startswith("rim.")}
    entries |= {key: entry for key, entry in rim.known.items() if key.startswith("rim.")}
    entries |= {f"lacing.crosses.{side}": Dimension(k) for side, k in crosses.items()}
    for side, wire in (wires or {}).items():
        entries[f"spokes.wire.{side}"] = Dimension((wire.head_end, wire.middle, wire.thread_end))
    return Build({**entries, "lacing.pattern": Dimension("crossed")})


def _answer(
    found: Found, rims: Sequence[_Part], hubs: Sequence[_Part], spokes: Sequence[SpokeChoice], left_out: Sequence[str]
) -> JarAnswer:
    builds = [_build(place, rims, hubs, spokes) for place in found.builds[:SHOWN]]
    builds.sort(key=lambda each: each.rank)
    first_of_each = {each.alike: each for each in reversed(builds)}
    builds = sorted(first_of_each.values(), key=lambda each: each.rank)
    used = any(spokes[i].taken_from != "new" for b in found.builds[:SHOWN] for i in (b.spoke_left, b.spoke_right))
    return JarAnswer(builds, found.landing, found.tried, left_out, used)


def _build(place: Combination, rims: Sequence[_Part], hubs: Sequence[_Part], spokes: Sequence[SpokeChoice]) -> JarBuild:
    rim, hub = rims[place.rim], hubs[place.hub]
    taken = {"left": spokes[place.spoke_left], "right": spokes[place.spoke_right]}
    crosses = {"left": place.cross_left, "right": place.cross_right}
    wires = {side: spoke.wire for side, spoke in taken.items()}
    known = _together(rim, hub, crosses, wires)
    found = [*_speaks_against(known, assemble.wheel(known)), *_moved(taken)]
    return JarBuild(
        rim=rim.name,
        hub=hub.name,
        crosses=crosses,
        lengths={side: spoke.length for side, spoke in taken.items()},
        wires={side: str(wire) for side, wire in wires.items()},
        ends={"left": place.end_left, "right": place.end_right},
        chance=place.chance,
        findings=tuple(by_weight(found)),
    )


def _speaks_against(known: Build, wheel: Wheel) -> Iterator[Finding]:
    yield from pattern_findings(known, wheel)
    yield from frame_against_hub(known, wheel)
    yield from spoke_checks.parts(known, assemble.nipple(known), assemble.wires(known))
    target = target_of(known, wheel)
    slack = min(target.tension, key=lambda side: target.tension[side])
    floor = known.tension.floor_stop
    if targets.ratio_left_to_right(wheel) is None:
        yield Finding(
            "stop", "no-sideways-pull", "One flange has no sideways pull: no tensions keep the rim in its plane."
        )
    elif target.tension[slack] < floor:
        text = f"The {slack} side would have only {target.tension[slack]:.0f} N (floor {floor:.0f}): its spokes work loose."
        yield Finding("caution", "slack-side", text, "A hub with more even flanges, or a rim with offset holes.")


def _moved(taken: dict[str, SpokeChoice]) -> Iterator[Finding]:
    moved = [side for side, spoke in taken.items() if spoke.taken_from in SIDES and spoke.taken_from != side]
    if moved:
        yield Finding(
            "caution",
            "spokes-change-sides",
            f"Old spokes from the {taken[moved[0]].taken_from} would go to the {moved[0]}: their elbows took the shape of the other side.",
            "Old spokes keep their side by the rule of the trade (contested); set the elbows anew by hand if you move them.",
        )
