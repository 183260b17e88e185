"""Many cycles: names, table, nothing made twice, interrupted runs, the same bytes however many cores."""

import contextlib
import csv
import errno
import fcntl
import multiprocessing
import os
import re
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from importlib import resources
from itertools import pairwise
from pathlib import Path

import pytest

from gaitgen import Request, Style
from gaitgen.batch.folder import LOCK, only_run, put
from gaitgen.batch.plan import parse_frames, parse_style, plan_variants
from gaitgen.batch.run import run_variants
from gaitgen.batch.table import COLUMNS, TABLE, add_row, table_bytes, table_text
from gaitgen.commands import run
from gaitgen.commands.signals import farewell
from gaitgen.errors import GaitError, OutputError, RequestError, WorkerError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff

pytestmark = pytest.mark.usefixtures("fits_once")

SPACE, WANTED = FileSpace(), HandOff(keys=False)


def _plan(frames=(16, 24), animals=("riding_horse", "draft_horse")):
    return plan_variants(Request(), animals, frames)


def _run(folder, plan, **options):
    """In this process, unless said otherwise: processes take a second or two to start."""
    options.setdefault("workers", 1)
    return run_variants(plan, SPACE, WANTED, folder, **options)


def _contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def _rows(folder):
    with (folder / TABLE).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_names_and_the_table(tmp_path):
    outcome = _run(tmp_path, _plan())
    assert (outcome.made, outcome.kept) == (4, 0)
    rows = _rows(tmp_path)
    assert [row["name"] for row in rows] == [
        "riding_horse_walk_16",
        "riding_horse_walk_24",
        "draft_horse_walk_16",
        "draft_horse_walk_24",
    ]
    for row in rows:
        assert (tmp_path / f"{row['name']}.bvh").is_file()
        assert (tmp_path / f"{row['name']}.channels.csv").is_file()
    assert float(rows[0]["speed_m_s"]) > float(rows[1]["speed_m_s"])
    assert "riding_horse_walk_24" in table_text(outcome.rows)
    noted = [{**row, "notices": "overlap speed"} for row in outcome.rows]
    assert "\n\nnotes\n  overlap     a part that hangs" in table_text(noted)
    assert "  speed       faster or slower than this animal goes at this gait\n" in table_text(noted)
    assert "\nnotes\n" not in table_text([{**row, "notices": ""} for row in outcome.rows])


def test_a_second_run_rewrites_nothing_and_force_does(tmp_path):
    _run(tmp_path, _plan())
    before = {path.name: path.stat().st_mtime_ns for path in tmp_path.iterdir()}
    again = _run(tmp_path, _plan())
    assert (again.made, again.kept) == (0, 4)
    assert {path.name: path.stat().st_mtime_ns for path in tmp_path.iterdir()} == before
    forced = _run(tmp_path, _plan(), force=True)
    assert (forced.made, forced.kept) == (4, 0)


def test_another_request_or_a_changed_file_is_made_again(tmp_path):
    _run(tmp_path, _plan())
    (plain,) = plan_variants(Request(), ["riding_horse"], [16])
    other = [replace(plain, request=replace(plain.request, style=Style(nod=1.2)))]
    assert _run(tmp_path, other).made == 1
    (tmp_path / "riding_horse_walk_24.bvh").write_text("touched by hand")
    (tmp_path / "draft_horse_walk_24.channels.csv").unlink()
    said = []
    outcome = _run(tmp_path, _plan(), say=said.append)
    assert (outcome.made, outcome.kept) == (3, 1)
    assert (tmp_path / "riding_horse_walk_24.bvh").read_text() == "touched by hand"
    aside, other_clip = sorted(said, key=lambda line: "is replaced" in line)
    assert "riding_horse_walk_24.* is not as gaitgen wrote it, so it is kept" in aside
    assert "riding_horse_walk_16.bvh was made from another request or version" in other_clip
    names = {path.name for path in tmp_path.glob("*.2.*")}
    assert names == {f"riding_horse_walk_24.2.{end}" for end in ("bvh", "channels.csv")}
    again = _run(tmp_path, _plan())
    assert (again.made, again.kept) == (0, 4)
    forced = _run(tmp_path, _plan(), force=True)
    assert forced.made == 4
    assert (tmp_path / "riding_horse_walk_24.bvh").read_bytes().startswith(b"HIERARCHY")


