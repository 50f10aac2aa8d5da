"""The dialogue of `start` in a terminal: one question after the other, every answer on disk at once."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import Protocol, TypeGuard

import click

from wheelcalc.build.section import Key
from wheelcalc.cli.output import folded
from wheelcalc.files import how
from wheelcalc.files.draft import Draft
from wheelcalc.files.keys import keys
from wheelcalc.files.outline.direct import read_direct
from wheelcalc.files.outline.questions import Choice, NextItem, Progress, Question, Section, next_of
from wheelcalc.files.typed import value_of
from wheelcalc.joined.findings import doubtful
from wheelcalc.wheel.errors import InputError, printable
from wheelcalc.wheel.findings import Finding

MARGIN = "  "
WORDS = (
    "Answer and press Enter. ? explains the question, skip leaves it for later, back returns to the question before, "
    "stop ends for today. Every answer is in the file at once: whatever happens, the same command goes on from there."
)
FIRST = (
    "What a spoke order needs comes first: ten readings. how lists all ways to take one, where there are several. all asks everything, in "
    "the order of the job."
)
AGAIN = "Some answers stand in the file already. again goes through them, each offered as it stands."


class LineReader(Protocol):
    """Reads one line; raises EOFError at the end of the input."""

    def __call__(self, prompt: str, /) -> str:
        """Return what was typed."""


class StoppedError(Exception):
    """The user wants to end."""


class Dialogue:
    """Asks until nothing is missing.

    Parameters
    ----------
    draft : the build file on its way
    outline : the questions
    read : reads one line
    """

    def __init__(self, draft: Draft, outline: tuple[Section, ...], read: LineReader) -> None:
        self.draft, self.outline, self.read = draft, outline, read
        self.progress = Progress()
        self.history: list[tuple[str, Progress]] = []
        self.earlier: dict[str, str] = {}  # question -> what was answered in this session, offered again after back
        self._shown = ""

    def run(self) -> None:
        """Ask everything that is missing.

        Raises
        ------
        StoppedError
            If the user ended it before.
        """
        while (step := next_of(self.outline, self.draft, self.progress)) is not None:
            self._head(step.section)
            typed = self._ask(step)
            if typed == "back":
                self._back()
                continue
            if self._turned(typed, step.item):
                continue
            before = (self.draft.text, self.progress.copy())
            name = self._named(step.item)
            typed = typed or self._offered(step.item)
            if self._answer(step, typed):
                self.history.append(before)
                self.earlier[name] = "" if typed == "skip" else typed

    def _turned(self, typed: str, item: Section | Choice | Question) -> bool:
        """Whether a word changed what is asked, instead of answering."""
        if typed == "all" and not self.progress.everything:
            self.progress.everything = True
            return True
        if typed == "how" and self._direct(item):
            self.progress.menus.add(item.key)
            return True
        if typed == "again" and any(self.draft.answer(question.key) for question in self._questions()):
            self.progress = Progress(everything=self.progress.everything, again=True)
            return True
        return False

    def _direct(self, item: Section | Choice | Question) -> TypeGuard[Choice]:
        """Whether the dimension itself is asked for, its way typed beside it."""
        return isinstance(item, Choice) and self.progress.direct(item)

    def _named(self, item: Section | Choice | Question) -> str:
        """Return the name by which an earlier answer is remembered."""
        if isinstance(item, Section):
            return f"gate {item.title}"
        return f"{'direct' if self._direct(item) else type(item).__name__} {item.key}"

    def _questions(self) -> Iterator[Question]:
        return (question for section in self.outline for question in section.questions())

    def _offered(self, item: Section | Choice | Question) -> str:
        """Return what Enter repeats: what was answered in this session, what stands in the file, the left side's way."""
        earlier = self.earlier.get(self._named(item), "")
        if isinstance(item, Question) and self.progress.again:
            return earlier or self.draft.answer(item.key)
        if self._direct(item):
            return earlier
        if isinstance(item, Choice) and (way := self.progress.ways.get(item.key.replace(".right.", ".left."))):
            return earlier or str(way + 1)
        return earlier

    def _head(self, section: Section) -> None:
        if section.title != self._shown:
            say("", section.title, "-" * len(section.title), *folded(section.intro))
            self._shown = section.title

    def _ask(self, step: NextItem) -> str:
        """Show a question and return what was typed, explained as often as wanted."""
        item = step.item
        say("", *(folded(item.direct) if self._direct(item) else asked(item, self.draft)))
        while True:
            offered = self._offered(item)
            typed = self._line("> " if self._direct(item) and not offered else prompt(item, self.draft, offered))
            if typed != "?":
                return typed
            say(*explained(item))

    def _line(self, mark: str) -> str:
        while True:
            try:
                typed = self.read(mark).strip()
            except EOFError:
                raise StoppedError from None
            except UnicodeDecodeError:
                tell("That could not be read as text; type it again.")
                continue
            if typed.lower() in ("stop", "quit", "exit"):
                raise StoppedError
            return typed.lower() if typed.lower() in ("back", "skip", "?", "all", "again", "how") else typed

    def _back(self) -> None:
        if self.draft.refresh():
            self.history.clear()
            tell("The file was changed outside; its new text was taken in. Change earlier answers there.")
        elif not self.history:
            tell("This is the first question of this session; again goes through what stands in the file.")
        else:
            text, self.progress = self.history.pop()
            self.draft.take(text)
            self.draft.save()

    def _answer(self, step: NextItem, typed: str) -> bool:
        """Take an answer in; False where it must be given again."""
        item = step.item
        if isinstance(item, Section):
            return self._gate(item, typed)
        if typed == "skip":
            self.progress.passed.add(item.key)
            return True
        if self._direct(item):
            return self._straight(item, typed)
        return self._way(item, typed) if isinstance(item, Choice) else self._value(item, typed)

    def _gate(self, section: Section, typed: str) -> bool:
        if (typed.lower() or _usual(section)) in ("y", "yes"):
            self.progress.passed.add(f"gate {section.title}")
        elif (typed.lower() or _usual(section)) in ("n", "no", "skip"):
            self.progress.passed.add(section.title)
        else:
            tell("Answer yes or no.")
            return False
        return True

    def _straight(self, choice: Choice, typed: str) -> bool:
        """Take a dimension typed with its way; what that way needs besides is asked next."""
        read = read_direct(choice, typed)
        if read is None:
            tell("Nothing was typed, and there is no order without it. how lists all ways, skip leaves it for later.")
            return False
        before, progress = self.draft.text, self.progress.copy()
        self.progress.ways[choice.key] = read.way
        if not read.complete(choice.ways):
            return self._kept_for_later(choice, read.answers)
        if all(self._value(question, text) for question, text in read.answers):
            return True
        self.progress = progress
        if self.draft.text != before:
            self.draft.take(before)
            self.draft.save()
        return False

    def _kept_for_later(self, choice: Choice, answers: tuple[tuple[Question, str], ...]) -> bool:
        """Offer what was typed again once what must be told before it is known."""
        for question, text in answers:
            try:
                value_of(question.key, keys()[question.key], text, self.draft.build.measuring.tool)
            except InputError as error:
                tell(sentence(error))
                del self.progress.ways[choice.key]
                return False
            self.earlier[self._named(question)] = text
        return True

    def _way(self, choice: Choice, typed: str) -> bool:
        number = typed or "1"
        if not (number.isdecimal() and 1 <= int(number) <= len(choice.ways)):
            tell(f"First the number of the way, 1 to {len(choice.ways)}, or ? or skip; the reading comes next.")
            return False
        self.progress.ways[choice.key] = int(number) - 1
        return True

    def _value(self, question: Question, typed: str) -> bool:
        typed = ("" if _leaves_out(question, typed) else typed) or question.suggest(self.draft.build)
        if not typed:
            if question.needed:
                tell("Nothing was typed, and there is no order without it. skip leaves it for later.")
                return False
            self.progress.passed.add(question.key)
            return True
        if self.draft.refresh():
            tell("The file was changed outside; its new text was taken in.")
        before, build = self.draft.text, self.draft.build
        try:
            text = self.draft.answered(question.key, typed, question.note, instead=self.progress.again)
            self.draft.take(text)
        except InputError as error:
            tell(sentence(error))
            return False
        self.draft.save()
        self.progress.passed.add(question.key)
        new = [finding for finding in doubtful(self.draft.build) if finding not in doubtful(build)]
        return not new or self._doubted(question, new, before)

    def _doubted(self, question: Question, doubts: list[Finding], before: str) -> bool:
        """Show what speaks against an answer; Enter keeps it, anything else is the answer anew."""
        for finding in doubts:
            tell(f"Wait: {finding.text}")
            tell(finding.remedy)
        typed = self._line(f"{MARGIN}Enter keeps it; or type it again > ")
        if not typed:
            return True
        self.draft.take(before)
        self.draft.save()
        self.progress.passed.discard(question.key)
        return typed not in ("back", "?") and self._value(question, "" if typed == "skip" else typed)


