"""Of `true --how`: one page that teaches trueing with this command."""

from __future__ import annotations

LESSON = """\
TRUEING A WHEEL WITH wheelcalc

1. Make a file to fill in:
   wheelcalc true wheel.toml --blank
   (redirect it into pass1.csv), or let it ask, hole by hole:
   wheelcalc true wheel.toml pass1.csv --ask
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
5. Ask:
   wheelcalc true wheel.toml pass1.csv
   It says first whether to turn. A STOP means that a whole column looks
   slipped (a sign, the first hole): turn nothing, look again. A single reading
   that was left out: read it again.
6. Turn each nipple of the list once, tick it off. + is tighter: clockwise, seen
   from the tyre. Go a little too far and back, so that the spoke stays
   untwisted; squeeze parallel spokes in pairs after the pass. With --ask you
   tick off each nipple at the keyboard, and what you turned otherwise is
   written down. Or write the advice beside the readings and change there what
   you did otherwise (column turned):
   wheelcalc true wheel.toml pass1.csv -o next.csv
7. Read again into pass2.csv, and ask with both. With --ask, only what is worth
   reading after the first pass is asked for.
   wheelcalc true wheel.toml next.csv pass2.csv
   From the two passes it learns how exactly you read, how stiff this rim is,
   how far the spokes' ends give, and which nipple does not turn.
8. Stop when it says so: done; or your readings end here (another pass would
   turn noise); or the rim is bent (straight or even, not both: choose with
   truing.prefer); or a nipple is stuck. More passes than it asks for make a
   wheel no better.

Two real passes, with the files of the examples folder:
   wheelcalc true errand-rear.toml errand-rear-readings.csv
{first}
   The wheel runs out by 1.7 mm sideways and lies 0.7 mm to the right; "after"
   promises 0.3 mm. Rim hole 29 is to be turned by -3/4: looser, anticlockwise.
   wheelcalc true errand-rear.toml errand-rear-readings.csv errand-rear-readings-after.csv
{second}
   Sideways it runs true now: the 0.4 mm promised came as 0.2. What is left is
   uneven tension, so a second pass is offered for that. The third reading
   decides: where nothing is left that your readings can see, it ends by itself.
"""

# R, what the command prints for the examples; a test holds it against that.
FIRST = "   > Turn 36 nipples, 9 1/4 turns in all, for the lateral run-out, dish and evenness."
SECOND = "   > Turn 22 nipples, 3 7/8 turns in all, for the evenness. No stop."


def lesson() -> str:
    """Return the page."""
    return LESSON.format(first=FIRST, second=SECOND).rstrip()
