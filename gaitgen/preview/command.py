"""The command `gaitgen preview`: write the page that plays, or serve it on this machine."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaitgen.errors import OutputError, RequestError

if TYPE_CHECKING:
    from gaitgen.generate import Request
    from gaitgen.preview.clip_desk import ClipDesk
    from gaitgen.preview.server import Desk

# Parameters that go with a clip in a file too.
FOR_CLIPS = {"gait", "html", "port", "open_"}


def preview(
    context: typer.Context,
    gait: Annotated[
        str,
        typer.Argument(
            help="The gait to show; or a clip to show as it is, the path of a BVH file with the joints that "
            "gaitgen writes, also one refined by hand."
        ),
    ] = "walk",
    animal: Annotated[
        str, typer.Option(help="An animal of `gaitgen animals`, or the path of a skeleton file (.toml).")
    ] = "riding_horse",
    frames: Annotated[int, typer.Option(help="Length of one stride in frames.")] = 32,
    fps: Annotated[float, typer.Option(help="Frame rate in frames per second.")] = 24.0,
    start: Annotated[str, typer.Option(help="The foot whose contact is frame 1: LF, RF, LH or RH.")] = "RH",
    speed: Annotated[float | None, typer.Option(help="Speed in m/s.")] = None,
    duty_factor: Annotated[float | None, typer.Option(help="Share of the stride each foot is down.")] = None,
    lag: Annotated[
        float | None, typer.Option(help="Share of a stride by which a fore foot lands after its hind foot.")
    ] = None,
    settle: Annotated[
        float, typer.Option(help="Share of a stride after contact at which hips and chest are lowest.")
    ] = 0.125,
    bounce: Annotated[float, typer.Option(help="Factor on the rise and fall of hips and chest.")] = 1.0,
    sway: Annotated[float, typer.Option(help="Factor on sideways shift, roll and bend.")] = 1.0,
    nod: Annotated[float, typer.Option(help="Factor on the nod of neck and head.")] = 1.0,
    lift: Annotated[float, typer.Option(help="Factor on the lift and fold of the swinging legs.")] = 1.0,
    overlap: Annotated[float, typer.Option(help="Factor on the swing of ears, jaw and tail.")] = 1.0,
    weight: Annotated[float, typer.Option(help="Factor on how far the fetlocks sink under load.")] = 1.0,
    reach: Annotated[float, typer.Option(help="Factor on the ground a foot covers in stance.")] = 1.0,
    withers_height: Annotated[float | None, typer.Option(help="Height at the withers in m.")] = None,
    cannon_ratio: Annotated[
        float | None, typer.Option(help="Length of the fore cannon bone over withers height.")
    ] = None,
    neck_factor: Annotated[float | None, typer.Option(help="Length of the neck, times its own.")] = None,
    back_factor: Annotated[float | None, typer.Option(help="Length of the back, times its own.")] = None,
    head_factor: Annotated[float | None, typer.Option(help="Size of the head, times its own.")] = None,
    html: Annotated[
        Path | None, typer.Option(help="Write the page into this file (.html); it needs no network.")
    ] = None,
    port: Annotated[
        int, typer.Option(help="Port to serve on, on this machine only; 0 takes a free one.")
    ] = 0,
    out: Annotated[Path, typer.Option(help="Folder that the served page writes files into.")] = Path(),
    open_: Annotated[bool, typer.Option("--open", help="Open the served page in the web browser.")] = False,
) -> None:
    """Show a walk, or a clip, that plays: as one page in a file, or served here with sliders.

    With --html the page is one file to keep or send. Without it the page is served on this machine only: drag
    a slider and the walk changes, press the button and the files are written into --out. Ctrl-C ends it. A
    clip (.bvh) is shown as it is, without sliders.
    """
    from gaitgen.read_clip.beside import is_clip, refuse_options

    if is_clip(gait):
        refuse_options(context, FOR_CLIPS, gait)
        _show_clip(Path(gait), html, port, open_=open_)
        return
    from gaitgen.generate import Request
    from gaitgen.parameters.style import Style
    from gaitgen.skeleton.proportions import Proportions

    request = Request(
        gait=gait,
        animal=animal,
        proportions=Proportions(
            withers_height_m=withers_height,
            cannon_ratio=cannon_ratio,
            neck_factor=neck_factor,
            back_factor=back_factor,
            head_factor=head_factor,
        ),
        frames=frames,
        frame_rate_hz=fps,
        start=start,
        speed_m_s=speed,
        duty_factor=duty_factor,
        lag=lag,
        style=Style(bounce, sway, nod, lift, overlap, weight, reach),
        settle_strides=settle,
    )
    _check_ways(html, port, open_=open_)
    if html is None:
        _serve_request(request, out, port, open_=open_)
    else:
        _write(request, html)


def _check_ways(html: Path | None, port: int, *, open_: bool) -> None:
    """Refuse a page that is written and served at once, or written under another suffix."""
    if html is None:
        return
    if port or open_:
        raise RequestError("--html writes a file and serves nothing; leave out --port and --open")
    if html.suffix.lower() not in {".html", ".htm"}:
        raise OutputError(f"cannot write {html}: the page is HTML, so give a name that ends in .html")


def _show_clip(path: Path, html: Path | None, port: int, *, open_: bool) -> None:
    """Show the first stride of a clip in a file."""
    from gaitgen.files.write import write_files
    from gaitgen.preview.clip_data import clip_data
    from gaitgen.preview.clip_desk import ClipDesk
    from gaitgen.preview.page import page
    from gaitgen.read_clip import clip_from_bvh, first_stride

    _check_ways(html, port, open_=open_)
    clip = first_stride(clip_from_bvh(path))
    shown = page(clip_data(clip, path.name))
    for notice in clip.notices:
        typer.echo(f"note: {notice.text}")
    if html is None:
        _serve(ClipDesk(shown), port, "", open_=open_)
    else:
        write_files({html: shown})
        typer.echo(f"wrote {html}")


def _write(request: Request, html: Path) -> None:
    from gaitgen.files.write import write_files
    from gaitgen.generate import generate
    from gaitgen.preview.clip_data import clip_data
    from gaitgen.preview.page import page

    clip = generate(request)
    write_files({html: page(clip_data(clip, request.gait))})
    for notice in clip.notices:
        typer.echo(f"note: {notice.text}")
    typer.echo(f"wrote {html}")


def _serve_request(request: Request, out: Path, port: int, *, open_: bool) -> None:
    from gaitgen.generate import generate
    from gaitgen.preview.server import Desk

    generate(request)  # what is not usable is said here, not in the browser
    _serve(Desk(request, out), port, f"; files go into {out.resolve()}", open_=open_)


def _serve(desk: Desk | ClipDesk, port: int, more: str, *, open_: bool) -> None:
    from gaitgen.preview.server import Server

    server = Server(desk, port)
    try:
        typer.echo(f"{server.url} shows the walk, on this machine only{more}.")
        typer.echo("Ctrl-C ends it.")
        if open_:
            import webbrowser

            webbrowser.open(server.url)
        server.serve_forever()
    except KeyboardInterrupt:
        pass
    finally:
        server.finish()
