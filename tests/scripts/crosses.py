"""How lengths, evenness and chances of a build change with its crosses: one build file, no file written."""

from __future__ import annotations

from wheelcalc import InputError, answers

BUILD = "examples/errand-rear.toml"


def table() -> list[tuple[int, float, float, float, float]]:
    """Crosses, left and right cut length [mm], tension ratio, worst chance; a row for each count that can be laced."""
    out = []
    for crosses in range(5):
        try:
            order = answers.order(BUILD, {"lacing.crosses": crosses})
            tension = answers.tension(BUILD, {"lacing.crosses": crosses})
        except InputError as error:
            print(error)
            continue
        sides = order.lengths.sides
        worst = min((line.chance for line in order.lines), default=0.0)
        out.append((crosses, sides["left"].cut, sides["right"].cut, tension.ratio or 0.0, worst))
    return out


if __name__ == "__main__":
    rows = table()
    for row in rows:
        print("{} crosses: {:.1f} left, {:.1f} right, ratio {:.3f}, worst chance {:.2f}".format(*row))
