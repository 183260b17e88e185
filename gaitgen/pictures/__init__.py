"""Pictures of a clip: figures with volume, strips, sheets.

A shot is drawn from its `ShotPlan` (`shot_plan`), made by `shot/seen` of what was computed, or by
`reading/shot_clip` of a BVH and its way; `shot_sheet`, `plan_view`, `shot_chart` and the page know no
more. The figure is always drawn in the frame that goes along (`still`). `Terrain` brings the ground into
it by asking `Ground` for heights, whatever it is, and `Floor` is the ground under one figure: cuts from
side and front, a grid and a shade from above. What of the far side is drawn as trunk, and what is seen of
its legs, is in `far_side`. Drawing goes through `own_look`, so that nobody's settings change it.
"""
