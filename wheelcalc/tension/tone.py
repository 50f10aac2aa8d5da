"""Pitch of a plucked spoke of even diameter, and the names of notes.

A pitch shows how even the tensions are; it shows how high they are only after a calibration (`calibration`), because
how the ends are held moves the pitch of a spoke by up to 14 %. Butted wire is in `stepped`.
Symbols as in reference/theory.md: T tension, L free length, mu mass per length, EI bending stiffness.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from wheelcalc.arrays import Floats
from wheelcalc.wheel.constants import SPOKE_STEEL_MODULUS
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.given import numbers

__all__ = [
    "bending_stiffness",
    "effective_length",
    "held_pitch",
    "ideal_pitch",
    "mass_per_length",
    "note",
    "note_name",
    "pinned_pitch",
]

# P: data sheets of 304 stainless give 7.9 to 8.03 g/cm3. 1 g/cm3 = 1e-9 t/mm3 = 1e-9 N s2/mm4.
SPOKE_STEEL_DENSITY = 7.9e-9
# P (M): ISO 16:1975, standard tuning frequency: the A above middle C.
PITCH_OF_A4 = 440.0
# D: definition of the scale below; end_hold is the share of a clamp's end correction at this tension.
HOLD_REFERENCE_TENSION = 1000.0
HALVINGS = 60  # D: 2^-60 of the bracket is below round-off
NOTE = re.compile(r"([A-Ga-g])([#b]?)([0-8])(?:\s*([+-]\d{1,2}))?", re.ASCII)
NOTES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def floats(value: ArrayLike, unit: str = "") -> Floats:
    """Numbers as an array of floats; a quantity of any library of units in this one."""
    return numbers("tone", value, unit)


def bending_stiffness(diameter: ArrayLike, youngs_modulus: ArrayLike = SPOKE_STEEL_MODULUS) -> Floats:
    """EI of round wire [N mm2], from its diameter [mm] and Young's modulus [N/mm2]."""
    # D: second moment of a full circle, pi d^4 / 64.
    return floats(youngs_modulus, "N/mm**2") * (math.pi / 64) * floats(diameter, "mm") ** 4


def mass_per_length(diameter: ArrayLike, density: ArrayLike = SPOKE_STEEL_DENSITY) -> Floats:
    """Mass of round wire per length [t/mm = N s2/mm2], from its diameter [mm] and density [t/mm3]."""
    return floats(density, "t/mm**3") * (math.pi / 4) * floats(diameter, "mm") ** 2


def hold_spring(end_hold: ArrayLike, stiffness: ArrayLike) -> Floats:
    """Rotational spring that an `end_hold` stands for [N mm/rad].

    Parameters
    ----------
    end_hold : 0 (the end turns freely) to 1 (clamped); 1 gives a spring a million times the one of 0.5
    stiffness : EI of the wire at that end [N mm2]

    Raises
    ------
    InputError
        If an `end_hold` is not from 0 to 1.

    Notes
    -----
    k = sqrt(T_r EI) h / (1 - h), T_r = 1000 N. With it an end of hold h shortens the string, at 1000 N, by h times
    what a clamp shortens it (see `held_pitch`). The spring is one of the wire's end and does not change with tension.
    """
    hold = checked_hold(end_hold)
    return np.sqrt(HOLD_REFERENCE_TENSION * floats(stiffness)) * hold / np.maximum(1 - hold, 1e-6)


def ideal_pitch(tension: ArrayLike, length: ArrayLike, linear_mass: ArrayLike, partial: int = 1) -> Floats:
    """Frequency of a string without bending stiffness, (n / 2L) sqrt(T / mu) [Hz].

    Parameters
    ----------
    tension : [N]
    length : [mm]
    linear_mass : mass per length [t/mm]
    partial : 1 is the fundamental
    """
    return partial / (2 * floats(length, "mm")) * np.sqrt(floats(tension, "N") / floats(linear_mass, "t/mm"))


