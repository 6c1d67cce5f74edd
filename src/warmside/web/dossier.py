"""What pages show of a study, as plain data: made once in the background, kept by its inputs' hash.

The pages never load the solvers; all that they read was written out here.
"""

from __future__ import annotations

import gzip
import hmac
import io
import json
import pickle
import zlib
from collections.abc import Iterator, Mapping
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from warmside.identity import Same
from warmside.store import Store
from warmside.store.results import LARGEST, Results
from warmside.survey import read, without_notes
from warmside.wording import WAYS, Figure, Language, Style, from_plain, to_plain

if TYPE_CHECKING:
    from warmside.catalog import Catalog, Climate
    from warmside.documents import AnnexView, WallPage
    from warmside.physics.climate import HourlyClimate
    from warmside.physics.conduction import WallHeat
    from warmside.promises import Outside
    from warmside.study import OptionStudy, Study, ThicknessCurve, ThicknessStep, WallStudy
    from warmside.study.report import HouseReport

Json = dict[str, Any]
OFFERED: tuple[Language, ...] = ("en", "fr")
SHAPE = "16"  # raised when the pages read another shape, or a study is kept in another
PARTS = ("survey", "prices", "catalog", "choices", "weather")


def key_of(texts: Mapping[str, str]) -> str:
    """Key of the study of these texts."""
    return Results.key("study", SHAPE, *(texts[p] for p in PARTS))


def base_of(texts: Mapping[str, str]) -> str:
    """Key of what the study of these texts computes, whatever is chosen of it."""
    return Results.key("base", body_of(texts), texts["prices"])


def body_of(texts: Mapping[str, str]) -> str:
    """Key of what the study of these texts computes beside money.

    Notes and the way that a survey is written change nothing of it.
    """
    return Results.key("body", SHAPE, _content(texts["survey"]), texts["catalog"], texts["weather"])


@lru_cache(maxsize=32)  # the surveys of the jobs that are looked at now
def _content(survey: str) -> str:
    return without_notes(read(survey)).model_dump_json()


def texts_of(store: Store, job: str, revisions: Mapping[str, Any]) -> dict[str, str]:
    """The texts of a job at these revisions; "" for what was never saved."""
    return {
        part: store.text_at(job, part, int(revisions[part])) if revisions.get(part) else ""
        for part in PARTS
    }


def rows_and_year(texts: Mapping[str, str], climate: str) -> tuple[Catalog, HourlyClimate | None]:
    """The catalog of a job and the hours that somebody sent, at a climate of it; None: no hours."""
    from warmside.store import catalog_of
    from warmside.weather import read_weather, station_of, whole_year

    rows, hours = catalog_of(texts["catalog"]), texts["weather"]
    near = station_of(rows.climate(climate))
    return rows, whole_year(read_weather(hours, near)) if hours.strip() else None


def keep_study(store: Store, body: str, study: Study, secret: bytes) -> None:
    """Keep the study itself, sealed, so that no other choice or price computes it again."""
    data = zlib.compress(pickle.dumps(study), 3)
    if secret and len(data) < LARGEST - 32:
        store.results.keep(store.results.key("whole", body), "whole", _seal(data, secret) + data)


def studied_before(store: Store, texts: Mapping[str, str], secret: bytes) -> Study | None:
    """The study of these texts from one that was kept, by their prices; None: it must be made."""
    from warmside.estimate import read_prices
    from warmside.study import usual_prices, with_prices

    found = kept_study(store, body_of(texts), secret)
    if found is None:
        return None
    text = texts["prices"]
    return with_prices(found, read_prices(text) if text.strip() else usual_prices(found))


def kept_study(store: Store, body: str, secret: bytes) -> Study | None:
    """The study kept under ``body``, by whatever prices, if this installation sealed it."""
    data = store.results.get(store.results.key("whole", body)) if secret else None
    if data is None or not hmac.compare_digest(data[:32], _seal(data[32:], secret)):
        return None
    # only what was written here is read: a store from elsewhere must not run code of its own
    found: Study = pickle.loads(zlib.decompress(data[32:]))  # noqa: S301
    return found


