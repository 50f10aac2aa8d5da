"""wheelcalc start."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from wheelcalc.cli import completing, options
from wheelcalc.cli.asking import AGAIN, FIRST, WORDS, Dialogue, StoppedError, say, terminal_line
from wheelcalc.cli.output import folded
from wheelcalc.files.buildfile import build_of, read_drawers, tree_of
from wheelcalc.files.draft import Draft
from wheelcalc.files.drawer import SECTIONS, Part
from wheelcalc.files.drawer_writing import put_in
from wheelcalc.files.keys import keys
from wheelcalc.files.outline import questions
from wheelcalc.files.outline.questions import Question, Section, lacking
from wheelcalc.files.outline.whole import OUTLINE
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

USUAL_NAME = "wheel.toml"
KINDS = tuple(SECTIONS.values())


class Grouped(options.JobCommand):
    """A command whose help lists its options part by part of the job."""

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the command's own options, then those that answer questions."""
        records = {
            each.name: each.get_help_record(ctx) for each in self.get_params(ctx) if isinstance(each, click.Option)
        }
        answers = {name_of(question.key) for question in every_question()}
        own = [record for name, record in records.items() if record and name not in answers]
        with formatter.section("Options"):
            formatter.write_dl(own)
        for section in (FROM_DRAWER, *OUTLINE):
            names = dict.fromkeys(name_of(question.key) for question in section.questions())
            with formatter.section(f"Answers: {section.title[0].lower()}{section.title[1:]}"):
                formatter.write_dl([record for name in names if (record := records[name])])


FROM_DRAWER = Section(
    "From your drawer",
    "What is taken from the drawer is not asked again; a key of the build file goes before the part's.",
    tuple(questions.question(f"{kind}.part") for kind in KINDS),
)


def offered(parts: Sequence[Part]) -> tuple[Section, ...]:
    """Return the questions that offer what lies in the drawers; none where nothing does."""
    names = {kind: ", ".join(part.name for part in parts if part.kind == kind) for kind in KINDS}
    items = [
        replace(question, text=f"{question.text} {names[kind]}; skip: none of these.")
        for kind, question in zip(KINDS, FROM_DRAWER.questions(), strict=True)
        if names[kind]
    ]
    return (replace(FROM_DRAWER, items=tuple(items)),) if items else ()


def every_question() -> Iterator[Question]:
    """Return the questions in their order; one that stands in several ways comes more than once."""
    for section in (FROM_DRAWER, *OUTLINE):
        yield from section.questions()


def name_of(key: str) -> str:
    """Return the parameter that takes the answer to a question."""
    return key.replace(".", "_")


def answers_by_option(function: Any) -> Any:
    """Give every question an option."""
    once = {question.key: question for question in every_question()}
    for question in reversed(list(once.values())):
        function = click.option(
            question.option,
            name_of(question.key),
            metavar=metavar(question),
            shell_complete=completing.answer(question.key),
            help=question.text,
        )(function)
    return function


def metavar(question: Question) -> str:
    """Return the word that stands for a value in the help."""
    key = keys()[question.key]
    return {"text": "WORD", "flag": "YES|NO", "count": "COUNT"}.get(key.kind, key.kind.upper())


HELP = """Ask for what a wheel needs, in plain words, and write a build file.

Example: wheelcalc start wheel.toml

What an order needs comes first, then the rest is offered. Run on a file that exists, it asks for what is missing
and leaves alone what stands there; the answer "again" goes through what was answered before. Every question has an
option; what an option answers is not asked. Where it cannot ask (no terminal), options must answer all that an
order needs: wheelcalc start -o wheel.toml --rim-holes 36 ...
"""


@click.command(cls=Grouped, help=HELP)
@click.argument("buildfile", metavar="[BUILDFILE]", required=False, shell_complete=options.files)
@click.option(
    "-o",
    "--output",
    metavar="FILE",
    shell_complete=options.files,
    help="The build file to write or to complete; the same as BUILDFILE.",
)
@click.option(
    "--parts",
    "drawers",
    multiple=True,
    metavar="FILE",
    shell_complete=options.files,
    help="A drawer of own parts, from which it offers rims, hubs, spokes and cranks. May be repeated.",
)
@click.option(
    "--keep",
    multiple=True,
    metavar="KIND=NAME",
    shell_complete=completing.kept,
    help='Put what the build file says of its rim (hub, spokes, crank) into the drawer, such as rim="black 36".',
)
@answers_by_option
def command(
    buildfile: str | None, output: str | None, drawers: tuple[str, ...], keep: tuple[str, ...], **answers: str | None
) -> int:
    by_terminal = sys.stdin is not None and sys.stdin.isatty()
    kept = [kind_and_name(each, drawers) for each in keep]
    # a drawer that is only begun may be missing
    parts = read_drawers(each for each in drawers if not keep or Path(each).exists())
    try:
        draft = Draft(path_of(buildfile, output, by_terminal=by_terminal), parts)
    except (StoppedError, KeyboardInterrupt):
        say("", "Stopped before the first answer; nothing was written.")
        return 0
    typed = {question.key: answers[name_of(question.key)] for question in every_question()}
    taken = answered(draft, {key: text for key, text in typed.items() if text is not None})
    if not by_terminal:
        demand_all(draft)
    if taken:
        draft.save()
    if by_terminal and not asked_to_the_end(draft):
        return 0
    for kind, name in kept:
        put_in(Path(drawers[-1]), kind, name, draft.own)
        say("", f'Put into {drawers[-1]}: {kind} "{name}".')
    return closing(draft)


