"""One small function a fault: takes what was seen, gives findings."""
