"""What a picture shows: greys of a PNG, ink in a part of it, and ink where a figure's lines are."""

import io

import numpy as np

FAINT = 0.93  # a lighter grey is paper


def greys(png):
    """Decode a PNG: (rows, columns) from the top, 0 black to 1 white."""
    from matplotlib.image import imread

    picture = imread(io.BytesIO(png), format="png")
    assert picture.ndim == 3
    assert np.ptp(picture[..., :3], axis=2).max() == 0.0, "greys alone"
    return picture[..., :3].mean(axis=2)


def part(picture, left, bottom, right, top):
    """Cut out a part of a picture; shares of its width and height, from the lower left corner."""
    height, width = picture.shape
    rows = slice(round((1.0 - top) * height), round((1.0 - bottom) * height))
    return picture[rows, round(left * width) : round(right * width)]


def ink(picture):
    """Share of a picture that is not paper."""
    return float((picture < FAINT).mean())


def ink_along(picture, figure, line, points=60, reach=2):
    """Share of points along a line of a figure at which its picture has ink, within two pixels."""
    path = line.get_transform().transform(line.get_xydata()) / figure.bbox.size
    along = np.linspace(0.0, len(path) - 1.0, points)
    at = np.stack([np.interp(along, np.arange(len(path)), path[:, k]) for k in (0, 1)], axis=1)
    inside = ((at > 0.002) & (at < 0.998)).all(axis=1)
    height, width = picture.shape
    columns = np.round(at[inside, 0] * width).astype(int)
    rows = np.round((1.0 - at[inside, 1]) * height).astype(int)
    near = [
        picture[max(0, row - reach) : row + reach + 1, max(0, column - reach) : column + reach + 1].min()
        for row, column in zip(rows, columns, strict=True)
    ]
    return float((np.array(near) < FAINT).mean())


def drawn_lines(figure):
    """Lines of a figure that leave ink: no faint rules, of two points at least."""
    from matplotlib.colors import to_rgb

    lines = [line for axes in figure.axes for line in axes.get_lines()]
    lines = [line for line in lines if len(line.get_xydata()) > 1 and line.get_linestyle() != "None"]
    return [line for line in lines if max(to_rgb(line.get_color())) < 0.7]
