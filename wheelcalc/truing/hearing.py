"""A recording of a round as plucks: heard, decided together, and refused where it is of something else."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from wheelcalc.arrays import Floats
from wheelcalc.truing.assign import Assigned, Spokes, assign
from wheelcalc.truing.recording import soundings
from wheelcalc.truing.templates import Template
from wheelcalc.wheel.errors import InputError

# Ours: rounds of four unlike makes are more like one than this (0.39 and more) where anything could be placed; knocks, talk, a
# tapped rim less (0.23 at most): some 75 recordings in all, those it was set on.
LEAST_LIKENESS = 0.3
# Ours, of the same recordings: music says 1.4 and more, talk 2.6, rounds of plucks -0.7 and less.
MOST_VOICE = 0.3
# Ours: of what is heard in chords or a tapped rim, the share with pitch and hole likelier right than not and the share with a
# sure pitch are 0.31 in the mean at most; of rounds of four makes 0.7 and more, but for one lost in talk.
LEAST_TOLD, FEW = 0.45, 6


def hear(
    sound: Floats,
    rate: float,
    wires: Sequence[Sequence[Template]],
    spokes: Spokes,
    tell: Callable[[float], None] | None = None,
) -> Assigned:
    """The plucks of a round.

    Parameters
    ----------
    sound : (samples,), of any loudness
    rate : samples a second [Hz]
    wires : for each wire that it may be, likeliest first, the templates of the kinds of spokes that the wheel has
    spokes : in the order in which they were to be plucked
    tell : called with the share that is done

    Raises
    ------
    InputError
        If it is too short, silent, or no round of plucks.
    """
    heard = soundings(sound, rate, wires, tell)
    assigned = max((assign(sounds, spokes) for sounds in heard), key=lambda each: each.log_likelihood)
    if assigned.voice > MOST_VOICE:
        raise InputError(
            "",
            "the tones in it have partials of a voice or an instrument, not of spokes; pluck one spoke after the other in a quiet "
            "room, the microphone a hand's breadth from the rim",
        )
    likely = [each for each in assigned.plucks if each.likely]
    told = sum(each.usable for each in likely) + sum(each.sure for each in likely)
    unsure = len(likely) >= FEW and told < 2 * LEAST_TOLD * len(likely)
    if assigned.likeness < LEAST_LIKENESS or unsure:
        rings = sum(each.sure for each in assigned.plucks)
        raise InputError(
            "",
            f"{len(heard[0])} sounds begin in it and {rings} of them surely {'rings' if rings == 1 else 'ring'} like a spoke of this "
            "wheel; pluck one spoke after the other in a quiet room, the microphone a hand's breadth from the rim",
        )
    return assigned
