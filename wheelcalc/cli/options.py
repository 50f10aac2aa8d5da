"""Options that every computing command shares."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import click

from wheelcalc.cli import completing

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

F = TypeVar("F", bound=Callable[..., Any])
SHARED = {"--set", "--parts", "--json", "--output", "--force", "--working", "--assumed", "--no-color", "--help"}


KEYS_STAND = "What a build file may say: wheelcalc tables keys; for editors: wheelcalc tables schema."


class Wanted(NamedTuple):
    """What --json, -o, --force, --no-color and --assumed ask for."""

    as_json: bool = False
    output: str | None = None
    force: bool = False
    no_color: bool = False
    assumed: bool = False


class JobCommand(click.Command):
    """A step of the job: its help lists what is its own before what every step shares, and says where the keys stand."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Name the list of keys."""
        formatter.write_paragraph()
        formatter.write_text(KEYS_STAND)

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the two groups of options."""
        shown = [(each, each.get_help_record(ctx)) for each in self.get_params(ctx) if isinstance(each, click.Option)]
        for title, shared in (("Of this step", False), ("Of every step", True)):
            records = [record for each, record in shown if record and bool(SHARED.intersection(each.opts)) is shared]
            if records:
                with formatter.section(title):
                    formatter.write_dl(records)


def files(_context: click.Context, _parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Let the shell complete the name of a file."""
    from click.shell_completion import CompletionItem  # noqa: PLC0415 - only a shell that completes needs it

    return [CompletionItem(incomplete, type="file")]


def build_file(function: F) -> F:
    """Take the build file's path, or - for standard input."""
    return click.argument("buildfile", metavar="BUILDFILE", shell_complete=files)(function)


def common(function: Callable[..., int]) -> Any:
    """Take --set as `overrides`, --assumed, and what `written` takes."""
    of_build = click.option(
        "--set",
        "overrides",
        multiple=True,
        metavar="KEY=VALUE",
        shell_complete=completing.settings,
        help='Put another value in place of one key of the build file, such as rim.erd="602 mm". May be repeated.',
    )
    from_drawer = click.option(
        "--parts",
        "drawers",
        multiple=True,
        metavar="FILE",
        shell_complete=files,
        help='A drawer of own parts, from which the build may take one, such as rim.part = "black 36". May be repeated.',
    )

    @wraps(function)
    def with_parts(drawers: tuple[str, ...], overrides: tuple[str, ...], **others: Any) -> int:
        if drawers and "buildfile" in others:
            from wheelcalc.files.buildfile import build_of, read_build, read_drawers  # noqa: PLC0415

            source = others["buildfile"]
            none = {"title": "What lies in the drawer"}
            others["buildfile"] = (
                build_of(none, "--parts", overrides, read_drawers(drawers))
                if source is None
                else read_build(source, overrides, drawers)
            )
            overrides = ()
        elif drawers:
            others["drawers"] = drawers
        return function(overrides=overrides, **others)

    whole = click.option(
        "--assumed", is_flag=True, help="List everything that was assumed, defaults of little matter too."
    )
    return of_build(from_drawer(whole(written(with_parts))))


def written(function: Callable[..., int]) -> Any:
    """Take --json, -o, --force and --no-color as one `wanted`."""

    @click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
    @click.option("-o", "--output", metavar="FILE", shell_complete=files, help="Write to a file; its suffix says what.")
    @click.option("--force", is_flag=True, help="Let -o write over a file that exists.")
    @click.option("--no-color", is_flag=True, help="Plain letters on a terminal too (so does NO_COLOR).")
    @wraps(function)
    def called(
        as_json: bool, output: str | None, force: bool, no_color: bool, assumed: bool = False, **others: Any
    ) -> int:
        return function(wanted=Wanted(as_json, output, force, no_color, assumed), **others)

    return called


def working(function: F) -> F:
    """Take --working."""
    return click.option("--working", is_flag=True, help="Show the formulas with the numbers put in.")(function)
