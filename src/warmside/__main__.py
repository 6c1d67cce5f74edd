"""``python -m warmside``: the command line."""

from warmside.cli import main

main(prog_name="warmside")
