"""Shots: passages of gaits along a path, over ground, from a start to an end, as one motion.

`make` is the order of it, from a shot that is `laid`: what `suiting` makes to look for the length of a
change is kept.

Asking: `shot_file` (with `way_file`, `curve_file`, `ground_file`) reads a `ShotRequest` (`asked`). `draft`
counts its passages; `marks` changes their speeds, strides and waits until marks are met, on cycles that
are only laid out (`splitting` parts a passage with two, `halting` finds the halt that one is for,
`far_mark` says what could be met, `marked` measures in the end what was). `request` solves the `Cycle` of
each passage and puts `Section`s and `Halt`s together.

Laying: `laying` makes a `timeline` that follows the count of strides of each foot (`rhythm.change` finds
the shortest way from one rhythm into another, `speeding` how hard it pushes and brakes, `suiting` how much
longer a change into a run or out of one keeps the body up), the pace, and every stance on whole frames
(`laid_stances`; `on_the_spot` those of a turn on the spot, whose `Spin` turns the path and all that is
laid along it). `lingering` lets strides take longer round bends and up slopes (`own_time`), `down_longer`
feet stand longer there. `slowing` shortens steps on slopes, `bend_slowing` those of trots round hard bends,
and `flights` makes strides on even steps take whole treads, but for marks and jumps; `metres` counts the
strides of passages that are asked for in metres as long as they then are. `placing` moves the feet of
changing strides to where legs reach, `footing` leans legs on slopes, `treading` keeps soles off edges, all
steps of a foot at once, and `pinning` puts a foot on its mark.

Carrying: `carriage` takes the body, by `layers`, from the cycles where they go straight and level, and
from balances elsewhere (`windows`). `carrying` goes to and fro between body and legs: `needing` says what
legs as they are posed need beside the body, `holding` how high it is held, `lowering` how far it sinks,
`settling` places feet of changes anew where it goes farther down and up than in cycles. `manner` leads feet
and laws by all cycles as far as each counts, `following` what hangs; `over_ground` takes swinging feet, as
`clearing` lifts them, over edges, each the way that is `easiest` for its leg, `bearing` carries each end of
the trunk over its own feet there, and `posing` lowers the trunk where legs ask for it and solves the legs
on frames. A passage as it is, is its cycle to the last digit: that is what joins rest on.

A jump (`jump`: an `Obstacle`, the `Leap` of its strides, and when a `LaidLeap` is) is put into its passage
by `marks`; its body is held at heights of a leap, `leaping` folds legs over and shifts the trunk until the
whole animal falls freely. Grounds of steps, pictures and meshes are made in `course/surfaces`;
`course/carried` is the ground as a body feels it. `seen` makes the `ShotPlan` that sheet and page draw,
`standing` says when it stands, `asked_strides` what is beside strides that are asked for, and `sparing` how
head and neck spare a lame leg. Where style alone changes, a shot is both cycles, as far as each counts.
"""
