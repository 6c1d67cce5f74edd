"""The study: asking for it, watching it, its options, one promise a page, price and papers."""

from __future__ import annotations

import gzip
import io
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal
from weakref import WeakKeyDictionary

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.store import StaleError, Store, Task
from warmside.survey import Doubt
from warmside.web import cached
from warmside.web.dossier import OFFERED, PARTS, body_of, evidence_of, key_of, opened
from warmside.web.forms import Form
from warmside.web.pages import page, then, writing_of
from warmside.web.problem import Problem
from warmside.web.web import caller_of, web_of
from warmside.wording import PROMISES, Figure, Style, say

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]
_ROOM, OUTSIDE_RANGE = (5.0, 30.0), (-50.0, 25.0)  # [degC] that the image is drawn for
WIDTHS = {"wide": 820.0, "narrow": 380.0}  # [user units] of a thermal image; on a phone
_TONES = (-5.0, 25.0)  # [degC] one scale for all, so that a slider moves the tones


@dataclass(frozen=True)
class Standing:
    """What there is of a job's study.

    ``key`` is that of the job as it stands, ``shown`` that of the study shown: the same, or an
    earlier one, or "" when there is none.
    """

    key: str
    shown: str
    dossier: Json | None
    task: Task | None
    doubts: tuple[Doubt, ...] = ()  # what is looked at again before it is studied anew

    @property
    def study(self) -> Json:
        """The study shown; to whoever asks where there is none, the way to it is told."""
        if self.dossier is None:
            raise Problem(
                404, "Not studied yet", "This comes with the study: study the house first."
            )
        return self.dossier

    @property
    def base(self) -> str:
        """Key of what does not depend on the choice; "" where nothing is shown."""
        return str(self.dossier["base"]) if self.dossier else ""

    @property
    def body(self) -> str:
        """Key of what does not depend on money either; "" where nothing is shown."""
        return str(self.dossier["body"]) if self.dossier else ""

    @property
    def fresh(self) -> bool:
        """Whether the study shown is of the job as it stands."""
        return self.shown == self.key

    @property
    def under_way(self) -> bool:
        """Whether a study is being made."""
        return self.task is not None and self.task.state in ("waiting", "running")


def standing(store: Store, job: str) -> Standing:
    """Look up what there is of a job's study."""
    key = key_of(_texts(store, job))
    tasks = [task for task in store.tasks.of(job, 40) if task.kind == "study"]
    keys = [key, *(t.key for t in tasks if t.key != key)]
    for shown in keys:
        if (found := _kept(store, shown)) is not None:
            break
    else:
        shown, found = "", None
    open_ = () if shown == key else doubts(store, job)
    return Standing(key, shown, found, tasks[0] if tasks else None, open_)


def _texts(store: Store, job: str) -> dict[str, str]:
    return {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]


# by store, the dossiers read last; a key never changes its content
_LAST: WeakKeyDictionary[Store, dict[str, Json]] = WeakKeyDictionary()


def _kept(store: Store, key: str) -> Json | None:
    last = _LAST.setdefault(store, {})
    if key in last:
        return last[key]
    found: Json | None = opened(store.results.get(key))
    if found is not None:
        last[key] = found
        for old in list(last)[:-8]:
            last.pop(old, None)
    return found


def doubts(store: Store, job: str) -> tuple[Doubt, ...]:
    """What is unusual in the survey of a job and was not looked at again."""
    return cached.doubts(store.text("survey", job).text, store.text("catalog", job).text)


def ask(store: Store, job: str, who: str) -> Task:
    """Ask for the study of a job as it stands.

    Raises
    ------
    InputError
        Something in the survey is unusual, and nobody looked at it again.
    """
    standing_doubts = doubts(store, job)
    if standing_doubts:
        raise InputError([Fault(d.place, f"{d.read}: {d.shows}", f"usual: {d.usual}", d.line)
                          for d in standing_doubts])  # fmt: skip
    kept = {part: store.text(part, job) for part in PARTS}  # type: ignore[arg-type]
    key = key_of({part: text.text for part, text in kept.items()})
    data = {part: text.revision for part, text in kept.items()}
    return store.tasks.ask("study", key, who, job, data)


def only_money(store: Store, job: str) -> bool:
    """Whether nothing but money, a choice or notes changed since the study that is shown."""
    stands = standing(store, job)
    if stands.fresh or stands.doubts or not stands.body:
        return False
    return stands.body == body_of(_texts(store, job))


@router.get("/jobs/{job}/study")
def study_page(request: Request, job: str) -> Response:
    """The study as a whole, or how far it is."""
    return _study_page(request, job)


def _study_page(
    request: Request, job: str, typed: dict[str, str] | None = None, status: int = 200
) -> Response:
    """The study; where something is unusual, what was ``typed`` about it."""
    store = web_of(request).store
    here = store.job(job)
    return page(request, "study", status, here, stands=standing(store, job), promises=PROMISES,
                second_look=typed)  # fmt: skip


