"""The arrays that formulas take and return, by what they hold; columns of them as rows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def in_rows(columns: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return columns of one length as a record for each row, their numbers Python's."""
    plain = (each.tolist() if isinstance(each, np.ndarray) else each for each in columns.values())
    return [dict(zip(columns, row, strict=True)) for row in zip(*plain, strict=True)]
