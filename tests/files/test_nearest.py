"""The key that an unknown one most likely means."""

import pytest

from wheelcalc import read_build
from wheelcalc.cli.main import run
from wheelcalc.files.buildfile import build_of
from wheelcalc.files.keys import keys
from wheelcalc.files.nearest import SAID, nearest
from wheelcalc.wheel.errors import InputError

# As written -> as meant: what stands in the wrong table, is misspelled, or bears another name in the trade.
MEANT = {
    "rim.material": "rim.section.material",
    "rim.mass": "rim.section.mass",
    "rim.depth": "rim.section.depth",
    "rim.weight": "rim.section.mass",
    "rim.hols": "rim.holes",
    "rim.ERD": "rim.erd",
    "rim.erd_from": "rim.erd_to",
    "rim.bead_seat": "rim.bead_seat_diameter",
    "rim.diameter": "rim.erd",
    "rim.offset": "rim.hole_offset",
    "rim.limit": "rim.tension_limit",
    "rim.tension": "rim.tension_limit",
    "rim.pcd": "hub.left.pcd",
    "hub.pcd": "hub.left.pcd",
    "hub.right.pdc": "hub.right.pcd",
    "hub.right.pitch_circle": "hub.right.pcd",
    "hub.left.locknut_flange": "hub.left.locknut_to_flange",
    "hub.right.hole": "hub.right.holes",
    "hub.right.hole_dia": "hub.right.hole_diameter",
    "hub.over_locknuts": "hub.over_locknut",
    "hub.overlocknut": "hub.over_locknut",
    "hub.old": "hub.over_locknut",
    "hub.flange_spacing": "hub.flange_distance",
    "hubs.left.pcd": "hub.left.pcd",
    "lacing.cross": "lacing.crosses",
    "spokes.crosses": "lacing.crosses",
    "spokes.guage": "spokes.wire",
    "spokes.gauge": "spokes.wire",
    "spokes.head": "hub.left.spoke_head",
    "spokes.threads": "spokes.thread_length",
    "nipples.length": "nipple.length",
    "nipple.seat": "nipple.seat_to_end",
    "stock.on_hands": "stock.on_hand",
    "frame.dropout_space": "frame.dropout_spacing",
    "frame.spacing": "frame.dropout_spacing",
    "frame.chainline": "crank.chainline",
    "crank.chain_line": "crank.chainline",
    "cogs.locknut_to_smallest_cog": "cogs.locknut_to_smallest",
    "load.raider": "load.rider",
    "tension.limit": "rim.tension_limit",
    "readings.rim.two_spoke.gap": "readings.rim.two_spokes.gap",
    "readings.hub.left.near_edge": "readings.hub.left.near_edges",
    "old_wheel.hub.left.pdc": "old_wheel.hub.left.pcd",
    "old_wheel.length": "old_wheel.lengths",
    "erd": "rim.erd",
    "crosses": "lacing.crosses",
    "holes": "rim.holes",
}


@pytest.mark.parametrize("written", MEANT)
def test_the_key_that_was_meant(written: str) -> None:
    assert written not in keys()
    assert nearest(written, list(keys())) == MEANT[written]


@pytest.mark.parametrize("written", ["x", "rim.xyzzy", "colour", "a.b.c.d", "q" * 5000])
def test_what_is_like_nothing_names_nothing(written: str) -> None:
    assert nearest(written, list(keys())) is None


def test_other_names_lead_to_known_keys() -> None:
    assert set(SAID.values()) <= set(keys())
    assert not set(SAID) & set(keys())


def test_the_error_names_it() -> None:
    with pytest.raises(
        InputError, match=r"rim\.material: is not a known key; the nearest known is rim\.section\.material"
    ):
        build_of({"rim": {"material": "steel"}}, "")


def test_a_drawer_given_as_a_build_is_told_so() -> None:
    with pytest.raises(InputError, match=r"shed\.toml: is a drawer of parts, not a build file; give a build file"):
        read_build("examples/shed.toml")


def test_a_drawer_that_is_not_there_is_asked_for_as_a_drawer(tmp_path) -> None:
    build = "examples/errand-rear.toml"
    for path, found in ((tmp_path / "none.toml", "there is no such file"), (tmp_path, "this is a folder")):
        with pytest.raises(
            InputError, match=rf"{found}; give the path of a drawer of parts, TOML with \[\[rims\]\]"
        ) as told:
            read_build(build, (), [path])
        assert str(told.value).startswith(f"{path}: ")


def test_of_several_parts_the_wrong_one_is_named(tmp_path, capsys) -> None:
    (tmp_path / "frame.toml").write_text("[hub]\nover_locknut = 130\n")
    rims = "".join(
        f'[[rims]]\nname = "{name}"\nerd = {erd}\nerd_to = "spoke end"\n'
        for name, erd in (("red", 602), ("in inches", 23.72))
    )
    (tmp_path / "drawer.toml").write_text(rims)
    drawer, build = (str(tmp_path / name) for name in ("drawer.toml", "frame.toml"))
    for call, key in ((["check", drawer], "rim.erd"), (["salvage", build, "--parts", drawer], "rim.erd")):
        capsys.readouterr()
        assert run(call) == 2
        said = capsys.readouterr().err
        assert said.startswith(f"Error: {drawer}: {key}: found 23.72 mm; sensible is")
        assert said.rstrip().endswith('as inches 602.5 mm (of "in inches")')


def test_a_list_of_tables_of_another_name_is_near_one_that_there_is() -> None:
    with pytest.raises(InputError, match=r"jar\.spoke: is not a known section; the nearest known is jar\.spokes"):
        build_of({"jar": {"spoke": [{"wire": "2.0"}]}}, "")
    with pytest.raises(InputError, match=r"rim\.erdd: is not a known key; the nearest known is rim\.erd"):
        build_of({"rim": {"erdd": []}}, "")
