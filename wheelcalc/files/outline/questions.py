"""The questions of `wheelcalc start`, in the order in which one measures, and which of them comes next."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from wheelcalc.build.whole import Build
from wheelcalc.files import how
from wheelcalc.files.draft import Draft
from wheelcalc.files.keys import keys
from wheelcalc.measuring.cost import cost
from wheelcalc.wheel.constants import NINETEEN_IN_TWENTY

When = Callable[[Build], bool]


def _always(_known: Build) -> bool:
    return True


@dataclass(frozen=True)
class Question:
    """One question.

    Parameters
    ----------
    key : the build file's
    text : as one asks it
    explanation : what the words mean, for "?"
    needed : without it there is no order
    topic : of `files.how`: how to take the reading, with a drawing
    when : whether it is asked, from what is known
    suggest : what Enter means, from what is known; empty: nothing
    shared : other questions of other ways ask for it too
    """

    key: str
    text: str
    explanation: str = ""
    needed: bool = False
    topic: str = ""
    when: When = _always
    suggest: Callable[[Build], str] = field(default=lambda _known: "")
    shared: bool = False

    @property
    def option(self) -> str:
        """The option that answers it."""
        return "--" + self.key.replace(".", "-").replace("_", "-")

    @property
    def brings_a_part(self) -> bool:
        """Whether it takes a part out of a drawer, with all that was read of it."""
        return self.key.endswith(".part")

    @property
    def note(self) -> str:
        """The comment that stands beside it in the file."""
        return keys()[self.key].how


@dataclass(frozen=True)
class Way:
    """One way to come by a dimension: its readings; `words` of `measuring.methods` tell what it costs in error."""

    questions: tuple[Question, ...]
    words: str = ""
    text: str = ""


@dataclass(frozen=True)
class Choice:
    """A dimension that can be had in several ways.

    Parameters
    ----------
    key : the dimension
    text : as one asks which way
    explanation : what the dimension is
    ways : the best first
    others : keys that would do in its place
    direct : as one asks for the dimension itself, its way typed beside it
    """

    key: str
    text: str
    explanation: str
    ways: tuple[Way, ...]
    others: tuple[str, ...] = ()
    direct: str = ""

    @property
    def topic(self) -> str:
        """Of `files.how`."""
        return how.topic(self.key) or ""

    def costs(self, tool: str) -> list[str]:
        """What each way is sure to, 19 times in 20, with this tool; empty where nothing is known of it."""
        by_words = dict(cost(self.topic))
        return [
            f"+-{NINETEEN_IN_TWENTY * by_words[way.words][tool]:.1f} mm" if way.words in by_words else ""
            for way in self.ways
        ]


def question(key: str, **more: Any) -> Question:
    """Return the question that asks for a key; see `Question` for the rest."""
    words = how.reading(key)
    return Question(key, words.ask, words.explain, **more)


def choice(key: str, ways: tuple[Way, ...], others: tuple[str, ...] = ()) -> Choice:
    """Return the question in which way a dimension will be found; see `Choice`."""
    words = how.choice(key)
    named = tuple(replace(way, text=text) for way, text in zip(ways, words.ways, strict=True))
    return Choice(key, words.ask, words.explain, named, others, words.direct)


@dataclass(frozen=True)
class Section:
    """A part of the job; one with a `gate` can be left out as a whole, and is by Enter unless `usual`."""

    title: str
    intro: str
    items: tuple[Question | Choice, ...]
    gate: str = ""
    usual: bool = True

    def questions(self) -> Iterator[Question]:
        """Return all its questions, those of every way too."""
        for item in self.items:
            if isinstance(item, Question):
                yield item
            else:
                for way in item.ways:
                    yield from way.questions


@dataclass
class Progress:
    """What was decided in this session and stands in no file: questions passed, ways chosen."""

    passed: set[str] = field(default_factory=set)
    ways: dict[str, int] = field(default_factory=dict)
    everything: bool = False  # in the order of the job, not what an order needs first
    again: bool = False  # only what stands in the file already
    menus: set[str] = field(default_factory=set)  # dimensions whose ways were asked for

    def copy(self) -> Progress:
        """Return a copy that later answers do not change."""
        return replace(self, passed=set(self.passed), ways=dict(self.ways), menus=set(self.menus))

    def direct(self, choice: Choice) -> bool:
        """Whether a dimension is asked for itself, its way typed beside it, and not first in which way."""
        of_the_left = choice.key.replace(".right.", ".left.")
        return not (self.everything or self.again or {choice.key, of_the_left} & self.menus)


@dataclass(frozen=True)
class NextItem:
    """What is to be asked next: whether to take a section, which way, or one question."""

    section: Section
    item: Section | Choice | Question


REST = Section(
    "More about this wheel",
    "",
    (),
    gate="That was what an order needs. The rest makes it surer, and tells whether the wheel fits, how tight it may be and "
    "whether the rim is sound. Each answer can be left out. Go on with it?",
)


def needed_first(outline: tuple[Section, ...], progress: Progress) -> tuple[Section, ...]:
    """Return the questions without which there is no order, and those that offer a whole part."""
    sections = []
    for section in outline:
        items = tuple(
            _no_more_than_needed(item) if isinstance(item, Choice) and progress.direct(item) else item
            for item in section.items
            if isinstance(item, Choice) or item.needed or item.brings_a_part
        )
        if items:
            sections.append(replace(section, items=items, gate=""))
    return tuple(sections)


def _no_more_than_needed(choice: Choice) -> Choice:
    """Return a choice without what its ways ask for besides, such as a spoke hole's width; that is asked with the rest."""
    ways = (
        replace(way, questions=tuple(each for each in way.questions if each.needed or not each.shared))
        for way in choice.ways
    )
    return replace(choice, ways=tuple(ways))


