"""wheelcalc tap."""

from __future__ import annotations

import click

from wheelcalc.cli import options
from wheelcalc.cli.output import listed_csv, show

HELP = """Tell how stiff the bare rim is from recordings of it tapped.

Hang the bare rim on a string; tap it inward, then sideways, some five times
each. `wheelcalc measure --how tap` shows how.

Example: wheelcalc tap errand-rear.toml --radial errand-rim-inward.wav --lateral errand-rim-sideways.wav

With -o it writes .txt, .json, .html, .csv (the modes) or .svg (the spectrum).
"""


@click.command(cls=options.JobCommand, help=HELP)
@options.build_file
@click.option("--radial", metavar="A.wav", shell_complete=options.files, help="Recording of the rim tapped inward.")
@click.option("--lateral", metavar="B.wav", shell_complete=options.files, help="Recording of the rim tapped sideways.")
@options.common
@options.working
def command(
    buildfile: str,
    radial: str | None,
    lateral: str | None,
    overrides: tuple[str, ...],
    wanted: options.Wanted,
    working: bool,
) -> int:
    from wheelcalc import answers  # noqa: PLC0415 - numbers are loaded when they are needed

    answer = answers.tap(buildfile, radial, lateral, overrides)

    def picture() -> str:
        from wheelcalc.paper.spectrum import spectrum  # noqa: PLC0415 - as above

        return spectrum(answer).svg()

    more = {".csv": lambda: listed_csv(answer, "modes"), ".svg": picture}
    return show(answer, wanted, more, lambda: answer.page(working=working))
