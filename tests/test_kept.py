"""Nothing that somebody wrote by hand is lost: it is kept, and new files go beside it under one name."""

import json
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from test_preview import server, write  # noqa: F401

from gaitgen.commands import run
from gaitgen.errors import OutputError
from gaitgen.formats.kept import CLIP_ENDS, FileSet, placed, write_kept
from gaitgen.formats.record import EDIT, KEYS, RECORD, REQUEST, digest, read_record

pytestmark = pytest.mark.usefixtures("fits_once")

HAND = b"refined by hand\n"


def clip_set(folder, **ends):
    files = {f".{end.replace('_', '.')}": data for end, data in ends.items()}
    return FileSet(folder, "walk", files, CLIP_ENDS)


def put(folder, maker=REQUEST, *, force=False, **ends):
    return write_kept([clip_set(folder, **ends)], maker=maker, force=force)


def names(written):
    return [path.name for path in written.files]


def test_what_gaitgen_wrote_is_replaced_and_known_by_its_digest(tmp_path):
    put(tmp_path, bvh=b"1", keys_csv=b"2")
    again = put(tmp_path, bvh=b"3", keys_csv=b"4")
    assert names(again) == ["walk.bvh", "walk.keys.csv"]
    assert [notice.topic for notice in again.notices] == ["replaced"]
    assert put(tmp_path, bvh=b"3", keys_csv=b"4").notices == ()
    assert read_record(tmp_path) == {
        "walk.bvh": (digest(b"3"), REQUEST),
        "walk.keys.csv": (digest(b"4"), REQUEST),
    }


@pytest.mark.parametrize("touched", ["walk.bvh", "walk.keys.csv", "walk.glb", "walk.controls.keys.csv"])
def test_a_set_keeps_one_name_whichever_of_its_files_was_changed(tmp_path, touched):
    put(tmp_path, bvh=b"1", keys_csv=b"2")
    (tmp_path / touched).write_bytes(HAND)
    second = put(tmp_path, bvh=b"3", keys_csv=b"4")
    assert names(second) == ["walk.2.bvh", "walk.2.keys.csv"]
    assert f"{touched} is not as gaitgen wrote it, so it is kept" in second.notices[0].text
    assert (tmp_path / touched).read_bytes() == HAND
    third = put(tmp_path, bvh=b"5", keys_csv=b"6")  # what gaitgen wrote under the number is its own
    assert names(third) == ["walk.2.bvh", "walk.2.keys.csv"]
    (tmp_path / "walk.2.bvh").write_bytes(HAND)
    assert names(put(tmp_path, bvh=b"7", keys_csv=b"8")) == ["walk.3.bvh", "walk.3.keys.csv"]
    forced = put(tmp_path, force=True, bvh=b"7", keys_csv=b"8")
    assert (names(forced), forced.notices) == (["walk.bvh", "walk.keys.csv"], ())


def test_the_same_bytes_are_in_nobodys_way(tmp_path):
    (tmp_path / "walk.bvh").write_bytes(b"1")  # as a run that was killed leaves it, without a record
    assert names(put(tmp_path, bvh=b"1", keys_csv=b"2")) == ["walk.bvh", "walk.keys.csv"]


@pytest.mark.parametrize("damage", ["removed", "emptied", "garbled", "a folder", "cut"])
def test_without_its_record_everything_is_kept(tmp_path, damage):
    put(tmp_path, bvh=b"1")
    record = tmp_path / RECORD
    text = record.read_bytes()
    record.unlink()
    if damage == "a folder":
        record.mkdir()
    elif damage != "removed":
        record.write_bytes({"emptied": b"", "garbled": b"\xff\x00\n{}", "cut": text[:40]}[damage])
    assert names(put(tmp_path, bvh=b"2")) == ["walk.2.bvh"]
    assert (tmp_path / "walk.bvh").read_bytes() == b"1"
    assert names(put(tmp_path, bvh=b"2")) == ["walk.2.bvh"]


def test_an_older_file_put_back_by_hand_is_not_what_was_written_last(tmp_path):
    put(tmp_path, bvh=b"1")
    put(tmp_path, bvh=b"2")
    (tmp_path / "walk.bvh").write_bytes(b"1")
    assert names(put(tmp_path, bvh=b"3")) == ["walk.2.bvh"]


