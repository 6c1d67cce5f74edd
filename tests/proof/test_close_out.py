"""The close-out papers: nothing hidden, every figure with its unit, R from the product's table."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
from dataclasses import replace
from datetime import UTC, date
from pathlib import Path

import pytest
from pypdf import PdfReader

from proof.conftest import Case
from proof.test_proven import measured_wall
from proof.test_proven import sold as sold  # the fixture
from warmside.documents import (
    SitePhoto,
    close_out,
    close_out_csv,
    close_out_json,
    close_out_view,
    write_close_out,
)
from warmside.physics.airflow import single_point
from warmside.proof import fan_change
from warmside.study import Proven, Study, prove
from warmside.works import house_works

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def proven(case: Case, sold: Study) -> Proven:
    bay = next(b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3)
    foam = {b.name: case.option.thickness for b in case.frame.bays} | {bay: 0.0}
    joints = sold.walls[0].chosen.change.removed
    fan = fan_change(single_point(50.0, 0.6), single_point(50.0, 0.5), joints)
    return prove(sold, replace(measured_wall(case, foam), fan=fan, synthetic=True))


def test_receipt_takes_r_from_the_table_part_by_part(case: Case, proven: Proven):
    # published (16 CFR 460.17): R for the thickness installed, never that of one inch times inches
    usual = proven.study.catalog.foam(case.option.foam or "")
    foam = replace(usual, conductivity_by_thickness=((0.025, 0.030), (0.1, 0.022)))  # invented
    catalog = replace(proven.study.catalog, foams={**proven.study.catalog.foams, foam.id: foam})
    view = close_out_view(replace(proven, study=replace(proven.study, catalog=catalog)), DAY)
    rsi = case.option.thickness / foam.conductivity(case.option.thickness)
    one_inch = 0.0254 / foam.conductivity(0.0254) * case.option.thickness / 0.0254
    assert abs(rsi - one_inch) > 0.02
    assert f"(RSI {rsi:.2f})" in view.receipt[0]["resistance"]
    assert view.receipt[1]["resistance"] == "none"
    assert len(view.receipt) == 2


@pytest.mark.part("pdftotext")
def test_paper_hides_nothing(proven: Proven, tmp_path: Path):
    # common practice: what falls short stands on the first page
    jpeg = _jpeg()
    photo = SitePhoto(proven.walls[0].wall.wall.name, "after the work", jpeg, 40, 30)
    pdf = close_out(close_out_view(proven, DAY, photos=(photo,), re_entry="24 h <b> & later"))
    assert pdf == close_out(
        close_out_view(proven, DAY, photos=(photo,), re_entry="24 h <b> & later")
    )
    file = tmp_path / "close-out.pdf"
    file.write_bytes(pdf)
    run = subprocess.run(["pdftotext", "-layout", file, "-"], capture_output=True, check=True)
    text = run.stdout.decode()
    first = text.split("\f")[0]
    assert "fall short" in first
    assert "Spray" in first
    assert "Synthetic." in first
    for words in ("24 h <b> & later", "Warranty", "Signatures", "Day records", "after the work"):
        assert words in text
    assert "nan" not in text.lower().split()


def test_the_first_line_says_what_was_recorded(sold: Study):
    """One gate and three joints recorded: the first line says so, and nothing more is claimed."""
    from datetime import datetime
    from types import SimpleNamespace

    from warmside.proof import Measured
    from warmside.site import plan_wall, read_log

    wall = sold.walls[0]
    plan = plan_wall(wall.chosen.build_up, wall.wall, sold.survey, sold.catalog)
    at = datetime(2026, 11, 24, 15, tzinfo=UTC)
    step, runs = plan.steps[0], plan.runs[:3]

    def record(kind: str, n: int, data: dict[str, object]) -> SimpleNamespace:
        told = {"at": at.isoformat(), **data}
        return SimpleNamespace(id=f"record-{n}", kind=kind, wall=wall.wall.name, data=told,
                               replaces="", at=at, who="anna")  # fmt: skip

    signed = {"name": "Anna", "gate": step.id, "passed": True, "checks": []}
    records = [record("gate", 0, signed)]
    records += [record("joint", n, {"run": run.key, "state": "sealed"})
                for n, run in enumerate(runs, 1)]  # fmt: skip
    log = read_log(records)
    assert len(log.entries) == 4
    nothing = Measured()
    view = close_out_view(prove(sold, nothing), DAY, log=log, plans=[plan])
    gates, joints = len(plan.steps), len(plan.runs)
    assert gates > 1
    assert joints > 3
    assert str(view.headline[0].text) == (
        f"Recorded: 1 of {gates} gates passed, 3 of {joints} joints sealed."
    )
    assert str(view.headline[1].text) == "Nothing was measured: no promise is proven."
    assert str(view.headline[2].text) == f"Not recorded as finished: {wall.wall.name}."
    told = " ".join(str(note.text) for note in view.headline)
    assert "insulated" not in told
    assert "No promise falls short" not in told
    bare = close_out_view(prove(sold, nothing), DAY)
    assert str(bare.headline[0].text).startswith("No day record was kept")


def test_every_work_has_its_line_and_nobody_is_said_to_have_signed(proven: Proven):
    view = close_out_view(proven, DAY)
    for wall, told in zip(proven.walls, view.walls, strict=True):
        assert [row["name"] for row in told.works] == [item.name for item in wall.promised.works]
        for row, item in zip(told.works, wall.promised.works, strict=True):
            assert row["signed"] == "not signed"
            assert str(item.quantities[0].how) in str(row["what"])
            assert row["warranty"] == item.warranty
    assert sum(len(wall.works) for wall in view.walls) > 5
    assert [row["name"] for row in view.house_works] == [
        work.name for work in house_works(foam=True, flames=True)
    ]
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(close_out(view))).pages)
    for row in (*view.walls[0].works, *view.house_works):
        assert row["name"] in " ".join(text.split()), row["name"]


def test_what_is_computed_never_stands_under_measured(proven: Proven):
    view = close_out_view(proven, DAY)
    rows = [k for wall in view.walls for k in wall.kept] + list(view.house_kept)
    read = [row for row in rows if row["measured"]]
    assert read
    assert all(row["basis"] == "measured" for row in read)
    assert any(row["computed"] for row in rows)
    for row in rows:
        assert not (row["measured"] and row["computed"])


def _jpeg() -> bytes:
    from PIL import Image

    buffer = io.BytesIO()
    Image.new("RGB", (40, 30), (120, 90, 60)).save(buffer, "JPEG")
    return buffer.getvalue()


def test_machines_read_units_in_the_names(proven: Proven):
    data = json.loads(close_out_json(proven, DAY))
    assert data["synthetic"] is True
    units = ("_m", "_m2", "_m3", "_k", "_c", "_kg_kg", "_m2k_w", "_per_h", "_m3_s", "_kg_m3",
             "_board_feet")  # fmt: skip
    plain = {"removed", "removed_low", "removed_high", "joints_reckoned", "explained_by_joints",
             "likeness", "weight", "close_out", "probes", "probes_asked", "figure", "least",
             "promised", "measured", "limit", "indoor_humidity", "least_shown"}  # fmt: skip

    def walk(value: object, key: str = "") -> None:
        if isinstance(value, dict):
            for name, item in value.items():
                walk(item, name)
        elif isinstance(value, list):
            for item in value:
                walk(item, key)
        elif isinstance(value, (int, float)) and not isinstance(value, bool):
            assert key.endswith(units) or key in plain, key

    walk(data)
    fan = data["fan_test"]
    # exact: one less the ratio of both flows
    assert fan["removed"] == pytest.approx(1 - 0.5 / 0.6, rel=1e-9)
    sources = re.findall(r'"source": "([^"]*)"', close_out_json(proven, DAY))
    assert sources
    assert all(sources)


def test_grant_row_adds_up(case: Case, proven: Proven):
    (row,) = csv.DictReader(io.StringIO(close_out_csv(proven)))
    # exact: area of the bays; a bay without foam takes its share of the mean
    area = sum(b.rect.area for b in case.frame.bays)
    assert float(row["area_m2"]) == pytest.approx(area, abs=0.006)
    assert float(row["area_ft2"]) == pytest.approx(area / 0.3048**2, abs=0.06)
    assert float(row["thickness_installed_mean_mm"]) < float(row["thickness_sold_mm"])
    assert row["verdict_warm"] == "falls short"
    assert row["synthetic"] == "true"


def test_files_are_written_whole(proven: Proven, tmp_path: Path):
    names = [p.name for p in write_close_out(proven, tmp_path / "out", DAY)]
    assert names == ["close-out.pdf", "close-out.json", "close-out.csv"]
    # besides the mark by which a later run knows its own files
    left = {p.name for p in (tmp_path / "out").iterdir()} - {".warmside.json"}
    assert sorted(left) == sorted(names)
