"""Faults as lines on the screen, never a traceback."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from warmside.errors import WarmsideError

Out = TypeVar("Out")


class Told(click.ClickException):
    """A fault told to the person, without a traceback."""

    exit_code = 1

    def show(self, file: Any = None) -> None:  # noqa: ARG002
        """Put it on the screen."""
        click.echo(self.message, err=True)


def told(call: Callable[[], Out]) -> Out:
    """Run ``call``; a fault becomes lines on the screen."""
    try:
        return call()
    except WarmsideError as error:
        raise Told(str(error)) from error
    except OSError as error:
        raise Told(f"{error.filename or ''}: {error.strerror or error}".lstrip(": ")) from error
