"""``python -m warmside``: the command line."""

from warmside.cli import main

main()
