"""Linear buckling by the eigenvalues of whole matrices."""

from __future__ import annotations

import math

import numpy as np
import scipy.linalg


def dense_factor(elastic: np.ndarray, geometric: np.ndarray) -> float:
    """Least positive factor f that makes elastic + f * geometric singular; elastic is positive definite."""
    gains = scipy.linalg.eigh(-geometric, elastic, eigvals_only=True)
    return 1 / gains[-1] if gains[-1] > 0 else math.inf
