"""A plot of how even the tensions of the sides are against the right flange's offset, for three counts of crosses."""

from __future__ import annotations

import io

import matplotlib as mpl
import numpy as np

from wheelcalc import batch

mpl.use("Agg")


def svg() -> str:
    """The plot, as SVG."""
    import matplotlib.pyplot as plt

    offset = np.linspace(14.0, 30.0, 81)
    figure, axes = plt.subplots()
    for crosses in (0, 2, 3):
        wheels = batch.Wheels(erd=602.4, holes=32, pcd=45.0, crosses=crosses, offset={"left": 34.4, "right": offset})
        axes.plot(offset, wheels.ratio_left_to_right, label=f"{crosses} crosses")
    axes.set_xlabel("offset of the right flange, mm")
    axes.set_ylabel("tension ratio, left over right")
    axes.legend()
    out = io.StringIO()
    figure.savefig(out, format="svg")
    plt.close(figure)
    return out.getvalue()


if __name__ == "__main__":
    picture = svg()
    print(f"{len(picture)} letters of SVG")
