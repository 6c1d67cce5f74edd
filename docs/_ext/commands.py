"""The commands page, from what each command says of itself."""

from __future__ import annotations

import inspect
from collections.abc import Iterator

import click

from warmside.cli import main

Named = tuple[str, click.Command]


def every(name: str = "warmside", command: click.Command = main) -> Iterator[Named]:
    """Each command with its full name, groups before what is in them."""
    if command is not main:
        yield name, command
    if isinstance(command, click.Group):
        for inner in sorted(command.commands):
            yield from every(f"{name} {inner}", command.commands[inner])


def page() -> str:
    """Every command with usage, help, arguments and options, as Markdown."""
    return "\n".join(line for named in every() for line in _command(*named))


def _command(name: str, command: click.Command) -> Iterator[str]:
    context = click.Context(command, info_name=name)
    yield f"## `{name}`\n"
    yield inspect.cleandoc(command.help or "") + "\n"
    usage = command.get_usage(context).removeprefix("Usage: ")
    yield f"```text\n{usage}\n```\n"
    yield "| option | meaning |\n|---|---|"
    for parameter in command.get_params(context):
        option, meaning = parameter.get_help_record(context) or ("", "")
        if isinstance(parameter, click.Option):
            yield f"| `{_cell(option)}` | {_cell(meaning)} |"
    yield ""


def _cell(text: str) -> str:
    """Text that may stand in a table."""
    return text.replace("|", "\\|")
