"""Turns NAME.keys.csv into curves, in any package that can set a key with slopes."""

import csv


def read_keys(path, set_key):
    with open(path, newline="", encoding="utf-8") as file:  # noqa: PTH123
        for row in csv.DictReader(file):
            numbers = (float(row[column]) for column in ("value", "tangent_in", "tangent_out"))
            set_key(row["channel"], int(row["frame"]), *numbers)
