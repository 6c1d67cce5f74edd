"""The commands page, from what each command says of itself."""

from __future__ import annotations

import inspect
from collections.abc import Iterator

import click

from warmside.cli import main


def page() -> str:
    """Every command with usage, help, arguments and options, as Markdown."""
    return "\n".join(line for name in sorted(main.commands) for line in _command(name))


def _command(name: str) -> Iterator[str]:
    command = main.commands[name]
    context = click.Context(command, info_name=f"warmside {name}")
    yield f"## `{name}`\n"
    yield inspect.cleandoc(command.help or "") + "\n"
    usage = command.get_usage(context).removeprefix("Usage: ")
    yield f"```text\n{usage}\n```\n"
    rows = [row for p in command.get_params(context) if (row := p.get_help_record(context))]
    if rows:
        yield "| option | meaning |\n|---|---|"
        for option, meaning in rows:
            yield f"| `{option}` | {meaning.replace('|', chr(92) + '|')} |"
        yield ""
