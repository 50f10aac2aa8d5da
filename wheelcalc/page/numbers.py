"""Numbers as a page says them."""

from __future__ import annotations

import math
from collections.abc import Sequence

EXACT_DIGITS = 4  # of a figure that nothing makes unsure


def signed(value: float, digits: int = 1) -> str:
    """Return a number with its sign, zero without one."""
    text = f"{value:+.{digits}f}"
    return text[1:] if float(text) == 0 else text


def percent(share: float) -> str:
    """Return a chance in per cent, never rounded to certainty."""
    if share >= 0.995:
        return ">99 %"
    return "<1 %" if share < 0.005 else f"{100 * share:.0f} %"


def several(words: Sequence[str]) -> str:
    """Return words as a sentence lists them: "a", "a and b", "a, b and c"."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def counted(number: int, what: str) -> str:
    """Return how many of a thing there are, such as "1 stop" or "2 stops"."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def sure(value: float | None, within: float | None) -> tuple[str, str]:
    """Return a figure to the digit in which it is sure, and that error to one digit."""
    if value is None:
        return "-", ""
    if not within or within < abs(value) * 10**-EXACT_DIGITS:
        return f"{value:.{EXACT_DIGITS}g}", "exact"
    place = math.floor(math.log10(within))
    digits = max(0, -place)
    return f"{round(value, -place):.{digits}f}", f"{round(within, -place):.{digits}f}"


def error(within: float) -> str:
    """Return an error in mm to a tenth, a small one to a hundredth; never as none where there is one."""
    return f"{within:.1f}" if within >= 0.05 else f"{max(within, 0.01):.2f}" if within else "0"
