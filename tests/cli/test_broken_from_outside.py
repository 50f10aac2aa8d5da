"""Input that once ran away, was repeated raw to the terminal, or was lost: each is refused in one line, or works.

Bounds: 5 s of the processor's time and 500 MB, whatever the input.
"""

from __future__ import annotations

import json
import os
import signal
import struct
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.making.builds import as_toml, with_keys
from tests.making.last_pass import readings_of
from tests.tools.process import called
from wheelcalc.cli.main import run
from wheelcalc.files.tables import limits
from wheelcalc.files.writing import insert
from wheelcalc.wheel.errors import InputError

EXAMPLE = (Path(__file__).parents[2] / "examples" / "errand-rear.toml").read_text(encoding="utf-8")
TITLE = "\x1b]0;owned\x07"  # sets a terminal's title
BACKWARD = "\u202e"  # turns what follows round
COMMAND = [sys.executable, "-m", "wheelcalc"]


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    (tmp_path / "wheel.toml").write_text(EXAMPLE, encoding="utf-8")
    return tmp_path


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Run in this process what must be refused; return the one line."""
    assert run(list(arguments)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    line = said.err.removesuffix("\n")
    assert line.startswith("Error: ")
    assert line.isprintable()
    assert len(line) <= 700
    assert "fault of wheelcalc" not in line
    return line


def wave(seconds: float, rate: int, bits: int, before: bytes = b"") -> bytes:
    size = int(seconds * rate) * bits // 8
    form = struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, 1, rate, rate * bits // 8, bits // 8, bits)
    data = before + form + struct.pack("<4sI", b"data", size) + os.urandom(1000) * (size // 1000)
    return struct.pack("<4sI4s", b"RIFF", len(data) + 4, b"WAVE") + data


ODD = (
    "hub.loose_spacers={ left = [1.01, 1.37, 2.23, 2.71, 3.17, 3.49, 4.03, 4.57], "
    "right = [1.13, 1.49, 2.11, 2.83, 3.31, 3.67, 4.21, 4.79] }"
)
LOTS = "[rim]\nholes = 36\n[[jar.spokes]]\nlengths = [" + "270.5, " * 20_000 + "]\nwire = 2.0\n"
SIZES = "stock.on_hand = { " + ", ".join(f'"{200 + i / 100:.2f}" = 3' for i in range(30_000)) + " }\n"


@pytest.mark.parametrize(
    ("name", "text", "arguments", "named"),
    [
        ("a.toml", EXAMPLE, ("fit", "a.toml", "--set", ODD), "hub.loose_spacers"),
        ("a.toml", ".".join("a" * 20_000) + " = 1", ("order", "a.toml"), "line 1"),
        ("a.toml", "x = { " + ".".join(["'a'"] * 20_000) + " = 1 }", ("order", "a.toml"), "line 1"),
        ("a.toml", "[" + ".".join("a" * 20_000) + "]", ("order", "a.toml"), "line 1"),
        ("a.toml", EXAMPLE, ("order", "a.toml", "--set", "x={" + ".".join("a" * 9_000) + "=1}"), "--set"),
        ("a.toml", f"[readings]\nrim.rods = [{'301.5, ' * 20_000}]", ("measure", "a.toml"), "readings"),
        ("a.toml", f"[rim]\nerd = [{'301.5, ' * 20_000}]", ("measure", "a.toml"), "rim.erd"),
        ("a.toml", LOTS, ("salvage", "a.toml"), "jar.spokes"),
        ("a.toml", SIZES + EXAMPLE, ("order", "a.toml"), "stock.on_hand"),
        ("a.toml", "[[jar.rims]]\nname = 'x'\n" * 20_000, ("salvage", "a.toml"), "jar.rims"),
    ],
    ids=lambda each: str(each)[:20],
)
def test_what_grows_without_end_is_counted_first(
    tmp_path: Path, name: str, text: str, arguments: tuple[str, ...], named: str
) -> None:
    (tmp_path / name).write_text(text, encoding="utf-8")
    found = called(*arguments, folder=tmp_path)
    assert found.refused, found
    assert found.within_bounds, found
    assert named in found.err


@pytest.mark.parametrize(
    "text",
    [
        "rim_hole,lateral_mm\n1,0.3" + "," * 200_000,
        "rim_hole,lateral_mm" + "," * 16_378 + "\n" + "".join(f"{i},0.{i}" + "," * 16_378 + "\n" for i in range(1, 37)),
    ],
    ids=["one row of commas", "a wide sheet"],
)
def test_empty_cells_cost_nothing(text: str) -> None:
    start = time.process_time()
    found = readings_of(text, "wide.csv", 36)
    assert time.process_time() - start < 2
    assert found.of("lateral_mm")[1] in (0.3, 0.1)


@pytest.mark.parametrize(
    ("sound", "said"),
    [
        (lambda: wave(600, 44_100, 16), "600 s"),
        (lambda: wave(20_000, 8000, 8), "20000 s"),
        (lambda: wave(1, 44_100, 16, before=struct.pack("<4sI", b"junk", 0) * 3_000_000), "no sound"),
    ],
    ids=["ten minutes", "coarse and long", "empty chunks"],
)
def test_a_recording_is_measured_before_it_is_unpacked(desk: Path, sound, said: str) -> None:
    (desk / "long.wav").write_bytes(sound())
    found = called("pluck", "wheel.toml", "long.wav", folder=desk)
    assert found.refused, found
    assert found.within_bounds, found
    assert said in found.err or "no format" in found.err


@pytest.mark.parametrize("value", [1e308, -1e300, 1e30])
def test_floats_of_no_loudness_are_refused_without_a_warning(desk: Path, capsys, value: float) -> None:
    frames = struct.pack("<8000d", *[value, -value] * 4000)
    form = struct.pack("<4sIHHIIHH", b"fmt ", 16, 3, 1, 8000, 64_000, 8, 64)
    data = form + struct.pack("<4sI", b"data", len(frames)) + frames
    (desk / "loud.wav").write_bytes(struct.pack("<4sI4s", b"RIFF", len(data) + 4, b"WAVE") + data)
    assert "no numbers" in refused(capsys, "pluck", str(desk / "wheel.toml"), str(desk / "loud.wav"))


SPACES = " " * 40_000


@pytest.mark.parametrize(
    "arguments",
    [
        ("start", "new.toml", "--lacing-crosses", f"left{' ' * 400}x"),
        ("start", "new.toml", "--rim-erd", f"602{SPACES}x"),
        ("start", "new.toml", "--stock-on-hand", f"288{SPACES}x"),
        ("start", "brace.toml", "--rim-holes", "x"),
        ("lace", "wheel.toml", "--seen", f"1-R4{SPACES}x"),
        ("order", "wheel.toml", "--set", f"rim.erd=602{SPACES}x"),
        ("order", "wheel.toml", "--set", f"spokes.wire=2.0{SPACES}x"),
    ],
    ids=lambda each: " ".join(each)[:40],
)
def test_many_spaces_take_no_longer_than_one(desk: Path, monkeypatch, capsys, arguments: tuple[str, ...]) -> None:
    monkeypatch.chdir(desk)
    (desk / "brace.toml").write_text(f"hub = {{{SPACES}over_locknut = 130 }}\n", encoding="utf-8")
    start = time.process_time()
    refused(capsys, *arguments)
    assert time.process_time() - start < 2


def test_a_key_goes_into_a_table_of_many_spaces_at_once() -> None:
    start = time.process_time()
    text = insert(f"hub = {{{SPACES}over_locknut = 130{SPACES}}}\n", "hub.axle_diameter", 10)
    assert time.process_time() - start < 2
    assert "axle_diameter = 10" in text


RAW = f"x{TITLE}\x1b[2J{BACKWARD}y"


@pytest.mark.parametrize(
    "arguments",
    [
        ("order", RAW),
        ("order", f"{RAW}.toml"),
        ("order", "wheel.toml", "-o", RAW),
        ("order", "wheel.toml", "-o", f"none/{RAW}.txt"),
        (RAW,),
        (f"{RAW}.toml",),
        ("lace", "wheel.toml", "--seen", RAW),
        ("lace", "wheel.toml", "--seen", f"5-{RAW}"),
        ("true", "wheel.toml", "--broken", RAW),
        ("true", "wheel.toml", RAW),
        ("pluck", "wheel.toml", RAW),
        ("pluck", "wheel.toml", "none.wav", "--skip", RAW),
        ("pluck", "wheel.toml", "none.wav", "--only", RAW),
        ("measure", "--how", RAW),
        ("tables", RAW),
        ("order", "wheel.toml", f"--{RAW}"),
        ("order", "wheel.toml", "--set", RAW),
        ("order", "wheel.toml", "--set", f"{RAW}=1"),
        ("order", "wheel.toml", "--set", f"rim.erd={RAW}"),
        ("start", RAW),
        ("start", f"none/{RAW}.toml"),
    ],
    ids=range(21),
)
@pytest.mark.parametrize("long", [False, True], ids=["short", "long"])
def test_nothing_typed_comes_back_as_a_command_to_the_terminal(
    desk: Path, monkeypatch, capsys, arguments: tuple[str, ...], long: bool
) -> None:
    monkeypatch.chdir(desk)
    given = [each.replace(RAW, RAW + "z" * 180_000) if long else each for each in arguments]
    line = refused(capsys, *given)
    assert "z" * 400 not in line


def test_a_file_of_any_name_gives_whole_pages(tmp_path: Path, capsys) -> None:
    from xml.etree import ElementTree

    path = tmp_path / f"{RAW.replace('/', '')}.toml"
    path.write_text(EXAMPLE.replace("title = ", "# title = "), encoding="utf-8")
    assert run(["tension", str(path), "-o", str(tmp_path / "s.svg")]) in (0, 1)
    ElementTree.parse(tmp_path / "s.svg")
    assert "\x1b" not in capsys.readouterr().err
    assert run(["tables", "--find", RAW]) == 0
    assert "\x1b" not in capsys.readouterr().out
    output = tmp_path / f"{RAW}.txt"
    assert run(["tension", str(path), "-o", str(output)]) in (0, 1)
    assert "\x1b" not in capsys.readouterr().err


HUGE = ("1" * 309, "1" * 4_000, "1" * 5_000, "0x" + "f" * 300, "0x" + "f" * 6_000, "0b" + "1" * 5_000, "-" + "9" * 400)


@pytest.mark.parametrize("number", HUGE, ids=lambda each: f"{each[:3]} {len(each)}")
@pytest.mark.parametrize(
    "key",
    [
        "rim.erd",
        "rim.holes",
        "lacing.crosses",
        "title",
        "rim.eyelets",
        "limits.low_chance",
        "spokes.wire",
        "stock.on_hand",
    ],
)
def test_huge_whole_numbers_are_refused(desk: Path, capsys, key: str, number: str) -> None:
    path = str(desk / "wheel.toml")
    line = refused(capsys, "order", path, "--set", f"{key}={number}")
    assert key in line
    line = refused(capsys, "order", path, "--set", f"{key}=[{number}, 3]")
    assert key in line


@pytest.mark.parametrize("option", ["--rim-holes", "--rim-erd", "--lacing-crosses", "--stock-on-hand"])
def test_huge_numbers_in_options(tmp_path: Path, capsys, option: str) -> None:
    for number in HUGE:
        assert option in refused(capsys, "start", str(tmp_path / "n.toml"), option, number)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", limits())
def test_a_limit_of_nothing_is_refused_or_can_be_worked_with(desk: Path, capsys, monkeypatch, name: str) -> None:
    monkeypatch.delenv("WHEELCALC_SHOW_FAULTS", raising=False)
    for command in ("order", "tension", "fit", "lace"):
        status = run([command, str(desk / "wheel.toml"), "--set", f"limits.{name}=0", "--json"])
        said = capsys.readouterr()
        assert "fault of wheelcalc" not in said.err
        if status == 2:
            assert name in said.err
        else:
            json.loads(said.out)


@pytest.mark.parametrize("name", ["spoke_end_strength", "buckling_share"])
def test_a_strength_of_nothing_holds_no_wheel(desk: Path, capsys, name: str) -> None:
    assert name in refused(capsys, "order", str(desk / "wheel.toml"), "--set", f"limits.{name}=0")


def test_the_verdict_does_not_depend_on_the_reader(desk: Path) -> None:
    (desk / "stop.toml").write_text(as_toml(with_keys(lacing__crosses=9)), encoding="utf-8")
    environment = {**os.environ, "W": " ".join(COMMAND)}
    for options in ("", "--json"):
        plain = called("order", "stop.toml", *options.split(), folder=desk).status
        assert plain in (1, 2)
        for reader in ("true", "head -1"):
            script = f"$W order stop.toml {options} | {reader} > /dev/null; echo ${{PIPESTATUS[0]}}"
            done = subprocess.run(
                ["bash", "-c", script], cwd=desk, env=environment, capture_output=True, text=True, check=False
            )
            assert done.stdout.strip() == str(plain)


def test_an_end_while_it_loads_is_one_line_at_most(desk: Path) -> None:
    """Ctrl-C at a dozen moments of the start: never a traceback, never half of an answer's status."""
    for part in range(12):
        process = subprocess.Popen(
            [*COMMAND, "order", "wheel.toml"], cwd=desk, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        deadline = time.monotonic() + 60
        # As soon as our own first module is there; before that it is Python's own start.
        maps = Path(f"/proc/{process.pid}/cmdline")
        while not maps.exists() and time.monotonic() < deadline:
            time.sleep(0.001)
        time.sleep(0.08 + 0.02 * part)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=60)
        if "wheelcalc" in err or process.returncode == 2:
            assert "Traceback" not in err, err
            assert len(err.strip().splitlines()) <= 1, err


