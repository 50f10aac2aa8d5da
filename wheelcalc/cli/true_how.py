"""Of `true --how`: one page that teaches trueing with this command."""

from __future__ import annotations

LESSON = """\
TRUEING A WHEEL WITH wheelcalc

1. Make a file to fill in:      wheelcalc true wheel.toml --blank > pass1.csv
   or let it ask, hole by hole: wheelcalc true wheel.toml pass1.csv --ask
2. Set the stand. A dial or a ruler on the stand points at the rim's side; a
   second one at its outer edge. The middle: read the rim at the valve, take the
   wheel out, put it in the other way round, read the same place again. Half of
   the difference is how far the pointer is from the middle: set it there. A
   stand that cannot be set: --own-plane (then the dish stays unknown).
3. Sign. Sideways: + is to the rider's right. Up and down: + is outward, from
   any zero. Look at the wheel from the right: rim hole 1 is the first one
   clockwise of the valve, and the holes count on clockwise.
4. Read at every rim hole: sideways and up and down, to a tenth of a millimetre
   or better; the tension of every spoke by a meter (N), or by its pitch (Hz):
   wheelcalc pluck hears a recording. What you cannot read stays empty.
   A slack spoke has 0 N.
5. Ask:                         wheelcalc true wheel.toml pass1.csv
   It says first whether to turn. A STOP means that a whole column looks
   slipped (a sign, the first hole): turn nothing, look again. A single reading
   that was left out: read it again.
6. Turn each nipple of the list once, tick it off. Tighter is clockwise, seen
   from the tyre. Go a little too far and back, so that the spoke stays
   untwisted. What you really turned can be written down:
                                wheelcalc true wheel.toml pass1.csv -o next.csv
   writes the readings with the turns in the column "turned"; change what you
   did otherwise.
7. Read again into pass2.csv, and ask with both:
                                wheelcalc true wheel.toml next.csv pass2.csv
   From the two passes it learns how exactly you read, how stiff this rim is,
   how far the spokes' ends give, and which nipple does not turn.
8. Stop when it says so: done; or your readings end here (another pass would
   turn noise); or the rim is bent (straight or even, not both: choose with
   truing.prefer); or a nipple is stuck.

Two real passes, with the files of the examples folder:
   wheelcalc true errand-rear.toml errand-rear-readings.csv
   wheelcalc true errand-rear.toml errand-rear-readings.csv errand-rear-readings-after.csv
The first turns the wheel from 1.2 to about 0.3 mm sideways; the second shows
what came of it, and what is left to do.
"""


def lesson() -> str:
    """Return the page."""
    return LESSON.rstrip()
