"""How often `carry` makes what a clip may have started from."""

from hand_edits import smooth

from gaitgen import Request, make_cycle
from gaitgen.edits import original
from gaitgen.edits.carried_file import Wanted
from gaitgen.edits.carry_file import carry_file
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace


def test_nothing_is_made_twice(tmp_path, monkeypatch):
    """What was tried for one end is known for another: of a refined clip that is looked into at all ends."""
    clip = smooth(7, 2.0, 3.0)(make_cycle(Request(animal="dog", gait="trot", frames=16)))
    (tmp_path / "a.bvh").write_bytes(bvh.encode(clip, FileSpace()))
    asked, made = [], []
    tried = original.Maker.tried

    def counted(self, seen, request):
        asked.append(request)
        make = self.make
        object.__setattr__(self, "make", lambda each: (made.append(each), make(each))[1])
        try:
            return tried(self, seen, request)
        finally:
            object.__setattr__(self, "make", make)

    monkeypatch.setattr(original.Maker, "tried", counted)
    carry_file(tmp_path / "a.bvh", Wanted(frames=20))
    assert len(asked) > len(made)
    assert len(made) == len(set(made))
