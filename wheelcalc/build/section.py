"""A key of the build file, declared once as an attribute; a section, the attributes that stand below one name.

A section is a view of what is known of a build: reading ``build.hub.axle`` looks up the key ``hub.axle``. The annotation
of the attribute is its type, so that a wrong name or type is the type checker's to find.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Generic, TypeVar

from wheelcalc.build.dimension import Dimension
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

T = TypeVar("T")


class Section:
    """Some keys of the build file, and what is known of them.

    Parameters
    ----------
    entries : all that is known of the build, by dotted key
    path : where the section stands, such as "old_wheel.hub"; empty for the whole
    """

    _entries: Mapping[str, Dimension]
    _start: str

    def __init__(self, entries: Mapping[str, Dimension], path: str = "") -> None:
        self.__dict__.update(_entries=entries, _start=f"{path}." if path else "")

    def __init_subclass__(cls) -> None:
        """Tell every key and section its name."""
        for name, declared in vars(cls).items():
            if isinstance(declared, Key | Inside):
                declared.name = name

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{self._start}{name} cannot be set; `Build.having` returns a changed copy")

    @classmethod
    def keys_below(cls, path: str = "") -> Iterator[tuple[str, Key]]:
        """Yield every key of the section and of those inside of it, by its dotted name."""
        start = f"{path}." if path else ""
        for each in reversed(cls.__mro__):
            for name, declared in vars(each).items():
                if isinstance(declared, Key):
                    yield start + name, declared
                elif isinstance(declared, Inside):
                    yield from declared.kind.keys_below(start + name)


class Inside:
    """A section inside of another; made by `section`."""

    def __init__(self, kind: type[Section]) -> None:
        self.kind = kind
        self.name = ""

    def __get__(self, view: Section | None, owner: type) -> Any:
        if view is None:
            return self
        held = vars(view)
        made = held[self.name] = self.kind(held["_entries"], held["_start"] + self.name)
        return made


class Key:
    """What a key takes.

    Parameters
    ----------
    kind : "length", "force", "mass", "angle", "stress", "area", "inertia", "stiffness" (N m2), "number", "give" (mm per
        1000 N), "count", "flag", "text", or a shape with a reader of its own: "wire", "stock", "lengths", "pairs", "table",
        "known", "loosened", "holes", "kept"
    how : what to measure or write, for the message when it is missing
    low, high : the sensible range [base unit]; outside it the reading is refused and the unit asked after
    default : what is taken where it is absent (and stated); None: nothing
    absent : what its absence means, without being stated: nothing was moved, none are on hand
    needed : reading it where it is absent is an `InputError`; else it reads as None
    choices : words allowed
    reading : a bare number has the uncertainty of the tool
    per_side : may be { left = ..., right = ... }
    sided : a length may say "2.5 mm left" (negative)
    with_unit : a bare number is refused
    raw : a reading of [readings]: scatter of repeats and tool count together
    tool : what it takes, where that is not the tool of [measuring]
    """

    def __init__(
        self,
        kind: str,
        how: str,
        low: float | None = None,
        high: float | None = None,
        default: Any = None,
        *,
        absent: Any = None,
        needed: bool = False,
        choices: tuple[str, ...] = (),
        reading: bool = False,
        per_side: bool = False,
        sided: bool = False,
        with_unit: bool = False,
        raw: bool = False,
        tool: str = "",
    ) -> None:
        self.name = ""
        self.kind, self.how = kind, how
        self.low, self.high = low, high
        self.default, self.absent, self.needed = default, absent if default is None else default, needed
        self.choices = choices
        self.reading, self.raw, self.tool = reading, raw, tool
        self.per_side, self.sided, self.with_unit = per_side, sided, with_unit

    def __get__(self, view: Section | None, owner: type) -> Any:
        if view is None:
            return self
        held = vars(view)
        path = held["_start"] + self.name
        return Sides(held["_entries"], path, self) if self.per_side else self.of(held["_entries"], path)

    def of(self, entries: Mapping[str, Dimension], path: str) -> Any:
        """Value of the key at a path."""
        entry = entries.get(path)
        if entry is not None:
            return entry.value
        if self.needed:
            raise InputError(path, "is missing and needed here")
        return self.absent


class Sides(Generic[T]):
    """The values of a key that may differ by side."""

    def __init__(self, entries: Mapping[str, Dimension], path: str, key: Key) -> None:
        self._entries, self._path, self._key = entries, path, key

    def __getitem__(self, side: str) -> T:
        """Value of a side, "left" or "right"."""
        return self._key.of(self._entries, f"{self._path}.{side}")  # type: ignore[no-any-return]

    @property
    def left(self) -> T:
        """Value on the left."""
        return self["left"]

    @property
    def right(self) -> T:
        """Value on the right."""
        return self["right"]

    def items(self) -> Iterator[tuple[str, T]]:
        """Yield both sides with their values."""
        return ((side, self[side]) for side in SIDES)