def test_more_cores_give_the_same_bytes(tmp_path):
    _run(tmp_path / "one", _plan(), workers=1)
    _run(tmp_path / "two", _plan(), workers=2)
    assert _contents(tmp_path / "one") == _contents(tmp_path / "two")


def test_a_second_name_that_a_killed_run_left_is_taken_away_and_nothing_else(tmp_path):
    """A file gets its name by a link; a run that is killed right after leaves the one it had before."""
    folder, plan = tmp_path / "v", _plan((16,), ("riding_horse",))
    _run(folder, plan)
    before = _contents(folder)
    os.link(folder / "riding_horse_walk_16.bvh", folder / ".riding_horse_walk_16.bvh.new")
    (folder / ".notes.new").write_text("somebody's")
    _run(folder, plan)
    assert _contents(folder) == {**before, ".notes.new": b"somebody's"}


def test_an_interrupted_run_goes_on_where_it_stopped(tmp_path):
    def stop_after_two(done, _all):
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        _run(tmp_path, _plan(), tell=stop_after_two)
    _only_whole_files(tmp_path)
    outcome = _run(tmp_path, _plan())
    assert (outcome.made, outcome.kept) == (2, 2)


def _only_whole_files(folder):
    assert not [path.name for path in folder.iterdir() if not re.search(r"^[^.].*(\.bvh|\.csv)$", path.name)]


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """A folder with one finished variant, its bytes, and its row."""
    folder = tmp_path_factory.mktemp("done")
    outcome = _run(folder, TINY)
    return _contents(folder), outcome.rows[0]


TINY = plan_variants(Request(), ["riding_horse"], [8])
NAME = "riding_horse_walk_8"
HEAD = ",".join(COLUMNS) + "\n"


def _line(row, **changes):
    return table_bytes([{**row, **changes}], header=False).decode()


def _files(text):
    return lambda row: (HEAD + _line(row, files=text)).encode()


DAMAGED = {
    "no text": (lambda _row: b"\xff\x00 not a table", "is no table"),
    "other columns": (lambda _row: b"name,note\nours,keep this\n", "other columns"),
    "a huge field": (lambda row: (HEAD + _line(row, notices="x" * 200_000)).encode(), "field larger"),
    "too many rows": (lambda _row: (HEAD + "\n" * 100_001).encode(), "more than 100000 rows"),
    "a device": (_files("/dev/zero:0123456789abcdef"), "1 damaged row"),
    "a path outside": (_files(f"../{NAME}.bvh:0123456789abcdef"), "1 damaged row"),
    "a name that climbs": (_files(f"{NAME}./../../etc/passwd:0123456789abcdef"), "1 damaged row"),
    "no files": (_files(""), "1 damaged row"),
    "files of another": (_files("riding_horse_walk_9.bvh:0123456789abcdef"), "1 damaged row"),
    "another's row": (lambda row: (HEAD + _line(row, name="../x")).encode(), "1 damaged row"),
    "words for the terminal": (lambda row: (HEAD + _line(row, notices="\x1b[2J")).encode(), "1 damaged row"),
}


@pytest.mark.parametrize("kind", DAMAGED)
def test_a_damaged_table_is_kept_aside_and_said(tmp_path, done, kind):
    contents, row = done
    make, words = DAMAGED[kind]
    (tmp_path / TABLE).write_bytes(make(row))
    said = []
    outcome = _run(tmp_path, TINY, say=said.append)
    assert (outcome.made, len(said)) == (1, 1)
    assert words in said[0]
    assert "it is kept as variants.csv.old1" in said[0]
    assert "\n" not in said[0]
    assert (tmp_path / f"{TABLE}.old1").read_bytes() == make(row)
    (tmp_path / f"{TABLE}.old1").unlink()
    assert _contents(tmp_path) == contents


