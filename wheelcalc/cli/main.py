"""The console command: finds the command, and brings every error under one exit status and one line."""

from __future__ import annotations

import contextlib
import gc
import os
import signal
import sys
import threading
from collections.abc import Iterator
from importlib import import_module

import click

from wheelcalc import __version__
from wheelcalc.cli.streams import silence_output
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable

# In the order of the job; what each does, so that the overview imports none of them.
COMMANDS = {
    "start": "asks in plain words, and writes the build file that all steps read",
    "measure": "what your readings give, each with its error; how to take one",
    "salvage": "the old wheel as gauge, the wrong reading, the old rim, what the jar can build",
    "fit": "does the hub go into the frame, with which spacers, is the chain straight",
    "lengths": "how long the spokes are, and how sure that is",
    "order": "which spokes to buy, how many, and the chance that they fit",
    "lace": "which spoke runs where, the order to lace in, and the map as a picture",
    "tap": "how stiff the bare rim is, by ear: from recordings of it tapped",
    "tension": "how tight each side is to be, what limits it, what riding takes away",
    "true": "which nipples to turn, and what that brings; a broken spoke on the road",
    "stand": "one page beside the trueing stand that leads through it",
    "pluck": "how evenly tight the spokes are, by ear: from a recording of them plucked",
    "sheet": "one file to print: everything the hands need at the bench",
    "check": "what this file is good for, what is missing, what to measure next",
    "compare": "what changes between two files, and whether your order still serves",
    "tables": "the reference tables of the trade, with their sources",
}
UNUSABLE = 2
ENDED = 128 + 15  # as a shell says it of a process that SIGTERM ended
LONGEST_LINE = 700  # letters of an error; ours: what is longer was not written by this program
PATIENCE = 1.5  # s, C: longer, and one wonders whether it hangs
SHOW_FAULTS = "WHEELCALC_SHOW_FAULTS"


def _meant(name: str) -> str:
    """Return what an unknown command was probably meant to be."""
    from difflib import get_close_matches  # noqa: PLC0415 - only where something is misspelt

    if name.endswith(".toml"):
        return f"name one before the file: wheelcalc order {printable(name, LONGEST_ECHO)}"
    near = get_close_matches(name[:LONGEST_ECHO].lower(), COMMANDS, n=1)
    return f'did you mean "{near[0]}"?' if near else f"the commands are {', '.join(COMMANDS)}"


class Ended(BaseException):
    """The process was told to end; what it had begun to write is taken away on the way out."""


# Parameters of the library that messages name, and the options that they are here.
OPTIONS = {
    "overrides": "--set",
    "drawers": "--parts",
    "rim_holes": "--broken",
    "start": "--from",
    "skip": "--skip",
    "bought": "--order",
    "seen": "--seen",
    "how": "--how",
    "radial": "--radial",
    "lateral": "--lateral",
    "only": "--only",
    "without": "--without",
}


class Job(click.Group):
    """The commands by name, each loaded when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order of the job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"wheelcalc.cli.{cmd_name}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; an unknown one is refused with the name that was probably meant."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            raise InputError("", f'there is no command "{printable(name, LONGEST_ECHO)}"; {_meant(name)}')
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading them."""
        with formatter.section("The job, step by step"):
            formatter.write_dl(list(COMMANDS.items()))


HELP = """Build a bicycle wheel from mixed and used parts.

Every step reads the same build file. Try: wheelcalc order BUILDFILE

What it may say: wheelcalc tables keys; for editors: wheelcalc tables schema.
"""


@click.group(
    cls=Job,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    help=HELP,
)
@click.version_option(__version__, "--version", message="wheelcalc %(version)s")
@click.pass_context
def job(ctx: click.Context) -> None:
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def main() -> None:
    """Run the command line."""
    # One short command on small matrices: the collector would only walk numpy's modules again and again (a tenth of the
    # start), and threads cost more than they bring.
    gc.disable()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    signal.signal(signal.SIGTERM, _end)
    sys.exit(run(sys.argv[1:]))


def _end(_signal: int, _frame: object) -> None:
    raise Ended


def run(arguments: list[str]) -> int:
    """Run one command and return its exit status: 0 no stop finding, 1 a stop finding, 2 unusable input."""
    try:
        with _said_to_be_at_work(asks=arguments[:1] == ["start"]):
            status = job.main(arguments, prog_name="wheelcalc", standalone_mode=False)
    except Ended:
        return ENDED
    except (BrokenPipeError, SystemExit):
        # The reader (such as `head`) has seen enough of what has no verdict; click turns that into an exit of its own.
        silence_output()
        return 0
    except (Exception, KeyboardInterrupt) as error:
        line = error_line(error)
        from wheelcalc.cli.output import aside  # noqa: PLC0415 - only where something is wrong

        aside(line)
        return UNUSABLE
    return _flushed(status if isinstance(status, int) else 0)


def error_line(error: BaseException) -> str:
    """Return the one line that says what is wrong."""
    return printable(f"Error: {' '.join(_what_to_say(error).split())}", LONGEST_LINE)


def _flushed(status: int) -> int:
    """Return the status once everything is out, or once nobody reads on: the verdict does not depend on the reader."""
    try:
        if sys.stdout:
            sys.stdout.flush()
    except BrokenPipeError:
        silence_output()
    except OSError as error:
        from wheelcalc.cli.output import aside  # noqa: PLC0415 - only where something is wrong

        aside(f"Error: {_what_to_say(error)}")
        return UNUSABLE
    return status


@contextlib.contextmanager
def _said_to_be_at_work(*, asks: bool) -> Iterator[None]:
    """Say on a terminal that long work goes on, unless the command asks questions itself."""
    if asks or not (sys.stderr and sys.stderr.isatty()):
        yield
        return
    timer = threading.Timer(PATIENCE, lambda: click.echo("Still at work ...", err=True))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def _what_to_say(error: BaseException) -> str:
    """Return the one line for an error; a fault of our own is raised where the environment asks for it."""
    if isinstance(error, InputError):
        return str(_as_typed(error))
    if isinstance(error, click.ClickException):
        return _usage(error) if isinstance(error, click.UsageError) else error.format_message()
    if isinstance(error, click.Abort | KeyboardInterrupt):
        return "stopped before the end; nothing was written"
    if isinstance(error, MemoryError):
        return "this takes more memory than there is; give fewer readings, sizes or parts, or a shorter recording"
    if isinstance(error, OSError):
        silence_output()
        return f"the output cannot be written ({error.strerror or error}); -o writes a file instead"
    if os.environ.get(SHOW_FAULTS):
        raise error
    return (
        f"a fault of wheelcalc itself, not of your input ({type(error).__name__}: {error}); {SHOW_FAULTS}=1 shows where"
    )


def _as_typed(error: InputError) -> InputError:
    """Name what the library calls by its parameter by the option that it came from."""
    text = error.text
    for parameter, option in OPTIONS.items():
        text = text.replace(f"`{parameter}`", f"`{option}`")
    return InputError(OPTIONS.get(error.key, error.key), text, OPTIONS.get(error.file, error.file))


def _usage(error: click.UsageError) -> str:
    """Return click's message, the command named, and where help is."""
    path = error.ctx.command_path if error.ctx else "wheelcalc"
    text = error.format_message().rstrip(".")
    if len(text) > LONGEST_LINE // 2:
        text = f"{text[: LONGEST_LINE // 2]}..."
    return f"{text}; `{path} --help` shows how"
