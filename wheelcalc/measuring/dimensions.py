"""What is known of a build: key -> value, its standard uncertainty, and where it came from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from wheelcalc.wheel.errors import InputError

# C: what a careful reading with each tool is good for, one standard uncertainty [mm]; a setting of the build file.
TOOL_SIGMA = {"tape": 1.0, "rule": 0.5, "calliper": 0.1}


@dataclass(frozen=True)
class Dimension:
    """One thing known.

    Parameters
    ----------
    value : a number in mm, N, g, N/mm2, degrees or a count; or a word, a yes or no, a table
    sigma : standard uncertainty, same unit; 0 where exact
    origin : "given", "default" or "readings"
    repeats : the single readings where the key was read more than once
    """

    value: Any
    sigma: float = 0.0
    origin: str = "given"
    repeats: tuple[float, ...] = ()


class Dimensions(Mapping[str, Dimension]):
    """All that is known of a build, by the build file's dotted keys; never changed in place."""

    def __init__(self, entries: Mapping[str, Dimension]) -> None:
        self._entries = dict(entries)

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

    def having(self, values: Mapping[str, Any]) -> Dimensions:
        """Return a copy with some values changed, their uncertainty kept; a key with None is taken out."""
        entries = dict(self._entries)
        for key, value in values.items():
            if value is None:
                entries.pop(key, None)
            else:
                old = entries.get(key, Dimension(value))
                entries[key] = Dimension(value, old.sigma, old.origin)
        return Dimensions(entries)

    def section(self, prefix: str) -> dict[str, Any]:
        """Values of all keys below a prefix, the prefix taken off."""
        start = prefix + "."
        return {key[len(start) :]: entry.value for key, entry in self._entries.items() if key.startswith(start)}

    def under(self, prefix: str, new_prefix: str) -> Dimensions:
        """Return the keys below a prefix moved below another one ("old_wheel.hub" to "hub")."""
        start = prefix + "."
        moved = {new_prefix + key[len(prefix) :]: e for key, e in self._entries.items() if key.startswith(start)}
        return Dimensions(moved)