def test_a_damaged_row_does_not_cost_the_others(tmp_path, done):
    contents, row = done
    for name, data in contents.items():
        (tmp_path / name).write_bytes(data)
    (tmp_path / TABLE).write_text(HEAD + "riding_ho\n" + _line(row))
    said = []
    assert _run(tmp_path, TINY, say=said.append).kept == 1
    assert "1 damaged row;" in said[0]
    assert (tmp_path / TABLE).read_bytes() == contents[TABLE]


@pytest.mark.parametrize("kind", ["a pipe", "a folder", "a link", "a link to a device"])
def test_a_table_that_is_no_file_is_not_waited_for(tmp_path, done, kind):
    outside, folder = tmp_path / "outside.csv", tmp_path / "made"
    folder.mkdir()
    outside.write_text(HEAD)
    {
        "a pipe": os.mkfifo,
        "a folder": os.mkdir,
        "a link": lambda path: path.symlink_to(outside),
        "a link to a device": lambda path: path.symlink_to("/dev/zero"),
    }[kind](folder / TABLE)
    said = []
    assert _run(folder, TINY, say=said.append).made == 1
    assert len(said) == 1
    assert "cannot be read" in said[0]
    assert (folder / TABLE).read_bytes() == done[0][TABLE]
    assert outside.read_text() == HEAD


@pytest.mark.parametrize("kind", ["a pipe", "a link", "a folder", "write-protected"])
def test_something_else_of_the_name_of_a_clip_is_left_alone(tmp_path, done, kind, monkeypatch):
    contents, _row = done
    for name, data in contents.items():
        (tmp_path / name).write_bytes(data)
    clip = tmp_path / f"{NAME}.bvh"
    clip.unlink()
    if kind == "a link":  # to the very bytes
        (tmp_path / "elsewhere").write_bytes(contents[clip.name])
        clip.symlink_to(tmp_path / "elsewhere")
    elif kind == "write-protected":
        clip.write_bytes(contents[clip.name])
        _run(tmp_path, TINY)
        monkeypatch.setattr(os, "access", lambda path, _how: path != clip)  # whoever runs this
    else:
        (os.mkfifo if kind == "a pipe" else os.mkdir)(clip)
    before = clip.lstat()
    with pytest.raises(OutputError, match=rf"cannot write .*{NAME}\.bvh: "):
        _run(tmp_path, TINY, force=kind == "write-protected")
    assert os.path.samestat(clip.lstat(), before)
    assert (tmp_path / TABLE).read_bytes() == contents[TABLE]


def test_half_a_row_at_the_end_is_what_a_killed_run_leaves(tmp_path):
    _run(tmp_path, _plan(frames=(8, 9), animals=("riding_horse",)))
    whole = _contents(tmp_path)
    (tmp_path / TABLE).write_bytes(whole[TABLE][:-30])
    said = []
    again = _run(tmp_path, _plan(frames=(8, 9), animals=("riding_horse",)), say=said.append)
    assert (again.made, again.kept, said) == (1, 1, [])
    assert _contents(tmp_path) == whole


def test_rows_of_other_plans_stay_whatever_is_made_again(tmp_path):
    _run(tmp_path, _plan(frames=(9,), animals=("riding_horse",)))
    _run(tmp_path, TINY)
    _run(tmp_path, TINY, force=True)
    with (tmp_path / TABLE).open(encoding="utf-8") as file:
        assert [row["name"] for row in csv.DictReader(file)] == [NAME, "riding_horse_walk_9"]


def test_no_file_is_written_twice(tmp_path):
    """Each clip appears once and stays; the table is one file that only grows, a row at a time."""
    plan, seen = _plan(frames=(8, 9, 10)), []

    def look(count, _all):
        found = {path.name: path.stat() for path in tmp_path.iterdir() if path.name != LOCK}
        with contextlib.suppress(FileNotFoundError):
            lines = (tmp_path / TABLE).read_text(encoding="utf-8").splitlines()
            assert lines[0] + "\n" == HEAD
            assert len(lines) == 1 + count
        seen.append({name: (stat.st_ino, stat.st_mtime_ns) for name, stat in found.items()})

    _run(tmp_path, plan, tell=look)
    assert len(seen) == 1 + len(plan)
    for before, after in pairwise(seen):
        assert len(after) > len(before)
        for name, (inode, changed) in before.items():
            assert after[name][0] == inode
            assert after[name][1] == changed or name == TABLE