def _leaves_out(question: Question, typed: str) -> bool:
    """Whether a plain no is meant as Enter: there is no such thing, and the question needs no answer."""
    key = keys()[question.key]
    return (
        typed.lower() in ("no", "none") and not question.needed and not key.choices and key.kind not in ("flag", "text")
    )


def _usual(section: Section) -> str:
    """What Enter means where a whole part may be left out."""
    return "yes" if section.usual else "no"


def say(*lines: str) -> None:
    """Print lines, in letters that no terminal obeys."""
    for line in "\n".join(lines).split("\n"):
        click.echo(printable(line))


def tell(text: str) -> None:
    """Say something about an answer, below it."""
    say(*folded(text, MARGIN))


def asked(item: Section | Choice | Question, draft: Draft) -> list[str]:
    """Return a question as one reads it, with its choices."""
    if isinstance(item, Section):
        return folded(item.gate)
    if isinstance(item, Question):
        return [*folded(item.text), *choices(keys()[item.key])]
    tool = draft.build.measuring.tool
    costs = item.costs(tool)
    lines = folded(item.text)
    for number, (way, cost) in enumerate(zip(item.ways, costs, strict=True), start=1):
        lines += folded(f"{way.text}{f' ({cost})' if cost else ''}", f"{MARGIN}{number}  ")
    if any(costs):
        lines += folded(f"+-: how sure that way is with your {tool}, 19 times in 20.", MARGIN)
    return lines


