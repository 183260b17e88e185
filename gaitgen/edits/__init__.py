"""What somebody changed by hand: edited keys back to motion, and an edit carried to another clip."""
