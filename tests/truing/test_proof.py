"""One nipple turned first proves the sign, where the readings do not tell: on wheels of two makes, turned as they really move."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from tests.making.other_wheels import OtherPerson, other_wheel
from tests.making.real_sessions import Learner, model_of
from tests.making.real_wheels import Person, real_wheel
from wheelcalc.truing.evidence import Reader
from wheelcalc.truing.proof import DOUBTED, Proof, doubted, proof_of
from wheelcalc.truing.slips import SURE_SLIP, Likelier, Slip, likelier
from wheelcalc.truing.table import table

MAKES = {"real": (real_wheel, Person), "other": (other_wheel, OtherPerson)}
GAUGE = 0.03  # mm, of a gauge that is watched while a nipple is turned


@dataclass
class Looked:
    """What came of a first reading: a stop, a proof asked for, and whether the rim then went as it must."""

    stopped: bool
    proof: Proof | None
    as_asked: bool


@cache
def looked(make: str, seed: int, sign: int) -> Looked:
    """A wheel read with a lateral sign, and (where a proof is asked for) its first nipple turned."""
    maker, person = MAKES[make]
    case, rng = maker(seed, run_out=(0.6, 4.0)), np.random.default_rng(seed)
    lateral, radial, tensions = person().read(case.real, rng)
    asked = Learner(case)
    turns = asked.turns(sign * lateral, radial, tensions)
    slips = likelier(model_of(case), [replace(asked.tables[0], turned=np.zeros(len(turns)))], Reader())
    if slips and slips[0].times > SURE_SLIP:
        return Looked(True, None, False)
    model = model_of(case)([table(lateral, radial, tensions)])
    proof = proof_of(model, turns, doubted(slips))
    if proof is None:
        return Looked(False, None, True)
    one = np.zeros(len(turns))
    one[proof.spoke] = proof.turns
    after = person().turn(case.real, one, rng)
    there = model.structure.spoke_nodes[proof.spoke]
    moves = {
        "lateral": sign * (after.lateral - case.real.lateral)[there],
        "radial": (after.radial - case.real.radial)[there],
    }
    seen = [(moves[each] + GAUGE * rng.normal()) * getattr(proof, each) > 0 for each in proof.columns]
    return Looked(False, proof, all(seen))


@pytest.mark.parametrize("make", MAKES)
def test_no_wrong_lateral_sign_is_turned_untold_or_unseen(make: str) -> None:
    for seed in range(9600, 9606):
        found = looked(make, seed, -1)
        assert found.stopped or not found.as_asked, seed


@pytest.mark.parametrize("make", MAKES)
def test_a_right_sign_is_seldom_asked_for_and_proven(make: str) -> None:
    found = [looked(make, seed, 1) for seed in range(9600, 9606)]
    assert not any(each.stopped for each in found)
    assert all(each.as_asked for each in found)
    assert sum(each.proof is not None for each in found) <= 3


def slip(what: str, times: float) -> Likelier:
    return Likelier(Slip(what, "newest", "", 0.01), times, 1.0, 0.0)


def test_what_is_doubted() -> None:
    """D: neither sure nor as unlikely as before any reading; ways that one look tells are counted together."""
    assert doubted([slip("lateral sign", 1.0)]) == ("lateral",)
    assert doubted([slip("lateral sign", 20.5), slip("radial sign", 0.02)]) == ("radial",)
    assert doubted([slip("lateral sign", 0.5 * DOUBTED), slip("started at another hole", 0.6 * DOUBTED)]) == (
        "lateral",
    )
    assert doubted([slip("lateral sign", 0.9 * DOUBTED), slip("radial sign", 0.9 * DOUBTED), slip("units", 9.0)]) == ()


def test_the_nipple_that_moves_the_rim_most_beside_itself() -> None:
    """D: of turns of a quarter and a half of spokes of one side; nothing where nothing is turned or doubted."""
    case = real_wheel(9620)
    lateral, radial, tensions = Person().read(case.real, np.random.default_rng(1))
    model = model_of(case)([table(lateral, radial, tensions)])
    turns = np.zeros(model.spokes)
    turns[[2, 6]] = 0.25, -0.5
    proof = proof_of(model, turns, ("lateral", "radial"))
    assert proof is not None
    assert (proof.spoke, proof.turns) == (6, -0.5)
    to_its_side = 1 if case.is_right[6] else -1
    assert np.sign([proof.lateral, proof.radial]).tolist() == [
        -to_its_side,
        1,
    ]  # looser: away from its flange, and outward
    assert proof_of(model, turns, ()) is None
    assert proof_of(model, 0 * turns, ("lateral",)) is None
