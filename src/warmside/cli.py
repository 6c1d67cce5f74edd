"""The command line: thin calls to the rooms, no formulas."""

import click

from warmside import __version__


@click.group()
@click.version_option(__version__)
def main() -> None:
    """From a surveyed old wall to a computed, priced and provable job."""
