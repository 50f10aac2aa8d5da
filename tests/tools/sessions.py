"""Console blocks of a page in Markdown: the commands that stand there, and how what they print begins.

`python -m tests.tools.sessions` runs those of reference/tutorial.md and writes anew as many lines of each as stand there now.
"""

from __future__ import annotations

import re
import shlex
import shutil
import tempfile
from pathlib import Path

from tests.tools.process import inside

ROOT = Path(__file__).parents[2]
TUTORIAL = ROOT / "reference" / "tutorial.md"
BLOCK = re.compile(r"```console\n\$ (?P<command>.*)\n(?P<shown>(?:.*\n)*?)```")
RENEW = "`python -m tests.tools.sessions` writes reference/tutorial.md anew"


def bench(folder: Path) -> None:
    """Lay the examples into a folder, as the page has them."""
    for path in (ROOT / "examples").iterdir():
        shutil.copy(path, folder)
        if path.suffix == ".toml":
            text = path.read_text(encoding="utf-8").replace("../reference", str(ROOT / "reference"))
            (folder / path.name).write_text(text, encoding="utf-8")


def printed(command: str, folder: Path) -> str:
    """Run one command in a folder and return what it prints."""
    name, *arguments = shlex.split(command)
    assert name == "wheelcalc"
    done = inside(*arguments, folder=folder)
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


def blocks(page: str) -> list[tuple[str, list[str]]]:
    """Each command with the lines that are shown of it, three dots for the rest left out."""
    found = [(each["command"], each["shown"].splitlines()) for each in BLOCK.finditer(page)]
    return [(command, shown[:-1] if shown and shown[-1] == "..." else shown) for command, shown in found]


def renewed(page: str) -> str:
    """Return the page with what its commands print now."""
    with tempfile.TemporaryDirectory() as folder:
        bench(Path(folder))

        def again(block: re.Match[str]) -> str:
            lines = printed(block["command"], Path(folder)).splitlines()
            count = len(block["shown"].splitlines())
            shown = (
                [*lines[:count], "..."]
                if count and block["shown"].splitlines()[0] == "..."
                else lines[: max(count - 1, 0)]
            )
            more = ["..."] if shown and shown[-1] != "..." and len(lines) > len(shown) else []
            return "\n".join([f"```console\n$ {block['command']}", *shown, *more, "```"])

        return BLOCK.sub(again, page)


if __name__ == "__main__":
    TUTORIAL.write_text(renewed(TUTORIAL.read_text(encoding="utf-8")), encoding="utf-8")
