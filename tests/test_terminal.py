"""The way out: what is said on which stream, with which exit code, whatever stands in the way."""

import contextlib
import json
import os
import re
import signal
import subprocess
import sys
import time
from importlib import resources
from pathlib import Path

import pytest

from gaitgen import __version__
from gaitgen.commands import run
from gaitgen.commands.signals import Ended, _Listener, farewell
from gaitgen.commands.terminal import one_line
from gaitgen.errors import plain

ROOT = Path(__file__).resolve().parent.parent
GAITGEN = [sys.executable, "-m", "gaitgen"]
WHOLE = "every file there is whole, as it was or new\n"
FULL = Path("/dev/full")
WALK = (resources.files("gaitgen") / "gaits" / "walk.toml").read_bytes()


def gaitgen(*arguments, cwd, **how):
    settings = {"PYTHONPATH": str(ROOT), **how.pop("settings", {})}
    return subprocess.run(
        [*GAITGEN, *arguments],
        cwd=cwd,
        env={**os.environ, **settings},
        stdout=how.pop("stdout", subprocess.PIPE),
        stderr=how.pop("stderr", subprocess.PIPE),
        timeout=60,
        check=False,
        **how,
    )


def is_one_line(error):
    text = error.decode() if isinstance(error, bytes) else error
    return re.fullmatch(r"gaitgen: [^\n]+; [^\n]+\n", text) is not None


@pytest.fixture(scope="module")
def clip(tmp_path_factory):
    folder = tmp_path_factory.mktemp("clip")
    assert run(["cycle", "walk", "--frames", "12", "--no-keys", "--out", str(folder), "--name", "c"]) == 0
    return folder / "c.bvh"


# Streams


SLOW = pytest.mark.slow  # each of these starts Python anew, and shows no more than one that is not slow


@pytest.mark.sample(1)
@pytest.mark.skipif(not FULL.exists(), reason="no /dev/full here")
@pytest.mark.parametrize(
    "arguments",
    [
        ["--version"],
        pytest.param(["--help"], marks=SLOW),
        ["cycle", "--help"],
        pytest.param(["animals"], marks=SLOW),
        ["animals", "--json"],
        ["cycle", "walk", "--frames", "12", "--out", "made"],
        ["cycle", "walk", "--frames", "12", "--out", "-"],
        ["variants", "walk", "--frames", "12", "--workers", "1", "--out", "made"],
    ],
)
def test_a_full_disk_behind_standard_output(tmp_path, arguments):
    with FULL.open("wb") as full:
        done = gaitgen(*arguments, cwd=tmp_path, stdout=full)
    assert done.returncode == 2
    assert is_one_line(done.stderr)
    assert b"No space left on device" in done.stderr
    assert (tmp_path / "made").exists() == ("made" in arguments)  # what was asked for is there all the same


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    "arguments", [["--version"], pytest.param(["animals"], marks=SLOW), ["cycle", "walk", "--out", "-"]]
)
def test_no_standard_output_at_all(tmp_path, arguments):
    done = gaitgen(*arguments, cwd=tmp_path, stdout=None, preexec_fn=lambda: os.close(1))
    assert done.returncode == 2
    assert done.stderr == (
        b"gaitgen: cannot write to standard output: it is closed; see to where it goes (files asked for are "
        b"there)\n"
    )


@pytest.mark.sample(1)
@pytest.mark.parametrize("stream", ["none", "full"])
def test_no_standard_error_is_no_trouble(tmp_path, stream):
    if stream == "none":
        how = {"stderr": None, "preexec_fn": lambda: os.close(2)}
        refused = gaitgen("cycle", "hop", cwd=tmp_path, **how)
    else:
        with FULL.open("wb") as full:
            refused = gaitgen("cycle", "hop", cwd=tmp_path, stderr=full)
    assert (refused.returncode, refused.stdout) == (2, b"")


def test_a_reader_that_has_had_enough(tmp_path):
    """As of `gaitgen cycle walk --out - | head -1`: no complaint, and the code that a shell expects."""
    read_end, write_end = os.pipe()
    os.close(read_end)
    with os.fdopen(write_end, "wb") as pipe:
        done = gaitgen("cycle", "walk", "--out", "-", cwd=tmp_path, stdout=pipe)
    assert (done.returncode, done.stderr) == (141, b"")


# Signals


