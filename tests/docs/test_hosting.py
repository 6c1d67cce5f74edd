"""Every command of the page on hosting is one that the program takes, options and all.

Judged by the command line's own parser, which refuses an option that is not there. What the
commands do is tested where they are: ``store/test_backup.py``, ``web/test_front_door.py``.
"""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import click
import pytest

from warmside import fence
from warmside.cli import main
from warmside.web import lines
from warmside.web.guard import OTHERS

PAGE = (Path(__file__).parents[2] / "docs" / "hosting.md").read_text("utf-8")


def commands() -> list[list[str]]:
    """Words after the program's name, of every line that calls it."""
    found = []
    for block in re.findall(r"```text\n(.*?)```", PAGE, re.S):
        whole = re.sub(r" \\\n\s*", " ", block)
        for line in whole.splitlines():
            called = re.search(r"(?:^|ExecStart=|/bin/|warmside )(?:\S*/)?warmside (\w.*)", line)
            if line.startswith("CMD "):
                found.append(json.loads(line.removeprefix("CMD "))[1:])
            elif called:
                found.append(shlex.split(called[1]))
    return found


def test_the_page_names_enough_of_them() -> None:
    assert {words[0] for words in commands()} == {"people", "serve", "backup", "restore", "erase"}
    assert len(commands()) >= 10


@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_a_command_of_the_page_is_taken(words: list[str], tmp_path: Path) -> None:
    if "|" in words:  # one line that lists the commands of a group
        group = main.commands[words[0]]
        assert isinstance(group, click.Group)
        assert {word for word in words[1:] if word != "|"} <= set(group.commands)
        return
    # folders that have to be there are there
    there = [str(tmp_path) if word.startswith("/mnt/") else word for word in words]
    command: click.Command = main
    context = click.Context(main)
    while isinstance(command, click.Group):
        name, there = there[0], there[1:]
        assert name in command.commands, name
        command = command.commands[name]
    context = command.make_context(command.name, there)
    assert context.params


def test_an_option_that_is_not_there_is_noticed() -> None:
    with pytest.raises(click.NoSuchOption):
        main.commands["serve"].make_context("serve", ["--no-such-thing"])


def test_the_limits_of_the_page_are_those_of_the_program() -> None:
    mb = [f"{lane.memory / 1e6:.0f} MB" for lane in (fence.FILES, fence.TEXTS)]
    for words in (
        f"in after {lines.ASKING:.0f} s", f"at {lines.SLOWEST / 1e3:.0f} kB a second",
        f"more than {lines.MOST} lines", f"up to {lines.MOST_OF_ONE},",
        f"after {fence.SECONDS:.0f} s of work", f"in {mb[0]} of memory", f"in {mb[1]};",
        f"bodies of {OTHERS['/proof/pictures'] >> 20} MB",
    ):  # fmt: skip
        assert words in PAGE, words
