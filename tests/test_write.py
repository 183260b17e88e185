"""Files in place: all, or everything as it was."""

import errno
import os
import platform
import shutil
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from gaitgen.errors import OutputError
from gaitgen.formats import beside
from gaitgen.formats.beside import finished_with, names_beside
from gaitgen.formats.signals import signals_held
from gaitgen.formats.write import write_files


def state(folder):
    """Everything under a folder: names, contents, permission bits."""
    return {
        str(path.relative_to(folder)): (path.read_bytes() if path.is_file() else None, path.lstat().st_mode)
        for path in sorted(folder.rglob("*"))
    }


def failing(name, at, fault):
    """Make a stand-in for an os function that fails on its at-th call, before or after doing its work."""
    real, calls = getattr(os, name), []

    def call(*args, **kwargs):
        calls.append(args)
        if len(calls) == at:
            raise fault
        return real(*args, **kwargs)

    return call


@pytest.fixture
def place(tmp_path):
    """Make a folder with two files, one of them read-only to others."""
    (tmp_path / "a.bvh").write_bytes(b"old a")
    (tmp_path / "b.csv").write_bytes(b"old b")
    (tmp_path / "b.csv").chmod(0o640)
    return tmp_path


def three(folder):
    return {folder / "a.bvh": b"new a", folder / "b.csv": b"new b", folder / "new/deep/c.csv": b"new c"}


def test_all_are_written_and_nothing_is_left_beside(place):
    write_files(three(place))
    found = {name: data for name, (data, _) in state(place).items()}
    expected = {
        "a.bvh": b"new a",
        "b.csv": b"new b",
        "new": None,
        "new/deep": None,
        "new/deep/c.csv": b"new c",
    }
    assert found == expected


def test_nothing_asked_nothing_done(place):
    before = state(place)
    write_files({})
    assert state(place) == before


def test_permission_bits(place):
    old = os.umask(0o027)
    try:
        write_files(three(place))
    finally:
        os.umask(old)
    assert stat.S_IMODE((place / "b.csv").stat().st_mode) == 0o640
    assert stat.S_IMODE((place / "new/deep/c.csv").stat().st_mode) == 0o640  # 666 less 027
    (place / "a.bvh").chmod(0o604)
    write_files({place / "a.bvh": b"again"})
    assert stat.S_IMODE((place / "a.bvh").stat().st_mode) == 0o604


def test_links_are_followed(place):
    (place / "kept").mkdir()
    (place / "link.bvh").symlink_to("a.bvh")
    (place / "dangling.bvh").symlink_to("kept/later.bvh")
    write_files({place / "link.bvh": b"1", place / "dangling.bvh": b"2"})
    assert (place / "link.bvh").is_symlink()
    assert (place / "a.bvh").read_bytes() == b"1"
    assert (place / "kept/later.bvh").read_bytes() == b"2"
    assert sorted(path.name for path in place.iterdir()) == [
        "a.bvh",
        "b.csv",
        "dangling.bvh",
        "kept",
        "link.bvh",
    ]


def test_relative_paths(place, monkeypatch):
    monkeypatch.chdir(place)
    write_files({Path("a.bvh"): b"1", Path("sub/x.csv"): b"2"})
    assert (place / "a.bvh").read_bytes() == b"1"
    assert (place / "sub/x.csv").read_bytes() == b"2"


FAULTS = [OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), KeyboardInterrupt(), MemoryError()]


# Calls that three files and two new folders need; a refused link is no fault (see below), an interrupt is.
CALLS = {"open": 3, "fdopen": 3, "fsync": 3, "replace": 3, "mkdir": 2, "link": 2}
CASES = [
    (name, at, fault)
    for name, count in CALLS.items()
    for at in range(1, count + 1)
    for fault in FAULTS
    if name != "link" or not isinstance(fault, OSError)
]


@pytest.mark.parametrize(("name", "at", "fault"), CASES)
def test_a_fault_half_way_changes_nothing(place, monkeypatch, name, at, fault):
    before = state(place)
    with monkeypatch.context() as patch:
        patch.setattr(os, name, failing(name, at, fault))
        with pytest.raises(OutputError if isinstance(fault, OSError) else type(fault)) as caught:
            write_files(three(place))
    assert state(place) == before
    if isinstance(fault, OSError):
        text = str(caught.value)
        assert text.endswith(": No space left on device; free some space on that disk; nothing was changed")
        assert text.startswith(f"cannot write {place}/")


@pytest.mark.parametrize("at", [1, 2, 3])
def test_an_interrupt_just_after_a_move_changes_nothing(place, monkeypatch, at):
    real, calls = os.replace, []

    def replace(*args):
        calls.append(args)
        real(*args)
        if len(calls) == at:
            raise KeyboardInterrupt

    before = state(place)
    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", replace)
        with pytest.raises(KeyboardInterrupt):
            write_files(three(place))
    assert state(place) == before


def test_a_full_disk(place):
    """A real one, where the system has a device that is always full."""
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    with pytest.raises(
        OutputError, match=r"cannot write /dev/full: it is a device, not a file; give the name of a file"
    ):
        write_files({Path("/dev/full"): b"1", place / "x": b"2"})
    assert not (place / "x").exists()