@router.post("/jobs/{job}/study")
def ask_study(request: Request, job: str, form: Form) -> Response:
    """Ask for the study, once what is unusual was looked at again."""
    store, who = web_of(request).store, caller_of(request).name
    open_ = doubts(store, job)
    if open_:
        reasons = [_second_look(form, n, doubt) for n, doubt in enumerate(open_)]
        if not all(reasons):
            return _study_page(request, job, form.texts, 422)
        kept = store.text("survey", job)
        there = len(cached.read(kept.text).accepted)
        day = date.today().isoformat()
        entries: dict[tuple[str | int, ...], Any] = {
            ("accepted", there + n): {"warning": doubt.warning, "read": doubt.read,
                                      "reason": reason, "by": who, "date": day}
            for n, (doubt, reason) in enumerate(zip(open_, reasons, strict=True))
        }  # fmt: skip
        store.change_survey(job, entries, kept.revision, who)
    ask(store, job, who)
    return then(f"/jobs/{job}/study")


def _second_look(form: Form, number: int, doubt: Doubt) -> str:
    """Why a figure is kept; "" where the box is not ticked, or it is another figure by now."""
    if not form.get(f"sure.{number}") or form.get(f"doubt.{number}") != f"{doubt}":
        return ""
    reason = form.get(f"reason.{number}").strip()
    return reason if 3 <= len(reason) <= 400 else ""


@router.post("/jobs/{job}/study/cancel")
def cancel_study(request: Request, job: str, form: Form) -> Response:  # noqa: ARG001
    """Stop the study that is under way."""
    store = web_of(request).store
    store.job(job)
    for task in store.tasks.of(job, 5):
        if task.kind == "study":
            store.tasks.cancel(task.id)
    return then(f"/jobs/{job}/study")


def wall_of(store: Store, job: str, wall: int) -> tuple[Standing, Json]:
    """The study of a job, and what it tells of one of its walls."""
    store.job(job)
    stands = standing(store, job)
    if not 1 <= wall <= len(stands.study["walls"]):
        raise Problem(404, "Not found", f"There is no study of wall {wall} of this job.")
    data: Json = stands.study["walls"][wall - 1]
    return stands, data


def _option(data: Json, id: str) -> Json:
    wanted = id or data["chosen"]
    for option in data["options"]:
        if option["id"] == wanted:
            chosen: Json = option
            return chosen
    raise Problem(404, "Not found", "This wall has no such option.")


@router.get("/jobs/{job}/study/{wall}")
def options_page(request: Request, job: str, wall: int) -> Response:
    """One wall: its options side by side, its thickness curve, its answers."""
    store = web_of(request).store
    stands, data = wall_of(store, job, wall)
    results = store.results
    curve = opened(results.get(results.key("curve", stands.base, str(wall))))
    return page(
        request, "options", job=store.job(job), stands=stands, wall=data, number=wall,
        curve=curve, promises=PROMISES, revision=store.text("choices", job).revision,
    )  # fmt: skip


@router.post("/jobs/{job}/study/{wall}/choose")
def choose(request: Request, job: str, wall: int, form: Form) -> Response:
    """Put another option forward for this wall."""
    store, who = web_of(request).store, caller_of(request).name
    _, data = wall_of(store, job, wall)
    option = _option(data, form.get("option"))
    if not option["built"]:
        raise InputError([Fault("option", option["name"], "an option that can be built here")])
    choices = store.choices(job) | {data["name"]: option["id"]}
    try:
        store.choose(job, choices, form.number("revision"), who)
    except StaleError as error:
        raise Problem(409, "Somebody else chose meanwhile", str(error)) from None
    if only_money(store, job):
        ask(store, job, who)  # no wall is computed again, so nobody has to ask for it
    return then(f"/jobs/{job}/study")


@router.get("/jobs/{job}/study/{wall}/thermal.svg")
def thermal_svg(
    request: Request,
    job: str,
    wall: int,
    option: str = "",
    room: float = 21,
    outside: float = 0,
    narrow: bool = False,
) -> Response:
    """The thermal image of one option for any pair of temperatures."""
    store = web_of(request).store
    stands, data = wall_of(store, job, wall)
    style = writing_of(request)
    one, air = _option(data, option), (room, outside)
    drawn = thermal_picture(
        store, job, stands, wall, one["id"], air, style, WIDTHS["narrow" if narrow else "wide"],
        one["name"],
    )  # fmt: skip
    return Response(drawn, media_type="image/svg+xml")


