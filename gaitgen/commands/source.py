"""What pictures are made of: a cycle to make, or a clip in a file; and the options that say which."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from gaitgen.motion.motion import Motion
    from gaitgen.pipeline import Request

STYLE = ("bounce", "sway", "nod", "lift", "overlap", "weight", "reach")
BUILD = ("withers_height", "body_mass", "cannon_ratio", "neck_factor", "back_factor", "head_factor")
# Options of `gaitgen cycle` that say what the motion is: every one is an option of a drawing too.
MOTION: Mapping[str, str] = {
    "gait": "gait",
    "animal": "animal",
    "frames": "frames",
    "fps": "frame_rate_hz",
    "start": "start",
    "speed": "speed_m_s",
    "stride_length": "stride_length_m",
    "duty_factor": "duty_factor",
    "lag": "lag",
    "contacts": "contacts",
    "settle": "settle_strides",
    "whole_frames": "whole_frames",
}
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

    request: "Request | None" = None
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


def with_motion(command: Callable[..., None], cycle: Callable[..., None]) -> Callable[..., None]:
    """Put the options of ``cycle`` before those of a command that takes a Source."""
    theirs = inspect.signature(cycle, eval_str=True).parameters
    own = [item for name, item in inspect.signature(command).parameters.items() if name != "source"]
    shared = [theirs[name] for name in (*MOTION, *STYLE, *BUILD)]
    shared[0] = shared[0].replace(annotation=Annotated[str, typer.Argument(help=SOURCE_HELP)], default="walk")
    keyword = inspect.Parameter.POSITIONAL_OR_KEYWORD
    context_item = inspect.Parameter("context", keyword, annotation=typer.Context)

    def run(context: typer.Context, **options: Any) -> None:  # noqa: ANN401
        from gaitgen.reading.beside import is_clip, refuse_options

        values = {item.name: options.pop(item.name) for item in shared}
        if is_clip(values["gait"]):
            refuse_options(context, {"gait", *options}, values["gait"])
            source = Source(file=Path(values["gait"]))
        else:
            source = Source(request=request_from(values))
        command(source, **options)

    run.__name__, run.__doc__ = command.__name__, command.__doc__
    items = [context_item, *shared, *own]
    run.__signature__ = inspect.Signature(items)  # type: ignore[attr-defined]
    run.__annotations__ = {item.name: item.annotation for item in items}
    return run


def request_from(options: Mapping[str, Any]) -> "Request":
    """Make a request of the options in MOTION, STYLE and BUILD."""
    from gaitgen.animal.proportions import Proportions
    from gaitgen.gait.style import Style
    from gaitgen.pipeline import Request

    motion = {field: options[name] for name, field in MOTION.items()}
    motion["start"] = str(motion["start"])
    return Request(
        **motion,
        style=Style(**{name: options[name] for name in STYLE}),
        proportions=Proportions(*(options[name] for name in BUILD)),
    )


def clip_of(request: "Request") -> "Motion":
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
