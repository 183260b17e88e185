"""Pictures of a clip: figures with volume, strips, sheets."""
