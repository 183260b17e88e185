"""Any four-legged clip: what its feet and body do, and what is wrong with it, at which frame."""
