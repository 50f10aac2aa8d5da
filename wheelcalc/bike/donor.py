"""What the hub brings along: its brake, its drive, its threads; does the bike it comes into have the other half."""

from __future__ import annotations

from collections.abc import Sequence

from wheelcalc.bike.ends import Outcomes, Unchecked, unknown
from wheelcalc.build.whole import Build
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.findings import Finding

# P (S5; ISO 6698): these three mix, all of 24 threads per inch; French and the small thread fit nothing else.
MIXING_THREADS = ("iso", "british", "italian")
ARMED = ("coaster", "drum", "roller")
WITHOUT_ARM = {
    "brake": "at the first braking the axle turns in the ends and the brake is gone.",
    "gear": "the axle turns.",
    "motor": "its axle turns in the ends, spreads them and tears its cable off.",
}


def brakes(build: Build) -> Outcomes:
    """Whether the brake of the frame finds its other half on the wheel, so that a brake is left."""
    brake = build.frame.brake
    if brake is None:
        yield Unchecked("whether the wheel keeps its brake", ("frame.brake",))
        return
    key, has = {
        "disc": ("hub.rotor", build.hub.rotor),
        "rim": ("rim.brake_track", build.rim.brake_track),
        "hub": ("hub.brake", hub_brake(build)),
    }[str(brake)]
    if has is None:
        yield Unchecked(f"whether the {brake} brake of the frame finds its part on the wheel", (key,))
    elif not has:
        yield _no_brake(build, str(brake))


def hub_brake(build: Build) -> bool | None:
    """Whether the hub has a brake in it; None where the file is silent."""
    if build.hub.drive == "coaster":
        return True
    return build.hub.brake != "none" if build.given("hub.brake") else None


def _no_brake(build: Build, brake: str) -> Finding:
    lacks = {
        "disc": "the hub has no mount for a rotor",
        "rim": "the rim has no brake track",
        "hub": "the hub has no brake in it",
    }[brake]
    other = build.frame.other_brake
    return Finding(
        "caution" if other else "stop",
        {"disc": "no-rotor-mount", "rim": "no-brake-track", "hub": "no-hub-brake"}[brake],
        f"The frame brakes with a {brake} brake, but {lacks}"
        + ("; the bike's other brake on this wheel stays." if other else ": this wheel would have no brake."),
        "Take a part that has it, or fit another brake for this wheel"
        + ("." if other else " and say so with frame.other_brake = true."),
    )


def brake_arm(build: Build) -> Outcomes:
    """A brake or gear in the hub turns its arm with all its force; the frame must hold it."""
    what = arm_of(build)
    if what is None:
        return
    if "hub.brake_arm_anchored" not in build:
        yield Unchecked(f"whether the arm of the {what} has an anchor on the frame", ("hub.brake_arm_anchored",))
    elif not build.hub.brake_arm_anchored:
        yield Finding(
            "stop",
            "arm-not-anchored",
            f"The arm of the {what} has no anchor: {WITHOUT_ARM[what.split()[-1]]}",
            "Clamp the arm to the chainstay or fork blade with a strap made for it, its bolt locked; then it may be ridden."
            if what != "motor"
            else "Fit a torque arm of steel to the axle's flats and the frame or fork, one on each side where the ends are aluminium.",
        )


def arm_of(build: Build) -> str | None:
    """What turns an arm against the frame: a brake, a gear or a motor in the hub; None where nothing does."""
    if build.hub.brake in ARMED or build.hub.drive == "coaster":
        return f"{'coaster' if build.hub.drive == 'coaster' else build.hub.brake} brake"
    return {"internal gear": "hub gear", "motor": "motor"}.get(str(build.hub.drive))


def fixed_cog(build: Build) -> Outcomes:
    """A fixed cog without its lockring unscrews when one brakes with the legs."""
    if build.hub.drive != "fixed":
        return
    if "hub.lockring" not in build:
        yield Unchecked("whether a reverse-thread lockring holds the fixed cog", ("hub.lockring",))
    elif not build.hub.lockring:
        yield Finding(
            "stop",
            "no-lockring",
            "The fixed cog has no reverse-thread lockring: it unscrews as soon as the legs hold back.",
            "Take a hub with the second, left-hand thread and put a lockring on it; glue or a bracket's ring does not hold.",
        )


def drive(build: Build) -> Outcomes:
    """Cassette or freewheel, against what is to be used."""
    hub, cogs = build.hub.drive, build.cogs.drive
    if build.position == "front" or hub is None:
        if build.position != "front":
            yield Unchecked("whether the cogs go on the hub, and all that hangs on its drive", ("hub.drive",))
        return
    if cogs is not None and cogs != hub:
        yield Finding(
            "stop",
            "drive-differs",
            f"The cogs are for a {_drive(str(cogs))} hub, the hub is {_article(_drive(str(hub)))} hub.",
            "Take cogs made for the hub's drive: a cassette slides onto splines, a freewheel screws on and brings its own ratchet.",
        )


def _drive(word: str) -> str:
    return "plain (no drive)" if word == "none" else word


def _article(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def threads(build: Build, known_threads: Sequence[str]) -> Outcomes:
    """Thread of the freewheel against the hub's.

    Parameters
    ----------
    build : hub.thread, cogs.thread
    known_threads : first words of the freewheel rows of the table of threads, in small letters

    Raises
    ------
    InputError
        If a thread is none of the table's.
    """
    if build.hub.drive != "freewheel":
        return
    lacking = unknown(build, "hub.thread", "cogs.thread")
    if lacking:
        yield Unchecked("whether the freewheel's thread is the hub's", lacking)
        return
    hub, cogs = (_thread(key, str(build.needed(key)), known_threads) for key in ("hub.thread", "cogs.thread"))
    if hub == cogs:
        return
    mixes = hub in MIXING_THREADS and cogs in MIXING_THREADS
    yield Finding(
        "caution" if mixes else "stop",
        "thread-differs",
        f"The hub's thread is {build.hub.thread}, the freewheel's {build.cogs.thread}: "
        + ("close enough to mix, but not on a tandem." if mixes else "it starts, then strips the hub."),
        "Screw it on by hand first; it must turn freely for three turns or more."
        if mixes
        else "Take a freewheel of the hub's thread.",
    )


def _thread(key: str, text: str, known_threads: Sequence[str]) -> str:
    word = text.lower().split()[0] if text.split() else ""
    if word not in known_threads:
        raise InputError(key, f'found "{text}"; write one of {", ".join(known_threads)}')
    return word
