"""A page that plays: the figure with volume on a moving belt, in one file or served on this machine."""
