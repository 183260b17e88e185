"""Any four-legged clip: what its feet and body do, and what is wrong with it, at which frame.

A finding is a function in `findings`, listed in `finders`, once for cycles and shots. `cause_rules` has
its place in the order of mending and what it explains; `limits` the limits with their reasons (a set
builds on its `base`, and what a set says nothing of is not judged). What is found by reading a clip
another way goes through `trial`. A joint of a leg is held against `findings/opposite` ones of the other
side, by bone where a rig has other joints there.

A clip without a period is in `shot`: `standing` finds stances in the world by speed alone, `ground` the
surface that they show (a stance has no say in the height that it is held against; on rough ground it is
its own height; a ground that is given is `GivenGround`), `strides` cuts at the contacts of one foot and
puts strides that are alike together, `way` finds turns and rises; `found` is the order, and lays the clip
out straight and level. `finders` says which findings are made in the whole clip, which in every stretch,
which where strides are alike; `judge` makes them.
"""
