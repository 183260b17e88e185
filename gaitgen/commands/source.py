"""What pictures are made of: a cycle to make, or a clip in a file; and the options that say which."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gaitgen.commands.options import KEYWORD, declared, filled, offered, parameter
from gaitgen.gait.request import Request

if TYPE_CHECKING:
    from gaitgen.motion.motion import Motion

SOURCE_HELP = (
    "The gait to draw, walk or the path of a gait file (.toml); or a clip to draw as it is, the path of a "
    "BVH file with the joints that gaitgen writes, also one refined by hand."
)


@dataclass(frozen=True)
class Source:
    """What is drawn: a cycle to make, or a clip in a file.

    Attributes
    ----------
    request
        The cycle, or None for a file.
    file
        The file, or None for a cycle.
    """

    request: Request | None = None
    file: Path | None = None

    def clip(self) -> "Motion":
        """Make or read the clip; what was guessed of a file is printed."""
        if self.request is not None:
            return clip_of(self.request)
        from gaitgen.reading.read import clip_from_bvh

        clip = clip_from_bvh(self.file or Path())
        for notice in clip.notices:
            typer.echo(f"note: {notice.text}")
        return clip

    @property
    def title(self) -> str:
        """What stands beside the animal in a heading."""
        return Path(self.request.gait).stem if self.request else (self.file or Path()).name

    def stem(self, clip: "Motion") -> str:
        """Name of the files that are drawn."""
        if self.request:
            return self.request.stem(clip.skeleton.name)
        return (self.file or Path()).stem


def with_motion(command: Callable[..., None]) -> Callable[..., None]:
    """Put the options of a request that say what the motion is before those of a command with a Source."""
    own = [item for name, item in inspect.signature(command).parameters.items() if name != "source"]
    shared = [_shared(parameter(found)) for found in offered(Request) if found.option.is_drawn]

    def run(context: typer.Context, **options: Any) -> None:  # noqa: ANN401
        from gaitgen.reading.beside import is_clip, refuse_options

        values = {item.name: options.pop(item.name) for item in shared}
        if is_clip(values["gait"]):
            refuse_options(context, {"gait", *options}, values["gait"])
            source = Source(file=Path(values["gait"]))
        else:
            source = Source(request=filled(Request, values))
        command(source, **options)

    run.__name__, run.__doc__ = command.__name__, command.__doc__
    context_item = inspect.Parameter("context", KEYWORD, annotation=typer.Context)
    return declared(run, [context_item, *shared, *(item.replace(kind=KEYWORD) for item in own)])


def _shared(item: inspect.Parameter) -> inspect.Parameter:
    """Let a clip stand for the gait, and none stand for a walk."""
    if item.name != "gait":
        return item
    return item.replace(annotation=Annotated[str, typer.Argument(help=SOURCE_HELP)], default=Request().gait)


def clip_of(request: Request) -> "Motion":
    """Make the clip to draw; of a rig's map, on a skeleton with the rig's proportions."""
    if isinstance(request.animal, str) and request.animal.endswith(".toml"):
        from gaitgen.rigs.map_file import is_map

        if is_map(request.animal):
            from gaitgen.formats.axes import FileSpace
            from gaitgen.formats.hand_off import HandOff
            from gaitgen.rigs.command import cycle_on_rig

            return cycle_on_rig(request.animal, request, FileSpace(), HandOff()).clip
    from gaitgen.pipeline import make_cycle

    return make_cycle(request)
