"""A form as it was sent: texts bounded and stripped, files apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, BinaryIO

from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile

from warmside.errors import Fault, InputError


@dataclass(frozen=True)
class Sent:
    """The fields of a form; a field sent twice counts by its last."""

    texts: dict[str, str]
    files: dict[str, tuple[UploadFile, ...]]

    def get(self, name: str, default: str = "") -> str:
        """A field as typed, without the spaces around it."""
        return self.texts.get(name, default).strip()

    def number(self, name: str, most: int = 2**53) -> int:
        """A whole number that the page itself put into the form."""
        text = self.get(name)
        if not text.isascii() or not text.isdecimal() or int(text[:20]) > most:
            raise InputError([Fault(name, repr(text)[:60], "the number that the page gave")])
        return int(text)

    def file(self, name: str) -> bytes:
        """The content of the one file of that name; ``InputError`` when none was picked."""
        return self.upload(name).read()

    def has_file(self, name: str) -> bool:
        """Whether a file of that name was picked."""
        return any(upload.size for upload in self.files.get(name, ()))

    def upload(self, name: str) -> BinaryIO:
        """The one file of that name, where it lies; ``InputError`` when none was picked."""
        for upload in self.files.get(name, ()):
            if upload.size:
                return upload.file
        raise InputError([Fault(name, "no file", "a file with something in it")])


def _sent(request: Request) -> Sent:
    form: FormData = request.state.form
    texts: dict[str, str] = {}
    files: dict[str, list[UploadFile]] = {}
    for name, value in form.multi_items():
        if isinstance(value, str):
            texts[name] = value.replace("\r\n", "\n")
        else:
            files.setdefault(name, []).append(value)
    return Sent(texts, {name: tuple(found) for name, found in files.items()})


Form = Annotated[Sent, Depends(_sent)]