def _seal(data: bytes, secret: bytes) -> bytes:
    return hmac.digest(secret, b"study" + data, "sha256")


def keep_papers(store: Store, texts: Mapping[str, str], study: Study, today: date) -> None:
    """Keep what takes long to set: what offers are set from, annex, takeoff, the study as data."""
    from warmside.documents import annex, annex_view, offer_view, style_of, takeoff
    from warmside.study import json_text

    view, results, key = annex_view(study, today), store.results, key_of(texts)
    for language in OFFERED:
        # set when it is asked for, with the mark and on the paper of the day
        offer = compressed(offer_view(study, today, style_of(study, language)))
        results.keep(results.key(f"offer-{language}", key), "offer", offer)
    whole = gzip.compress(json_text(study).encode(), 5)
    results.keep(results.key("json", key), "json", whole)
    results.keep(results.key("annex", key), "annex", annex(view))
    results.keep(results.key("takeoff", key), "takeoff", takeoff(view))


def has_papers(store: Store, texts: Mapping[str, str]) -> bool:
    """Whether ``keep_papers`` was done."""
    return store.results.get(store.results.key("takeoff", key_of(texts))) is not None


def keep_pages(store: Store, texts: Mapping[str, str], study: Study, today: date) -> Iterator[None]:
    """Keep what pages show, by steps: between two of them somebody else may be served."""
    from warmside.documents import annex_view
    from warmside.study.report import report

    results, key, body = store.results, key_of(texts), body_of(texts)
    evidence = []
    for number, wall in enumerate(study.walls, 1):
        lasting = tuple(option.lasting for option in wall.options)
        place, data = _evidence(lasting, Same(study.outside))
        evidence.append(place)
        if results.get(place) is None:
            results.keep(place, "evidence", data)
        for option in wall.options:
            if option.warm.field is not None:
                place = results.key("field", body, str(number), option.option.id)
                if results.get(place) is None:
                    results.keep(place, "field", _factors(option.warm.field))
        yield
    told = report(study, (_MONEY,))
    yield
    view = annex_view(study, today, told=told)
    yield
    names = {"base": base_of(texts), "body": body, "evidence": evidence}
    shown = names | _dossier(study, told, view, texts["survey"])
    yield
    results.keep(key, "study", compressed(shown))  # last: nothing is shown by halves


def has_pages(store: Store, texts: Mapping[str, str]) -> bool:
    """Whether ``keep_pages`` was done, and nothing of it is gone."""
    found, results = opened(store.results.get(key_of(texts))), store.results
    return found is not None and all(results.get(place) for place in found["evidence"])


def evidence_of(store: Store, study: Json, wall: int, option: Json) -> Json:
    """Findings of an option of a wall, numbered from 1, and its section by unit of temperature.

    Raises
    ------
    LookupError
        They were dropped: the house is studied again.
    """
    data = opened(store.results.get(study["evidence"][wall - 1]))
    if data is None:
        raise LookupError(option["id"])
    known: Json = data[option["id"]]
    return known | {"findings": [*known["findings"], *option["findings"]]}


_MONEY = "worth it"  # the promise whose findings other prices change


@lru_cache(maxsize=64)  # the walls of a few houses: other prices leave them as they are
def _evidence(options: tuple[Same[OptionStudy], ...], outside: Same[Outside]) -> tuple[str, bytes]:
    """Key and content of what proves a wall's options, money apart: it names its content."""
    from warmside.documents.wall_page import option_section
    from warmside.study.report import finding_report

    told = {}
    for one in options:
        option, built = one.value, one.value.build_up.can_be_built
        told[option.option.id] = {
            "findings": [finding_report(f) for f in option.findings if f.promise != _MONEY],
            "section": {
                degrees: option_section(one, outside, 420.0, Style(temperature=degrees))
                for degrees in (WAYS["temperature"] if built else ())
            },  # whoever reads it chooses
        }
    data = compressed(told)
    return Results.key("evidence", SHAPE, data), data


