"""What was measured of a job, kept as records, and judged in the background.

Kinds of records: ``thermal`` (a picture of a wall with its conditions and marks), ``fan-test``,
``meter`` (wood moisture), ``proof`` (rule, closing day, humidity, re-entry). Probes and cores are
those of the day record.
"""

from __future__ import annotations

import base64
import io
import json
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from warmside.errors import Fault, InputError
from warmside.store import Record, Store, Task
from warmside.web.crew import crew_of
from warmside.web.dossier import PARTS, compressed, key_of, opened, studied_before

if TYPE_CHECKING:
    from warmside.proof import Picture, ProofFile
    from warmside.study import Measured, Proven, Study

Json = dict[str, Any]
KINDS = ("thermal", "fan-test", "meter", "proof", "probe", "core")
SHAPE = "2"  # raised when the pages read another shape
MOST_KEPT = 640 * 512  # pixels of a picture that is kept; more are averaged
_STEP = 0.01  # [K] to which a kept picture is true
_EMPTY = -32768


@dataclass(frozen=True)
class Proofs:
    """What there is of a job's proof: its records by kind, its result, the task."""

    records: Mapping[str, tuple[Record, ...]]
    key: str
    result: Json | None
    task: Task | None

    @property
    def under_way(self) -> bool:
        """Whether it is being judged."""
        return self.task is not None and self.task.state in ("waiting", "running")

    @property
    def failed(self) -> str:
        """Why the last judging of what stands now failed; "" where it did not."""
        task = self.task
        here = task is not None and task.state == "failed" and task.key == self.key
        return task.error if here and task else ""

    @property
    def said(self) -> Json:
        """Rule, closing day and the rest, as noted last."""
        kept = self.records["proof"]
        return dict(kept[-1].data) if kept else {}


def proofs_of(store: Store, job: str) -> Proofs:
    """Look up what there is of a job's proof."""
    texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
    records = store.records.of(job)
    by_kind = {kind: tuple(r for r in records if r.kind == kind) for kind in KINDS}
    key = _key(store, texts, by_kind)
    tasks = [task for task in store.tasks.of(job, 20) if task.kind == "proof"]
    return Proofs(by_kind, key, opened(store.results.get(key)), tasks[0] if tasks else None)


def _key(store: Store, texts: dict[str, str], records: Mapping[str, tuple[Record, ...]]) -> str:
    ids = [record.id for kind in KINDS for record in records[kind]]
    return store.results.key("proof", SHAPE, key_of(texts), *ids)


@dataclass(frozen=True)
class Shot:
    """A kept thermal picture as a page lists it; ``pressure`` [Pa] None: without the fan."""

    id: str
    wall: str
    columns: int
    rows: int
    room: float
    outside: float
    pressure: float | None
    marked: bool

    @classmethod
    def of(cls, record: Record) -> Shot:
        """What a record says, whichever of its optional values it has."""
        data = record.data
        return cls(
            record.id, record.wall, int(data["columns"]), int(data["rows"]), float(data["room"]),
            float(data["outside"]), data.get("pressure"), bool(data.get("marked")),
        )  # fmt: skip


def ask_proof(store: Store, job: str, who: str) -> Task:
    """Ask for the judging of what was measured as it stands."""
    kept = {part: store.text(part, job) for part in PARTS}  # type: ignore[arg-type]
    revisions = {part: text.revision for part, text in kept.items()}
    return store.tasks.ask("proof", proofs_of(store, job).key, who, job, revisions)


# --- pictures


def packed(picture: Picture) -> Json:
    """A picture as plain data: hundredths of a kelvin, compressed."""
    import numpy as np

    values = picture.values
    factor = int(np.ceil(np.sqrt(values.size / MOST_KEPT)))
    if factor > 1:
        from warmside.proof.picture import reduced

        values = reduced(values, factor)
    whole = np.where(np.isfinite(values), np.round(values / _STEP), _EMPTY).astype("<i2")
    data = base64.b64encode(zlib.compress(whole.tobytes(), 9)).decode("ascii")
    rows, columns = values.shape
    return {"pixels": data, "rows": rows, "columns": columns, "quantum": picture.quantum}


def unpacked(data: Mapping[str, Any]) -> Any:
    """The temperatures of a kept picture, (rows, columns) [degC]."""
    import numpy as np

    raw = zlib.decompressobj().decompress(base64.b64decode(data["pixels"]), 2 * MOST_KEPT + 2)
    rows, columns = int(data["rows"]), int(data["columns"])
    if len(raw) != 2 * rows * columns:
        raise InputError([Fault("thermal picture", "a broken record", "take it in again")])
    counts = np.frombuffer(raw, "<i2").reshape(rows, columns).astype(float)
    return np.where(counts == _EMPTY, np.nan, counts * _STEP)