def next_of(outline: tuple[Section, ...], draft: Draft, progress: Progress) -> NextItem | None:
    """Return what is to be asked next: what an order needs, then the rest, if wanted; None at the end.

    Where what stands in the file is gone through (`again`), that comes first, and `progress` then forgets it.
    """
    step = next_item(outline, draft, progress)
    if step is None and progress.again:
        progress.again = False
        step = next_item(outline, draft, progress)
    if progress.everything or progress.again or step is None:
        return step
    first = next_item(needed_first(outline, progress), draft, progress)
    if first is None and f"gate {REST.title}" not in progress.passed:
        return None if REST.title in progress.passed else NextItem(REST, REST)
    return first or step


def next_item(outline: tuple[Section, ...], draft: Draft, progress: Progress) -> NextItem | None:
    """Return what is to be asked next; None at the end."""
    for section in outline:
        if section.title in progress.passed:
            continue
        items = [item for each in section.items for item in _pending(each, draft, progress)]
        if items and section.gate and not progress.again and f"gate {section.title}" not in progress.passed:
            return NextItem(section, section)
        if items:
            return NextItem(section, items[0])
    return None


def _pending(item: Question | Choice, draft: Draft, progress: Progress) -> Iterator[Question | Choice]:
    if isinstance(item, Question):
        open_ = bool(draft.answer(item.key)) if progress.again else not draft.has(item.key)
        if open_ and item.key not in progress.passed and item.when(draft.build):
            yield item
        return
    way = way_of(item, draft, progress)
    if way is not None:
        for question in way.questions:
            yield from _pending(question, draft, progress)
    elif not progress.again and item.key not in progress.passed and not satisfied(item, draft.build):
        yield item


def way_of(choice: Choice, draft: Draft, progress: Progress) -> Way | None:
    """Return the way that was chosen, or begun in the file."""
    if choice.key in progress.ways:
        return choice.ways[progress.ways[choice.key]]
    for way in choice.ways:
        if any(draft.has(question.key) for question in way.questions if question.needed and not question.shared):
            return way
    return None


def satisfied(choice: Choice, build: Build) -> bool:
    """Whether the dimension is known, from the file or from its readings."""
    return any(key in build for key in (choice.key, *choice.others))


@dataclass(frozen=True)
class Lacking:
    """What an order lacks: any one of these ways to have it, each its unanswered questions."""

    ways: tuple[tuple[Question, ...], ...]

    @property
    def plainest(self) -> tuple[Question, ...]:
        """The way that asks for the dimension itself, else the first."""
        return min(self.ways, key=lambda way: (way[-1].key.startswith("readings."), len(way)))


def lacking(outline: tuple[Section, ...], draft: Draft) -> list[Lacking]:
    """Return what an order still lacks."""
    out = []
    for section in outline:
        for item in section.items:
            if isinstance(item, Question):
                ways: tuple[tuple[Question, ...], ...] = ((item,),) if item.needed else ()
            elif satisfied(item, draft.build):
                continue
            else:
                begun = way_of(item, draft, Progress())
                ways = tuple(way.questions for way in ([begun] if begun else item.ways))
            still = [tuple(q for q in way if q.needed and q.when(draft.build) and not draft.has(q.key)) for way in ways]
            if any(still):
                out.append(Lacking(tuple(way for way in still if way)))
    return out
