"""The bench page as one file, without a server: to look at and to tick; the ticks are kept by the browser."""

from __future__ import annotations

import hashlib
import json
import re
from base64 import b64encode
from typing import Any

from wheelcalc.answers.truing.answer import TrueAnswer
from wheelcalc.answers.truing.sheet import mark_of
from wheelcalc.files.buildfile import BuildFile
from wheelcalc.page.html import to_html
from wheelcalc.page.tags import Html, tag
from wheelcalc.paper import bench
from wheelcalc.paper.bench.content import next_turns, targets, wheel_at_the_bench

# Those of `stand`, less those that take readings, and with the answers in the file where `stand` asks the server.
SCRIPTS = ("elements", "kept", "passes", "home", "strip", "look", "turns", "opened")
STYLES = re.compile(r"<style>(.*?)</style>", re.DOTALL)
# Signs that could end the data's element or begin another.
UNSAFE = str.maketrans({sign: f"\\u{ord(sign):04x}" for sign in "<>&"})


def bench_file(file: BuildFile, answer: TrueAnswer) -> str:
    """Return the page as HTML, with nothing that it would have to fetch.

    Parameters
    ----------
    file : the build
    answer : of `true`, for that build
    """
    state = {
        **wheel_at_the_bench(file, answer.wheel, [each.read for each in answer.passes]),
        "targets": targets(file),
        "key": f"wheelcalc {mark_of(answer.wheel)} pass {len(answer.passes)}",
    }
    whole = to_html(answer.page())
    foot = Html("\n").join(
        [
            tag("section", tag("details", tag("summary", "The whole answer"), whole), aria_label="The whole answer"),
            Html("<noscript>The boxes to tick need JavaScript; the whole answer above does not.</noscript>"),
            Html(
                f'<script type="application/json" id="kept">{_data({"state": state, "advise": next_turns(answer)})}</script>'
            ),
            Html(f"<script>{bench.script(SCRIPTS)}</script>"),
        ]
    )
    look = f"<style>{bench.look()}</style>"
    policy = _policy(bench.script(SCRIPTS), [bench.look(), *STYLES.findall(whole)])
    head = [
        tag("meta", http_equiv="Content-Security-Policy", content=policy),
        tag("title", f"{file.title}: at the stand"),
        look,
    ]
    return bench.markup_with("\n".join(head), foot)


def _data(value: Any) -> str:
    """Return JSON that no text of the build file can break out of."""
    return json.dumps(value, allow_nan=False).translate(UNSAFE)


def _policy(script: str, styles: list[str]) -> str:
    """Return what the browser may run: this script and these styles, by their sum; nothing from anywhere else."""
    sums = " ".join(dict.fromkeys(map(_sum, styles)))
    return f"default-src 'none'; script-src {_sum(script)}; style-src {sums}; img-src data:; form-action 'none'; base-uri 'none'"


def _sum(text: str) -> str:
    return f"'sha256-{b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