def as_file(data: Mapping[str, Any]) -> bytes:
    """A kept picture as the file that the proof reads."""
    import numpy as np
    import tifffile

    buffer = io.BytesIO()
    tifffile.imwrite(buffer, unpacked(data).astype(np.float32), metadata=None)
    return buffer.getvalue()


def toned(data: Mapping[str, Any]) -> bytes:
    """A kept picture as PNG: cold dark, warm light, so that marks can be set on it."""
    import numpy as np
    from PIL import Image

    from warmside.drawings.thermal import tone

    values = unpacked(data)
    low, high = np.nanpercentile(values, (1, 99))
    image = Image.fromarray(tone(values, float(low), float(max(high, low + 0.1))))
    buffer = io.BytesIO()
    image.save(buffer, "PNG")
    return buffer.getvalue()


# --- the judging


def file_of(records: Mapping[str, tuple[Record, ...]], survey_walls: list[str]) -> ProofFile:
    """The records of a job as one proof; walls that the survey lost are passed over."""
    from warmside.proof import proof_of

    walls: dict[str, Json] = {name: {"name": name} for name in survey_walls}
    for record in records["thermal"]:
        if record.data.get("marked") and record.wall in walls:
            entry = {k: v for k, v in record.data.items() if k not in _OWN and v is not None}
            step = float(record.data.get("quantum") or 0.0)  # of a scale's colours
            entry["contrast"] = min(max(float(entry.get("contrast", 0.1)), step), 2.0)
            walls[record.wall].setdefault("picture", []).append(entry | {"file": record.id})
    for record in records["probe"]:
        if record.wall in walls and "bay" in record.data:
            probe = {"bay": record.data["bay"], "thickness": record.data["thickness_m"]}
            walls[record.wall].setdefault("probe", []).append(probe)
    for record in records["meter"]:
        if record.wall in walls:
            walls[record.wall].setdefault("moisture", []).append(dict(record.data))
    said = dict(records["proof"][-1].data) if records["proof"] else {}
    for name, option in said.pop("built", {}).items():
        if name in walls and len(walls[name]) > 1:
            walls[name]["option"] = option
    data: Json = {k: v for k, v in said.items() if v not in (None, "")}
    data["wall"] = [wall for wall in walls.values() if len(wall) > 1]
    data["core"] = [
        {"mass_g": r.data["mass_kg"] * 1e3, "before_ml": 0.0, "after_ml": r.data["volume_m3"] * 1e6}
        for r in records["core"]
    ]
    if records["fan-test"]:
        data["fan_test_after"] = dict(records["fan-test"][-1].data)
    return proof_of(data)


_OWN = ("pixels", "rows", "columns", "quantum", "marked")


def judge(store: Store, task: Task, secret: bytes, texts: dict[str, str]) -> None:
    """Measure, prove, and keep what the page and the papers need."""
    from warmside.documents import close_out, close_out_csv, close_out_json, close_out_view
    from warmside.site import read_log
    from warmside.study import prove, with_choices

    store.tasks.progress(task.id, "the study", 0, 3)
    study = studied_before(store, texts, secret)
    if study is None:
        read = "no study of the job as it stands"
        raise InputError([Fault("proof", read, "the study first: Study, then the proof")])
    study = with_choices(study, json.loads(texts["choices"]) if texts["choices"].strip() else {})
    found = proofs_of(store, task.job)
    records = found.records
    pictures = {record.id: record.data for record in records["thermal"]}
    file = file_of(records, [wall.wall.name for wall in study.walls])
    store.tasks.progress(task.id, "pictures and readings", 1, 3)
    measured, left_out = measured_but(study, file, lambda id: as_file(pictures[id]))
    proven = prove(study, measured)
    store.tasks.progress(task.id, "papers", 2, 3)
    today = date.today()
    log = read_log(store.records.of(task.job, corrected=True))
    photos = tuple(_photos(store, task.job))
    plans = crew_of(store, task.job).plans
    view = close_out_view(
        proven, today, log=log, photos=photos, re_entry=file.re_entry, plans=plans
    )
    keep = store.results.keep
    for name, content in (
        ("pdf", close_out(view)),
        ("json", close_out_json(proven, today).encode()),
        ("csv", close_out_csv(proven).encode()),
    ):
        keep(paper_key(store, found.key, name), f"close-out-{name}", content)
    shown = _shown(proven, view) | {"left_out": left_out}
    keep(found.key, "proof", compressed(shown))


