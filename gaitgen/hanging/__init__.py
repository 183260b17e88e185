"""What hangs on the trunk and follows it."""
