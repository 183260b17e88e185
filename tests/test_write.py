"""Files in place: all, or everything as it was."""

import errno
import os
import shutil
import stat
from pathlib import Path

import pytest

from gaitgen.errors import OutputError
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
