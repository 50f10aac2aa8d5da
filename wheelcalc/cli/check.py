"""wheelcalc check."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import assumptions, emit, findings, hanging, heading, wrapped

if TYPE_CHECKING:
    from wheelcalc.answers.checking import CheckAnswer


@click.command(cls=options.Step)
@options.build_file
@options.common
def command(buildfile: str, overrides: tuple[str, ...], wanted: options.Wanted) -> int:
    """Tell what a build file is good for, what is missing, and what to measure next.

    Example: wheelcalc check errand-rear.toml

    With -o it writes .txt or .json.
    """
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.check(buildfile, overrides)
    return emit(answer, lambda: text(answer), wanted)


def text(answer: CheckAnswer) -> str:
    if answer.parts:
        return "\n".join(drawer(answer))
    lines = heading(answer, "what this file is good for")
    width = max(len(each.command) for each in answer.commands)
    first: dict[tuple[str, ...], str] = {}
    for each in answer.commands:
        same = first.setdefault(tuple(each.missing), each.command)
        named = ", ".join(each.missing) if same == each.command else f"the same as {same}"
        lacks = f"lacks {named}" if each.missing else "see the stop below"
        state = "ready" if each.ready else "not yet: " + lacks
        lines += hanging(f"{each.command:{width}}  ", state)
    return "\n".join([*lines, *_next(answer), *findings(answer), *assumptions(answer)])


def drawer(answer: CheckAnswer) -> list[str]:
    lines = heading(answer, "what lies in this drawer")
    for part in answer.parts:
        state = "ready" if part.ready else f"lacks {', '.join(part.missing)}"
        lines += hanging(f"{part.kind:6}  ", f"{part.name}: {state}")
    example = next((f'{part.kind}.part = "{part.name}"' for part in answer.parts), "")
    return [*lines, "", *wrapped(f"A build takes one with, for example, {example}, and --parts {answer.title}.")]


def _next(answer: CheckAnswer) -> list[str]:
    if answer.next is None:
        return []
    return [
        "",
        *wrapped(
            f"Next: {answer.next.key} ({answer.next.how}). {answer.next.brings[:1].upper()}{answer.next.brings[1:]}"
        ),
    ]
