"""Heat through the wall."""
