"""What the user asks for: gait, tempo, style."""
