"""What each way to take a reading costs in error, tool by tool."""

from __future__ import annotations

from wheelcalc.build.dimension import TOOL_SIGMA
from wheelcalc.measuring.methods import METHODS

# Numbers here: usual sizes, only to say what a method costs in error; the errors hardly depend on them.
_USUAL = {
    "length": 280.0,
    "gap": 40.0,
    "outside_circumference": 1985.0,
    "head_depth": 12.7,
    "inside_diameter": 594.0,
    "wall": 1.8,
    "near_edges": 42.4,
    "far_edges": 47.4,
    "over": 7.0,
    "holes": 18.0,
}


def cost(topic: str) -> list[tuple[str, dict[str, float]]]:
    """Return what each method of a dimension costs in error: its words, and tool -> standard uncertainty [mm].

    The error of the readings alone, each taken once; a part's own dimension counts as exact.
    """
    name = {"hub.pcd": "hub.left.pcd", "hub.locknut_to_flange": "hub.left.locknut_to_flange"}.get(topic, topic)
    out = []
    for method in METHODS:
        if method.key == name and "known spoke" not in method.words:
            out.append(
                (
                    method.words,
                    {tool: _cost(method.inputs, method.formula, tool) for tool in ("tape", "rule", "calliper")},
                )
            )
    return out


def _cost(inputs: tuple[str, ...], formula: object, tool: str) -> float:
    assert callable(formula)
    usual = [44.0 if "chord.length" in key else _USUAL.get(key.rsplit(".", 1)[-1], 3.0) for key in inputs]
    shares = []
    for index, key in enumerate(inputs):
        if not key.startswith("readings.") or key.endswith(".over"):
            continue
        sigma = TOOL_SIGMA["tape" if "circumference" in key else tool]
        above, below = ([*usual[:index], usual[index] + step, *usual[index + 1 :]] for step in (sigma, -sigma))
        shares.append((formula(*above) - formula(*below)) / 2)
    return float(sum(share**2 for share in shares) ** 0.5)
