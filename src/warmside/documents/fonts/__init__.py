"""The shipped font and its licence."""
