"""Of `fit`: the crank's bearings in the frame's shell."""

from __future__ import annotations

from dataclasses import dataclass

from wheelcalc.bike import chainline
from wheelcalc.bike.chainline import ShellSpacers
from wheelcalc.bike.ends import Outcomes, Unchecked, unknown
from wheelcalc.build.whole import Build
from wheelcalc.files import tables
from wheelcalc.wheel.findings import Finding


@dataclass(frozen=True)
class Shell:
    """Spacers of the crank's bearings in the frame's shell, and how they were found."""

    spacers: ShellSpacers
    how: str


def shell_of(build: Build) -> Shell | None:
    """Return the spacers between shell and bearings; None where a width is unknown or bearings are pressed in."""
    if unknown(build, "frame.shell_width", "crank.shell_width") or build.crank.bearings == "pressed":
        return None
    made_for = build.crank.shell_width
    own, how = _own_spacers(build, made_for)
    return Shell(chainline.shell_spacers(build.frame.shell_width, made_for, own), how)


def _own_spacers(build: Build, made_for: float) -> tuple[ShellSpacers, str]:
    if build.crank.bearings == "cartridge":
        return ShellSpacers(0.0, 0.0), f"A cartridge has no spacers on its own shell of {made_for:g} mm."
    taken = "" if "crank.bearings" in build else " (taken for external cups; crank.bearings says otherwise)"
    for row in tables.load("cup_spacers"):
        if row["shell"] == row["crank_shell"] == made_for:
            text = f"Cups for a shell of {made_for:g} mm{taken}: on their own shell {row['left']:g} mm left, {row['right']:g} mm right"
            return ShellSpacers(float(row["left"]), float(row["right"])), f"{text} ({row['label']}, {row['source']})."
    return ShellSpacers(0.0, 0.0), f"Bearings for a shell of {made_for:g} mm{taken}: taken as without spacers there."


def findings(build: Build, shell: Shell | None) -> Outcomes:
    """Judge the crank in the shell."""
    keys = ("frame.shell_width", "crank.shell_width")
    lacking = unknown(build, *keys)
    if len(lacking) == 1:
        yield Unchecked("which spacers the crank's bearings need in the shell", lacking)
    if lacking:
        return
    width, made_for = (build.number(key) for key in keys)
    if build.crank.bearings == "pressed" and width != made_for:
        yield Finding(
            "stop",
            "shell-pressed",
            f"Pressed bearings for a shell of {made_for:g} mm do not sit in one of {width:g} mm.",
            "Pressed bearings are made for one bore and one width (`wheelcalc tables shells`): take those of the frame's shell.",
        )
    if shell is None:
        return
    left, right = shell.spacers
    if left + right < 0:
        yield Finding(
            "stop",
            "shell-too-wide",
            f"The shell is {-(left + right):g} mm too wide for the crank, which was made for {made_for:g} mm.",
            "Take a crank or an axle for the wider shell; a crank that is forced on pinches its bearings.",
        )
    elif made_for - width > build.limits.shell_spacers_stop:
        yield Finding(
            "stop",
            "shell-too-narrow",
            f"The shell is {made_for - width:g} mm narrower than the {made_for:g} mm that the crank was made for: the cups would stand on "
            f"{left:g} mm of spacers left and {right:g} mm right, and hold by too little thread.",
            f"Take a crank or bearings made for {width:g} mm. Up to {build.limits.shell_spacers_stop:g} mm are spaced "
            "(limits.shell_spacers_stop); the part maker's figure counts more.",
        )
    elif min(left, right) < 0:
        side, other = ("left", "right") if left < 0 else ("right", "left")
        yield Finding(
            "caution",
            "shell-off-middle",
            f"On the {side} the shell is {-min(left, right):g} mm too wide for the crank; it goes in only moved that far to the {side}.",
            f"Put {left + right:g} mm on the {other} and none on the {side}; the front chainline moves with it.",
        )
