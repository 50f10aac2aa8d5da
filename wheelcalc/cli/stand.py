"""`wheelcalc stand`."""

from __future__ import annotations

import sys

import click

from wheelcalc.cli import completing, options
from wheelcalc.wheel.errors import printable

PORT = 8737  # ours: none that is registered for anything common


HELP = """Lead through trueing on one page, beside the trueing stand; it ends with Ctrl-C.

Example: wheelcalc stand errand-rear.toml

Readings and turns are kept in a log that `wheelcalc true` reads, a line for
each number as it is typed. A line "# pass 1: turned" ends a pass: what is read
after it belongs to pass 2; "# pass 1: goes on" takes that back. Any file of
readings goes on as a log. One program at a time writes it.
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@click.option(
    "--log",
    "log",
    metavar="LOG.csv",
    shell_complete=options.files,
    help="Where every number is kept; without it the build file's name and -log.csv.",
)
@click.option(
    "--port", type=click.IntRange(1024, 65535), default=PORT, show_default=True, help="Where to serve the page."
)
@click.option("--open", "opened", is_flag=True, help="Open the page in this machine's browser.")
@click.option(
    "--phone",
    is_flag=True,
    help="Let a phone in the same network in: whoever has the printed address sees and fills in the page.",
)
@click.option(
    "--set",
    "overrides",
    multiple=True,
    metavar="KEY=VALUE",
    shell_complete=completing.settings,
    help="Put another value in place of one key of the build file.",
)
def command(buildfile: str, log: str | None, port: int, opened: bool, phone: bool, overrides: tuple[str, ...]) -> int:
    from wheelcalc.stand.serving import serve  # noqa: PLC0415 - --help loads nothing

    serve(
        buildfile,
        overrides,
        log,
        port,
        opened=opened,
        phone=phone,
        say=lambda line: click.echo(printable(line)),
        show=show,
    )
    return 0


def show(address: str) -> None:
    """Show an address as a QR code, on a terminal."""
    from wheelcalc.cli.qr import qr_lines  # noqa: PLC0415 - only where it is asked for
    from wheelcalc.cli.screen import screen  # noqa: PLC0415

    if sys.stdout.isatty():
        for line in qr_lines(address, colour=screen().colour):
            click.echo(line)