def test_a_disk_without_links(place, monkeypatch):
    def link(*_):
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    before = state(place)
    monkeypatch.setattr(os, "link", link)
    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", failing("replace", 3, FAULTS[0]))
        with pytest.raises(OutputError):
            write_files(three(place))
    assert state(place) == before
    write_files(three(place))
    assert (place / "b.csv").read_bytes() == b"new b"
    assert sorted(path.name for path in place.iterdir()) == ["a.bvh", "b.csv", "new"]


def test_what_cannot_be_put_back_is_kept_and_named(place, monkeypatch):
    real, calls = os.replace, []

    def replace(*args):
        calls.append(args)
        if len(calls) >= 2:
            raise OSError(errno.EIO, "Input/output error")
        real(*args)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", replace)
        with pytest.raises(
            OutputError, match=r"the earlier files could not be put back: .*a\.bvh is kept as"
        ) as caught:
            write_files(three(place))
    kept = Path(str(caught.value).rsplit(" is kept as ", 1)[1])
    assert kept.read_bytes() == b"old a"
    assert "\n" not in str(caught.value)


def test_places_that_are_no_place(place):
    before = state(place)
    (place / "loop").symlink_to("loop")
    cases = {
        place: "it is a folder; give the name of a file",
        Path("/"): "it is a folder; give the name of a file",
        place / "a.bvh/x.bvh": "Not a directory; choose a folder that is not a file; nothing was changed",
        place
        / "a.bvh/deep/x.bvh": "Not a directory; choose a folder that is not a file; nothing was changed",
        place / ("n" * 300): "File name too long; choose a shorter name; nothing was changed",
        place
        / "loop": "Too many levels of symbolic links; choose a place that you can write to; nothing was",
        Path("/dev/null"): "it is a device, not a file; give the name of a file",
    }
    for path, reason in cases.items():
        with pytest.raises(OutputError) as caught:
            write_files({place / "b.csv": b"new", path: b"1"})
        assert str(caught.value).startswith(f"cannot write {path}: {reason}")
    (place / "loop").unlink()
    assert state(place) == before


def test_names_no_disk_takes(place):
    with pytest.raises(
        OutputError, match=r"^cannot write '.*x\\x00y': .*null byte; choose another name; nothing was ch"
    ):
        write_files({place / "x\0y": b"1"})
    with pytest.raises(OutputError, match=r"^cannot write '.*two\\nlines': Not a directory"):
        write_files({place / "a.bvh" / "two\nlines": b"1"})


def test_one_file_asked_twice(place):
    (place / "link.csv").symlink_to("b.csv")
    before = state(place)
    with pytest.raises(
        OutputError, match=r"link\.csv: it is the same file as .*b\.csv; give each output its own name"
    ):
        write_files({place / "b.csv": b"1", place / "link.csv": b"2"})
    assert state(place) == before


def test_write_protected(place, monkeypatch):
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(OutputError, match=r"a\.bvh: it is write-protected; unlock it or choose another name"):
        write_files({place / "a.bvh": b"1"})


def test_a_folder_made_by_someone_else_meanwhile(place, monkeypatch):
    real = os.mkdir

    def mkdir(*args):
        real(*args)
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))

    monkeypatch.setattr(os, "mkdir", mkdir)
    write_files(three(place))
    assert (place / "new/deep/c.csv").read_bytes() == b"new c"


def test_an_interrupt_after_the_last_move_leaves_the_new_files(place, monkeypatch):
    real, calls = os.unlink, []

    def unlink(*args, **kwargs):
        calls.append(args)
        if len(calls) == 2:
            raise KeyboardInterrupt
        real(*args, **kwargs)

    with monkeypatch.context() as patch:
        patch.setattr(os, "unlink", unlink)
        with pytest.raises(KeyboardInterrupt):
            write_files(three(place))
    assert sorted(path.name for path in place.iterdir()) == ["a.bvh", "b.csv", "new"]
    assert (place / "a.bvh").read_bytes() == b"new a"


def test_read_only_folder(place):
    if os.geteuid() == 0:
        pytest.skip("root may write anywhere")
    place.chmod(0o555)
    try:
        before = state(place)
        with pytest.raises(
            OutputError, match="Permission denied; choose a place that you can write to; nothing was"
        ):
            write_files(three(place))
        assert state(place) == before
    finally:
        place.chmod(0o755)
        shutil.rmtree(place)


def left_beside(target, process):
    """Make what a process leaves beside a file when it is killed at work on it."""
    made = []
    for path in names_beside(target):
        finished_with(path)
        left = path.with_name(path.name.replace(f"-{os.getpid()}-", f"-{process}-"))
        left.write_text("half")
        made.append(left)
    return made


def gone_process():
    """Return the number of a process that has ended."""
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


