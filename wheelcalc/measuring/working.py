"""The formula of each measuring method with the numbers put in."""

from __future__ import annotations

from wheelcalc.measuring.readings import Estimate

AS_READ = "{0:g}"
# By the words of the method; the numbers in the order of its inputs.
FORMULAS = {
    "read over the locknuts": AS_READ,
    "read between the inner faces": AS_READ,
    "read from the left locknut face": AS_READ,
    "read along the freehub body": AS_READ,
    "two old spokes and the gap between them": "2 x {0:g} + {1:g}",
    "outside circumference, head depth and slot": "{0:g} / pi - 2 x {1:g} - 2 x {2:g}",
    "inside diameter, wall and nipple seat to spoke end": "{0:g} + 2 x {1:g} + 2 x {2:g}",
    "half of far less near hole edges": "({1:g} - {0:g}) / 2",
    "mean of near and far hole edges": "({0:g} + {1:g}) / 2",
    "near hole edges and one hole": "{0:g} + {1:g}",
    "far hole edges less one hole": "{0:g} - {1:g}",
    "chord over several holes": "{1:g} / sin(180 x {0:g} / {2:g})",
    "locknut to the outer face and half the thickness": "{0:g} + {1:g} / 2",
    "over the outer faces less half of both thicknesses": "{0:g} - ({1:g} + {2:g}) / 2",
    "width, outer faces and the other flange": "{0:g} - ({1:g} - ({2:g} + {3:g}) / 2) - {4:g}",
    "known spoke laid from its seat to the rim": "{2:g} x cos(360 x {4:g} / {5:g}) - 2 x sqrt(({0:g} - {1:g})^2 - {3:g}^2 "
    "- ({2:g} / 2 x sin(360 x {4:g} / {5:g}))^2)",
    "seat tube to ring and half the tube": "{0:g} + {1:g} / 2",
    "locknut to the smallest cog's face and half the cog": "{0:g} + {1:g} / 2",
    "stack of cogs less one cog, over the gaps": "({0:g} - {1:g}) / ({2:g} - 1)",
}


def formula(estimate: Estimate) -> str:
    """Return how a value came about, angles in degrees; empty where it is a reading as it stands."""
    template = FORMULAS[estimate.words]
    return "" if template == AS_READ else template.format(*(round(value, 3) for value in estimate.values))
