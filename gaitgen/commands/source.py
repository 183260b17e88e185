"""What pictures are made of: a cycle to make, or a clip in a file; and the options that say which."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from gaitgen.commands.options import filled, named_command, offered, own_option, own_values
from gaitgen.commands.terminal import say, say_aside
from gaitgen.errors import RequestError
from gaitgen.gait.request import Request
from gaitgen.numerics.standard_input import is_file_name, stem_of
from gaitgen.option import Found

if TYPE_CHECKING:
    from gaitgen.motion.motion import Motion
    from gaitgen.pictures.shot_plan import ShotPlan
    from gaitgen.shot.asked import ShotRequest
    from gaitgen.shot.make import Made

CLIP_TOO = (
    "its name (walk) or the path of a gait file (.toml); or the path of a clip (.bvh) to draw as it is: made "
    "by gaitgen, and perhaps refined by hand, of at most a million frames times joints; with the map of your "
    "rig as --animal, one on the rig"
)
SHOT_TOO = (
    f"{CLIP_TOO}; or the path of a shot file (.toml), or of the clip of a shot with NAME.path.csv beside it"
)


@dataclass(frozen=True)
class Source:
    """What is drawn: a cycle to make, a clip in a file, or a shot to make from its file.

    Attributes
    ----------
    request
        The cycle, or None for a file.
    file, animal
        The file of a clip, and whose it is, if that is said.
    shot
        The file of a shot.
    """

    request: Request | None = None
    file: Path | None = None
    animal: str | None = None
    shot: Path | None = None

    def asked(self) -> "ShotRequest":
        """Read the shot file."""
        from gaitgen.shot.shot_file import read_shot

        return read_shot(self.shot or Path())

    def made(self, asked: "ShotRequest") -> "Made":
        """Make the shot; what is unusual about it goes to standard error."""
        made = shot_made(asked)
        for notice in made.clip.notices:
            say_aside(f"note: {notice.text}")
        return made

    def clip(self) -> "Motion":
        """Make or read the clip.

        What was guessed of a file is printed; what is unusual about a cycle goes to standard error.
        """
        if self.request is not None:
            made = clip_of(self.request)
            for notice in made.notices:
                say_aside(f"note: {notice.text}")
            return made
        from gaitgen.reading.read import clip_from_bvh
        from gaitgen.reading.shot_way import way_beside

        file = self.file or Path()
        if way_beside(file) is not None:
            raise RequestError(
                f"{file} is the clip of a shot, and this shows one stride; draw the shot with gaitgen sheet "
                "or gaitgen preview"
            )
        clip = clip_from_bvh(file, self.animal)
        for notice in clip.notices:
            say(f"note: {notice.text}")
        return clip

    def plan_in_file(self) -> "ShotPlan | None":
        """Read a shot from its clip and the way beside it; None where there is none."""
        if self.file is None:
            return None
        from gaitgen.reading.shot_clip import shot_from_bvh
        from gaitgen.reading.shot_way import way_beside

        way = way_beside(self.file)
        if way is None:
            return None
        plan = shot_from_bvh(self.file, way, self.animal)
        for notice in plan.clip.notices:
            say(f"note: {notice.text}")
        return plan

    def title(self, clip: "Motion") -> str:
        """Say what stands beside the animal in a heading."""
        return (clip.asked or self.request).gait_stem if self.request else (self.file or Path()).name

    def stem(self, clip: "Motion") -> str:
        """Name of the files that are drawn."""
        if self.request:
            return clip.stem
        return stem_of(self.file or Path())


def shot_made(asked: "ShotRequest") -> "Made":
    """Make a shot of any animal; of a rig's map, on the animal with the rig's proportions."""
    from gaitgen.rigs.shot import on_any
    from gaitgen.shot.make import make_shot
    from gaitgen.shot.request import shot_of

    return on_any(asked.first, lambda animal: make_shot(shot_of(asked.of(animal))))


def drawing(run: Callable[..., None]) -> Callable[..., None]:
    """Make a command of a function that takes a Source, with the options of a request that say what moves.

    Its other arguments are its own options, which go with a clip too.
    """
    return _drawing(run, draws_shots=False)


def drawing_shots(run: Callable[..., None]) -> Callable[..., None]:
    """Make a command as `drawing` does, whose source may be a shot as well."""
    return _drawing(run, draws_shots=True)


def _drawing(run: Callable[..., None], *, draws_shots: bool) -> Callable[..., None]:
    items = inspect.signature(run, eval_str=True).parameters
    own = [own_option(item) for name, item in items.items() if name != "source"]
    shared = [
        _or_file(found, SHOT_TOO if draws_shots else CLIP_TOO)
        for found in offered(Request)
        if found.option.is_drawn
    ]

    def call(context: typer.Context, **given: Any) -> None:  # noqa: ANN401
        from gaitgen.reading.beside import is_clip, refuse_options
        from gaitgen.shot.file_kind import is_shot_file

        rest, gait = own_values(own, given), given["gait"]
        if gait is not None and is_clip(gait):
            refuse_options(context, {"gait", "animal", *(found.name for found in own)}, gait)
            run(Source(file=Path(gait), animal=_said(context, "animal", given)), **rest)
        elif gait is not None and is_shot_file(gait):
            if not draws_shots:
                raise RequestError(
                    f"{gait} is a shot, and this shows one stride; give a gait, or draw the shot with "
                    "gaitgen sheet or gaitgen preview"
                )
            kept = {"gait", *(found.name for found in own)}
            refuse_options(context, kept, gait, "is a shot and says itself how it goes")
            run(Source(shot=Path(gait)), **rest)
        else:
            run(Source(request=filled(Request, shared, given)), **rest)

    return named_command(run, [*shared, *own], call)


def _said(context: typer.Context, name: str, given: dict[str, Any]) -> str | None:
    """Return what was said on the command line, not what is taken if nothing is."""
    source = context.get_parameter_source(name)
    return str(given[name]) if source is not None and source.name == "COMMANDLINE" else None


def _or_file(found: Found, more: str) -> Found:
    """Let a file stand for the gait."""
    if found.field != "gait":
        return found
    return replace(found, option=replace(found.option, what="The gait to draw", more=more))


def clip_of(request: Request) -> "Motion":
    """Make the clip to draw; of a rig's map, on a skeleton with the rig's proportions."""
    if isinstance(request.animal, str) and is_file_name(request.animal):
        from gaitgen.rigs.command import motion_of

        return motion_of(request)
    from gaitgen.pipeline import make_cycle

    return make_cycle(request)
