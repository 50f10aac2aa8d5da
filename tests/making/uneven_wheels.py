"""Invented wheels for the tests of the structure, none of them symmetric."""

from __future__ import annotations

import math

import numpy as np

from wheelcalc.tension.structure import Structure
from wheelcalc.wheel.parts import Section

RIM = Section(112, 2150, 9300, 2700, 69e3, 26e3, 2 * 303.7)
E_SPOKE = 200e3  # N/mm2


def wheel(
    rim_angles_deg: np.ndarray,
    sides: np.ndarray,
    hub_turns_deg: np.ndarray,
    offsets: tuple[float, float],
    diameters: np.ndarray,
    tensions: np.ndarray,
    *,
    hole_offset: float = 0.0,
    stagger: float = 0.0,
    spoke_end_radius: float = 299.2,
    flange_radii: tuple[float, float] = (21.3, 22.6),
    section: Section = RIM,
    empty: tuple[int, ...] = (),
) -> Structure:
    """A wheel: side -1 is left; hub hole ahead of its rim hole by hub_turns; the tensions are balanced first."""
    theta = np.radians(rim_angles_deg)
    hub_angle = theta + np.radians(hub_turns_deg)
    flange = np.where(sides > 0, flange_radii[1], flange_radii[0])
    hub = np.c_[np.where(sides > 0, offsets[1], -offsets[0]), flange * np.sin(hub_angle), flange * np.cos(hub_angle)]
    rim_x = hole_offset + stagger * sides
    rim = np.c_[rim_x, spoke_end_radius * np.sin(theta), spoke_end_radius * np.cos(theta)]
    stiffness = E_SPOKE * math.pi / 4 * diameters**2 / np.linalg.norm(hub - rim, axis=1)
    kept = np.setdiff1d(np.arange(len(theta)), empty)
    raw = Structure(section, theta, kept, hub[kept], rim[kept], stiffness[kept], tensions[kept])
    return Structure(section, theta, kept, hub[kept], rim[kept], stiffness[kept], raw.balanced_tensions())


def rear() -> Structure:
    """32 spokes 3 cross, unequal offsets, rim drilled off-centre and staggered, thinner wire on the left."""
    i = np.arange(32)
    sides = np.where(i % 2 == 0, 1, -1)
    turns = np.where((i // 2) % 2 == 0, 1, -1) * 67.5
    tensions = np.where(sides > 0, 1150.0, 760.0)
    args = (i * 11.25 + 5.625, sides, turns, (34.0, 17.5), np.where(sides > 0, 2.0, 1.7), tensions)
    return wheel(*args, hole_offset=-2.5, stagger=1.3)


def two_missing() -> Structure:
    """36 holes, left radial, right 3 cross, two holes empty."""
    i = np.arange(36)
    sides = np.where(i % 2 == 0, 1, -1)
    turns = np.where(sides > 0, np.where((i // 2) % 2 == 0, 60.0, -60.0), 0.0)
    tensions = np.where(sides > 0, 900.0, 520.0)
    args = (i * 10.0 + 5.0, sides, turns, (36.0, 20.5), np.full(36, 1.8), tensions)
    return wheel(*args, stagger=1.1, empty=(7, 22))


def two_to_one() -> Structure:
    """24 holes: 16 right spokes 2 cross against 8 left radial ones of another wire."""
    i = np.arange(24)
    sides = np.where(i % 3 == 1, -1, 1)
    turns = np.where(sides > 0, np.where(i % 3 == 0, 45.0, -45.0), 0.0)
    tensions = np.where(sides > 0, 800.0, 850.0)
    args = (i * 15.0 + 7.5, sides, turns, (33.0, 18.0), np.where(sides > 0, 2.0, 1.55), tensions)
    return wheel(*args, hole_offset=1.4, spoke_end_radius=297.8)


def uneven() -> Structure:
    """20 holes unevenly spaced, leaning forward more than back, a mixture of wires."""
    i = np.arange(20)
    angles = i * 18.0 + 4.0 * np.sin(1.9 * i) + 2.0
    sides = np.where(i % 2 == 0, 1, -1)
    turns = np.where((i // 2) % 2 == 0, 50.0, -41.0) + 3.0 * np.cos(i)
    tensions = np.where(sides > 0, 820.0, 640.0) + 25.0 * np.sin(2.3 * i)
    args = (angles, sides, turns, (29.0, 24.0), np.where(i % 5 == 0, 2.3, 1.9), tensions)
    return wheel(*args, hole_offset=0.8, stagger=0.6)


ALL = {"rear": rear, "two missing": two_missing, "two to one": two_to_one, "uneven": uneven}