def kind_and_name(text: str, drawers: tuple[str, ...]) -> tuple[str, str]:
    """Return what --keep names, such as ("rim", "black 36")."""
    kind, equals, name = (each.strip() for each in text.partition("="))
    if not equals or kind not in KINDS or not name.strip("\"'").isprintable() or not name.strip("\"'"):
        raise InputError("--keep", f'found "{text}"; write rim=NAME, hub=NAME, spokes=NAME or crank=NAME')
    if not drawers:
        raise InputError("--parts", "is missing: name the drawer that --keep writes into")
    return kind, name.strip("\"'")


def path_of(buildfile: str | None, output: str | None, *, by_terminal: bool) -> Path:
    """Return the file to write, asked for where no option names it."""
    if buildfile and output and buildfile != output:
        both = " beside ".join(f'"{printable(each, LONGEST_ECHO)}"' for each in (output, buildfile))
        raise InputError("-o", f"found {both}; name the build file once")
    name = output or buildfile
    if name is None:
        if not by_terminal:
            raise InputError("-o", "is missing; name the build file to write, such as wheel.toml")
        try:
            name = terminal_line()(f"In which file shall it be kept? [{USUAL_NAME}] > ").strip() or USUAL_NAME
        except EOFError:
            raise StoppedError from None
    path, shown = Path(name), printable(name, LONGEST_ECHO)
    if path.suffix != ".toml":
        raise InputError("-o", f'found "{shown}"; a build file ends in .toml, such as {USUAL_NAME}')
    try:
        writable = path.parent.is_dir() and os.access(path if path.exists() else path.parent, os.W_OK)
    except (OSError, ValueError):
        writable = False
    if not writable:
        raise InputError("-o", f'"{shown}" cannot be written; name a file in a folder that is there and can be written')
    return path


def answered(draft: Draft, answers: dict[str, str]) -> bool:
    """Put the answers of the options into the draft; nothing is written yet. True where there were any."""
    notes = {question.key: question for question in every_question()}
    before = draft.text
    for key, text in answers.items():
        question = notes[key]
        try:
            draft.take(draft.answered(key, text, question.note))
        except InputError as error:
            where = "" if error.key in ("", key) else f"{error.key}: "
            raise InputError(question.option, in_options(f"{where}{error.text}")) from None
    return draft.text != before


def in_options(text: str) -> str:
    """Return a message about keys as one about the options that answer them."""
    for question in sorted(every_question(), key=lambda each: -len(each.key)):
        if "." in question.key:
            text = re.sub(rf"(?<![\w.-]){re.escape(question.key)}\b", question.option, text)
    return text


def demand_all(draft: Draft) -> None:
    """Refuse to go on without a terminal where something that an order needs is missing."""
    if draft.fault is not None:
        raise draft.fault.in_file(str(draft.path))
    missing = lacking(OUTLINE, draft)
    if not missing:
        return
    first, *others = (each.plainest for each in missing)
    text = f"is missing, and there is no terminal to ask in: {first[-1].text}"
    more = [" and ".join(q.option for q in way) for way in missing[0].ways if way != first]
    if more:
        text += f" Or give {', or '.join(more)}."
    if others:
        text += f" Also missing: {', '.join(each[-1].option for each in others)}"
    raise InputError(first[0].option, text)


def asked_to_the_end(draft: Draft) -> bool:
    """Ask for what is missing; where the user ends it before, say where the answers are and how to go on. False then."""
    outline = (*offered(draft.parts), *OUTLINE)
    stands = any(draft.answer(question.key) for section in outline for question in section.questions())
    say(*folded(WORDS), *(folded(FIRST) if lacking(OUTLINE, draft) else []), *(folded(AGAIN) if stands else []))
    try:
        Dialogue(draft, outline, terminal_line()).run()
    except (StoppedError, KeyboardInterrupt):
        say("")
        if not draft.path.exists():
            say("Stopped before the first answer; nothing was written.")
        else:
            kept = f"Stopped. Every answer is kept in {draft.path}; `wheelcalc start {draft.path}` goes on from there."
            say(*folded(kept))
        return False
    return True


def closing(draft: Draft) -> int:
    """Say what the file is good for now, as `check` does, and what to do next; return the exit status."""
    if not draft.path.exists():
        say("", "Nothing was answered, so nothing was written.")
        return 0
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    file = build_of(tree_of(draft.path), str(draft.path), (), draft.parts)
    answer = answers.check(file)
    say("", f"Written: {draft.path}", "", str(answer), "")
    order = next(each for each in answer.commands if each.command == "order")
    if order.ready:
        say(f"Next: wheelcalc order {draft.path}")
    elif order.missing or order.problem:
        again = f"Next: put right what is said above, then run `wheelcalc start {draft.path}` again; it asks for what is missing."
        say(*folded(again))
    else:
        say(*folded(f"Next: see to what stops it before you order; then `wheelcalc order {draft.path}`."))
    return 1 if answer.stops else 0
