"""Writing the papers of a study into a folder, each file whole or not at all."""

from __future__ import annotations

import json
import os
import re
import tempfile
import unicodedata
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from pathlib import Path

from warmside import drawings
from warmside.documents.annex_paper import annex, takeoff
from warmside.documents.annex_view import annex_view
from warmside.documents.close_out_data import close_out_csv, close_out_json
from warmside.documents.close_out_paper import close_out, close_out_view
from warmside.documents.offer_paper import offer, offer_view, style_of
from warmside.documents.picture import Picture
from warmside.documents.readers import builder_style
from warmside.documents.typesetting import PaperSize
from warmside.documents.wall_page import option_section, years_charts
from warmside.errors import Fault, InputError
from warmside.identity import Same
from warmside.study import Proven, Spread, Study, WallStudy, json_text
from warmside.wording import Language

_OWN = ".warmside.json"
_CHARTS = ("wood", "mould")


@dataclass(frozen=True)
class ForClient:
    """How the client reads the offer."""

    language: Language = "en"
    paper: PaperSize = "us-letter"
    mark: Picture | None = None  # the contractor's own


def write_papers(
    study: Study,
    folder: Path,
    today: date | None = None,
    chances: Spread | None = None,
    client: ForClient | None = None,
) -> Iterator[Path]:
    """Write what a study comes to; yields each path written.

    The offer (``proposal.pdf``), its annex, the contractor's takeoff, the study as JSON, and every
    wall's drawings.

    Parameters
    ----------
    study : Study
        The house studied.
    folder : Path
        Made when it is missing; files of the same name are replaced where they are as this
        program wrote them.
    today : date, optional
        Date of the papers; the current day when not given.
    chances : Spread, optional
        From ``warmside.study.spread``: how sure each promise is; left out when not given.
    client : ForClient, optional
        Language, paper and mark of the offer.

    Yields
    ------
    Path
        A file that is now complete on disk.
    """
    folder.mkdir(parents=True, exist_ok=True)
    day, client = today or date.today(), client or ForClient()
    view = replace(annex_view(study, day, chances=chances), paper=client.paper)
    style = style_of(study, client.language)
    first = offer_view(study, day, style, client.mark, client.paper)
    with ThreadPoolExecutor(1) as beside:  # the typesetter leaves this process its other core
        papers = {
            "proposal.pdf": beside.submit(offer, first, style),
            "annex.pdf": beside.submit(annex, view),
            "takeoff.pdf": beside.submit(takeoff, view),
        }
        whole = json_text(study, chances).encode("utf-8")
        drawn = list(_drawings(study))
        for name, made in papers.items():
            yield write_file(folder / name, made.result())
    yield write_file(folder / "study.json", whole)
    for name, content in drawn:
        yield write_file(folder / name, content)


def _drawings(study: Study) -> Iterator[tuple[str, bytes]]:
    """Every wall's drawings, each with the name of its file."""
    for number, wall in enumerate(study.walls, 1):
        stem = f"wall-{number}-{plain_name(wall.wall.name)}"
        yield f"{stem}-elevation.svg", _elevation(wall)
        yield (
            f"{stem}-section.svg",
            option_section(wall.chosen.lasting, Same(study.outside)).encode(),
        )
        charts = tuple(years_charts(wall.chosen, builder_style(study.outside.climate), width=900))
        for name, chart in zip(_CHARTS[len(_CHARTS) - len(charts) :], charts, strict=True):
            yield f"{stem}-{name}.svg", chart.svg.encode()


def _elevation(wall: WallStudy) -> bytes:
    return drawings.elevation(wall.frame, wall.wall, wall.chosen.build_up, width=900).encode()


def plain_name(name: str) -> str:
    """A wall's name as part of a file name: letters, digits and dashes only."""
    ascii_ = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", ascii_.lower()).strip("-")[:40] or "wall"


def write_file(path: Path, content: bytes) -> Path:
    """Write beside, flush, then rename: a reader never sees half a file.

    Raises
    ------
    InputError
        A file of that name is there that this program did not write, or that was changed since.
    """
    own = _own_files(path.parent)
    if path.exists() and not _is_own(path, own):
        read = f"{path}, which is there and is not as Warmside wrote it"
        allowed = "another folder (--out), or that file moved away"
        raise InputError([Fault("file to write", read, allowed)])
    _replace(path, content)
    own[path.name] = sha256(content).hexdigest()
    _replace(path.with_name(_OWN), json.dumps(own, indent=1, sort_keys=True).encode() + b"\n")
    return path


def _own_files(folder: Path) -> dict[str, str]:
    """Names and hashes of the files that this program wrote into a folder."""
    try:
        found = json.loads((folder / _OWN).read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(k): str(v) for k, v in found.items()} if isinstance(found, dict) else {}


def _is_own(path: Path, own: Mapping[str, str]) -> bool:
    """Whether a file is as this program wrote it."""
    if own:
        return own.get(path.name) == sha256(path.read_bytes()).hexdigest()
    # before folders said what was written into them, their JSON did
    return any(b'"made_by": "warmside' in file.read_bytes()[:200]
               for file in path.parent.glob("*.json"))  # fmt: skip


def _replace(path: Path, content: bytes) -> None:
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())
        Path(beside).chmod(0o644)
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def write_close_out(
    proven: Proven,
    folder: Path,
    today: date | None = None,
    *,
    prepared_by: str = "",
    re_entry: str = "",
) -> Iterator[Path]:
    """Write the close-out as PDF, JSON and CSV, and every picture's difference map.

    Parameters
    ----------
    proven : Proven
        The house after the work.
    folder : Path
        Made when it is missing; files of the same name are replaced.
    today : date, optional
        Date of the papers; the current day when not given.
    prepared_by, re_entry : str
        As `close_out_view` takes them.

    Yields
    ------
    Path
        A file that is now complete on disk.
    """
    folder.mkdir(parents=True, exist_ok=True)
    day = today or date.today()
    view = close_out_view(proven, day, prepared_by=prepared_by, re_entry=re_entry)
    yield write_file(folder / "close-out.pdf", close_out(view))
    yield write_file(folder / "close-out.json", close_out_json(proven, day).encode())
    yield write_file(folder / "close-out.csv", close_out_csv(proven).encode())
    for wall in view.walls:
        for n, picture in enumerate(wall.pictures, 1):
            name = f"{plain_name(wall.name)}-difference-{n}.svg"
            yield write_file(folder / name, picture.svg.encode())
