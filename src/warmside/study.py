"""One house: every wall, every option, what it does and what it costs."""
