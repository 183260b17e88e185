"""What the user asks for: request, gait, tempo, style."""
