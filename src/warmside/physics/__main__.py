"""``python -m warmside.physics``: compile the solvers once, at set-up, so no one waits later."""
