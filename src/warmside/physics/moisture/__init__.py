"""Water in the wall."""
