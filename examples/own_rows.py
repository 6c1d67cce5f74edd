"""A material and a code pack of your own.

Problem: a contractor uses a fibreboard that the catalog does not know, and works in a town whose
by-law has a value of its own. Both are written as data, a row and a clause. With one inch of foam a
person must decide, with three the wall holds.

Source: thickness over conductivity, 16 mm / 0.048, and permeability over thickness (exact); the
by-law's figure for the degree-days of the station (exact); whether a verdict holds, 1 or 0 (exact).
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from _compared import Compared, compared, show
from _wall import foamed

from warmside.catalog import load, read_code_pack
from warmside.options import permeance
from warmside.physics.conduction import layer_resistance
from warmside.promises import legal

ROW = """
[[material]]
id = "our-fibreboard"
name = "Our fibreboard"
group = "board"
thickness_mm = 16
conductivity_w_mk = 0.048
density_kg_m3 = 250
specific_heat_j_kgk = 1400
permeability_dry_ng_msPa = 30
permeability_wet_ng_msPa = 40
emissivity = 0.9
source_heat = "the maker's sheet"
source_vapour = "the maker's sheet"
"""
PACK = """
id = "our-town"
name = "Our town's by-law (invented)"
country = "Canada"
edition = "2026"
closing = "The official of the town decides."
[[clause]]
number = "4"
title = "Altered walls"
paraphrase = "An altered wall reaches 1.8."
applies_to = "alterations"
tests = [{ fact = "wall_resistance", least_by = "degree_days", bands = [
    [0, 4000, 1.6], [4000, 9000, 1.8]] }]
source = "By-law 12, section 4"
tag = "own figure"
"""
ROW_BY_HAND, BY_LAW = "16 mm / 0.048, 30 ng / 16 mm [exact]", "the by-law's own figure [exact]"


def main(folder: Path | None = None) -> list[Compared]:  # noqa: ARG001 - draws nothing
    """Read both, apply an inch and three inches of foam, and judge."""
    with tempfile.TemporaryDirectory() as work:
        file = Path(work) / "ours.toml"
        file.write_text(ROW, encoding="utf-8")
        rows = load(file)
    answers = []
    for inches in (1, 3):
        built = foamed(inches, rows, "our-fibreboard")
        [told] = legal([read_code_pack(PACK)], built, rows.climates["ottawa"])
        holds, expected = float(told.verdict == "holds"), float(inches == 3)
        answers.append(compared(f"{inches} in.: holds", holds, expected, 0.0, BY_LAW))
    board = next(x for x in built.stacks[0].layers if x.material == "our-fibreboard")
    return [
        compared("our fibreboard, RSI", layer_resistance(board), 1 / 3, 1e-9, ROW_BY_HAND),
        compared("its permeance, ng", permeance([board]) * 1e12, 30 / 0.016, 1e-6, ROW_BY_HAND),
        compared("asked in Ottawa, RSI", told.limit or 0.0, 1.8, 1e-12, BY_LAW),
        *answers,
    ]


if __name__ == "__main__":
    show(main)