@router.get("/jobs/{job}/study/{wall}/{promise}")
def promise_page(
    request: Request,
    job: str,
    wall: int,
    promise: Literal["warm", "dry", "tight", "legal", "safe", "worth-it"],
    option: str = "",
    room: float | None = None,
    outside: float | None = None,
) -> Response:
    """One promise of one option with all its evidence."""
    store = web_of(request).store
    stands, data = wall_of(store, job, wall)
    chosen, name = _option(data, option), promise.replace("-", " ")
    room = stands.study["room"] if room is None else room
    outside = stands.study["outside"] if outside is None else outside
    images = {}
    if promise == "warm" and chosen["field"]:
        style, air = writing_of(request), (room, outside)
        images = {
            name: thermal_picture(
                store, job, stands, wall, chosen["id"], air, style, width, chosen["name"]
            )
            for name, width in WIDTHS.items()
        }
    try:
        chosen = chosen | evidence_of(store, stands.study, wall, chosen)
    except LookupError:
        raise Problem(404, "Not there any more", "Study the house again.") from None
    findings = [f for f in chosen["findings"] if f["promise"] == name]
    return page(
        request, "promise", job=store.job(job), stands=stands, wall=data, number=wall,
        option=chosen, promise=name, slug=promise, promises=PROMISES, findings=findings,
        images=images, room=room, outside=outside, room_range=_ROOM, outside_range=OUTSIDE_RANGE,
        tones=_TONES,
    )  # fmt: skip


def within(place: str, value: float, ends: tuple[float, float], unit: str = "°C") -> float:
    """A value that somebody chose, where it is between two."""
    low, high = ends
    if not low <= value <= high:
        raise InputError([Fault(place, f"{value:g} {unit}"[:40], f"{low:g} to {high:g} {unit}")])
    return value


def thermal_picture(
    store: Store,
    job: str,
    stands: Standing,
    wall: int,
    option: str,
    air: tuple[float, float],
    style: Style,
    width: float,
    title: str,
) -> str:
    """The image of the kept factors for ``air`` indoors and outdoors; nothing is solved again."""
    import numpy as np

    from warmside import drawings

    room, outside = within("indoors", air[0], _ROOM), within("outdoors", air[1], OUTSIDE_RANGE)
    results = store.results
    data = results.get(results.key("field", stands.body, str(wall), option))
    if data is None:
        raise Problem(404, "Not found", "This option has no solved field.")
    with np.load(io.BytesIO(data), allow_pickle=False) as kept:
        x, z, factor, seen = (kept[name] for name in ("x", "z", "factor", "seen"))
    temperature = outside + (room - outside) * factor.astype(float)
    frame = cached.frame(stands.study["survey"], store.text("catalog", job).text, wall)
    state = say("Room {room}, outside {outside}, steady", room=Figure(room, "temperature"),
                outside=Figure(outside, "temperature"))  # fmt: skip
    return drawings.thermal_image(
        drawings.Thermal(x, z, temperature, seen),
        frame,
        title=title,
        conditions=style.sentence(state),
        scale=_TONES,
        width=width,
        style=style,
    )


@router.get("/jobs/{job}/price")
def price_page(request: Request, job: str) -> Response:
    """Takeoff and price of what is put forward."""
    store = web_of(request).store
    return page(request, "price", job=store.job(job), stands=standing(store, job))


@router.get("/jobs/{job}/proposal.pdf")
def proposal_pdf(
    request: Request,
    job: str,
    language: str = "en",
    paper: Literal["us-letter", "a4"] = "us-letter",
) -> Response:
    """The offer, in the client's language, with the contractor's mark."""
    from warmside.documents import set_offer
    from warmside.web.letterhead import letter_of, style_of_job

    known = next((one for one in OFFERED if one == language), None)
    if known is None:
        raise Problem(404, "Not in this language", f"Offers are written in: {', '.join(OFFERED)}.")
    store = web_of(request).store
    view = opened(_kept_paper(store, job, f"offer-{known}"))
    made = set_offer(view, style_of_job(store, job, known), letter_of(store, job).mark, paper)
    return _file(made, "application/pdf", f"offer-{job}-{known}.pdf")


@router.get("/jobs/{job}/annex.pdf")
def annex_pdf(request: Request, job: str) -> Response:
    """Everything behind the offer."""
    return _paper(request, job, "annex", "application/pdf", f"annex-{job}.pdf")


@router.get("/jobs/{job}/takeoff.pdf")
def takeoff_pdf(request: Request, job: str) -> Response:
    """What it takes and costs: the contractor's own."""
    return _paper(request, job, "takeoff", "application/pdf", f"takeoff-{job}.pdf")


@router.get("/jobs/{job}/study.json")
def study_json(request: Request, job: str) -> Response:
    """The whole study as data."""
    return _paper(request, job, "json", "application/json", f"study-{job}.json")


def _paper(request: Request, job: str, kind: str, media: str, name: str) -> Response:
    data = _kept_paper(web_of(request).store, job, kind)
    return _file(gzip.decompress(data) if kind == "json" else data, media, name)


def _kept_paper(store: Store, job: str, kind: str) -> bytes:
    store.job(job)
    stands = standing(store, job)
    data = store.results.get(store.results.key(kind, stands.shown)) if stands.shown else None
    if data is None and stands.shown and stands.under_way:
        text = "It follows the study in a few seconds."
        raise Problem(503, "The paper is being set", text, wait=3)
    if data is None:
        raise Problem(404, "Not studied yet", "The papers come from the study of this job.")
    return data


def _file(content: bytes, media: str, name: str) -> Response:
    headers = {"content-disposition": f'inline; filename="{name}"'}
    return Response(content, media_type=media, headers=headers)