def started(*arguments, cwd, until, lead=""):
    """Start a command, and wait until a condition holds."""
    code = f"{lead}\nimport sys\nsys.argv = ['gaitgen', *{list(arguments)!r}]\n"
    code += "from gaitgen.commands import main\nmain()\n"
    process = subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    deadline = time.monotonic() + 60
    while not until():
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < deadline
        time.sleep(0.002)
    return process


IMPORTING = """
import sys
from pathlib import Path
class Slow:
    def find_spec(self, name, path=None, target=None):
        if name == {name!r}:
            Path("importing").touch()
            import time
            time.sleep(20)
sys.meta_path.insert(0, Slow())
"""


@pytest.mark.parametrize(
    ("name", "number"),
    [
        ("typer", signal.SIGINT),
        ("numpy", signal.SIGTERM),
        ("gaitgen.pipeline", signal.SIGINT),
        pytest.param("typer", signal.SIGTERM, marks=SLOW),
        pytest.param("numpy", signal.SIGINT, marks=SLOW),
        pytest.param("gaitgen.pipeline", signal.SIGTERM, marks=SLOW),
    ],
)
def test_stopped_while_it_loads(tmp_path, name, number):
    process = started(
        "cycle",
        "walk",
        "--out",
        "made",
        cwd=tmp_path,
        until=(tmp_path / "importing").exists,
        lead=IMPORTING.format(name=name),
    )
    process.send_signal(number)
    said = process.communicate(timeout=60)
    what = "interrupted" if number == signal.SIGINT else "ended by SIGTERM"
    assert (process.returncode, said) == (128 + number, ("", f"gaitgen: {what}; {WHOLE}"))
    assert not (tmp_path / "made").exists()


SWALLOWED = """
import sys
class Mangler:
    def find_spec(self, name, path=None, target=None):
        if name == "numpy":
            import os, signal
            try:
                os.kill(os.getpid(), signal.SIGINT)
                import time
                time.sleep(1)
            except KeyboardInterrupt:
                raise ImportError("numpy: the core could not be loaded") from None
sys.meta_path.insert(0, Mangler())
"""


@pytest.mark.thorough
def test_an_interrupt_that_a_library_made_another_exception_of(tmp_path):
    process = started("cycle", "walk", cwd=tmp_path, until=lambda: True, lead=SWALLOWED)
    said = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, ("", f"gaitgen: interrupted; {WHOLE}"))


PRINTED = """
import sys
class Mangler:
    def find_spec(self, name, path=None, target=None):
        if name == "numpy":
            import os, signal
            try:
                os.kill(os.getpid(), signal.SIGTERM)
                sum(range(1000))
            except BaseException:
                sys.excepthook(*sys.exc_info())  # as PyErr_Print does
                raise ImportError("numpy failed to import") from None
sys.meta_path.insert(0, Mangler())
"""


def test_a_signal_that_a_compiled_module_prints_in_its_loading_is_one_line(tmp_path):
    """Python C API, PyErr_Print: the exception that is set goes to sys.excepthook, and is no more."""
    process = started("cycle", "walk", cwd=tmp_path, until=lambda: True, lead=PRINTED)
    said = process.communicate(timeout=60)
    assert (process.returncode, said) == (143, ("", f"gaitgen: ended by SIGTERM; {WHOLE}"))


def test_a_signal_that_is_printed_as_another_exception_made_of_it_is_one_line(tmp_path):
    """What a library raises from it is printed with it, and still is it."""
    lead = PRINTED.replace(
        "sys.excepthook(*sys.exc_info())  # as PyErr_Print does",
        "made = ImportError('no core'); made.__cause__ = sys.exc_info()[1]; "
        "sys.excepthook(ImportError, made, None)",
    )
    process = started("cycle", "walk", cwd=tmp_path, until=lambda: True, lead=lead)
    said = process.communicate(timeout=60)
    assert (process.returncode, said) == (143, ("", f"gaitgen: ended by SIGTERM; {WHOLE}"))


BEFORE = """
import sys
class Early:
    def find_spec(self, name, path=None, target=None):
        if name == "gaitgen.commands.signals":
            import os, signal
            os.kill(os.getpid(), signal.SIGINT)
            sum(range(1000))
sys.meta_path.insert(0, Early())
"""
LEAVING = """
import os, signal
import gaitgen.commands.terminal as terminal
real = terminal.let_go
def let_go():
    real()
    os.kill(os.getpid(), signal.SIGTERM)
    sum(range(1000))
terminal.let_go = let_go
"""
LEFT = """
import atexit, os, signal
def late():
    os.kill(os.getpid(), signal.SIGTERM)
    sum(range(1000))
atexit.register(late)
"""


