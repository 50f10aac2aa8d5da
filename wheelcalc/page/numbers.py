"""Numbers as a page says them."""

from __future__ import annotations

from collections.abc import Sequence


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
