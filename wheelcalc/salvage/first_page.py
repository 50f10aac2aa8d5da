"""The first page of a re-hub: what to do and to read while the old wheel is still built."""

from __future__ import annotations

# C: order of work of the trade; that a freewheel's or lockring's tool needs the built wheel to hold against, that a
# spoke cut under tension flies, and that slackening one side first folds a rim, every workshop manual says.
COGS_OFF = (
    "Freewheel or cassette off first, while the wheel is built: its tool needs the whole wheel to hold against. "
    "Without spokes the hub cannot be held, and a freewheel stays on it for good. A rotor comes off now too."
)
STEPS = (
    "Count the spoke holes: of the rim and of both flanges. A rim and a hub of the same number go together "
    "simply; some others can be laced too (lacing.pattern: two to one, uneven counts).",
    "Read what the built wheel shows: over both locknuts, locknut to flange on both sides, the rim's outside circumference "
    "and the depth from its outside to the nipples' heads. `wheelcalc measure --how KEY` shows each.",
    "Note the pattern and take a photo from the right: crosses on each side (count the one at the flange), which heads "
    "sit in and which out, and which way the spokes lean beside the valve. A used hub is laced in its old directions: "
    "old head marks the other way round start cracks.",
    "Pluck a few spokes of each side and note whether they are tight; a tension meter's or pluck's reading is better.",
    "Deflate the tyre fully. Take off tyre, tube and rim tape.",
    "Look into the nipples from the outside: note for each side where the spokes' ends sit, + beyond the bottom of "
    "the slot, - short of it, in mm.",
    "Put on eye protection. Slacken all round by quarter turns, both sides in the same round, until every spoke is "
    "loose: two rounds at least before any nipple is screwed off. Never cut a tight spoke: it flies, and the rim can fold.",
    "Take the spokes out, bundle left and right apart, keep the straight and undamaged ones. Measure three of each "
    "bundle from the inside of the elbow to the end.",
    "Look at the bare rim: cracks round the spoke holes and the joint, bulges, the brake wall where it is thinnest; lay "
    "it on a flat table, and measure across its outside two to four ways.",
    "Write it all into the build file: [readings], [old_wheel], [old_rim], and what is in the jar as [[jar.spokes]]. "
    "Then run `wheelcalc salvage` again; `wheelcalc check` says what is still missing.",
)


def steps(*, with_cogs: bool) -> list[str]:
    """Return the steps in order; a front wheel has no cogs to take off."""
    return [COGS_OFF, *STEPS] if with_cogs else list(STEPS)