def test_what_comes_from_work_by_hand_is_replaced_by_the_same_command_alone(tmp_path):
    put(tmp_path, bvh=b"1")
    assert names(put(tmp_path, KEYS, bvh=b"2")) == ["walk.bvh"]
    assert names(put(tmp_path, KEYS, bvh=b"3")) == ["walk.bvh"]
    assert names(put(tmp_path, EDIT, bvh=b"4")) == ["walk.2.bvh"]
    assert names(put(tmp_path, REQUEST, bvh=b"5")) == ["walk.3.bvh"]
    assert (tmp_path / "walk.bvh").read_bytes() == b"3"


def test_what_was_carried_gives_way_to_its_own_keys_and_is_not_called_changed(tmp_path):
    put(tmp_path, EDIT, bvh=b"1", keys_csv=b"2", glb=b"3")
    baked = replace(clip_set(tmp_path, bvh=b"4"), sources=(".keys.csv",))
    other = write_kept([baked], maker=KEYS)  # baked from keys of another name, or from another folder
    assert names(other) == ["walk.2.bvh"]
    assert "walk.bvh was made from work by hand, so it is kept" in other.notices[0].text
    own = write_kept([replace(baked, is_remade=True)], maker=KEYS)
    assert (names(own), own.notices) == (["walk.bvh"], ())
    (tmp_path / "walk.bvh").write_bytes(HAND)
    again = write_kept([replace(baked, is_remade=True)], maker=KEYS)
    assert "walk.bvh is not as gaitgen wrote it" in again.notices[0].text
    assert (tmp_path / "walk.bvh").read_bytes() == HAND


def test_a_link_is_followed_to_what_is_kept(tmp_path):
    (tmp_path / "shots").mkdir()
    (tmp_path / "shots" / "hero.bvh").write_bytes(HAND)
    (tmp_path / "walk.bvh").symlink_to("shots/hero.bvh")
    assert names(put(tmp_path, bvh=b"1")) == ["walk.2.bvh"]
    assert (tmp_path / "shots" / "hero.bvh").read_bytes() == HAND


def test_odd_names_are_recorded_too(tmp_path):
    odd = 'a "b"\n\u00e9.png'
    for data in (b"1", b"2"):
        written = write_kept([FileSet.of_one(tmp_path / odd, data)])
        assert names(written) == [odd]
    assert (tmp_path / RECORD).read_bytes().isascii()


def test_a_failed_write_changes_no_record(tmp_path):
    put(tmp_path, bvh=b"1")
    before = (tmp_path / RECORD).read_bytes()
    (tmp_path / "walk.glb").mkdir()
    with pytest.raises(OutputError, match="it is a folder"):
        put(tmp_path, bvh=b"2", glb=b"3")
    assert (tmp_path / RECORD).read_bytes() == before
    assert (tmp_path / "walk.bvh").read_bytes() == b"1"


