"""The finished motion and what can be measured on it.

There is one way to measure each thing, for report, check, reading, pictures, rigs and tests alike:
`kinematics` (an animal's joints, those of any BVH, points fixed to them), `contacts` (stances, belt and
ground from `FootPaths`, with or without noise), `extremes` (highs and lows of a curve, between samples
too), `flesh` (the posed body).

A `Motion` carries a `Plan` (curves behind it) and `Facts` (numbers of a stride). `Report` is what people
and programs are told; its fields are the names in the JSON, and `as_values` alone turns it into that.
"""
