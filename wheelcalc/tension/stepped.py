"""Pitch and tension of butted (stepped) wire between partly held ends.

The wire is a chain of cubic beam elements under tension, several to a segment and closer together at steps and ends, so
that mass and stiffness vary along it as they do in the wire. `segments` is everywhere (lengths, diameters) from head to
nipple [mm]; lengths may have leading axes, one row per spoke.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from wheelcalc.arrays import Floats
from wheelcalc.tension.tone import SPOKE_STEEL_DENSITY, bending_stiffness, checked, floats, hold_spring, mass_per_length
from wheelcalc.wheel.constants import SPOKE_STEEL_MODULUS
from wheelcalc.wheel.errors import InputError

Segments = tuple[ArrayLike, ArrayLike]
Matrices = tuple[Floats, Floats, Floats]
SEMITONE = 2 ** (1 / 12)  # D: twelve equal steps to the octave

# Cubic Hermite shape functions N of an element of length 1, degrees of freedom deflection and slope at each end.
# D: integrals of N'' N'', N' N' and N N.
BENDING = np.array([[12.0, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]])
STRINGING = np.array([[36, 3, -36, 3], [3, 4, -3, -1], [-36, -3, 36, -3], [3, -1, -3, 4]]) / 30
INERTIA = np.array([[156, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]]) / 420


def segments_of(
    free_length: float, diameters: tuple[float, float, float], butts: tuple[float, float], hidden: float = 0.0
) -> tuple[Floats, Floats]:
    """Segments of the free length of a butted spoke.

    Parameters
    ----------
    free_length : elbow to nipple [mm]
    diameters : head end, middle, thread end [mm]
    butts : lengths of the thick ends at head and thread [mm]
    hidden : how much of the thread end is inside the nipple [mm]

    Returns
    -------
    Lengths and diameters [mm], head first; without empty segments, neighbours of equal diameter joined.

    Notes
    -----
    Thick ends that leave no middle share the free length in proportion.
    """
    head, thread = butts[0], max(butts[1] - hidden, 0.0)
    share = min(1.0, free_length / (head + thread)) if head + thread > 0 else 1.0
    lengths = (head * share, free_length - (head + thread) * share, thread * share)
    joined: list[list[float]] = []
    for length, diameter in zip(lengths, diameters, strict=True):
        if joined and joined[-1][1] == diameter:
            joined[-1][0] += length
        elif length > 1e-9 * free_length:
            joined.append([length, diameter])
    return np.array([length for length, _ in joined]), np.array([diameter for _, diameter in joined])


def matrices(lengths: ArrayLike, stiffness: ArrayLike, linear_mass: ArrayLike) -> Matrices:
    """Stiffness, stiffness per newton of tension, and mass of a chain of elements with its ends on supports.

    Parameters
    ----------
    lengths : of the elements [mm], shape (..., elements)
    stiffness : EI [N mm2], same shape or without leading axes
    linear_mass : mass per length [t/mm], likewise

    Returns
    -------
    Three arrays (..., n, n), n = 2 * elements: slope at the first end, then deflection and slope of every inner node,
    then the slope at the last end.
    """
    h, ei, mu = np.broadcast_arrays(floats(lengths), floats(stiffness), floats(linear_mass))
    count = h.shape[-1]
    scale = np.stack([np.ones_like(h), h, np.ones_like(h), h], axis=-1)
    outer = scale[..., :, None] * scale[..., None, :]
    whole = np.zeros((3, *h.shape[:-1], 2 * count + 2, 2 * count + 2))
    for shape, factor, target in ((BENDING, ei / h**3, 0), (STRINGING, 1 / h, 1), (INERTIA, mu * h, 2)):
        elements = shape * outer * factor[..., None, None]
        for i in range(count):
            whole[target, ..., 2 * i : 2 * i + 4, 2 * i : 2 * i + 4] += elements[..., i, :, :]
    kept = np.r_[1 : 2 * count, 2 * count + 1]
    bending, stringing, inertia = whole[..., kept[:, None], kept]
    return bending, stringing, inertia


def partials(
    segments: Segments,
    tension: ArrayLike,
    end_hold: ArrayLike = 0.5,
    *,
    count: int = 6,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
    support_at: float | None = None,
) -> Floats:
    """First partials of a plucked spoke [Hz].

    Parameters
    ----------
    segments : lengths (..., segments) and diameters [mm], head to nipple
    tension : [N], shape (...) that goes with the lengths'; 0 and above
    end_hold : 0 (ends turn freely) to 1 (clamped), the map is in `tone.hold_spring`; shape likewise
    count : how many partials
    youngs_modulus : [N/mm2]
    density : [t/mm3]
    support_at : distance from the head [mm] at which something holds the wire still, without holding its slope

    Returns
    -------
    Shape (..., count), lowest first; within 1e-4 of the exact values of tensioned beams.

    Raises
    ------
    InputError
        If a number is outside what a wire can have.

    Notes
    -----
    det(K_b + T K_t - (2 pi f)^2 M) = 0. Once per wire K_t is made the unit matrix and K_b diagonal, so that a
    tension costs one symmetric eigenvalue problem; solved for 1/f^2, whose largest values come out precisely
    however stiff the ends.
    """
    force = checked(tension, "tension", 0.0, 1e6, "a tension in N, 0 or above")
    bending, inertia = _diagonal(_chain(segments, end_hold, youngs_modulus, density, count, support_at))
    scale = 1 / np.sqrt(bending + force[..., None])
    squares = np.linalg.eigvalsh(inertia * scale[..., :, None] * scale[..., None, :])
    return floats(1 / (2 * math.pi * np.sqrt(squares[..., : -count - 1 : -1])))


def pitch(
    segments: Segments,
    tension: ArrayLike,
    end_hold: ArrayLike = 0.5,
    *,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """Fundamental of a plucked spoke [Hz]; parameters as in `partials`, one number for each tension.

    Notes
    -----
    Two crossed spokes that touch sound together: their common pitch is that of the mean of their tensions.
    """
    return partials(segments, tension, end_hold, count=1, youngs_modulus=youngs_modulus, density=density)[..., 0]


def tension_from_pitch(
    segments: Segments,
    pitch_hz: ArrayLike,
    end_hold: ArrayLike = 0.5,
    *,
    partial: int = 1,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """Tension of a spoke that gives a pitch [N].

    Parameters
    ----------
    segments : lengths (..., segments) and diameters [mm], head to nipple
    pitch_hz : shape (...) that goes with the lengths'
    end_hold : 0 (ends turn freely) to 1 (clamped)
    partial : which partial the pitch is; 1 is the fundamental
    youngs_modulus : [N/mm2]
    density : [t/mm3]

    Raises
    ------
    InputError
        If a pitch is lower than that of this wire without tension.
    """
    options = {"youngs_modulus": youngs_modulus, "density": density}
    tension = signed_tension(segments, pitch_hz, end_hold, partial=partial, **options)
    if np.any(tension < 0):
        lowest = np.broadcast_to(floats(pitch_hz), tension.shape)[tension < 0].flat[0]
        raise InputError("pitch_hz", f"found {lowest:.1f} Hz, which is lower than this spoke sounds without tension")
    return tension


def signed_tension(
    segments: Segments,
    pitch_hz: ArrayLike,
    end_hold: ArrayLike = 0.5,
    *,
    partial: int = 1,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """As `tension_from_pitch` [N], but negative where the pitch is lower than that of this wire without tension.

    Notes
    -----
    With the pitch given, det(K_b + T K_t - (2 pi f)^2 M) = 0 is an eigenvalue problem in T, so there is no search: its
    n-th largest eigenvalue is the tension at which the n-th partial has this pitch.
    """
    hz = checked(pitch_hz, "pitch_hz", 1e-3, 1e5, "a pitch above 0 Hz")
    bending, inertia = _diagonal(_chain(segments, end_hold, youngs_modulus, density, partial, None))
    dynamic = (2 * math.pi * hz[..., None, None]) ** 2 * inertia - bending[..., :, None] * np.eye(bending.shape[-1])
    return floats(np.linalg.eigvalsh(dynamic)[..., -partial])


def force_per_semitone(
    segments: Segments,
    tension: ArrayLike,
    end_hold: ArrayLike = 0.5,
    *,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """Tension to add for a pitch one semitone higher [N]; parameters as in `partials`."""
    now = pitch(segments, tension, end_hold, youngs_modulus=youngs_modulus, density=density)
    higher = tension_from_pitch(segments, now * SEMITONE, end_hold, youngs_modulus=youngs_modulus, density=density)
    return higher - floats(tension)


def end_hold_from_pitch(
    segments: Segments,
    tension: ArrayLike,
    pitch_hz: ArrayLike,
    *,
    youngs_modulus: float = SPOKE_STEEL_MODULUS,
    density: float = SPOKE_STEEL_DENSITY,
) -> Floats:
    """`end_hold` at which a known tension gives a known pitch; 0 or 1 where the pitch lies outside what ends can do.

    Parameters
    ----------
    segments : lengths (..., segments) and diameters [mm], head to nipple
    tension : [N]
    pitch_hz : fundamental
    youngs_modulus : [N/mm2]
    density : [t/mm3]

    Notes
    -----
    K_b + T K_t - (2 pi f)^2 M, condensed on the slopes of the two ends, is a 2 by 2 matrix S. With g the spring of an
    end_hold of one half, S + x diag(g) is singular for x = h / (1 - h). Between the pitches of free and of clamped ends
    S has one negative eigenvalue, which belongs to the fundamental. D
    """
    force, hz = floats(tension), floats(pitch_hz)
    options = {"youngs_modulus": youngs_modulus, "density": density}
    free, clamped = pitch(segments, force, 0.0, **options), pitch(segments, force, 1.0, **options)
    bending, stringing, inertia = _chain(segments, 0.0, youngs_modulus, density, 1, None)
    dynamic = bending + force[..., None, None] * stringing - (2 * math.pi * hz[..., None, None]) ** 2 * inertia
    at_ends = np.linalg.inv(np.linalg.inv(dynamic)[..., [[0], [-1]], [0, -1]])
    weight = np.sqrt(hold_spring(0.5, bending_stiffness(segments[1], youngs_modulus)))[..., [0, -1]]
    ratio = -np.linalg.eigvalsh(at_ends / (weight[..., :, None] * weight[..., None, :]))[..., 0]
    return np.where(hz <= free, 0.0, np.where(hz >= clamped, 1.0, ratio / (1 + ratio)))


def _chain(
    segments: Segments,
    end_hold: ArrayLike,
    youngs_modulus: float,
    density: float,
    partial: int,
    support_at: float | None,
) -> Matrices:
    """Stiffness with the springs of the ends, stiffness per newton of tension, and mass."""
    lengths, diameters = _checked_segments(segments)
    if support_at is not None:
        lengths, diameters, cut = _cut(lengths, diameters, support_at)
    counts = _element_counts(lengths, partial)
    element_lengths = np.concatenate([lengths[..., [i]] * _shares(n) for i, n in enumerate(counts)], axis=-1)
    element_diameters = np.repeat(diameters, counts, axis=-1)
    stiffness = bending_stiffness(element_diameters, youngs_modulus)
    bending, stringing, inertia = matrices(element_lengths, stiffness, mass_per_length(element_diameters, density))
    springs = hold_spring(np.asarray(end_hold)[..., None], stiffness[..., [0, -1]])
    size = bending.shape[-1]
    held = np.zeros((*springs.shape[:-1], size, size))
    held[..., [0, -1], [0, -1]] = springs
    bending = bending + held
    if support_at is None:
        return bending, stringing, inertia
    free = np.delete(np.arange(size), 2 * sum(counts[: cut + 1]) - 1)
    return tuple(matrix[..., free[:, None], free] for matrix in (bending, stringing, inertia))  # type: ignore[return-value]


def _checked_segments(segments: Segments) -> tuple[Floats, Floats]:
    """Both parts of `segments` as arrays, refused if a wire cannot have them."""
    lengths = checked(segments[0], "free_length", 1e-3, 1e5, "above 0 mm")
    diameters = checked(segments[1], "wire", 0.1, 100.0, "a diameter in mm")
    if lengths.shape[-1:] != diameters.shape[-1:] or lengths.ndim == 0:
        raise InputError("wire", f"found {lengths.shape} lengths for {diameters.shape} diameters; give one for each")
    return lengths, diameters


def _cut(lengths: Floats, diameters: Floats, at: float) -> tuple[Floats, Floats, int]:
    """Segments with the one at a distance from the head cut in two there, and the index of its first half."""
    ends = np.cumsum(lengths, axis=-1)
    if lengths.ndim != 1 or not 0 < at < ends[-1]:
        raise InputError("crossing", f"found {at:g} mm; it must lie inside one spoke of {np.max(ends):g} mm")
    i = int(np.searchsorted(ends, at))
    rest = float(ends[i]) - at
    if rest < 1e-3 or lengths[i] - rest < 1e-3:
        return lengths, diameters, i if rest < 1e-3 else i - 1
    halves = np.concatenate([lengths[:i], [lengths[i] - rest, rest], lengths[i + 1 :]])
    return halves, np.insert(diameters, i, diameters[i]), i


def _element_counts(lengths: Floats, partial: int) -> list[int]:
    """Elements per segment: 3 in a short one, more with its share of the length and with the partial."""
    share = np.max(lengths / np.sum(lengths, axis=-1, keepdims=True), axis=tuple(range(lengths.ndim - 1)))
    # Ours: with these the published strings and beams come out within their tolerance.
    return [2 + math.ceil((8 + 6 * partial) * part) for part in share]


def _shares(count: int) -> Floats:
    """Lengths of the elements of a segment of length 1, closer together at both its ends."""
    share: Floats = np.diff((1 - np.cos(np.pi * np.arange(count + 1) / count)) / 2)
    return share


def _diagonal(chain: Matrices) -> tuple[Floats, Floats]:
    """Bending stiffness (diagonal) and mass in coordinates that make the stiffness per newton the unit matrix."""
    bending, stringing, inertia = chain
    inverse = np.linalg.inv(np.linalg.cholesky(stringing))
    values, vectors = np.linalg.eigh(inverse @ bending @ np.swapaxes(inverse, -1, -2))
    modes = np.swapaxes(inverse, -1, -2) @ vectors
    return values, np.swapaxes(modes, -1, -2) @ inertia @ modes
