"""A lacing pattern of one's own: pairs of spokes, both of a pair crossed, written as a table of rows."""

from __future__ import annotations

from wheelcalc import Flange, Hub, Rim, Wheel, lacing, pictures, ratio_left_to_right

HOLES = 24


def rows() -> list[tuple[int, str, int, str]]:
    """Rim hole, side, hub hole and head of every spoke: each flange two crosses to the front, then two to the back."""
    out = []
    for hole in range(1, HOLES + 1):
        side, place = ("right", (hole + 1) // 2) if hole % 2 else ("left", hole // 2)
        lean = 2 if place % 2 else -2
        out.append((hole, side, (place + lean - 1) % (HOLES // 2) + 1, "out" if lean > 0 else "in"))
    return out


def wheel() -> Wheel:
    """The wheel that is laced so."""
    hub = Hub(left=Flange(12, 44.7, 34.4), right=Flange(12, 45.1, 18.7))
    pattern = lacing.listed(lacing.Counts(HOLES, HOLES // 2, HOLES // 2), rows())
    return Wheel(Rim(HOLES, 602.4), hub, pattern)


if __name__ == "__main__":
    mine = wheel()
    print(mine, ratio_left_to_right(mine))
    picture = pictures.lacing_map(mine, "My own").svg()
