"""Many cycles on a dask cluster: a scheduler and two workers as processes of their own, on the loopback."""

import json
import os
import signal
import socket
import subprocess
import sys
import textwrap
import time
from importlib import resources
from pathlib import Path

import pytest
from dask_processes import PYTHON_PATH, Cluster

from gaitgen import Request
from gaitgen.batch import cluster as batch_cluster
from gaitgen.batch import connection
from gaitgen.batch.cluster import _packed_maker, bounded
from gaitgen.batch.plan import plan_variants
from gaitgen.batch.run import run_variants
from gaitgen.batch.shot_plan import plan_shots
from gaitgen.batch.table import TABLE
from gaitgen.errors import RequestError, WorkerError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff

KilledWorker = pytest.importorskip("distributed", reason="dask[distributed] is not installed").KilledWorker

FRAMES = range(8, 16)
NO_KEYS = HandOff(keys=False)


@pytest.fixture(scope="module")
def cluster(tmp_path_factory):
    cluster = Cluster(tmp_path_factory.mktemp("dask"))
    try:
        cluster.add_worker()
        cluster.add_worker()
        yield cluster
    finally:
        cluster.stop()


@pytest.fixture(scope="module")
def expected(tmp_path_factory):
    """What this machine makes of the plan, by name."""
    folder = tmp_path_factory.mktemp("here")
    _here(FRAMES, folder, workers=1)
    return _contents(folder)


def _here(frames, folder, gait="walk", wanted=NO_KEYS, **options):
    """Run in this process; return how many were made and kept."""
    plan = plan_variants(Request(gait=gait), ["riding_horse"], frames)
    outcome = run_variants(plan, FileSpace(), wanted, folder, **options)
    return outcome.made, outcome.kept


def _contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def _command(address, folder, frames="8-15"):
    place = ("--frames", frames, "--no-keys", "--cluster", address, "--out", str(folder))
    return [sys.executable, "-m", "gaitgen", "variants", "walk", *place]


def _started(*command, **options):
    return subprocess.Popen(
        command,
        env={**os.environ, "PYTHONPATH": PYTHON_PATH},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **options,
    )


def _ended(process):
    output, error = process.communicate(timeout=60)
    return process.returncode, output, error


def _until_some(process, folder, count=2):
    deadline = time.monotonic() + 60
    table = folder / TABLE  # a clip has its row a moment after its files
    while not table.exists() or table.read_bytes().count(b"\n") <= count:
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < deadline
        time.sleep(0.01)


def test_the_same_bytes_as_here_though_a_worker_is_killed(cluster, expected, tmp_path):
    cluster.workers[0].send_signal(signal.SIGSTOP)  # so that it is killed with work in its hands
    process = _started(*_command(cluster.address, tmp_path))
    _until_some(process, tmp_path)
    cluster.kill_worker()
    cluster.add_worker()
    code, output, error = _ended(process)
    assert (code, error) == (0, "")
    assert f"made {len(FRAMES)}, kept 0" in output
    assert _contents(tmp_path) == expected


@pytest.mark.thorough
def test_interrupted_it_goes_on_when_started_again(cluster, expected, tmp_path):
    cluster.workers[0].send_signal(signal.SIGSTOP)  # so that it cannot be done before
    process = _started(*_command(cluster.address, tmp_path))
    _until_some(process, tmp_path)
    process.send_signal(signal.SIGINT)
    asked = time.monotonic()
    code, _output, error = _ended(process)
    cluster.workers[0].send_signal(signal.SIGCONT)
    assert time.monotonic() - asked < 10
    assert (code, error) == (130, "gaitgen: interrupted; every file there is whole, as it was or new\n")
    there = _contents(tmp_path)
    known = there.keys() - {TABLE}
    assert {name: there[name] for name in known} == {name: expected[name] for name in known}
    kept = there[TABLE].count(b"\n") - 1
    assert 2 <= kept < len(FRAMES)
    assert _here(FRAMES, tmp_path, cluster=cluster.address) == (len(FRAMES) - kept, kept)
    assert _contents(tmp_path) == expected