def choices(key: Key) -> list[str]:
    """Return the words that may be answered."""
    if key.kind == "flag":
        return [f"{MARGIN}yes or no"]
    return folded("   ".join(f"{number} {word}" for number, word in enumerate(key.choices, 1)), MARGIN)


def prompt(item: Section | Choice | Question, draft: Draft, earlier: str = "") -> str:
    """Return the mark behind which one types; what Enter means stands in brackets."""
    if earlier:
        return f"[{printable(earlier)}] > "
    if isinstance(item, Section):
        return f"[{_usual(item)}] > "
    if isinstance(item, Choice):
        return "[1] > "
    suggested = item.suggest(draft.build)
    if suggested:
        return f"[{suggested}] > "
    if item.needed:
        return "> "
    usual = keys()[item.key].default
    from wheelcalc.answers.base import worded  # noqa: PLC0415 - loads numbers, which the help does not need

    return "[leave out] > " if usual is None else f"[{worded(item.key, usual)} if left out] > "


def explained(item: Section | Choice | Question) -> list[str]:
    """Return what the words of a question mean, and how to take the reading."""
    if isinstance(item, Section):
        return folded("yes goes through the questions of this part, no leaves them all out.", MARGIN)
    lines = folded(item.explanation or f"{keys()[item.key].how}.", MARGIN)
    if item.topic:
        taken = how.how(item.topic)
        lines += ["", *(line for each in taken.steps for line in folded(each, f"{MARGIN}- "))]
        lines += ["", *taken.drawing.rstrip("\n").splitlines(), "", *folded(taken.matters, MARGIN)]
    return lines


def sentence(error: InputError) -> str:
    """Return the reason of a refusal as a sentence, without the key that was just asked for."""
    text = error.text[0].upper() + error.text[1:]
    return text if text.endswith((".", "?")) else f"{text}."


def terminal_line() -> LineReader:
    """Return a reader of lines that lets one move within the line, where the system can."""
    with suppress(ImportError):
        import readline  # noqa: F401, PLC0415 - input() uses it once it is there
    return input
