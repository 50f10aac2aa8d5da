"""Real wheels, run by hand: sessions to their end, slips, kinks, seized nipples; of either make of wheels.

OPENBLAS_NUM_THREADS=1 .venv/bin/python -m tests.benchmarks.real_wheels sessions|slips|second|proofs|kinks|seized real|other FIRST COUNT
The record: real_wheels.md.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np

from tests.making.other_wheels import OtherPerson, other_wheel
from tests.making.real_sessions import COUNTED, Exact, Learner, Session, model_of, session
from tests.making.real_wheels import Person, RealCase, kink, real_wheel
from wheelcalc.arrays import Floats
from wheelcalc.truing.evidence import Reader, System, fitted
from wheelcalc.truing.proof import doubted, proof_of
from wheelcalc.truing.slips import SURE_SLIP, likelier
from wheelcalc.truing.table import table

Maker = Callable[..., RealCase]
Read = tuple[Floats, Floats, Floats]
MAKES: dict[str, tuple[Maker, type[Person]]] = {"real": (real_wheel, Person), "other": (other_wheel, OtherPerson)}
WATCHED = 0.03  # mm, error of a gauge watched while a nipple is turned
LEAST = 0.6  # mm of run-out, from which a slip is to be found


def rolled(by: int, read: Read) -> Read:
    lateral, radial, tensions = (np.roll(each, by) for each in read)
    return lateral, radial, tensions


SLIPS: dict[str, tuple[Callable[[Read], Read], set[str]]] = {
    "none": (lambda read: read, set()),
    "lateral sign": (lambda read: (-read[0], read[1], read[2]), {"lateral sign"}),
    "radial sign": (lambda read: (read[0], -read[1], read[2]), {"radial sign"}),
    "by three holes": (partial(rolled, 3), {"started at another hole", "counted backwards", "columns swapped"}),
    "backwards": (
        lambda read: (read[0][::-1], read[1][::-1], read[2][::-1]),
        {"started at another hole", "counted backwards", "columns swapped"},
    ),
}


def sessions(make: str, first: int, count: int) -> None:
    """What is reached, made worse, ended, turned; beside it exact readings of exact wheels."""
    maker, person = MAKES[make]
    for name, advisor in (("exact", Exact), ("library", Learner)):
        start = time.process_time()
        found = [session(seed, advisor, person(), maker) for seed in range(first, first + count)]
        print(said(name, found), f"{(time.process_time() - start) / count:.1f} s a wheel", flush=True)


def said(name: str, found: list[Session]) -> str:
    """One line of figures."""
    reached = np.mean([each.reached for each in found], axis=0)
    made, worse = sum(each.made for each in found), sum(each.worse for each in found)
    ended = np.mean([each.ended is not None for each in found])
    keys = np.median([each.keys for each in found])
    return (
        f"{name:8} reached after each pass {np.round(reached, 2).tolist()}, after {COUNTED}: {reached[COUNTED]:.0%}; made worse {worse} "
        f"of {made} passes; ended within six {ended:.0%}; turns of the key {keys:.1f} (median)"
    )


def slips(make: str, first: int, count: int) -> None:
    """How often each slip is found at the first reading; also of the wheels whose own column runs out by enough."""
    maker, person = MAKES[make]
    found: dict[str, list[bool]] = {name: [] for name in SLIPS}
    stopped = dict.fromkeys(SLIPS, 0)
    figures = []
    for seed in range(first, first + count):
        case = maker(seed, run_out=(LEAST, 4.0))
        read = person().read(case.real, np.random.default_rng(seed))
        figures.append(case.figures()[:2])
        for name, (slip, words) in SLIPS.items():
            tried = likelier(model_of(case), [table(*slip(read))], Reader())
            top = tried[0] if tried and tried[0].times > SURE_SLIP else None
            found[name].append(top is not None and (not words or top.slip.what in words))
            stopped[name] += top is not None
    radial = np.array(figures)[:, 1] >= LEAST
    for name, each in found.items():
        own = f"{np.mean(np.array(each)[radial]):.0%} of {radial.sum()}"
        print(
            f"{name:15} named {np.mean(each):.0%} of {count}, stopped {stopped[name] / count:.0%}; where radial runs out by {LEAST} mm "
            f"named {own}",
            flush=True,
        )


def second(make: str, first: int, count: int) -> None:
    """What looks like another true wheel, read one way and turned the other: whether the second reading stops."""
    maker, person = MAKES[make]
    ways: dict[str, Callable[[Read], Read]] = {
        "none": lambda read: read,
        "mirrored": lambda read: (-read[0][::-1], read[1][::-1], read[2][::-1]),
        "by four holes": partial(rolled, 4),
    }
    for name, slip in ways.items():
        stopped = turned = 0
        for seed in range(first, first + count):
            case, rng = maker(seed), np.random.default_rng(seed)
            asked = Learner(case)
            turns = asked.turns(*slip(person().read(case.real, rng)))
            if not turns.any():
                continue
            read = slip(person().read(person().turn(case.real, turns, rng), rng))
            tried = likelier(model_of(case), [asked.tables[0], table(*read)], Reader())
            turned, stopped = turned + 1, stopped + bool(tried and tried[0].times > SURE_SLIP)
        print(f"{name:15} stopped at the second reading: {stopped} of {turned}", flush=True)


def proofs(make: str, first: int, count: int) -> None:
    """Of right and of wrong signs: stopped; told to prove by the first nipple, seen then (gauge to 0.03 mm); turned without."""
    maker, person = MAKES[make]
    for name in ("none", "lateral sign", "radial sign"):
        counts, slip = (
            dict.fromkeys(("stopped", "no turns", "proof, as it must", "proof, the other way", "no proof"), 0),
            SLIPS[name][0],
        )
        for seed in range(first, first + count):
            case, rng = maker(seed, run_out=(LEAST, 4.0)), np.random.default_rng(seed)
            asked = Learner(case)
            turns = asked.turns(*slip(person().read(case.real, rng)))
            tried = likelier(model_of(case), [replace(asked.tables[0], turned=0 * turns)], Reader())
            if tried and tried[0].times > SURE_SLIP:
                counts["stopped"] += 1
                continue
            proof = proof_of(model_of(case)(asked.tables), turns, doubted(tried))
            if proof is None:
                counts["no proof" if turns.any() else "no turns"] += 1
                continue
            after = person().turn(case.real, np.where(np.arange(len(turns)) == proof.spoke, turns, 0.0), rng)
            here = case.wheel.lacing.rim_hole[proof.spoke] - 1
            sideways, outward, _ = slip(
                (after.lateral - case.real.lateral, after.radial - case.real.radial, after.tensions)
            )
            moves = {"lateral": sideways[here], "radial": outward[here]}
            seen = all((moves[each] + WATCHED * rng.normal()) * getattr(proof, each) > 0 for each in proof.columns)
            counts["proof, as it must" if seen else "proof, the other way"] += 1
        print(f"{name:15} of {count}: {counts}", flush=True)


def kinks(make: str, first: int, count: int) -> None:
    """Kinks of 1.5 to 4 mm, 2 to 5 holes wide: readings on them that are thrown out, and kinks of which none is."""
    maker, person = MAKES[make]
    for name, kind in (("lateral", 0), ("radial", 1)):
        out = total = kept = 0
        for seed in range(first, first + count):
            rng = np.random.default_rng(seed + 5)
            holes = maker(seed).wheel.rim.holes
            bump = kink(holes, rng.uniform(0, holes), rng.uniform(2, 5), rng.choice([-1, 1]) * rng.uniform(1.5, 4))
            case = maker(seed, **{f"{name}_bend": bump})
            read = table(*person(gross=0).read(case.real, rng))
            gross = fitted(System(model_of(case)([read]), [read], Reader())).causes.gross
            near = np.flatnonzero(np.abs(bump) > 0.3 * np.abs(bump).max()) + kind * holes
            out, total, kept = out + int(gross[near].sum()), total + len(near), kept + (not gross[near].any())
        print(f"{name} kinks: {out} of {total} readings on them thrown out; {kept} of {count} kept whole", flush=True)


def seized(make: str, first: int, count: int) -> None:
    """Nipples that do not turn: named at the third reading, of those that were asked; others named."""
    maker, person = MAKES[make]
    named = asked = false = 0
    for seed in range(first, first + count):
        rng = np.random.default_rng(seed + 9)
        case = maker(seed)
        learner = Learner(case)
        spoke = -1
        for number in range(3):
            read = person().read(case.real, rng)
            turns = learner.turns(*read)
            if number == 0:
                if not turns.any():
                    break
                spoke = int(np.argmax(np.abs(turns)))
            if number < 2:
                case.real = person(seized=(spoke,)).turn(case.real, turns, rng)
        if spoke >= 0 and sum(abs(each.turned[spoke]) for each in learner.tables[:2]) >= 0.25:
            asked, named = asked + 1, named + (spoke in learner.stuck)
        false += len(set(learner.stuck) - {spoke})
    print(
        f"seized nipples asked a quarter turn or more: {named} of {asked} named at the third reading; {false} others named"
    )


if __name__ == "__main__":
    what, make, first, count = sys.argv[1:]
    {"sessions": sessions, "slips": slips, "second": second, "proofs": proofs, "kinks": kinks, "seized": seized}[what](
        make, int(first), int(count)
    )