@pytest.mark.sample(3)
@pytest.mark.parametrize(
    ("lead", "ends"),
    [
        pytest.param(BEFORE, (-signal.SIGINT, ("", "")), id="before any is heard"),
        pytest.param(LEAVING, (143, ("v", f"gaitgen: ended by SIGTERM; {WHOLE}")), id="while it leaves"),
        pytest.param(LEFT, (0, ("v", "")), id="when all is done"),
    ],
)
def test_a_signal_at_the_beginning_or_the_end_of_a_command_is_no_traceback(tmp_path, lead, ends):
    process = started("--version", cwd=tmp_path, until=lambda: True, lead=lead)
    said, error = process.communicate(timeout=60)
    version = f"gaitgen {__version__}\n"
    assert (process.returncode, (said.replace(version, "v"), error)) == ends


DROPPED = """
import sys
class Gone:
    def __del__(self):
        import os, signal
        os.kill(os.getpid(), signal.SIGINT)
        sum(range(1000))  # where Python hears it, and drops what its handler raises
class Mangler:
    def find_spec(self, name, path=None, target=None):
        if name == "numpy":
            Gone()
            import time
            time.sleep(60)
sys.meta_path.insert(0, Mangler())
"""


def test_an_interrupt_that_comes_where_python_drops_exceptions(tmp_path):
    process = started("cycle", "walk", cwd=tmp_path, until=lambda: True, lead=DROPPED)
    said = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, ("", f"gaitgen: interrupted; {WHOLE}"))


def test_a_second_signal_where_the_first_is_sent_again_is_not_printed(tmp_path):
    """It comes while Python hands over what it dropped, and what is raised in there it prints."""
    lead = DROPPED.replace(
        "sys.meta_path",
        """
import threading
real = threading.Timer
def timer(*given):
    import os, signal
    os.kill(os.getpid(), signal.SIGTERM)
    sum(range(1000))
    return real(*given)
threading.Timer = timer
sys.meta_path""",
    )
    process = started("cycle", "walk", cwd=tmp_path, until=lambda: True, lead=lead)
    said = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, ("", f"gaitgen: interrupted; {WHOLE}"))


SLOW_DISK = """
import os, time
from pathlib import Path
real = os.fsync
def fsync(descriptor):
    Path("syncing").touch()
    end = time.monotonic() + 60
    while not Path("asked").exists() and time.monotonic() < end:  # however busy the machine is
        time.sleep(0.01)
    time.sleep(0.2)
    real(descriptor)
os.fsync = fsync
"""


@pytest.mark.sample(1)
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGHUP, pytest.param(signal.SIGTERM, marks=SLOW)])
def test_asked_to_end_again_and_again_while_it_writes(tmp_path, number):
    (tmp_path / "made").mkdir()
    (tmp_path / "made" / "w.bvh").write_text("old")
    process = started(
        *("cycle", "walk", "--frames", "12", "--out", "made", "--name", "w"),
        cwd=tmp_path,
        until=(tmp_path / "syncing").exists,
        lead=SLOW_DISK,
    )
    for _ in range(30):
        with contextlib.suppress(ProcessLookupError):
            process.send_signal(number)
        (tmp_path / "asked").touch()
        time.sleep(0.01)
    said = process.communicate(timeout=60)
    assert process.returncode == 128 + number
    assert said[1] == farewell(number)[0] + "\n"
    assert {path.name: path.read_text() for path in (tmp_path / "made").iterdir()} == {"w.bvh": "old"}


@pytest.mark.thorough
def test_asked_to_end_the_many_end_with_their_processes(tmp_path):
    made = tmp_path / "made"
    process = started(
        *("variants", "walk", "--frames", "8-207", "--no-keys", "--workers", "1", "--out", "made"),
        cwd=tmp_path,
        until=lambda: len(list(made.glob("*.bvh"))) > 1,
    )
    process.send_signal(signal.SIGTERM)
    _, error = process.communicate(timeout=60)
    assert (process.returncode, error) == (143, f"gaitgen: ended by SIGTERM; {WHOLE}")
    assert not [path for path in made.iterdir() if path.name.startswith(".")]