def test_two_that_write_one_file_at_once(desk: Path) -> None:
    """One writes it, the other is told that it exists: nothing is lost without a word."""
    for _ in range(3):
        both = [
            subprocess.Popen(
                [*COMMAND, "order", "wheel.toml", "-o", "s.txt"], cwd=desk, stderr=subprocess.PIPE, text=True
            )
            for _ in range(2)
        ]
        ends = [(each.communicate()[1], each.returncode) for each in both]
        assert sorted(status for _, status in ends) == [0, 2], ends
        assert any("exists" in said for said, _ in ends)
        assert sorted(path.name for path in desk.iterdir()) == ["s.txt", "wheel.toml"]
        (desk / "s.txt").unlink()


def test_told_to_end_it_takes_away_what_it_had_begun(desk: Path) -> None:
    code = (
        "import os, signal\n"
        "real = os.fsync\n"
        "os.fsync = lambda handle: os.kill(os.getpid(), signal.SIGTERM)\n"
        "from wheelcalc.cli.main import main\n"
        "main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "order", "wheel.toml", "-o", "s.txt"], cwd=desk, capture_output=True, check=False
    )
    assert done.returncode == 128 + signal.SIGTERM
    assert [path.name for path in desk.iterdir()] == ["wheel.toml"]


@pytest.mark.skipif(not Path("/dev/null").exists(), reason="needs a device")
def test_start_leaves_devices_and_large_files_alone(tmp_path: Path, capsys) -> None:
    link, large = tmp_path / "null.toml", tmp_path / "large.toml"
    link.symlink_to("/dev/null")
    assert "no plain file" in refused(capsys, "start", str(link), "--rim-holes", "36")
    assert link.is_symlink()
    with large.open("wb") as file:
        file.truncate(3_000_000_000)
    found = called("start", "large.toml", "--rim-holes", "36", folder=tmp_path)
    assert found.refused
    assert found.within_bounds
    assert "1 MB" in found.err
    assert "-o" in refused(capsys, "start", str(tmp_path / ("n" * 300 + ".toml")), "--rim-holes", "36")


