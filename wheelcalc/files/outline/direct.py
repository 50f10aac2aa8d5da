"""A dimension typed together with its way: "602.4 spoke end", "260 gap 82.4", "near 42.4 far 47.3", "offset 34.4"."""

from __future__ import annotations

import re
from typing import NamedTuple

from wheelcalc.files.outline.questions import Choice, Question, Way


class Typed(NamedTuple):
    """One way to type a dimension: what it looks like, and the last words of the keys that its groups answer."""

    pattern: re.Pattern[str]
    groups: dict[str, str]


def _typed(pattern: str, **groups: str) -> Typed:
    return Typed(re.compile(pattern, re.IGNORECASE | re.DOTALL), groups)


# Last word of the dimension -> the ways to type it, the plain one last.
PATTERNS = {
    "erd": (
        _typed(r"(?P<length>.+?)\s*(?:gap|\+(?!\s*-))\s*(?P<gap>.+)", length="length", gap="gap"),
        _typed(
            r"(?P<erd>.*\d.*?)[\s,]+(?:to\s+)?(?:the\s+)?(?P<to>(?:spoke|nipple|slot)?\s*(?:ends?|tops?|seats?))",
            to="erd_to",
            erd="erd",
        ),
        _typed(r"(?P<erd>.+)", erd="erd"),
    ),
    "pcd": (
        _typed(r"near\s*(?P<near>.+?)[\s,]+far\s*(?P<far>.+)", near="near_edges", far="far_edges"),
        _typed(r"(?P<pcd>.+)", pcd="pcd"),
    ),
    "locknut_to_flange": (
        _typed(r"offset\s*(?P<offset>.+)", offset="offset"),
        _typed(r"(?P<place>.+)", place="locknut_to_flange"),
    ),
}
LONGEST = 200  # ours, letters: what is longer is no dimension with its way, and an expression would look through it for minutes
MEASURED_TO = {"end": "spoke end", "top": "nipple top", "seat": "nipple seat"}


class Direct(NamedTuple):
    """The way that was typed, by its place among the ways, and its answers, in the order in which they are asked."""

    way: int
    answers: tuple[tuple[Question, str], ...]

    def complete(self, ways: tuple[Way, ...]) -> bool:
        """Whether nothing that the way always needs is left to ask."""
        given = [question.key for question, _ in self.answers]
        return all(each.key in given for each in ways[self.way].questions if each.needed and not each.shared)


def read_direct(choice: Choice, text: str) -> Direct | None:
    """Return which way of a dimension a typed text takes; None where it looks like none."""
    patterns = PATTERNS[choice.key.rpartition(".")[2]]
    for pattern, groups in patterns if len(text) <= LONGEST else patterns[-1:]:
        match = pattern.fullmatch(text.strip())
        if match is None:
            continue
        words = {groups[name]: found.strip() for name, found in match.groupdict().items()}
        if "erd_to" in words:
            words["erd_to"] = next(to for word, to in MEASURED_TO.items() if word in words["erd_to"].lower())
        return _of_way(choice, words)
    return None


def _of_way(choice: Choice, words: dict[str, str]) -> Direct:
    """Return the way whose questions the words answer; the plainest where several do."""
    for place, way in reversed(list(enumerate(choice.ways))):
        answers = [(each, words[last]) for each in way.questions if (last := each.key.rpartition(".")[2]) in words]
        if len(answers) == len(words):
            return Direct(place, tuple(answers))
    raise LookupError(choice.key)
