"""Shared by all tests: hypothesis draws the same cases each run.

HYPOTHESIS_PROFILE=search draws new ones, to look for what no case has found yet.
"""

from __future__ import annotations

import os

# Before numpy is imported: the matrices are small, and threads that wait for each other on a busy machine cost most of the time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from hypothesis import settings

settings.register_profile("fixed", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "fixed"))

# A fault of wheelcalc itself shows its traceback in the tests instead of the line that a user gets.
os.environ["WHEELCALC_SHOW_FAULTS"] = "1"
