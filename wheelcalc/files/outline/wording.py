"""Questions and choices with their words, which stand in reference/readings.toml."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from wheelcalc.files import how
from wheelcalc.files.outline.questions import Choice, Question, Way


def question(key: str, **more: Any) -> Question:
    """Return the question that asks for a key; see `Question` for the rest."""
    words = how.reading(key)
    return Question(key, words.ask, words.explain, **more)


def choice(key: str, ways: tuple[Way, ...], others: tuple[str, ...] = ()) -> Choice:
    """Return the question in which way a dimension will be found; see `Choice`."""
    words = how.choice(key)
    named = tuple(replace(way, text=text) for way, text in zip(ways, words.ways, strict=True))
    return Choice(key, words.ask, words.explain, named, others)