def test_a_gait_file_and_keys_travel_with_the_request(cluster, tmp_path, monkeypatch):
    """The workers stand in another folder, where there is no such file."""
    walk = (resources.files("gaitgen") / "gaits" / "walk.toml").read_bytes()
    monkeypatch.chdir(tmp_path)
    Path("mine.toml").write_bytes(walk)
    for folder, options in (("there", {"cluster": cluster.address}), ("here", {"workers": 1})):
        made = _here([8, 9], tmp_path / folder, gait="mine.toml", wanted=HandOff(), **options)
        assert made == (2, 0)
    assert _contents(tmp_path / "there") == _contents(tmp_path / "here")
    assert len(_contents(tmp_path / "here")) == 7


def test_a_shot_file_and_what_it_names_travel_too(cluster, tmp_path, monkeypatch):
    """The workers stand in another folder; one shot that cannot be made does not keep the other back."""
    monkeypatch.chdir(tmp_path)
    Path("mine.toml").write_bytes((resources.files("gaitgen") / "gaits" / "walk.toml").read_bytes())
    Path("shot.toml").write_text(
        'animal = "dog"\nstart = "going"\nend = "going"\n[[passage]]\ngait = "mine.toml"\nstrides = 1\n'
    )
    plan, said = plan_shots(["shot.toml"], vary=["passage.1.strides=1,0"]), []
    for folder, options in (("there", {"cluster": cluster.address}), ("here", {"workers": 1})):
        outcome = run_variants(plan, FileSpace(), NO_KEYS, tmp_path / folder, say=said.append, **options)
        assert (outcome.made, len(outcome.not_made)) == (1, 1)
    assert _contents(tmp_path / "there") == _contents(tmp_path / "here")
    assert len(_contents(tmp_path / "here")) == 4
    assert len(said) == 2
    assert set(map(str, said)) == {said[0]}
    assert said[0].startswith("shot_passage_1_strides_0 is not made: the shot has no frames; give a passage")


def test_one_that_cannot_be_made_is_one_line_and_the_others_are_made(cluster, tmp_path):
    with pytest.raises(RequestError, match="frames is 4; a walk needs at least"):
        _here([4], tmp_path, cluster=cluster.address)
    said = []
    assert _here([4, 8], tmp_path, cluster=cluster.address, say=said.append) == (1, 0)
    assert [line.partition(";")[0] for line in said] == ["riding_horse_walk_4 is not made: frames is 4"]


def test_a_worker_with_other_code_refuses():
    with pytest.raises(
        WorkerError, match=r"a worker has gaitgen .* and this machine gaitgen 7, .*the same there"
    ):
        _packed_maker("gaitgen 7")(b"")


# A peak of its own: ru_maxrss begins with that of the process that starts this one.
PEAK = """
    def peak_mb():
        with open("/proc/self/status") as status:
            return next(int(line.split()[1]) for line in status if line.startswith("VmHWM:")) // 1024
"""
MEMORY = (
    PEAK
    + """
    import json, sys
    from gaitgen.batch.cluster import bounded
    from gaitgen.batch.connection import connected

    def maker():
        return lambda size: bytes(size)

    peaks = []
    with connected(sys.argv[1]) as client:
        for count in (10, 100):
            total = sum(len(made) for made in bounded(client, maker(), [1_000_000] * count, print))
            assert total == 1_000_000 * count
            peaks.append(peak_mb())
    print(json.dumps(peaks))
"""
)


def test_what_was_sent_is_not_kept(cluster):
    """Of its own accord a client keeps a thousand messages: some 7 kB for each clip that was asked for."""
    with connection.connected(cluster.address) as client:
        work = [bytes(1_000) for _ in range(60)]
        assert sum(map(len, bounded(client, _echo(), work, print))) == 60_000
        assert len(client.scheduler_comm.recent_message_log) <= connection.MESSAGES_KEPT


def _echo():
    return lambda data: data


@pytest.mark.slow
def test_memory_does_not_grow_with_the_number_of_clips(cluster):
    """100 MB of results, of which the client has a few at a time."""
    code, output, error = _ended(_started(sys.executable, "-c", textwrap.dedent(MEMORY), cluster.address))
    assert code == 0, error
    few, many = json.loads(output)
    assert many - few < 40, (few, many)


