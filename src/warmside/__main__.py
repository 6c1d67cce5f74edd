"""``python -m warmside``: the command line."""

from warmside.cli import run

run()