def test_what_a_killed_process_left_goes_at_the_next_write_of_that_name(place):
    ours, others = left_beside(place / "a.bvh", gone_process()), left_beside(place / "c.bvh", gone_process())
    at_work = left_beside(place / "a.bvh", os.getppid())
    (place / ".gaitgen-notes.new").write_text("somebody's own")
    write_files({place / "a.bvh": b"new"})
    assert not any(path.exists() for path in ours)
    assert all(path.exists() for path in (*others, *at_work, place / ".gaitgen-notes.new"))


def test_what_another_machine_has_there_is_left_alone(place, monkeypatch):
    beside.this_machine.cache_clear()
    with monkeypatch.context() as patch:
        patch.setattr(platform, "node", lambda: "elsewhere")
        theirs = left_beside(place / "a.bvh", gone_process())
    beside.this_machine.cache_clear()
    write_files({place / "a.bvh": b"new"})
    assert all(path.exists() for path in theirs)


def test_an_earlier_process_of_the_same_number_is_gone_too(place):
    """As in a container, where the first process has the same number each time."""
    left = left_beside(place / "a.bvh", os.getpid())
    working = names_beside(place / "a.bvh")[0]
    working.write_text("half")
    write_files({place / "a.bvh": b"new"})
    assert not any(path.exists() for path in left)
    assert working.exists()
    finished_with(working)


KILLED = """
import os, signal, sys
from pathlib import Path
from gaitgen.formats.write import write_files
real = os.replace
def replace(*places):
    if places[1].name == "b.csv":
        os.kill(os.getpid(), signal.SIGKILL)
    real(*places)
os.replace = replace
write_files({Path("a.bvh"): b"new a", Path("b.csv"): b"new b"})
"""


def test_killed_between_two_files_and_written_again(place):
    killed = subprocess.run([sys.executable, "-c", KILLED], cwd=place, check=False)
    assert killed.returncode == -signal.SIGKILL
    assert len(list(place.iterdir())) > 2
    write_files({place / "a.bvh": b"again a", place / "b.csv": b"again b"})
    assert {path.name: path.read_bytes() for path in place.iterdir()} == {
        "a.bvh": b"again a",
        "b.csv": b"again b",
    }


INTERRUPTED = """
import os, signal, sys
from pathlib import Path
from gaitgen.formats.write import write_files
for name in ("fsync", "link", "replace", "unlink"):  # at every step, and more than once
    def call(*given, _real=getattr(os, name), **how):
        os.kill(os.getpid(), signal.SIGINT)
        return _real(*given, **how)
    setattr(os, name, call)
Path.unlink = lambda path, missing_ok=False: os.unlink(path) if path.exists() else None
try:
    write_files({Path("a.bvh"): b"new a", Path("b.csv"): b"new b"})
except KeyboardInterrupt:
    print("interrupted")
"""


def test_interrupted_again_and_again_nothing_is_left_beside(place):
    before = state(place)
    done = subprocess.run(
        [sys.executable, "-c", INTERRUPTED], cwd=place, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "interrupted\n", "")
    assert state(place) == before


def test_signals_wait_and_then_do_what_they_do():
    heard = []
    before = signal.signal(signal.SIGTERM, lambda number, _frame: heard.append(number))
    try:
        with signals_held() as held:
            os.kill(os.getpid(), signal.SIGTERM)
            time.sleep(0.01)
            assert (heard, held.came) == ([], [signal.SIGTERM])
        assert heard == [signal.SIGTERM]
        with signals_held() as held:
            os.kill(os.getpid(), signal.SIGTERM)
            held.heed()
            held.heed()
            assert heard == [signal.SIGTERM] * 2
        assert heard == [signal.SIGTERM] * 2
    finally:
        signal.signal(signal.SIGTERM, before)


def test_a_signal_that_ends_a_process_does_so_after_the_file_is_put_back(place):
    code = INTERRUPTED.replace("SIGINT", "SIGTERM")
    before = state(place)
    done = subprocess.run([sys.executable, "-c", code], cwd=place, capture_output=True, check=False)
    assert done.returncode == -signal.SIGTERM
    assert state(place) == before


def test_nothing_is_lost_by_a_name_that_is_too_long(place):
    before = state(place)
    with pytest.raises(OutputError, match="File name too long; choose a shorter name; nothing was changed"):
        write_files({place / "new" / ("n" * 300): b"1"})
    assert state(place) == before


NOBODY = """
import os, sys
from pathlib import Path
from gaitgen.errors import OutputError
from gaitgen.formats.write import write_files
os.setresgid(65534, 65534, 65534)
os.setresuid(65534, 65534, 65534)
try:
    write_files({Path(sys.argv[1]): b"1"})
except OutputError as error:
    print(error)
"""


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become another user")
def test_a_folder_of_another_user(place):
    """As somebody whom the folder does not belong to, which root is not kept out of."""
    for path in (place, *place.parents[:-1]):
        path.chmod(path.stat().st_mode | 0o055)
    before, target = state(place), place / "new" / "a.bvh"
    done = subprocess.run(
        [sys.executable, "-c", NOBODY, str(target)], capture_output=True, text=True, check=True
    )
    assert done.stdout == (
        f"cannot write {target}: Permission denied; choose a place that you can write to; "
        "nothing was changed\n"
    )
    assert state(place) == before
