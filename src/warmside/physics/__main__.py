"""``python -m warmside.physics``: compile the solvers once, at set-up, so no one waits later."""

from __future__ import annotations


def main() -> None:
    """Warm every solver that compiles itself."""
    from warmside.physics.conduction import warm as warm_conduction
    from warmside.physics.moisture import warm as warm_moisture

    for warm in (warm_conduction, warm_moisture):
        warm()


if __name__ == "__main__":
    main()
