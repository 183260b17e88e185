"""What somebody changed by hand: edited keys back to motion, and an edit carried to another clip.

`bake` makes a BVH of keys. `carry_file` carries an edit: `refined` (read without asking feet), then
`original` (made again, the nearest by what is `seen` of it; `own_name` tells from names and the record of
the folder how strides differ by a seed, which are then one loop of many stances in `phase`; `retimed`
finds contacts that were moved and `late_legs` legs that were moved whole, as `moves`; `slings_along`
moves slings left behind; `moved_steps` moves those of a clip), then `difference` (joints, root, feet),
then `carry` (`phase`: contacts on contacts; limbs reach by `motion/planting`; `reached`: how much of it
they can follow), then `carried_file` (files and report). On a rig it is the same on its own joints
(`carry_rig_file`, `rig_edit`, `rig_planting`; `as_animal` takes joints and controls of the rig for its
animal's): `rig_legs` turns a rig's late leg as a hand did, `rig_slings` moves its sling along.
`on_ground` tells a lowered body from a clip that was moved in its scene.

An edited shot goes along another path with `shot_edit`, frame on frame; it needs no phases.
"""
