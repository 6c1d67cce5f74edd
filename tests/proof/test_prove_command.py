"""``warmside prove`` as a person uses it: papers, or faults in words, never a traceback."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from test_cli import SMALL
from warmside.cli import main

PROOF = """
closed = 2026-10-09
acceptance = "minimum"
[[wall]]
name = "north"
option = "cc-51"
[[wall.probe]]
bay = "bay 2"
thickness = "2 in"
[[wall.probe]]
bay = "bay 3"
thickness = "1-1/2 in"
[[wall.probe]]
bay = "bay 4"
thickness = "2-1/8 in"
"""


def run(folder: Path, proof: str) -> Result:
    (folder / "house.toml").write_text(SMALL, encoding="utf-8")
    (folder / "proof.toml").write_text(proof, encoding="utf-8")
    words = ["prove", str(folder / "house.toml"), str(folder / "proof.toml"), "--by", "A. Smith"]
    return CliRunner().invoke(main, words)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """A study without fields and years: what is proven here does not rest on them."""
    from warmside.study import study

    def studied(survey, rows, *_more):  # type: ignore[no-untyped-def]
        return study(survey, rows, fields=False, years=0)

    monkeypatch.setattr("warmside.cli._study", studied)


@pytest.mark.usefixtures("quick")
def test_papers(tmp_path: Path):
    found = run(tmp_path, PROOF)
    assert found.exit_code == 0, found.output
    data = json.loads((tmp_path / "house-papers" / "close-out.json").read_text("utf-8"))
    # exact: 1-1/2 in. is 12.7 mm short of 2 in., so the minimum is broken
    assert data["walls"][0]["thickness"]["verdict"] == "falls short"
    assert data["left_to_do"][0]["where"] == "bay 3"
    assert (tmp_path / "house-papers" / "close-out.pdf").read_bytes()[:5] == b"%PDF-"


@pytest.mark.usefixtures("quick")
def test_a_picture_is_looked_for_beside_the_file_only(tmp_path: Path):
    mark = '{ column = 1, row = 1, x = "0 m", z = "0 m" },'
    shot = (
        '[[wall.picture]]\nfile = "../../etc/hostname"\nroom = "21 C"\noutside = "0 C"\n'
        f"marks = [{mark * 4}]\n"
    )
    found = run(tmp_path, '[[wall]]\nname = "north"\noption = "cc-51"\n' + shot)
    assert found.exit_code == 1
    assert "No such file" in found.output
    assert str(tmp_path / "hostname") in found.output


def test_faults_come_before_minutes_of_work(tmp_path: Path):
    # what is wrong with the file itself is told before anything is studied
    for proof, said in (
        ("closed = [", "proof file"),
        ('[[wall]]\nname = "north"\nthick = 2', "no key of that name"),
        ('acceptance = "so so"', "average"),
    ):
        found = run(tmp_path, proof)
        assert found.exit_code == 1
        assert said in found.output
        assert "Traceback" not in found.output


@pytest.mark.parametrize(
    ("words", "told", "code"),
    [
        ([], "empty bay found practically always", 0),
        (["--outside", "18 C"], "between room and outside", 1),
        (["--room", "soon"], "soon", 1),
        (["--camera", "-1"], "camera, contrast", 1),
        (["--option", "leave"], "nothing to prove", 0),
        (["--outside", "12 C", "--camera", "0.5"], "half-filled bay found about", 0),
    ],
)
def test_what_will_be_shown_is_told_beforehand(
    tmp_path: Path, words: list[str], told: str, code: int
):
    # common practice, no source: at 20 K an empty bay stands out, and at 8 K a blunt camera no
    # longer shows every half-filled one
    house = tmp_path / "house.toml"
    house.write_text(SMALL, encoding="utf-8")
    found = CliRunner().invoke(main, ["foresee", str(house), "--option", "cc-51", *words])
    assert (found.exit_code != 0) == bool(code), found.output
    assert told in found.output
    if not code and "leave" not in words:
        assert "verdicts in 100 such walls" in found.output
        assert "as sold: holds" in found.output