def keep_curve(store: Store, base: str, wall: int, curve: ThicknessCurve, climate: Climate) -> None:
    """Keep the thickness curve of a wall."""
    from warmside.documents.evidence import thickness_chart
    from warmside.promises import banded

    def row(step: ThicknessStep) -> Json:
        cost, worth = step.further_cost, step.further_value
        return {
            "name": step.option.name,
            "rsi": step.resistance,
            "cost": None if cost is None else Figure(cost, "money"),
            "worth": worth and banded(worth, "money"),
            "refused": step.refused,
        }

    drawn = thickness_chart(curve, climate, 820.0, str(curve.sentence))
    told = {"svg": drawn, "sentence": curve.sentence, "currency": curve.currency}
    place = store.results.key("curve", base, str(wall))
    store.results.keep(place, "curve", compressed(told | {"rows": list(map(row, curve.steps))}))


def compressed(value: object) -> bytes:
    """Figures, sentences and plain data as compressed JSON, whenever the same; see `opened`."""
    return gzip.compress(json.dumps(to_plain(value), ensure_ascii=False).encode(), 5, mtime=0)


def opened(data: bytes | None) -> Any:
    """What was kept as compressed JSON; None where there is nothing."""
    return None if data is None else json.loads(gzip.decompress(data), object_hook=from_plain)


def _factors(heat: WallHeat) -> bytes:
    """The factor map of the room side, a few kilobytes."""
    import numpy as np

    file = io.BytesIO()
    np.savez_compressed(
        file, x=heat.x, z=heat.z, factor=heat.factor, seen=heat.seen, allow_pickle=False
    )
    return file.getvalue()


def _dossier(study: Study, report: HouseReport, view: AnnexView, survey: str) -> Json:
    """The report, with the drawings, advice and answers of each wall beside it."""
    from warmside.documents.typesetting import cited
    from warmside.study import answers
    from warmside.study.report.letters import insurer_letter, permit_letter, rebate_file
    from warmside.study.report.offer import advice_of, offer_report
    from warmside.study.report.orders import orders
    from warmside.study.report.wishes import ways

    def beside(wall: WallStudy, page: WallPage) -> Json:
        return {
            "advice": advice_of(wall, study),
            "ways": ways(wall, study),
            "chart": page.chart.svg,
            "images_note": page.images_note.text if page.images_note else "",
            "answers": answers(study, wall.wall.name),
        }

    walls = zip(report.walls, study.walls, view.walls, strict=True)
    return vars(report) | {
        "survey": survey,
        "made": view.date.isoformat(),
        "offer": offer_report(study, view.date),
        "asked": _asked(study),
        "papers": {
            "orders": orders(study),
            "permit": permit_letter(study),
            "insurer": insurer_letter(study),
            "rebate": rebate_file(study),
        },
        "frontier": view.frontier.svg if view.frontier else "",
        "sources": cited(view),
        "walls": [vars(told) | beside(wall, page) for told, wall, page in walls],
    }


def _asked(study: Study) -> Json:
    """What a contract asks for, amounts to the cent as text."""
    price, prices, terms = study.price, study.prices, study.prices.terms
    return {
        "currency": price.currency,
        "before_tax": str(price.before_tax),
        "taxes": [{"name": name, "amount": str(amount)} for name, amount in price.taxes],
        "rates": [{"name": name, "share": str(rate)} for name, rate in prices.taxes],
        "stages": [{"name": s.name, "share": str(s.share)} for s in terms.stages],
        "holdback": str(terms.holdback),
        "plan": study.plans.best.name if study.follows_plan else "",
        "missing": list(price.missing),
    }