@pytest.mark.thorough
def test_the_served_page_ends_at_both_signals(tmp_path):
    for number, code, said in (
        (signal.SIGINT, 0, ""),
        (signal.SIGTERM, 143, f"gaitgen: ended by SIGTERM; {WHOLE}"),
    ):
        process = subprocess.Popen(
            [*GAITGEN, "preview", "walk"],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert "shows the clip" in process.stdout.readline()
        process.send_signal(number)
        assert (process.communicate(timeout=60)[1], process.returncode) == (said, code)


@pytest.mark.thorough
def test_ignored_signals_stay_ignored(tmp_path):
    """As with nohup, or in the background of a shell script."""
    process = started(
        *("cycle", "walk", "--frames", "12", "--out", "made", "--name", "w"),
        cwd=tmp_path,
        until=(tmp_path / "syncing").exists,
        lead=SLOW_DISK + "import signal\nsignal.signal(signal.SIGINT, signal.SIG_IGN)\n",
    )
    process.send_signal(signal.SIGINT)
    (tmp_path / "asked").touch()
    process.communicate(timeout=60)
    assert process.returncode == 0
    assert (tmp_path / "made" / "w.bvh").is_file()


def test_the_code_is_that_of_the_signal():
    assert farewell()[1] == 130
    assert farewell(Ended(signal.SIGTERM).number) == (f"gaitgen: ended by SIGTERM; {WHOLE}".rstrip(), 143)


# Folders that are gone


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    "arguments",
    [
        ["cycle", "walk"],
        ["cycle", "walk", "--out", "made"],
        ["plot", "walk"],
        ["preview", "walk"],
        ["preview", "walk", "--html", "p.html"],
        ["variants", "walk", "--frames", "8,9"],
        ["variants", "walk", "--frames", "8,9", "--out", "{there}"],
        ["fit", "{clip}", "--map", "m.toml"],
    ],
)
def test_a_working_folder_that_is_gone(tmp_path, clip, capsys, monkeypatch, arguments):
    gone, there = tmp_path / "gone", tmp_path / "there"
    gone.mkdir()
    there.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    assert run([word.format(there=there, clip=clip) for word in arguments]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert is_one_line(shown.err)
    assert "is gone" in shown.err or "No such file or directory" in shown.err
    assert list(there.iterdir()) == []


@pytest.mark.thorough
def test_a_working_folder_that_is_gone_from_the_start(tmp_path):
    gone = tmp_path / "gone"
    gone.mkdir()
    done = gaitgen("cycle", "walk", "--out", "made", cwd=gone, preexec_fn=gone.rmdir)
    assert (done.returncode, done.stdout) == (2, b"")
    assert is_one_line(done.stderr)


@pytest.mark.thorough
def test_a_working_folder_that_is_gone_is_no_hindrance_elsewhere(tmp_path):
    gone = tmp_path / "gone"
    gone.mkdir()
    done = gaitgen("cycle", "walk", "--out", str(tmp_path / "made"), cwd=gone, preexec_fn=gone.rmdir)
    assert (done.returncode, done.stderr) == (0, b"")
    names = {path.name for path in (tmp_path / "made").iterdir()}
    assert len(names - {".gaitgen-written"}) == 3


# Names


LONG = "n" * 300


@pytest.mark.sample(4)
@pytest.mark.parametrize(
    "arguments",
    [
        ["cycle", "walk", "--name", LONG, "--out", "made"],
        ["cycle", "walk", "--out", LONG],
        ["cycle", f"{LONG}.toml"],
        ["cycle", "walk", "--animal", f"{LONG}.toml"],
        ["variants", "walk", "--frames", "8", "--out", LONG],
        ["sheet", "walk", "--out", f"{LONG}.pdf"],
        ["sheet", f"{LONG}.bvh"],
        ["plot", "walk", "--out", f"{LONG}.png"],
        ["preview", "walk", "--html", f"{LONG}.html"],
        ["fit", f"{LONG}.bvh"],
        ["fit", "{clip}", "--map", f"{LONG}.toml"],
        ["check", f"{LONG}.bvh"],
        ["check", "{clip}", "--map", f"{LONG}.toml"],
        ["check", "{clip}", "--limits", f"{LONG}.toml"],
        ["check", "{clip}", "--pdf", f"{LONG}.pdf"],
    ],
)
def test_names_that_are_too_long(tmp_path, monkeypatch, clip, capsys, arguments):
    monkeypatch.chdir(tmp_path)
    assert run([word.format(clip=clip) for word in arguments]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert is_one_line(shown.err)
    assert "File name too long" in shown.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "arguments",
    [
        ["cycle", "walk", "--out", "loop"],
        ["cycle", "loop.toml"],
        ["cycle", "walk", "--animal", "loop.toml"],
        ["variants", "walk", "--frames", "8", "--out", "loop/made"],
        ["variants", "walk", "--frames", "8", "--out", "loop"],
        ["plot", "walk", "--out", "loop/p.png"],
        ["sheet", "loop.bvh"],
        ["preview", "walk", "--html", "loop/p.html"],
        ["fit", "loop.bvh"],
        ["check", "loop.bvh"],
        ["check", "{clip}", "--limits", "loop.toml"],
    ],
)
def test_links_that_lead_to_themselves(tmp_path, monkeypatch, clip, capsys, arguments):
    monkeypatch.chdir(tmp_path)
    for name in ("loop", "loop.toml", "loop.bvh"):
        Path(name).symlink_to(name)
    assert run([word.format(clip=clip) for word in arguments]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert is_one_line(shown.err)
    assert "symbolic links" in shown.err or "is a link that leads nowhere" in shown.err
    assert len(list(tmp_path.iterdir())) == 3


@pytest.mark.timeout(120)
@pytest.mark.parametrize(
    "arguments",
    [
        ["sheet", "{pipe}.toml"],
        ["shot", "{shot}", "--path", "{pipe}.toml"],
        ["cycle", "walk", "--frames", "12", "--out", "{pipe}.toml"],
        ["preview", "{pipe}.toml", "--html", "p.html"],
        ["variants", "{pipe}.toml", "--frames", "8"],
        ["variants", "walk", "--frames", "8", "--out", "{pipe}.toml"],
        ["cycle", "walk", "--animal", "{pipe}.toml"],
        ["check", "{pipe}.bvh"],
        ["check", "{clip}", "--limits", "{pipe}.toml"],
        ["check", "{clip}", "--map", "{pipe}.toml"],
        ["check", "{clip}", "--shot", "{pipe}.toml"],
        ["check", "{clip}", "--pdf", "{pipe}.pdf"],
        ["fit", "{clip}", "--map", "{pipe}.toml"],
        ["bake", "{pipe}.keys.csv"],
        ["carry", "{clip}", "--from", "{pipe}.bvh"],
    ],
)
@pytest.mark.parametrize("kind", ["a pipe", "no end"])
def test_pipes_and_devices_are_not_waited_for(tmp_path, monkeypatch, clip, capsys, arguments, kind):
    monkeypatch.chdir(tmp_path)
    Path("s.toml").write_text('[[passage]]\ngait = "walk"\nstrides = 1\n')
    for end in (".toml", ".bvh", ".keys.csv", ".pdf"):
        if kind == "a pipe":
            os.mkfifo(f"p{end}")
        else:
            Path(f"p{end}").symlink_to("/dev/zero")
    before = set(tmp_path.iterdir())
    assert run([word.format(clip=clip, pipe="p", shot="s.toml") for word in arguments]) == 2
    shown = capsys.readouterr()
    assert is_one_line(shown.err)
    assert re.search("a pipe or a device|is a device|so give another folder|Not a directory", shown.err)
    assert set(tmp_path.iterdir()) == before


NAMES = {
    "not UTF-8": os.fsdecode(b"w\xff\xfe"),
    "for the terminal": "w\x1b[31m\x07red",
    "in another script": "w\u99ac\u6b65",
    "right to left": "w\u202egnp",
    "mathematics": r"$\frac$ w_{",
}
DRAWN = ("not UTF-8", "mathematics")


@pytest.mark.sample(4)
@pytest.mark.parametrize(
    ("kind", "arguments"),
    [
        # What a drawing library makes of letters is its own trouble; the rest takes every name alike.
        pytest.param(kind, words, marks=() if words[1:] == [] or kind in DRAWN else SLOW)
        for kind in NAMES
        for words in (
            ["check"],
            ["check", "--pdf", "page.pdf"],
            ["fit"],
            ["plot", "--what", "footfalls"],
            ["plot", "--what", "spectrum", "--out", "s.svg"],
            ["preview", "--html", "p.html"],
        )
    ],
)
def test_clips_under_any_name(tmp_path, monkeypatch, clip, capsys, kind, arguments):
    monkeypatch.chdir(tmp_path)
    name = f"{NAMES[kind]}.bvh"
    Path(name).write_bytes(clip.read_bytes())
    assert run([arguments[0], name, *arguments[1:]]) in {0, 1}
    shown = capsys.readouterr()
    assert shown.err == ""
    assert shown.out.replace("\n", "").isprintable()


@pytest.mark.parametrize("kind", NAMES)
def test_maps_of_rigs_under_any_name(tmp_path, monkeypatch, clip, capsys, kind):
    """A map has the path of its rig in it, and a TOML file is UTF-8: another name is told, not written."""
    monkeypatch.chdir(tmp_path)
    name = f"{NAMES[kind]}.bvh"
    Path(name).write_bytes(clip.read_bytes())
    code = run(["fit", name, "--map", "map.toml"])
    shown = capsys.readouterr()
    assert code == (2 if kind in {"not UTF-8", "for the terminal"} else 0)
    assert Path("map.toml").exists() == (code == 0)
    if code:
        assert is_one_line(shown.err)
        assert "give the rig another name" in shown.err
    else:
        assert run(["animals", "map.toml"]) == 0


@pytest.mark.sample(4)
@pytest.mark.parametrize("kind", NAMES)
@pytest.mark.parametrize("command", ["cycle", "variants", "plot"])
def test_gait_files_under_any_name(tmp_path, monkeypatch, capsys, kind, command):
    monkeypatch.chdir(tmp_path)
    Path("made").mkdir()
    Path(f"{NAMES[kind]}.toml").write_bytes(WALK)
    out = "made/p.png" if command == "plot" else "made"
    code = run([command, f"{NAMES[kind]}.toml", "--frames", "12", "--out", out])
    shown = capsys.readouterr()
    assert code in {0, 2}
    notes = shown.err.splitlines() if command == "plot" and code == 0 else []  # a walk of 12 frames is quick
    assert all(line.startswith("note: ") for line in notes)
    assert (notes or shown.err == "") if code == 0 else is_one_line(shown.err)
    assert (shown.out + shown.err).replace("\n", "").isprintable()
    assert bool(list(Path("made").iterdir())) == (code == 0)


ASCII, PLAIN = {"PYTHONIOENCODING": "ascii"}, {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("settings", "arguments"),
    [
        (ASCII, ["check"]),
        (PLAIN, ["fit"]),
        (PLAIN, ["plot", "--what", "footfalls"]),
        *(
            pytest.param(settings, words, marks=SLOW)
            for settings in (ASCII, PLAIN)
            for words in (["check", "--pdf", "page.pdf"], ["fit"], ["sheet"])
        ),
    ],
)
def test_a_terminal_without_the_letters(tmp_path, clip, settings, arguments):
    name = "w\u00e4\u99ac.bvh"
    (tmp_path / name).write_bytes(clip.read_bytes())
    done = gaitgen(arguments[0], name, *arguments[1:], cwd=tmp_path, settings=settings)
    assert done.stderr == b""
    assert done.returncode in ({0, 1} if arguments[0] == "check" else {0})
    assert done.stdout.decode("ascii")


def test_json_keeps_a_name_as_it_is(tmp_path, monkeypatch, clip, capsys):
    monkeypatch.chdir(tmp_path)
    name = f"{NAMES['for the terminal']}.bvh"
    Path(name).write_bytes(clip.read_bytes())
    run(["check", name, "--json"])
    shown = capsys.readouterr().out
    assert shown.replace("\n", "").isprintable()
    assert name in json.dumps(json.loads(shown), ensure_ascii=False).encode().decode("unicode_escape")


def test_what_a_terminal_would_obey_is_written_out():
    assert plain("fore foot\nhind foot") == "fore foot\nhind foot"
    assert plain("\x1b[2J \x07 \u202e \udcff \r") == r"\x1b[2J \x07 \u202e \udcff \r"
    assert plain("w\u00e4\u99ac") == "w\u00e4\u99ac"
    assert one_line("two\nlines") == r"two\nlines"
    long = one_line("begins " + "x" * 100_000 + " ends")
    assert len(long) < 1000
    assert long.startswith("begins ")
    assert long.endswith(" ends")


def test_a_signal_that_a_library_swallows_in_its_loading_still_ends_the_command(
    tmp_path, monkeypatch, capsys
):
    """As compiled modules do, which drop whatever is raised while they are loaded."""
    listener = _Listener()
    monkeypatch.setattr("gaitgen.commands.signals._LISTENER", listener)
    with contextlib.suppress(Ended):
        listener(signal.SIGTERM, None)
    assert run(["cycle", "walk", "--out", str(tmp_path / "made")]) == 143
    assert "ended by SIGTERM" in capsys.readouterr().err
    assert not list(tmp_path.rglob("*.bvh"))
