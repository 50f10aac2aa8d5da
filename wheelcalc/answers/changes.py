"""One change between builds, and how changes are listed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from wheelcalc.page.blocks import Block, Column, Heading, Listed, Sentence, Table

# Sections that nothing here is computed from.
ASIDE = ("readings", "old_wheel", "old_rim", "fitted", "pluck", "truing", "measuring")
DIGITS = {"mm": 1, "degrees": 1, "N": 0, "N/mm": 0}


@dataclass(frozen=True)
class Change:
    """One thing that is no longer what it was: numbers in the unit named, or words (then no difference).

    Of several builds `values` has all, `before` and `after` the first and the last.
    """

    what: str
    before: float | str | None
    after: float | str | None
    unit: str = ""
    values: tuple[float | str | None, ...] = ()

    @property
    def difference(self) -> float | None:
        """After less before."""
        if isinstance(self.before, float) and isinstance(self.after, float):
            return self.after - self.before
        return None


def own(changes: Sequence[Change]) -> list[Change]:
    """Changes of keys that something is computed from."""
    return [change for change in changes if change.what.split(".")[0] not in ASIDE]


def aside(changes: Sequence[Change]) -> list[Block]:
    """What differs in the other sections, counted only."""
    counts = Counter(section for change in changes if (section := change.what.split(".")[0]) in ASIDE)
    said = ", ".join(f"{count} of [{name}]" for name, count in counts.items())
    return [Sentence(f"Besides, keys of other sections: {said}.")] if counts else []


def of_two(changes: Sequence[Change], heading: str) -> list[Block]:
    """Numbers as a table, words as a sentence each."""
    numbers = [change for change in changes if change.difference is not None]
    in_words = [each for each in changes if each.difference is None]
    words = [f"{each.what}: {_in_words(each.before, each)}; now {_in_words(each.after, each)}" for each in in_words]
    columns = [
        Column("what", _named, "left"),
        Column("before", lambda each: _number(each.before, each)),
        Column("after", lambda each: _number(each.after, each)),
        Column("change", lambda each: _number(each.difference, each, "+")),
    ]
    out: list[Block] = [Table(columns, numbers)] if numbers else []
    out += [Listed(words)] if words else []
    return [Heading(heading), *out] if out else []


def of_many(changes: Sequence[Change], builds: Sequence[str]) -> list[Block]:
    """Several builds side by side: numbers as a table under letters, words build by build."""
    letters = [chr(ord("A") + index) for index in range(len(builds))]
    out: list[Block] = [Listed([f"{letter}: {build}" for letter, build in zip(letters, builds, strict=True)])]
    numbers = [change for change in changes if any(isinstance(value, float) for value in change.values)]
    columns = [
        Column("what", _named, "left"),
        *(Column(letter, partial(_value, place)) for place, letter in enumerate(letters)),
    ]
    out.append(Table(columns, numbers) if numbers else Sentence("No number differs."))
    for change in changes:
        if change not in numbers:
            said = [f"{letter}: {value or '-'}" for letter, value in zip(letters, change.values, strict=True)]
            out += [Heading(f"{change.what}:"), Listed(said)]
    return out


def _named(change: Change) -> str:
    return f"{change.what} [{change.unit}]" if change.unit else change.what


def _value(place: int, change: Change) -> str:
    value = change.values[place]
    return "-" if value is None else _number(value, change)


def _number(value: float | str | None, change: Change, sign: str = "") -> str:
    return f"{value:{sign}.{DIGITS.get(change.unit, 2)}f}" if isinstance(value, float) else str(value)


def _in_words(value: float | str | None, change: Change) -> str:
    if value is None:
        return "not known"
    return f"{value:.1f} {change.unit}".rstrip() if isinstance(value, float) else value
