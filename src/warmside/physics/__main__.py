"""``python -m warmside.physics``: compile the solvers once, at set-up, so no one waits later."""

from warmside.physics._warm import warm_all

if __name__ == "__main__":
    warm_all()
