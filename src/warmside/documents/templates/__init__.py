"""What the papers are set by."""