def test_two_runs_in_one_folder_both_get_into_the_record(tmp_path):
    tmp_path.joinpath("out").mkdir()

    def make(number):
        for data in (b"1", b"2", b"3"):
            write_kept([FileSet(tmp_path / "out", f"clip{number}", {".bvh": data})])

    threads = [threading.Thread(target=make, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert set(read_record(tmp_path / "out")) == {f"clip{number}.bvh" for number in range(6)}
    assert not list((tmp_path / "out").glob("*.2.bvh"))


CYCLE = ["cycle", "walk", "--frames", "8", "--no-keys"]


def test_a_clip_of_another_request_is_replaced_with_a_word(tmp_path, capsys):
    for more, said in (([], False), ([], False), (["--unit", "m"], True), (["--unit", "m"], False)):
        assert run([*CYCLE, *more, "--out", str(tmp_path)]) == 0
        assert ("was another clip that gaitgen wrote" in capsys.readouterr().out) is said
    assert run([*CYCLE, "--out", str(tmp_path), "--force"]) == 0
    assert "another clip" not in capsys.readouterr().out, "that is what was asked for"


def test_variants_say_what_is_made_otherwise_than_before(tmp_path, capsys):
    many = ["variants", "walk", "--frames", "8", "--no-keys", "--workers", "1", "--out", str(tmp_path)]
    for style, said in (("own: nod=1.2", 0), ("own: nod=1.2", 0), ("own: nod=1.4", 1)):
        assert run([*many, "--style", style]) == 0
        assert capsys.readouterr().err.count("8_own.bvh was made from another request or version") == said


COMMANDS = {
    "cycle": (["cycle", "walk", "--frames", "16", "--out", "{}", "--name", "a"], "a.bvh"),
    "strip": (["cycle", "walk", "--frames", "16", "--out", "{}", "--strip", "{}/s.png"], "s.png"),
    "controls": (["cycle", "walk", "--frames", "16", "--controls", "--out", "{}"], ".controls.keys.csv"),
    "glb": (["cycle", "walk", "--frames", "16", "--glb", "--out", "{}"], ".glb"),
    "variants": (["variants", "walk", "--frames", "8", "--workers", "1", "--out", "{}"], ".keys.csv"),
    "sheet": (["sheet", "walk", "--frames", "16", "--png", "--out", "{}"], "_2.png"),
    "plot": (["plot", "walk", "--frames", "16", "--out", "{}/p.svg"], "p.svg"),
    "portrait": (["animals", "cat", "--picture", "{}/c.svg"], "c.svg"),
    "line-up": (["animals", "--sheet", "{}/all.png"], "all.png"),
    "scaling": (["animals", "--scaling", "{}/all.svg"], "all.svg"),
    "join": (["join", "halt", "walk", "--no-keys", "--out", "{}"], ".path.csv"),
    "join strip": (["join", "halt", "walk", "--no-keys", "--out", "{}", "--strip", "{}/j.png"], "j.png"),
    "shot": (["shot", "{}/../yard.toml", "--no-keys", "--out", "{}"], ".bvh"),
    "preview": (["preview", "walk", "--frames", "16", "--html", "{}/w.html"], "w.html"),
}


SLOW = ("line-up", "scaling")  # all animals, four times
THOROUGH = ("sheet", "strip", "join strip", "shot", "join", "glb")  # drawn or made four times
MARKS = {name: [pytest.mark.slow] for name in SLOW} | {name: [pytest.mark.thorough] for name in THOROUGH}


@pytest.mark.parametrize("command", [pytest.param(name, marks=MARKS.get(name, [])) for name in COMMANDS])
def test_every_command_that_writes_keeps_what_was_changed(command, tmp_path, capsys, monkeypatch):
    for room in ("strip", "pose_cell", "standing_figure"):  # without their animals pictures are drawn sooner
        monkeypatch.setattr(f"gaitgen.pictures.{room}.paint", lambda *_, **__: None)
    line, end = COMMANDS[command]
    (tmp_path.parent / "yard.toml").write_text('[[passage]]\ngait = "walk"\nstrides = 1\n', encoding="utf-8")
    line = [part.format(tmp_path) for part in line]
    assert run(line) == 0
    (target,) = [path for path in tmp_path.iterdir() if path.name.endswith(end)]
    first = target.read_bytes()
    before = {path.name for path in tmp_path.iterdir()}
    assert run(line) == 0
    assert {path.name for path in tmp_path.iterdir()} == before
    assert target.read_bytes() == first
    target.write_bytes(HAND)
    capsys.readouterr()
    assert run(line) == 0
    said = "".join(capsys.readouterr())
    assert "is not as gaitgen wrote it, so it is kept" in said
    assert ".2" in said
    assert target.read_bytes() == HAND
    stem = target.name.removesuffix(end) if end.startswith((".", "_")) else Path(end).stem
    tail = end if end.startswith((".", "_")) else Path(end).suffix
    assert (tmp_path / f"{stem}.2{tail}").read_bytes() == first
    assert run([*line, "--force"]) == 0
    assert target.read_bytes() == first


def test_the_pages_button_keeps_what_was_changed(server, tmp_path):  # noqa: F811
    _, text = write(server, {"frames": "16"}, "mine")
    mine = Path(next(path for path in json.loads(text)["files"] if path.endswith(".keys.csv")))
    mine.write_bytes(HAND)
    reply, text = write(server, {"frames": "16"}, "mine")
    answer = json.loads(text)
    assert reply.status == 200
    assert {Path(path).name for path in answer["files"]} == {
        "mine.2.bvh",
        "mine.2.channels.csv",
        "mine.2.keys.csv",
    }
    assert "so it is kept" in answer["said"][0]
    assert mine.read_bytes() == HAND
    assert tmp_path.is_dir()


@pytest.mark.thorough
def test_findings_on_paper_and_maps_of_rigs_are_kept(tmp_path, capsys):
    assert run(["cycle", "walk", "--frames", "24", "--out", str(tmp_path), "--name", "a"]) == 0
    page = tmp_path / "page.pdf"
    page.write_bytes(HAND)
    assert run(["check", str(tmp_path / "a.bvh"), "--pdf", str(page)]) in {0, 1}
    assert page.read_bytes() == HAND
    assert (tmp_path / "page.2.pdf").read_bytes().startswith(b"%PDF")
    rig = Path(__file__).parent / "rigs" / "plain.bvh"
    map_ = tmp_path / "rig.toml"
    assert run(["fit", str(rig), "--map", str(map_)]) == 0
    map_.write_bytes(map_.read_bytes() + b"# edited\n")
    edited = map_.read_bytes()
    capsys.readouterr()
    assert run(["fit", str(rig), "--map", str(map_)]) == 2
    assert "there is a map already, perhaps edited" in capsys.readouterr().err
    assert map_.read_bytes() == edited
    assert run(["cycle", "walk", "--animal", str(rig), "--out", str(tmp_path)]) == 2


@pytest.mark.thorough
def test_a_cycle_on_a_rig_keeps_what_was_changed(tmp_path):
    map_ = tmp_path / "rig.toml"
    assert run(["fit", str(Path(__file__).parent / "rigs" / "plain.bvh"), "--map", str(map_)]) == 0
    line = ["cycle", "walk", "--animal", str(map_), "--frames", "16", "--out", str(tmp_path), "--name", "r"]
    assert run(line) == 0
    (tmp_path / "r.bvh").write_bytes(HAND)
    assert run(line) == 0
    assert (tmp_path / "r.bvh").read_bytes() == HAND
    assert (tmp_path / "r.2.bvh").read_bytes().startswith(b"HIERARCHY")


@pytest.mark.thorough
def test_bake_and_carry_keep_what_was_changed(tmp_path, capsys):
    assert run(["cycle", "walk", "--frames", "16", "--out", str(tmp_path), "--name", "a"]) == 0
    for line, target in (
        (["bake", str(tmp_path / "a.keys.csv")], "a.channels.csv"),
        (["carry", str(tmp_path / "a.bvh"), "--frames", "24", "--name", "b"], "b.keys.csv"),
    ):
        assert run(line) == 0
        (tmp_path / target).write_bytes(HAND)
        capsys.readouterr()
        assert run(line) == 0
        assert f"{target} is not as gaitgen wrote it, so it is kept" in capsys.readouterr().out
        assert (tmp_path / target).read_bytes() == HAND
        stem, _, end = target.partition(".")
        assert (tmp_path / f"{stem}.2.{end}").is_file()


@pytest.mark.thorough
def test_what_was_carried_is_baked_in_its_place(tmp_path, capsys):
    assert run(["cycle", "walk", "--frames", "16", "--out", str(tmp_path), "--name", "a"]) == 0
    assert run(["carry", str(tmp_path / "a.bvh"), "--frames", "24", "--name", "b"]) == 0
    capsys.readouterr()
    assert run(["bake", str(tmp_path / "b.keys.csv")]) == 0
    assert "kept" not in capsys.readouterr().out
    assert not list(tmp_path.glob("b.2.*"))


def test_what_is_edited_while_a_run_is_under_way_is_kept(tmp_path):
    """A file that somebody saves between the reading of the request and the writing of its clip."""
    put(tmp_path, bvh=b"1")
    files = clip_set(tmp_path, bvh=b"2")
    (tmp_path / "walk.bvh").write_bytes(HAND)  # saved in the meantime
    assert names(write_kept([files])) == ["walk.2.bvh"]
    assert (tmp_path / "walk.bvh").read_bytes() == HAND


def test_variants_and_cycle_know_each_others_files(tmp_path):
    assert run(["variants", "walk", "--frames", "8", "--workers", "1", "--out", str(tmp_path)]) == 0
    assert run(["cycle", "walk", "--frames", "8", "--nod", "1.2", "--out", str(tmp_path)]) == 0
    assert run(["variants", "walk", "--frames", "8", "--workers", "1", "--out", str(tmp_path)]) == 0
    assert not list(tmp_path.glob("*.2.*"))
    each = FileSet(tmp_path, "riding_horse_walk_8", {".bvh": b"other"}, CLIP_ENDS)
    assert placed(each) == ("riding_horse_walk_8", None)