def test_what_a_killed_process_left_is_no_hindrance(tmp_path):
    (tmp_path / ".clip.bvh.new").write_text("half")
    put(tmp_path, {"clip.bvh": b"whole"})
    assert _contents(tmp_path) == {"clip.bvh": b"whole"}


def test_files_are_put_all_or_nothing_is_left_beside(tmp_path):
    (tmp_path / "b.csv").mkdir()
    with pytest.raises(
        OutputError, match=r"cannot write .*b\.csv: a folder of that name is there; take it away"
    ):
        put(tmp_path, {"a.bvh": b"a", "b.csv": b"b"})
    assert [path.name for path in tmp_path.iterdir()] == ["b.csv"]
    with pytest.raises(
        OutputError, match=r"see to space and rights there, or give another folder with --out"
    ):
        put(tmp_path / "missing", {"a.bvh": b"a"})


def test_a_second_run_in_the_same_folder_is_refused(tmp_path, capsys):
    (tmp_path / "made").mkdir()
    command = ["variants", "walk", "--frames", "8", "--no-keys", "--out", str(tmp_path / "made")]
    with only_run(tmp_path / "made", print):
        assert run(command) == 2
    error = capsys.readouterr().err
    assert "made is busy: another run of gaitgen variants is writing there; wait for it" in error
    assert error.count("\n") == 1
    assert run(command) == 0
    assert not (tmp_path / "made" / LOCK).exists()


def test_a_folder_that_is_none_or_cannot_be_locked(tmp_path, monkeypatch):
    (tmp_path / "file").touch()
    with pytest.raises(
        OutputError, match=r"cannot write .*file: File exists; .* give another folder with --out"
    ):
        _run(tmp_path / "file", TINY)
    said = []

    def refuse(*_arguments):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(fcntl, "flock", refuse)
    assert _run(tmp_path / "made", TINY, say=said.append).made == 1
    assert said == [
        f"{tmp_path / 'made'} cannot be locked (No locks available); start no second run there meanwhile"
    ]


def test_a_table_that_cannot_be_written_or_put_aside(tmp_path, done, monkeypatch):
    (tmp_path / TABLE).symlink_to("/dev/full")
    with pytest.raises(
        OutputError, match=r"cannot write .*variants\.csv: No space left on device; see to space"
    ):
        add_row(done[1], tmp_path)

    def refuse(*_arguments):
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(
        OutputError, match=r"cannot rename .*variants\.csv: Operation not permitted; take it away yourself"
    ):
        _run(tmp_path, TINY)


def test_processes_that_cannot_start(tmp_path, monkeypatch):
    def refuse(*_arguments):
        raise OSError(errno.EAGAIN, "Resource temporarily unavailable")

    monkeypatch.setattr(ProcessPoolExecutor, "submit", refuse)
    with pytest.raises(
        WorkerError,
        match=r"cannot start worker processes \(Resource temporarily unavailable\); give fewer with",
    ):
        _run(tmp_path / "made", _plan(), workers=2)
    assert list(tmp_path.iterdir()) == []


def test_never_two_at_once_however_often_they_change(tmp_path):
    inside, entered, worst = [], [], []

    def come_and_go():
        mine = 0
        while mine < 8:
            with contextlib.suppress(OutputError), only_run(tmp_path, print):
                mine += 1
                inside.append(1)
                entered.append(1)
                worst.append(len(inside))
                time.sleep(0.0005)
                inside.pop()

    threads = [threading.Thread(target=come_and_go) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(entered), max(worst)) == (48, 1)


def test_a_refused_run_leaves_no_folder(tmp_path):
    with pytest.raises(RequestError, match="frames is 4"):
        _run(tmp_path / "new" / "folder", _plan(frames=(4,), animals=("riding_horse",)))
    assert list(tmp_path.iterdir()) == []


LONG = [f"riding_horse_walk_{frames}" for frames in range(8, 208)]
COMMAND = [sys.executable, "-m", "gaitgen", "variants", "walk", "--no-keys", "--workers", "2"]
ROOT = Path(__file__).resolve().parent.parent


