"""A page that plays: the figure with volume on a moving belt, in one file or served on this machine.

For a shot `Way` stands for `Belt`, `ShotBars` for `Bars`, `PathDesk` for `Desk`; `path_points` turns legs
of a path into points and puts points into the file's text.
"""