def test_each_line_keeps_its_end() -> None:
    """Five lines of another system among many do not turn all of them."""
    lines = [f"# remark {i}\r\n" for i in range(5)] + [f"# remark {i}\n" for i in range(5, 20)]
    text = insert("".join(lines) + "[rim]\nholes = 36\n", "rim.erd", 602)
    assert text.count("\r\n") == 5
    assert text.startswith("".join(lines))
    assert "\nerd = 602\n" in text


def test_a_key_in_advice_stays_a_key(tmp_path: Path, capsys) -> None:
    """What is to be written into a file is said by its key, not by an option's name."""
    path = tmp_path / "w.toml"
    path.write_text("rim = { holes = 36, # odd\n }\n", encoding="utf-8")
    run(["start", str(path), "--rim-erd", "602"])
    said = capsys.readouterr().err
    assert "--rim-erd = " not in said


def test_a_spreadsheet_runs_no_name_of_a_part(tmp_path: Path) -> None:
    from wheelcalc.cli.output import to_csv

    lines = to_csv([{"rim": '=HYPERLINK("x")', "hub": "@A1", "crosses": 3, "error": -0.5}]).splitlines()
    assert lines[1].startswith("\"'=HYPERLINK")
    assert lines[1].endswith(",'@A1,3,-0.5")


