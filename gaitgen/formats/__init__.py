"""Turns a clip into the bytes of a file, reads joint trees and motion back, and puts files in place.

Keys (`held_keys`): each channel has the fewest that keep it near its curve (`motion/key_rows`). Where toes
drift then, `refit_keys` fits the keys of each leg of a cycle whose toes do together before more of them are
taken; where a channel takes its toe says a `ToeFinder` (`motion/toes`), which for our own joints carries it
up the chain beside the toe. A clip without a period is fitted stance by stance (`stances`, `refit_stances`):
tangents with which toes hold with a key on every row (`settle_kinks`), keys of all, then of legs.

Every command writes through `kept`: a set of files keeps one name, a digest of each is in the folder's
`record`, and what was edited since is not replaced. A file that is saved between that look and the
replacing is found by its digest (`write_files(known=...)`); `in_place` puts nothing in the place of a file
that it did not look at. `write` alone puts files in place, all or none, and `signals` wait meanwhile.
"""
