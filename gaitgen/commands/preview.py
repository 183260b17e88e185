"""The command `gaitgen preview`: write the page that plays, or serve it on this machine."""

import signal
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from gaitgen.commands.delivery import Force, write_one
from gaitgen.commands.signals import Ended, answered
from gaitgen.commands.source import Source, clip_of, drawing_shots, shot_made
from gaitgen.commands.terminal import say, say_aside
from gaitgen.errors import OutputError, RequestError
from gaitgen.gait.request import Request
from gaitgen.option import Option

if TYPE_CHECKING:
    from gaitgen.page.clip_desk import ClipDesk
    from gaitgen.page.desk import Desk
    from gaitgen.page.shot_desk import ShotDesk


@drawing_shots
def preview(
    source: Source,
    html: Annotated[
        Path | None, Option("Write the page into this file (.html)", "it needs no network")
    ] = None,
    port: Annotated[int, Option("Port to serve on, on this machine only", "0 takes a free one")] = 0,
    out: Annotated[Path, Option("Folder that the served page writes files into")] = Path(),
    open_: Annotated[bool, Option("Open the served page in the web browser", name="open")] = False,
    force: Force = False,
) -> None:
    """Play a cycle, a clip or a shot on a page, with sliders.

    With --html the page is one file to keep or send. Without it the page is served on this machine only: drag
    a slider, or the end of a footfall bar, and the walk changes; press the button and the files are written
    into --out. Ctrl-C ends it. A clip (.bvh) is shown as it is, without sliders. A shot (.toml) goes along
    its path, whose points can be dragged on a plan if it is served; the button writes them into the shot
    file, or, if you wrote that, beside it.
    """
    _check_ways(html, port, open_=open_)
    if source.shot is not None:
        _show_shot(source, source.shot, html, port, open_=open_, force=force)
    elif source.request is None:
        _show_clip(source, html, port, open_=open_, force=force)
    elif html is None:
        _serve_request(source.request, out, port, open_=open_, force=force)
    else:
        _write(source.request, html, force=force)


def _check_ways(html: Path | None, port: int, *, open_: bool) -> None:
    """Refuse a page that is written and served at once, or written under another suffix."""
    if html is None:
        return
    if port or open_:
        raise RequestError("--html writes a file and serves nothing; leave out --port and --open")
    if html.suffix.lower() not in {".html", ".htm"}:
        raise OutputError(f"cannot write {html}: the page is HTML; give a name that ends in .html")


def _show_clip(source: Source, html: Path | None, port: int, *, open_: bool, force: bool) -> None:
    """Show the first stride of a clip in a file; of a shot with its way beside it, all of it."""
    from gaitgen.page.clip_data import clip_data
    from gaitgen.page.clip_desk import ClipDesk
    from gaitgen.page.page import page
    from gaitgen.page.shot_data import plan_data
    from gaitgen.reading.read import first_stride

    plan = source.plan_in_file()
    if plan is not None:
        shown = page(plan_data(plan, (source.file or Path()).stem))
    else:
        clip = source.clip()
        shown = page(clip_data(first_stride(clip), source.title(clip)))
    if html is None:
        _serve(ClipDesk(shown), port, "", open_=open_)
    else:
        write_one(html, shown, force=force)


def _show_shot(source: Source, file: Path, html: Path | None, port: int, *, open_: bool, force: bool) -> None:
    """Show a shot along its path; served, its path can be changed."""
    from gaitgen.check.of_shot import found_in_made
    from gaitgen.page.page import page
    from gaitgen.page.shot_data import shot_data
    from gaitgen.page.shot_desk import ShotDesk, path_points, read_text

    text, request = read_text(file), source.asked()
    made = source.made(request)
    if html is not None:
        points, stem = path_points(request, made).points, file.stem
        found = found_in_made(made, request, f"{stem}.bvh")
        write_one(html, page(shot_data(made, stem, points, request.marks, found)), force=force)
        return
    desk = ShotDesk(file, request, made, shot_made, text, force)
    _serve(desk, port, f"; a changed path goes beside {file.resolve()}", open_=open_)


def _write(request: Request, html: Path, *, force: bool) -> None:
    from gaitgen.page.clip_data import clip_data
    from gaitgen.page.page import page

    clip = clip_of(request)
    for notice in clip.notices:
        say(f"note: {notice.text}")
    write_one(html, page(clip_data(clip, (clip.asked or request).gait_stem)), force=force)


def _serve_request(request: Request, out: Path, port: int, *, open_: bool, force: bool) -> None:
    from gaitgen.page.desk import Desk

    made = clip_of(request)  # what is not usable is said here, not in the browser
    request = replace(request, gait=(made.asked or request).gait)
    _serve(Desk(request, out, force=force), port, f"; files go into {out.resolve()}", open_=open_)


def _serve(desk: "Desk | ClipDesk | ShotDesk", port: int, more: str, *, open_: bool) -> None:
    from gaitgen.page.server import Server

    server = Server(desk, port, say_aside)
    try:
        say(f"{server.url} shows the clip, on this machine only{more}.")
        say("Ctrl-C ends it.")
        if open_:
            import webbrowser

            webbrowser.open(server.url)
        server.serve_forever()
    except KeyboardInterrupt as stop:
        if isinstance(stop, Ended) and stop.number != signal.SIGINT:
            raise
        answered()
    finally:
        server.finish()