def test_all_spokes_broken_is_said_in_words(desk: Path, capsys) -> None:
    line = refused(capsys, "true", str(desk / "wheel.toml"), "--broken", ",".join(map(str, range(1, 37))))
    assert "all 36" in line


def test_an_open_quote_is_found_in_its_own_line() -> None:
    text = 'rim_hole,lateral_mm\n1,0.1\n2,"0.2\n3,0.3\n4,0.4\n'
    with pytest.raises(InputError, match="line 3: has a quote"):
        readings_of(text, "w.csv", 36)


@pytest.mark.parametrize(
    "text",
    [
        "sep=;\nrim_hole;lateral_mm\n3;0,5\n",
        "rim_hole,lateral_mm\r3,0.5\r",
        "sep=;\r\nrim_hole;lateral_mm\r\n3;0.5\r\n",
    ],
)
def test_separators_told_and_lines_of_other_systems(text: str) -> None:
    found = readings_of(text, "w.csv", 36)
    assert found.of("lateral_mm") == {3: 0.5}
    assert found.lines[3] == text.replace("\r\n", "\n").replace("\r", "\n")[: text.index("3")].count("\n") + 1


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_into_which_nobody_writes_is_given_up(desk: Path) -> None:
    os.mkfifo(desk / "pipe")
    start = time.monotonic()
    found = called("order", "pipe", folder=desk)
    assert found.refused, found
    assert "nobody" in found.err
    assert time.monotonic() - start > 3
    done = subprocess.run(
        ["bash", "-c", f"{' '.join(COMMAND)} order <(sleep 1; cat wheel.toml)"],
        cwd=desk,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def test_modules_of_the_current_folder_are_not_run(desk: Path) -> None:
    for name in ("click", "numpy", "textwrap", "gc"):
        (desk / f"{name}.py").write_text("raise SystemExit('run from the current folder')\n", encoding="utf-8")
    found = called("order", "wheel.toml", folder=desk)
    assert found.status == 0, found.err


def test_help_without_docstrings() -> None:
    """PYTHONOPTIMIZE=2 strips docstrings; the help of no command is one."""
    code = (
        "from wheelcalc.cli.main import COMMANDS, job\n"
        "print([job.help, *(job.get_command(None, name).help for name in COMMANDS)])"
    )
    plain, bare = (
        subprocess.run([sys.executable, *options, "-c", code], capture_output=True, text=True, check=True).stdout
        for options in ([], ["-OO"])
    )
    assert bare == plain
    assert "None" not in plain


def test_titles_that_a_terminal_cannot_show(desk: Path) -> None:
    text = EXAMPLE.replace('title = "', 'title = "\u8eca\u8f2a ')
    (desk / "wheel.toml").write_text(text, encoding="utf-8")
    for command in (("order", "wheel.toml"), ("order", "wheel.toml", "-o", "\u8eca.txt"), ("check", "wheel.toml")):
        found = called(*command, folder=desk, environment={"PYTHONIOENCODING": "latin-1", "LC_ALL": "C"})
        assert found.status == 0, found.err