def pinned_pitch(
    tension: ArrayLike,
    length: ArrayLike,
    diameter: ArrayLike,
    *,
    partial: int = 1,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """Frequency of stiff wire whose ends turn freely [Hz].

    Parameters
    ----------
    tension : [N]
    length : free length [mm]
    diameter : [mm]
    partial : 1 is the fundamental
    youngs_modulus : [N/mm2]
    density : [t/mm3]

    Notes
    -----
    f_n = n f0 sqrt(1 + B n^2), B = pi^2 EI / (T L^2): H. Fletcher, J. Acoust. Soc. Am. 36 (1964) 203. Written as
    sqrt(T + EI (n pi / L)^2) it also holds without tension.
    """
    bending = bending_stiffness(diameter, youngs_modulus) * (partial * math.pi / floats(length, "mm")) ** 2
    return ideal_pitch(floats(tension, "N") + bending, length, mass_per_length(diameter, density), partial)


def effective_length(
    tension: ArrayLike,
    length: ArrayLike,
    diameter: ArrayLike,
    end_hold: ArrayLike,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
) -> Floats:
    """Free length less the end corrections of both ends [mm].

    Notes
    -----
    An end with a rotational spring k shortens the string by sqrt(EI/T) k / (k + sqrt(T EI)); k from `hold_spring`. D
    """
    root_tension, hold = np.sqrt(floats(tension, "N")), checked_hold(end_hold)
    spring = hold * math.sqrt(HOLD_REFERENCE_TENSION)
    share = spring / (spring + (1 - hold) * root_tension)
    return floats(length, "mm") - 2 * share * np.sqrt(bending_stiffness(diameter, youngs_modulus)) / root_tension


def held_pitch(
    tension: ArrayLike,
    length: ArrayLike,
    diameter: ArrayLike,
    end_hold: ArrayLike = 0.5,
    *,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """Fundamental of even wire between partly held ends, closed form for large batches [Hz].

    Parameters
    ----------
    tension : [N], above 0
    length : free length [mm]
    diameter : [mm]
    end_hold : 0 (ends turn freely) to 1 (clamped)
    youngs_modulus : [N/mm2]
    density : [t/mm3]

    Notes
    -----
    `pinned_pitch` of the effective length. Clamped 2.0 wire of 290 mm comes out 0.2 % sharp at 1000 N, 0.6 % at
    500 N, 9 % at 100 N; thinner wire is closer. At low tension use `stepped.pitch`. D
    """
    shorter = effective_length(tension, length, diameter, end_hold, youngs_modulus)
    return pinned_pitch(tension, shorter, diameter, youngs_modulus=youngs_modulus, density=density)


def bisect(rising: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Root of a function that is not above 0 at `low` and not below 0 at `high`, element by element; they broadcast."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        above = rising(middle) > 0
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return (low + high) / 2


def checked(value: ArrayLike, key: str, low: float, high: float, what: str) -> Floats:
    """Give numbers back as an array, or raise `InputError` with the first one that is not from `low` to `high`."""
    values = floats(value)
    wrong = ~((values >= low) & (values <= high))
    if np.any(wrong):
        raise InputError(key, f"found {values[wrong].flat[0]:g}; it must be {what}")
    return values


def checked_hold(end_hold: ArrayLike) -> Floats:
    """Give `end_hold` back as an array, or raise `InputError`."""
    return checked(end_hold, "pluck.end_hold", 0.0, 1.0, "0 (ends turn freely) to 1 (clamped)")


def note(pitch_hz: float) -> tuple[str, float]:
    """Nearest note of the equal-tempered scale and how far the pitch is above it [cents], at A4 = 440 Hz (ISO 16:1975).

    Notes
    -----
    C4 is middle C. Sharps only: A#4, never Bb4. A cent is a hundredth of a semitone.
    """
    above_c0 = 57 + 12 * math.log2(float(checked(pitch_hz, "pitch_hz", 1.0, 1e5, "1 to 100000 Hz")) / PITCH_OF_A4)
    nearest = round(above_c0)
    return f"{NOTES[nearest % 12]}{nearest // 12}", 100 * (above_c0 - nearest)


def note_name(pitch_hz: float) -> str:
    """Name of the nearest note, "F4" for 350 Hz."""
    return note(pitch_hz)[0]


def pitch_of(name: str) -> float | None:
    """Pitch of a note as a tuner shows it, "F#4", "Gb4" or "f4 -12" (cents) [Hz], at A4 = 440 Hz; None where it is no note."""
    note = NOTE.fullmatch(name.strip())
    if note is None:
        return None
    letter, bent, octave, cents = note.groups()
    # P: ISO 16:1975 and the equal-tempered scale: an octave has 12 semitones of 100 cents, A4 is the 57th above C0.
    semitone = NOTES.index(letter.upper()) + {"#": 1, "b": -1}.get(bent, 0) + 12 * int(octave) - 57
    # P: the same scale.
    return float(PITCH_OF_A4 * 2 ** ((semitone + float(cents or 0) / 100) / 12))