MANY = (
    PEAK
    + """
    import json, sys
    from pathlib import Path
    from gaitgen import Request, Style
    from gaitgen.batch.plan import plan_variants
    from gaitgen.batch.run import run_variants
from gaitgen.batch.shot_plan import plan_shots
    from gaitgen.formats.axes import FileSpace
    from gaitgen.formats.hand_off import HandOff

    styles = [(f"s{k}", Style(nod=1 + k / 10000)) for k in range(int(sys.argv[3]))]
    plan = plan_variants(Request(), ["riding_horse"], [8], styles)
    outcome = run_variants(
        plan, FileSpace(), HandOff(keys=False), Path(sys.argv[2]), cluster=sys.argv[1]
    )
    assert outcome.made == len(plan)
    print(json.dumps(peak_mb()))
"""
)


@pytest.mark.slow
def test_two_thousand_variants_take_no_more_memory_than_two_hundred(cluster, tmp_path):
    peaks = []
    for count in (200, 2000):
        folder = tmp_path / str(count)
        script = (sys.executable, "-c", textwrap.dedent(MANY), cluster.address, str(folder), str(count))
        output, error = _started(*script).communicate(timeout=7200)
        peaks.append(json.loads(output or error))
        assert len(list(folder.glob("*.bvh"))) == count
    assert peaks[1] - peaks[0] < 25, peaks  # the plan and the table themselves


def test_nobody_answers(monkeypatch):
    monkeypatch.setattr(connection, "CONNECT_S", 0.6)
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        address = f"tcp://127.0.0.1:{silent.getsockname()[1]}"
        with (
            pytest.raises(WorkerError, match=rf"no dask scheduler answers at {address} \(.+\); start one"),
            connection.connected(address),
        ):
            pass
    with pytest.raises(WorkerError, match="no dask scheduler answers"), connection.connected(address):
        pass
    with (
        pytest.raises(WorkerError, match=r"TLS expects .*; start one with 'dask scheduler', or give another"),
        connection.connected("tls://127.0.0.1:1"),
    ):
        pass


@pytest.mark.sample(1, 2)
@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (
            KilledWorker("clip", None, 3),
            r"4 workers of here:1 ended while making one and the same clip; .* is kept",
        ),
        (
            ModuleNotFoundError("No module named 'gaitgen'"),
            r"a worker of here:1 cannot import .*gaitgen' *\)",
        ),
        (ConnectionResetError("gone"), r"the cluster at here:1 was lost \(gone\); what was finished is kept"),
    ],
)
def test_what_goes_wrong_there_is_one_line(fault, words):
    with pytest.raises(WorkerError, match=words), connection.in_one_line("here:1"):
        raise fault


@pytest.mark.thorough
def test_without_any_worker_it_says_so_and_waits(cluster, tmp_path, monkeypatch):
    """From here on the cluster has one worker only."""
    monkeypatch.setattr(connection, "CONNECT_S", 1.0)
    monkeypatch.setattr(batch_cluster, "LOOK_S", 0.2)
    while cluster.workers:
        cluster.kill_worker()
    with pytest.raises(WorkerError, match=rf"has no worker; start some with 'dask worker {cluster.address}'"):
        _here(FRAMES, tmp_path, cluster=cluster.address)
    cluster.add_worker()
    monkeypatch.setattr(connection, "CONNECT_S", 30.0)
    said = []

    def kill_at_first(done, _all):
        if done == 1:
            cluster.kill_worker()

    def start_another(line):
        said.append(line)
        cluster.add_worker()

    asked = {"tell": kill_at_first, "say": start_another, "cluster": cluster.address}
    assert _here(FRAMES, tmp_path, **asked) == (len(FRAMES), 0)
    assert said == ["the cluster has no worker left; waiting for one (what is finished is kept)"]


@pytest.mark.thorough
def test_a_scheduler_that_goes_away_is_one_line(cluster, tmp_path):
    """The last test, since it leaves no cluster."""
    process = _started(*_command(cluster.address, tmp_path, frames="8-27"))
    _until_some(process, tmp_path, count=1)
    cluster.scheduler.kill()
    code, _output, error = _ended(process)
    assert code == 2
    assert error.startswith(f"gaitgen: the cluster at {cluster.address} was lost (")
    assert "what was finished is kept" in error
    assert error.count("\n") == 1
    assert (tmp_path / TABLE).read_text().count("\n") > 1