def measured_but(
    study: Study, file: ProofFile, load: Callable[[str], bytes]
) -> tuple[Measured, list[str]]:
    """What was measured, and what of it was left out, since one bad picture is no reason to judge
    nothing: where a wall cannot be measured, its pictures go, its probes, and then the wall.
    """
    from warmside.study import measure

    with suppress(InputError):
        whole = measure(study, file, load)
        return whole, list(_lost(whole))
    walls, told = list[Any](), list[str]()
    for entry in file.wall:
        bare = entry.model_copy(update={"picture": ()})
        dry = bare.model_copy(update={"probe": ()})
        why: InputError | None = None
        for some, gone in ((entry, ""), (bare, "the pictures"), (dry, "pictures and probes")):
            try:
                measure(study, file.model_copy(update={"wall": (some,), "core": ()}), load)
            except InputError as error:
                why = why or error
            else:
                walls.append(some)
                told += [f"{gone} of {entry.name}: {why}"] if why else []
                break
        else:
            told.append(f"all of {entry.name}: {why}")
    notes = (*file.notes, *(f"Left out: {text}"[:200] for text in told))[:50]
    rest = file.model_copy(update={"wall": tuple(walls), "notes": notes})
    measured = measure(study, rest, load)
    return measured, [*told, *_lost(measured)]


def _lost(measured: Measured) -> Iterator[str]:
    for wall in measured.walls:
        yield from (f"a picture of {wall.wall} ({one.file}): {one.why}" for one in wall.lost)


def _moved(entry: Json, by: float) -> Json:
    """Marks and regions in the pixels of a picture of which ``by`` pixels became one."""

    def at(pixel: float) -> float:
        return (pixel + 0.5) / by - 0.5

    marks = [m | {key: at(m[key]) for key in ("column", "row")} for m in entry["marks"]]
    sides = ("left", "top", "right", "bottom")
    regions = [r | {key: at(r[key]) for key in sides} for r in entry["region"]]
    return entry | {"marks": marks, "region": regions}


def paper_key(store: Store, key: str, name: str) -> str:
    """Where a close-out paper is kept."""
    return store.results.key(f"close-out-{name}", key)


def _photos(store: Store, job: str) -> Any:
    from warmside.documents import SitePhoto

    for photo in store.photos.of(job)[:24]:
        data = store.photos.file(job, photo.id, thumbnail=True)
        width, height = _size(data)
        yield SitePhoto(photo.wall, f"{photo.caption} ({photo.at:%Y-%m-%d})", data, width, height)


def _size(jpeg: bytes) -> tuple[int, int]:
    from PIL import Image

    with Image.open(io.BytesIO(jpeg)) as image:
        return image.width, image.height


def _shown(proven: Proven, view: Any) -> Json:
    """What the page shows, as plain data."""
    return {
        "headline": [str(note.text) for note in view.headline],
        "promises": view.promises,
        "remedies": view.remedies,
        "remedy_sum": view.remedy_sum,
        "house": view.house_kept,
        "walls": [
            {
                "name": wall.name,
                "kept": [k for k in wall.kept if k["promise"] in ("warm", "dry")],
                "pictures": [p.svg for p in wall.pictures],
                "remarks": [str(n.text) for n in wall.remarks],
                "bays": [bay for p in one.measured.pictures for bay in p.bays],
            }
            for wall, one in zip(view.walls, proven.walls, strict=True)
        ],
        "synthetic": view.synthetic,
    }


# --- taking in a proof file


def take_in(store: Store, job: str, text: str, load: Callable[[str], bytes], who: str) -> None:
    """Note down everything of a proof file, its pictures with it.

    Parameters
    ----------
    text : str
        A proof file.
    load : callable
        Gives the bytes of a picture by its name.
    """
    from warmside.proof import picture_of, read_proof

    file = read_proof(text)
    add, at = store.records.add, datetime.now(UTC).isoformat(timespec="seconds")
    for wall in file.wall:
        for shot in wall.picture:
            entry = shot.model_dump(
                mode="json", exclude={"file", "unit", "gain", "offset", "coldest", "warmest"}
            )
            read = picture_of(shot, load(shot.file))
            shown = packed(read)
            moved = _moved(entry, read.reduced * read.shape[0] / shown["rows"])
            add(job, "thermal", moved | shown | {"marked": True}, who, wall.name)
        for probe in wall.probe:
            data = {"at": at, "bay": probe.bay, "thickness_m": probe.thickness}
            add(job, "probe", data, who, wall.name)
        for reading in wall.moisture:
            add(job, "meter", reading.model_dump(mode="json"), who, wall.name)
    for core in file.core:
        data = {"at": at, "mass_kg": core.mass_g / 1e3,
                "volume_m3": (core.after_ml - core.before_ml) * 1e-6}  # fmt: skip
        add(job, "core", data, who)
    if file.fan_test_after is not None:
        add(job, "fan-test", file.fan_test_after.model_dump(mode="json"), who)
    kept = ("closed", "acceptance", "indoor_humidity", "synthetic", "re_entry")
    built = {wall.name: wall.option for wall in file.wall if wall.option}
    add(job, "proof", file.model_dump(mode="json", include=set(kept)) | {"built": built}, who)
