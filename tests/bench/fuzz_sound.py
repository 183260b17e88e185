"""Sound files of each kind, for the fuzzer to damage."""

import contextlib
import io
import tempfile
from importlib import resources
from pathlib import Path

import trimesh
from matplotlib.image import imsave

from gaitgen.animal.library import skeleton_folder
from gaitgen.commands import run
from gaitgen.formats.record import RECORD

HERE = Path(__file__).resolve().parent.parent

ONE_STRIDE = """
animal = "dog"
fps = 12
start = "going"
end = "going"
[[passage]]
gait = "walk"
strides = 1
"""
SHOTS = (
    ONE_STRIDE,
    """
animal = "cat"
fps = 12
style = "tired 0.5"
[[passage]]
gait = "walk"
frames = 12
nod = 1.2
[[passage]]
halt = 4
""",
    """
fps = 12
start = "going"
end = "stand"
[[passage]]
speed = 1.2
distance = 3.0
style = "lame LF"
[[passage]]
gait = "trot"
strides = 1
stride_frames = 10
[path]
start = [1, 2]
heading = 30
legs = [{ straight = 2 }, { turn = -40, radius = 6 }]
[ground]
slope = 8
uphill = 20
""",
    """
fps = 12
start = "going"
end = "going"
[[passage]]
gait = "canter"
lead = "right"
strides = 1
[path]
points = [[0, 0], [6, 0], [12, 4]]
radius = 8
[ground]
profile = [[0, 0], [3, 0], [6, 0.2]]
""",
    """
animal = "dog"
fps = 12
start = "going"
[[passage]]
gait = "walk"
strides = 2
[[mark]]
at = [1.5, 0]
frame = 14
[[mark]]
at = [2.5, 0.1]
foot = "LF"
frame = 20
[path]
file = "way.csv"
[ground]
steps = [[1, 0.05], [1.6, 0.05]]
""",
    ONE_STRIDE
    + """[ground]
image = "hills.png"
metres_per_pixel = 2.0
heights = [0, 0.3]
corner = [-10, -10]
""",
    ONE_STRIDE
    + """[ground]
mesh = "land.obj"
up = "z"
at = [0, 0, 0]
scale = 1.0
""",
    """
fps = 12
start = "stand"
end = "stand"
[[passage]]
gait = "walk"
strides = 1
[[passage]]
halt = 6
[[passage]]
turn = 90
on = "haunches"
[[passage]]
halt = 3
[[passage]]
turn = -45
on = "forehand"
""",
)
STEPPED = SHOTS[0] + "[ground]\nsteps = [[0.4, 0.05], [0.9, 0.05]]\n"
WAY = b"x,y\n0,0\n2,0\n4,0.5\n6,2\n"
LAND = b"v -20 -20 0\nv 20 -20 0.4\nv 20 20 0.8\nv -20 20 0.4\nf 1 2 3\nf 1 3 4\n"


def sources():
    """Return sound files of each kind."""
    gait = (resources.files("gaitgen") / "gaits" / "walk.toml").read_bytes()
    gaits = [
        path.read_bytes()
        for path in (resources.files("gaitgen") / "gaits").iterdir()
        if path.suffix == ".toml"
    ]
    changes = (resources.files("gaitgen") / "check" / "limits" / "any.toml").read_bytes()
    limits = (resources.files("gaitgen") / "check" / "limits" / "horse.toml").read_bytes()
    plain = HERE / "rigs" / "plain.bvh"
    rigs = [path.read_bytes() for path in sorted((HERE / "rigs").glob("*.bvh"))]
    with tempfile.TemporaryDirectory() as folder, silence():
        run(["cycle", "walk", "--frames", "12", "--no-keys", "--out", folder, "--name", "w"])
        run(["fit", str(plain), "--map", f"{folder}/m.toml"])
        run(
            [
                "cycle",
                "walk",
                "--frames",
                "12",
                "--animal",
                f"{folder}/m.toml",
                "--out",
                folder,
                "--name",
                "r",
            ]
        )
        run(["variants", "walk", "--frames", "8", "--no-keys", "--workers", "1", "--out", f"{folder}/v"])
        run(["cycle", "walk", "--frames", "8", "--controls", "--sparse", "--out", folder, "--name", "k"])
        walks, a_map = (
            [Path(folder, f"{name}.bvh").read_bytes() for name in "wr"],
            Path(folder, "m.toml").read_bytes(),
        )
        table = Path(folder, "v", "variants.csv").read_bytes()
        # Clips of shots, each with the text that it is made from.
        made = []
        for number, text in enumerate((STEPPED, SHOTS[5], SHOTS[6], SHOTS[7])):
            Path(folder, "land.obj").write_bytes(LAND)
            _hills(Path(folder, "hills.png"))
            Path(folder, f"s{number}.toml").write_text(text)
            run(["shot", f"{folder}/s{number}.toml", "--out", folder, "--no-keys"])
            made.append((text, Path(folder, f"s{number}.bvh").read_bytes()))
        record = Path(folder, RECORD).read_bytes()
        keyed = {path.name: path.read_bytes() for path in Path(folder).glob("k.*")}
    hills = io.BytesIO()
    _hills(hills)
    styles = (resources.files("gaitgen") / "styles.toml").read_bytes()
    animals = [path.read_bytes() for path in sorted(skeleton_folder().glob("*.toml"))]
    return {
        "walk": walks[0],
        "walks": walks,
        "rigs": rigs,
        "map": a_map,
        "table": table,
        "record": record,
        "keyed": keyed,
        "shots": made,
        "hills": hills.getvalue(),
        "gait": gait,
        "gaits": sorted(gaits),
        "limits": limits,
        "changes": changes,
        "animals": animals,
        "styles": styles,
        "meshes": _meshes(),
    }


def _hills(where):
    """Write a picture of hills."""
    imsave(where, [[(x * y) % 7 / 6 for x in range(12)] for y in range(12)], cmap="gray", format="png")


def _meshes():
    """Make a square of ground in each format of meshes: name of the file to its bytes."""
    corners = [[-20, -20, 0], [20, -20, 0.4], [20, 20, 0.8], [-20, 20, 0.4]]
    mesh = trimesh.Trimesh(corners, [[0, 1, 2], [0, 2, 3]], process=False)
    made = {f"a.{kind}": mesh.export(file_type=kind) for kind in ("obj", "ply", "stl", "glb")}
    made["b.ply"] = mesh.export(file_type="ply", encoding="ascii")
    made["b.stl"] = mesh.export(file_type="stl_ascii")
    return {name: data.encode() if isinstance(data, str) else data for name, data in made.items()}


@contextlib.contextmanager
def silence():
    """Let nothing be heard of what is made."""
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        yield