def _started(folder, frames, until):
    process = subprocess.Popen(
        [*COMMAND, "--frames", frames, "--out", str(folder)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    deadline = time.monotonic() + 60
    while not until():
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < deadline
        time.sleep(0.01)
    return process


def _gone(group):
    """Wait for the last process of a group."""
    deadline = time.monotonic() + 10
    while time.monotonic() < deadline:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.02)
    return False


@pytest.mark.sample(1)
@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_stopped_from_outside_it_ends_with_its_processes_and_goes_on_later(tmp_path, stop):
    process = _started(
        tmp_path, "8-207", lambda: (tmp_path / TABLE).exists() and len(list(tmp_path.glob("*.bvh"))) > 1
    )
    if stop == signal.SIGINT:
        os.killpg(process.pid, stop)  # as the terminal does
    else:
        process.send_signal(stop)
    asked = time.monotonic()
    _output, error = process.communicate(timeout=30)
    assert _gone(process.pid)
    assert time.monotonic() - asked < 10
    if stop != signal.SIGKILL:
        line, code = farewell(stop)
        assert (process.returncode, error) == (code, line + "\n")
        _only_whole_files(tmp_path)
    with (tmp_path / TABLE).open(encoding="utf-8") as file:
        kept = [row["name"] for row in csv.DictReader(file) if row["files"]]
    assert 0 < len(kept) < len(LONG)
    frames = [int(name.rpartition("_")[2]) for name in kept]
    outcome = _run(tmp_path, plan_variants(Request(), ["riding_horse"], frames))
    assert (outcome.made, outcome.kept) == (0, len(kept))


@pytest.mark.thorough
def test_interrupted_while_its_processes_start_it_says_one_line_only(tmp_path):
    process = _started(tmp_path / "made", "8-207", (tmp_path / "made" / LOCK).exists)
    os.killpg(process.pid, signal.SIGINT)
    _output, error = process.communicate(timeout=30)
    assert _gone(process.pid)
    assert (process.returncode, error) == (
        130,
        "gaitgen: interrupted; every file there is whole, as it was or new\n",
    )
    assert list(tmp_path.iterdir()) == []


STARTING = """
import os, signal, sys
from multiprocessing import util
real = util.spawnv_passfds
def start(*given):
    number = real(*given)
    if "multiprocessing.spawn" in str(given):  # not what keeps count of shared memory
        os.kill(os.getpid(), signal.SIGTERM)
        sum(range(1000))
    return number
if __name__ == "__main__":
    util.spawnv_passfds = start
    from gaitgen.commands import main
    main()
"""


def test_a_signal_between_the_start_of_a_process_and_what_it_is_told_is_one_line(tmp_path):
    """A process that is told nothing prints a traceback of its own, on the same standard error."""
    script = tmp_path / "script.py"
    script.write_text(STARTING)
    ended = subprocess.run(
        [sys.executable, str(script), *COMMAND[3:], "--frames", "8,9", "--out", str(tmp_path / "made")],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    line, code = farewell(signal.SIGTERM)
    assert (ended.returncode, ended.stderr) == (code, line + "\n")


@pytest.mark.thorough
def test_a_process_that_is_killed_is_one_line(tmp_path):
    def kill_one(done, _all):
        if done == 1:
            multiprocessing.active_children()[0].kill()

    plan = _plan(frames=range(8, 40), animals=("riding_horse",))
    with pytest.raises(WorkerError, match=r"a worker process ended by itself .*what was finished is kept"):
        _run(tmp_path, plan, workers=2, tell=kill_one)
    assert not multiprocessing.active_children()
    _only_whole_files(tmp_path)
    first = (tmp_path / TABLE).read_text(encoding="utf-8").splitlines()[1].partition(",")[0]
    assert _run(tmp_path, [v for v in plan if v.name == first]).kept == 1


def test_a_gait_file_is_read_once_and_known_by_its_contents(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text = (resources.files("gaitgen") / "gaits" / "walk.toml").read_text(encoding="utf-8")
    Path("slow walk.toml").write_text(text, encoding="utf-8")
    plan = plan_variants(Request(gait="slow walk.toml"), ["riding_horse"], [8])
    Path("slow walk.toml").unlink()
    assert _run(tmp_path / "made", plan).made == 1
    made = (tmp_path / "made" / "riding_horse_slow walk_8.bvh").read_bytes()
    _run(tmp_path / "named", TINY)
    assert made == (tmp_path / "named" / f"{NAME}.bvh").read_bytes()
    Path("slow walk.toml").write_text(text, encoding="utf-8")
    again = plan_variants(Request(gait="slow walk.toml"), ["riding_horse"], [8])
    assert _run(tmp_path / "made", again).kept == 1
    Path("slow walk.toml").write_text(text + "# changed\n", encoding="utf-8")
    changed = plan_variants(Request(gait="slow walk.toml"), ["riding_horse"], [8])
    assert _run(tmp_path / "made", changed).made == 1


@pytest.mark.parametrize("kind", ["missing", "folder", "pipe", "unreadable", "no TOML"])
def test_a_gait_file_that_is_none_is_one_line(tmp_path, capsys, kind):
    gait = tmp_path / "gait.toml"
    {
        "missing": lambda: None,
        "folder": gait.mkdir,
        "pipe": lambda: os.mkfifo(gait),
        "unreadable": lambda: gait.touch(mode=0),
        "no TOML": lambda: gait.write_text("= ="),
    }[kind]()
    assert run(["variants", str(gait), "--frames", "8", "--out", str(tmp_path / "made")]) == 2
    error = capsys.readouterr().err
    assert error.startswith("gaitgen: ")
    assert error.count("\n") == 1
    assert "gait.toml" in error
    assert not (tmp_path / "made").exists()


def test_a_name_that_is_no_file_name_is_refused(tmp_path):
    gait = tmp_path / "a:b.toml"
    gait.write_bytes((resources.files("gaitgen") / "gaits" / "walk.toml").read_bytes())
    with pytest.raises(
        RequestError, match="files cannot be called 'riding_horse_a:b_8'; rename the gait file"
    ):
        plan_variants(Request(gait=str(gait)), ["riding_horse"], [8])


def test_a_cluster_needs_dask(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "distributed", None)  # as if it were not installed
    command = ["variants", "walk", "--frames", "8", "--out", str(tmp_path / "made")]
    assert run([*command, "--cluster", "tcp://127.0.0.1:1"]) == 2
    error = capsys.readouterr().err
    assert error == (
        "gaitgen: --cluster needs dask, which is not installed; run pip install 'gaitgen[cluster]'\n"
    )
    assert not (tmp_path / "made").exists()
    assert run([*command, "--cluster", "tcp://127.0.0.1:1", "--workers", "2"]) == 2
    assert "leave out --workers or --cluster" in capsys.readouterr().err
    assert run([*command, "--cluster", "over there"]) == 2
    assert "cluster is 'over there'; give an address such as tcp://127.0.0.1:8786" in capsys.readouterr().err


def test_styles_are_named(tmp_path):
    styles = [parse_style("proud: bounce=1.3 nod=1.4"), parse_style("tired: lift=0.7,nod=0.6")]
    plan = plan_variants(Request(), ["riding_horse"], [24], styles)
    assert [v.name for v in plan] == ["riding_horse_walk_24_proud", "riding_horse_walk_24_tired"]
    assert _run(tmp_path, plan).made == 2
    assert plan[0].request.style == Style(bounce=1.3, nod=1.4)


def test_a_style_whose_name_cannot_be_used_is_told_so():
    with pytest.raises(
        RequestError, match=r"'proud & heavy' is no name for a style.* A to Z, a to z, 0 to 9"
    ):
        parse_style("proud & heavy: bounce=1.3")


IDENTITIES = """
from gaitgen import Request, animal_names
from gaitgen.batch.identity import fingerprints
from gaitgen.batch.plan import plan_variants
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff
print(fingerprints(plan_variants(Request(), [*animal_names(), "MAP"], [16]), FileSpace(), HandOff()))
"""


@pytest.mark.thorough
def test_another_run_of_python_knows_what_is_there(tmp_path):
    own = tmp_path / "own.toml"
    assert run(["fit", str(Path(__file__).parent / "rigs" / "plain.bvh"), "--map", str(own)]) == 0
    said = [
        subprocess.run(
            [sys.executable, "-c", IDENTITIES.replace("MAP", own.as_posix())],
            capture_output=True,
            text=True,
            check=True,
            timeout=60,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    ]
    assert said[0].count("_walk_16") >= 5
    assert said[0] == said[1]


def test_lengths_are_lists_and_spans():
    assert parse_frames("16,24, 32") == (16, 24, 32)
    assert parse_frames("16-32:8,40") == (16, 24, 32, 40)


@pytest.mark.parametrize("text", ["", "a", "16,,24", "24-16", "16-24:0", "16,16", "1.5", "-8"])
def test_lengths_that_are_none(text):
    with pytest.raises(RequestError, match="length"):
        parse_frames(text)


@pytest.mark.parametrize("text", ["stout", "9: nod=1", "proud: wings=2", "proud: nod=big", "proud: nod=9"])
def test_styles_that_are_none(text):
    with pytest.raises(RequestError):
        parse_style(text)


def test_many_lengths_that_are_not_made_for_one_reason_are_one_line(tmp_path, capsys):
    command = ["variants", "walk", "--no-keys", "--workers", "1", "--out", str(tmp_path)]
    assert run([*command, "--frames", "4-8"]) == 2
    first, last = capsys.readouterr().err.splitlines()
    told = "riding_horse_walk_4 to riding_horse_walk_7, 4 of these lengths, are not made; of the first:"
    assert first.startswith(f"gaitgen: {told} frames is 4; a walk needs at least")
    assert last == "gaitgen: 4 of 5 are not made, as said above"


@pytest.mark.sample(1)  # two workers are always tried by `test_more_cores_give_the_same_bytes`
@pytest.mark.parametrize("workers", [1, 2])
def test_one_that_cannot_be_made_is_noted_and_the_others_are_made(workers, tmp_path, capsys):
    """It has a row without files, a line that says why, and the command ends with 2."""
    command = ["variants", "walk", "--no-keys", "--workers", str(workers), "--out", str(tmp_path)]
    assert run([*command, "--frames", "4,8,9"]) == 2
    out, err = capsys.readouterr()
    first, last = err.splitlines()
    assert first.startswith("gaitgen: riding_horse_walk_4 is not made: frames is 4; a walk needs at least")
    assert last == "gaitgen: 1 of 3 are not made, as said above"
    assert "made 2, kept 0" in out
    assert "not_made    it cannot be made" in out
    assert [row["name"] for row in _rows(tmp_path) if row["files"]] == [
        f"riding_horse_walk_{frames}" for frames in (8, 9)
    ]
    (noted,) = (row for row in _rows(tmp_path) if not row["files"])
    assert (noted["name"], noted["notices"]) == ("riding_horse_walk_4", "not_made")
    assert run([*command, "--frames", "4,8"]) == 2  # and it is tried again, the table being sound
    assert "made 0, kept 1" in capsys.readouterr().out
    assert run([*command, "--frames", "8"]) == 0
    assert len(_rows(tmp_path)) == 3


def test_one_that_cannot_be_made_any_more_keeps_its_files(tmp_path):
    plan = _plan(frames=(8, 9), animals=("riding_horse",))
    _run(tmp_path, plan)
    before = _contents(tmp_path)
    again = [replace(plan[0], request=replace(plan[0].request, frames=4)), plan[1]]
    outcome = _run(tmp_path, again)
    assert outcome.not_made == ("riding_horse_walk_8",)
    assert _contents(tmp_path) == before


def test_a_length_that_is_refused_is_refused_before_any_other_is_made():
    with pytest.raises(RequestError, match="24 s"):
        plan_variants(Request(frame_rate_hz=1.0), ["riding_horse"], [16, 24])


def test_doubles_are_refused(tmp_path):
    with pytest.raises(RequestError, match="twice"):
        plan_variants(Request(), ["riding_horse", "riding_horse"], [16])
    with pytest.raises(GaitError, match="unknown gait"):
        run_variants(plan_variants(Request(gait="strol"), ["riding_horse"], [16]), SPACE, WANTED, tmp_path)
