"""Shared by all tests: hypothesis draws the same cases each run.

HYPOTHESIS_PROFILE=search draws new ones, to look for what no case has found yet.
"""

from __future__ import annotations

import hashlib
import json
import os
import pickle
import sys
from collections.abc import Iterator
from typing import Any

# Before numpy is imported: the matrices are small, and threads that wait for each other on a busy machine cost most of the time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# The processes that tests start read compiled modules as an installed command does, instead of compiling them each time.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

import pytest
from hypothesis import settings

# Assertions are rewritten once and not at every run: that takes longer than most of them take to be tried.
sys.dont_write_bytecode = False

settings.register_profile("fixed", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "fixed"))

# A fault of wheelcalc itself shows its traceback in the tests instead of the line that a user gets.
os.environ["WHEELCALC_SHOW_FAULTS"] = "1"


@pytest.fixture(scope="session", autouse=True)
def _every_answer_keeps_to_its_schema() -> Iterator[None]:
    """Hold the JSON of every answer that a test asks for against its schema, or record it for those that write the schemas."""
    from tests.tools import answer_schemas
    from wheelcalc.answers.base import Answer

    recorder = answer_schemas.Recorder() if answer_schemas.RECORD in os.environ else None
    as_json = Answer.as_json

    def held(self: Answer) -> dict[str, Any]:
        out = as_json(self)
        (recorder or answer_schemas).hold(json.loads(json.dumps(out)))
        return out

    Answer.as_json = held  # type: ignore[method-assign]
    yield
    Answer.as_json = as_json  # type: ignore[method-assign]
    if recorder:
        recorder.write()


@pytest.fixture(scope="session", autouse=True)
def _a_round_is_heard_once() -> Iterator[None]:
    """The same sound, listened to for the same spokes, is heard once for all tests of a process; what is made of it is theirs."""
    from wheelcalc.answers.plucking import compute

    hear, heard = compute.hear, {}

    def once(*given: Any) -> Any:
        *asked, tell = given
        if tell is not None:
            return hear(*given)
        key = hashlib.sha256(pickle.dumps(asked)).digest()
        if key not in heard:
            heard[key] = hear(*given)
        return heard[key]

    compute.hear = once
    yield
    compute.hear = hear
