"""The weather outside and the air inside."""
