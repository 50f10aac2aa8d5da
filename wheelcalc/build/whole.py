"""All that is known of a build: its sections, and key -> value, standard uncertainty, origin."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from wheelcalc.build import declare
from wheelcalc.build.bike import Clearance, Cogs, Crank, Frame, Load, Spacers
from wheelcalc.build.dimension import Dimension
from wheelcalc.build.geometry import GeometryNow
from wheelcalc.build.hub import Hub
from wheelcalc.build.limits import Limits
from wheelcalc.build.old_wheel import Fitted, OldWheel
from wheelcalc.build.readings import Readings
from wheelcalc.build.rim import OldRim, Rim
from wheelcalc.build.section import Section
from wheelcalc.build.spokes import Lacing, Nipple, Spokes, Stock
from wheelcalc.build.work import Measuring, Pluck, Tension, Truing
from wheelcalc.wheel.errors import InputError

DERAILLEUR = ("cassette", "freewheel")  # drives that take several cogs


class Build(Section, Mapping[str, Dimension]):
    """All that is known of a build, never changed in place.

    ``build.hub.axle`` is a value; ``build["hub.axle"]`` is the value with its uncertainty and origin, by the build file's
    dotted key, for what goes over all keys.
    """

    title: str | None = declare.key("text", "what this build is called")
    position: str = declare.choice("front or rear", "front", "rear", default="rear")
    rim: Rim = declare.section(Rim)
    hub: Hub = declare.section(Hub)
    lacing: Lacing = declare.section(Lacing)
    spokes: Spokes = declare.section(Spokes)
    nipple: Nipple = declare.section(Nipple)
    stock: Stock = declare.section(Stock)
    frame: Frame = declare.section(Frame)
    crank: Crank = declare.section(Crank)
    cogs: Cogs = declare.section(Cogs)
    spacers: Spacers = declare.section(Spacers)
    load: Load = declare.section(Load)
    tension: Tension = declare.section(Tension)
    clearance: Clearance = declare.section(Clearance)
    measuring: Measuring = declare.section(Measuring)
    truing: Truing = declare.section(Truing)
    pluck: Pluck = declare.section(Pluck)
    geometry: GeometryNow = declare.section(GeometryNow)
    readings: Readings = declare.section(Readings)
    old_wheel: OldWheel = declare.section(OldWheel)
    fitted: Fitted = declare.section(Fitted)
    old_rim: OldRim = declare.section(OldRim)
    limits: Limits = declare.section(Limits)

    def __init__(self, entries: Mapping[str, Dimension]) -> None:
        super().__init__(dict(entries))

    # What is not given, where other keys tell.

    @property
    def has_rotor(self) -> bool:
        """Whether a rotor turns on this hub: named, measured, or asked for by the frame's brake."""
        if self.hub.rotor is None:
            return self.frame.brake == "disc" or "hub.rotor_face" in self
        return self.hub.rotor

    @property
    def several_cogs(self) -> bool:
        """Whether the chain is shifted over several cogs; where they are not counted, what the drive is made for."""
        if "cogs.count" in self:
            return self.cogs.count > 1
        return self.hub.drive in DERAILLEUR

    @property
    def has_derailleur(self) -> bool:
        """Whether a derailleur shifts the chain over several cogs."""
        return self.hub.drive in (*DERAILLEUR, None) and self.several_cogs

    @property
    def braked_rim(self) -> bool:
        """Whether pads may rub on the rim; they do where the file is silent."""
        return self.frame.brake in ("rim", None) and self.rim.brake_track is not False

    def __getitem__(self, key: str) -> Dimension:
        return self._entries[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._entries)

    def __len__(self) -> int:
        return len(self._entries)

    def value(self, key: str, default: Any = None) -> Any:
        """Value of a key, or the default where nothing is known."""
        entry = self._entries.get(key)
        return default if entry is None else entry.value

    def number(self, key: str) -> float:
        """Value of a key that must be known.

        Raises
        ------
        InputError
            If it is not.
        """
        return float(self.needed(key))

    def needed(self, key: str) -> Any:
        """Value of any kind that must be known, or `InputError`."""
        if key not in self._entries:
            raise InputError(key, "is missing and needed here")
        return self._entries[key].value

    def sigma(self, key: str) -> float:
        """Return the standard uncertainty of a key, in its unit; 0 where nothing is known of it."""
        return self._entries[key].sigma if key in self._entries else 0.0

    def given(self, key: str) -> bool:
        """Whether the user gave the key (and did not leave it to a default)."""
        return key in self._entries and self._entries[key].origin != "default"

    def having(self, values: Mapping[str, Any]) -> Build:
        """Return a copy with some values changed, their uncertainty kept; a key with None is taken out."""
        entries = dict(self._entries)
        for key, value in values.items():
            if value is None:
                entries.pop(key, None)
            else:
                old = entries.get(key, Dimension(value))
                entries[key] = Dimension(value, old.sigma, old.origin)
        return Build(entries)

    def values_below(self, prefix: str) -> dict[str, Any]:
        """Values of all keys below a prefix, the prefix taken off."""
        start = prefix + "."
        return {key[len(start) :]: entry.value for key, entry in self._entries.items() if key.startswith(start)}

    def under(self, prefix: str, new_prefix: str) -> Build:
        """Return the keys below a prefix moved below another one ("old_wheel.hub" to "hub")."""
        start = prefix + "."
        moved = {new_prefix + key[len(prefix) :]: e for key, e in self._entries.items() if key.startswith(start)}
        return Build(moved)
