"""Papers: set, read back by another library, and looked at."""

from __future__ import annotations

import io
import subprocess
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from fontTools.ttLib import TTFont
from PIL import Image
from pypdf import PdfReader

from warmside.documents import AnnexView, PaperError, Picture, WallPage, annex, takeoff
from warmside.documents.typesetting import FONTS, Written, cited, covered
from warmside.drawings import Bar, thickness_bars
from warmside.errors import InputError
from warmside.study.report import (
    Fact,
    HouseReport,
    Line,
    OptionReport,
    Statement,
    Sum,
    WallReport,
)
from warmside.wording import Figure, Sentence, Source, plain

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}" '
    'font-family="Inter"><rect x="1" y="1" width="{x}" height="{y}" fill="none" '
    'stroke="currentColor"/><text x="20" y="40" font-size="11">{t}</text></svg>'
)


RESISTANCES = Source("An invented table of resistances, row 4", "invented")
SIZES = Source("An invented table of lumber sizes", "from memory")
METER = Source("A meter's manual", "invented")


def note(text: str, *sources: Source) -> Statement:
    return Statement(plain(text), sources)


def line(name, amount, unit, how, price, total, *sources) -> Line:
    listed = Figure(float(amount), "number")
    return Line(name, listed, listed, unit, plain(how), price, total, sources)


def picture(name: str, w: int, h: int) -> Picture:
    return Picture(SVG.format(w=w, h=h, x=w - 2, y=h - 2, t=name), f"{name} of an invented wall")


def option(name, r, *, refusals=(), price="4,120.00") -> Written:
    """An option whose framed wall is R-``r``."""

    def resistance(value: float) -> Figure:
        return Figure(value * 0.1761102, "resistance")

    made = OptionReport(
        id=name, name=name, built=not refusals, keeps=True, refusals=tuple(refusals), cautions=(),
        resistance=resistance(r), between=resistance(r + 4.0), parallel=resistance(r + 0.9),
        planes=resistance(r - 0.5), combined=resistance(r + 0.4),
        coldest=Figure(16.2, "temperature"), coldest_is="holds", water=plain("38, dries"),
        water_is="falls short" if r < 5 else "holds", foam=None,
        saving=Figure(310.0, "money", currency="CAD", low=250.0, high=370.0), price=price,
        field=True, verdicts={"warm": "holds", "dry": "falls short" if r < 5 else "holds"},
        findings=(), sources=(SIZES,),
    )  # fmt: skip
    return Written(vars(made) | {"foam": "412"})


def wall(i: int, elevation: Picture | None = None, section: Picture | None = None) -> WallPage:
    proposed = "3 in closed-cell foam, joints sealed"
    return WallPage(
        report=WallReport(
            name=f"Wall {i}: north front, first floor",
            chosen=proposed,
            why=plain("Warmest that fits the bays with room for the drywall to stay clear, and it "
                      "dries each summer in the monthly balance."),
            price="4,120.00",
            verdicts={"warm": "holds", "dry": "falls short"},
            facts=(),
            found=(note("Slumped rock wool in the upper third of the bays.", RESISTANCES),
                   note("No vapour control; plaster on wood lath.")),
            mend_first=(note("Flashing over window W2 leaks: mend before closing the wall."),
                        note("Moisture reading of 24 % at the sill: find the source.", METER)),
            takeoff=(
                line("Closed-cell foam", "455", "board ft",
                     "412 board ft in 19 bays, waste 10 %", "1.90", "864.50", SIZES),
                line("Sealant", "62.4", "m", "joints of 62.4 m at a 6 mm bead", "0.90", "56.16"),
                line("Labour", "14.5", "h", "two passes, set-up 3 h", "68.00", "986.00"),
            ),
            sums=(Sum("Cost", "3,120.00"), Sum("Margin", "624.00"),
                  Sum("Sales tax 10 %", "376.00"), Sum("Total", "4,120.00", strong=True)),
            options=(),
        ),
        facts=(
            Written(Fact("Length", plain("24'-0\""))),
            Fact("Height", plain("17'-0\"")),
            Fact("Frame", plain("balloon, 2x4 at 16 in")),
            Fact("Built", plain("1931")),
            Fact("Faces", plain("north")),
            Fact("Framing share", plain("23 %")),
            Fact("Net area", plain("352 ft² (32.7 m²)")),
        ),
        options=(
            option("Leave as found", 3.1, price=""),
            option("Batt and polyethylene", 9.6),
            option("2 in closed-cell foam and batt", 12.4),
            option(proposed, 14.8),
            option("Open-cell foam, full depth", 11.2),
            option("Foam and outside board", 21.0, price="7,930.00"),
            option(
                "5 in closed-cell foam", 20.0,
                refusals=("The bay is 3 5/8 in deep; instead: furring of 1 1/2 in.",),
            ),
        ),
        elevation=elevation or picture("elevation", 720, 300),
        section=section or picture("section", 490, 230),
        chart=picture("water through the year", 540, 240),
    )  # fmt: skip


def house(**changes) -> HouseReport:
    base = HouseReport(
        currency="CAD", price_list="Example prices", prices_invented=True, room=21.0,
        outside=-25.0,
        headline=(
            note("The walls lose heat through empty and slumped bays; the coldest corner falls "
                 "below the dew point of the room air on a design night."),
            note("We propose closed-cell foam from the inside with sealed joints on two walls: "
                 "the walls become about five times as warm.", SIZES),
            note("Two things must be mended first, and old wiring must be cleared by an "
                 "electrician."),
        ),
        conditions=plain("R in ft² °F h/Btu, RSI in m² K/W. Surfaces at −25 °C outside, 21 °C and "
                         "35 % relative humidity inside."),
        comparison=plain(""),
        totals=(Sum("Before tax", "7,488.00"), Sum("Total", "8,240.00", strong=True)),
        whole=(),
        assumptions=(note("Stud sizes are those usual in 1931.", SIZES),
                     note("Indoor humidity is taken as 35 %.")),
        takeoff=(), walls=(), plans=(), advice=(), order=(),
    )  # fmt: skip
    return replace(base, **changes)


def reported(page: WallPage, **changes) -> WallPage:
    """A wall of which something else is reported."""
    return replace(page, report=replace(page.report, **changes))


def view(count: int = 2, **changes) -> AnnexView:
    pages = tuple(wall(i) for i in range(1, count + 1))
    base = AnnexView(
        house="The house on Mill Lane", place="Lower Tamber, an invented town",
        client="The owners", date=date(2026, 11, 24), prepared_by="Demonstration",
        report=house(),
        walls=pages,
        gates=(
            ("Knob-and-tube wiring", "north front, upper floor", "suspected",
             "a licensed electrician, in writing"),
            ("Vermiculite", "attic", "suspected", "laboratory sample; asbestos contractor"),
        ),
        cautions=("Foam must be covered by a thermal barrier as the local code asks.",
                  "The local code and the official decide."),
        columns={"combined": (RESISTANCES,), "between": (SIZES,)},
        prices_invented=True,
    )  # fmt: skip
    return replace(base, **changes)


HOSTILE = (
    '#import "x.typ": * #panic() $x$ <script>alert(1)</script> *b* _i_ `c` \\ @ref = // [ ] "q"'
)
NAME = HOSTILE + " \u202eright to left\u202c \x00\x07 日本 🙂 Ünïcødé Ωж " + "n" * 300


def pages(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def together(text: str) -> str:
    """Text without its spaces, so that line breaks do not matter."""
    return "".join(text.replace("\u200b", "").split())


def everywhere(value, text):
    """``value`` with every text in it replaced."""
    if isinstance(value, str):
        return text
    if isinstance(value, Picture):
        return replace(value, alt=text)
    if isinstance(value, Sentence):
        return plain(text)
    if isinstance(value, Figure):
        return value
    if isinstance(value, dict):
        return {k: v if k in _KEPT else everywhere(v, text) for k, v in value.items()}
    if isinstance(value, tuple):
        return tuple(everywhere(item, text) for item in value)
    if hasattr(value, "__dataclass_fields__"):
        return replace(
            value, **{k: everywhere(v, text) for k, v in vars(value).items() if k not in _KEPT}
        )
    return value


_KEPT = {"verdicts", "coldest_is", "water_is", "paper", "columns", "country", "tag"}


def test_each_wall_takes_exactly_one_page():
    text = pages(annex(view(3)))
    # first page, three walls, water through the year, what the figures rest on
    assert len(text) == 6
    for i in (1, 2, 3):
        on = [k for k, page in enumerate(text, 1) if "The options side by side" in page
              and f"Wall {i}: north front" in page]  # fmt: skip
        assert on == [i + 1]
    assert all(f"page {k} of 6" in page for k, page in enumerate(text, 1))
    assert all("The house on Mill Lane" in page for page in text)


def test_the_paper_says_its_figures_with_their_units_and_sources():
    text = pages(annex(view(1)))
    for said in (
        "R-14.8",
        "RSI 2.61",
        "16.2 °C",
        "61 °F",
        "CAD 4,120.00",
        "310",
        "250–370",
        "24 November 2026",
        "[2]",
    ):
        assert any(said in page for page in text), said
    assert "Mend first" in text[1]
    assert "Cannot be built here: 5 in closed-cell foam. The bay is" in together_spaces(text[1])
    assert "×dry" in together(text[0])
    assert "×dry" in together(text[1])
    assert "× falls short of it" in text[1]
    assert "An invented table of lumber sizes" in text[3]
    assert "(from memory)" in text[3]


def test_cost_hours_and_margin_stand_in_the_contractor_s_takeoff_alone():
    """Common practice, no source: a client pays a price, and is not shown what makes it."""
    own = together_spaces(" ".join(pages(takeoff(view(1)))))
    client = together_spaces(" ".join(pages(annex(view(1)))))
    for said in ("412 board ft in 19 bays, waste 10 %", "Margin", "624.00", "Labour", "14.5"):
        assert said in own, said
        assert said not in client, said
    assert "for the contractor alone" in own.lower()


def together_spaces(text: str) -> str:
    return " ".join(text.split())


def test_every_reference_links_to_its_source():
    reader = PdfReader(io.BytesIO(annex(view(1))))
    last = len(reader.pages) - 1
    links = [
        note.get_object()
        for page in reader.pages
        for note in page.get("/Annots", [])
        if note.get_object()["/Subtype"] == "/Link"
    ]
    assert len(links) > 7
    named = reader.named_destinations
    where = []
    for link in links:
        aim = (link.get("/Dest") or link["/A"]["/D"]).get_object()
        page = aim[0] if isinstance(aim, list) else named[str(aim)].page
        where.append(reader.get_page_number(page.get_object()))
    assert set(where) == {last}


def test_invented_prices_are_marked_on_every_page():
    assert all("prices are invented" in page for page in pages(annex(view(1))))
    owned = pages(annex(view(1, prices_invented=False)))
    assert not any("prices are invented" in page for page in owned)


def test_the_same_view_gives_the_same_bytes():
    assert annex(view(2)) == annex(view(2))


def test_the_file_is_tagged_titled_dated_and_carries_only_the_shipped_font():
    reader = PdfReader(io.BytesIO(annex(view(1))))
    assert reader.metadata.title == "Annex: The house on Mill Lane"
    assert reader.metadata.creation_date.date() == date(2026, 11, 24)
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"] == "en"
    fonts = {
        str(font.get_object()["/BaseFont"]).split("+")[-1]
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert fonts
    assert all(font.startswith("Inter") for font in fonts), fonts


def test_the_file_says_that_it_is_read_aloud_and_kept():
    """ISO 14289-1 (PDF/UA-1) and ISO 19005-2, level A (PDF/A-2a), as XMP of the file says them."""
    reader = PdfReader(io.BytesIO(annex(view(1))))
    said = reader.trailer["/Root"]["/Metadata"].get_object().get_data().decode("utf-8")
    for words in ("<pdfuaid:part>1<", "<pdfaid:part>2<", "<pdfaid:conformance>A<"):
        assert words in said, words
    # ISO 19005-2, 6.2.3: an output intent names the colours
    assert reader.trailer["/Root"]["/OutputIntents"][0]["/S"] == "/GTS_PDFA1"


@pytest.mark.parametrize("paper", ["us-letter", "a4"])
def test_hostile_text_comes_out_as_it_went_in(paper):
    hostile = everywhere(view(1), HOSTILE)
    page = replace(reported(hostile.walls[0], name=NAME, chosen=NAME), options=(option(NAME, 3.0),))
    hostile = replace(hostile, house=NAME, walls=(page,), paper=paper)
    text = together("".join(pages(annex(hostile))))
    assert together(HOSTILE) in text
    assert together("Ünïcødé Ωж") in text
    assert "n" * 300 in text
    assert "□□" in text  # letters that the font lacks


def test_empty_lists_and_texts_leave_a_readable_paper():
    bare = AnnexView(
        house="x", place="", client="", date=date(2026, 1, 1), prepared_by="",
        report=house(headline=(), totals=(), conditions=plain(""), assumptions=()), walls=(),
    )  # fmt: skip
    text = pages(annex(bare))
    assert len(text) == 2
    assert "No wall was studied." in text[0]
    empty = reported(replace(wall(1), facts=()), found=(), mend_first=(), takeoff=(), sums=())
    empty = replace(empty, options=())
    assert "No option was studied." in pages(annex(view(1, walls=(empty,))))[1]


def test_many_options_and_findings_still_fit_the_page():
    full = wall(1)
    many = replace(
        reported(full, found=full.report.found * 3, mend_first=full.report.mend_first * 2),
        options=(*full.options, *(option(f"Option {i}", 9.6) for i in range(5))),
    )
    assert len(pages(annex(view(1, walls=(many,))))) == 4
    assert len(pages(annex(view(1, walls=(many,), paper="a4")))) == 4


def test_sources_are_numbered_in_the_order_in_which_they_stand():
    made = view(1)
    # the house's first, then the wall's own
    assert cited(made) == (SIZES, RESISTANCES, METER)
    text = " ".join(pages(annex(made)))
    for number, source in enumerate(cited(made), 1):
        assert together(f"[{number}]{source.text}") in together(text)


def test_a_drawing_without_words_is_refused():
    page = replace(wall(1), elevation=replace(picture("e", 10, 10), alt=" "))
    with pytest.raises(InputError, match="no words"):
        annex(view(1, walls=(page,)))


def test_a_picture_takes_the_words_of_its_drawing():
    svg = thickness_bars([Bar("a & b", 1.0, "R-1")], unit="m² K/W", title="R <now>")
    assert Picture.of(svg).alt == "R <now>. In m² K/W: a & b: R-1."


def test_a_broken_drawing_is_told_as_a_paper_error():
    page = replace(wall(1), elevation=Picture("<svg", "half a drawing"))
    with pytest.raises(PaperError, match="annex"):
        annex(view(1, walls=(page,)))


def test_letters_that_can_be_set_are_those_that_every_style_of_the_font_has():
    # reference library: fontTools reads the character maps from the font files themselves
    maps = []
    for path in sorted(FONTS.glob("*.otf")):
        with TTFont(path, lazy=True) as font:
            maps.append(frozenset(font.getBestCmap()))
    both = frozenset(map(chr, frozenset.intersection(*maps)))
    assert len(maps) == 4
    assert covered("".join(sorted(both))) == "".join(sorted(both))
    others = "".join(chr(c) for c in range(0x20, 0xD800) if chr(c) not in both)
    assert set(covered(others)) == {"□"}


@pytest.mark.part("pdftoppm")
def test_every_page_has_ink_and_clear_margins(tmp_path):
    (tmp_path / "p.pdf").write_bytes(annex(view(2)))
    subprocess.run(["pdftoppm", "-r", "40", "-gray", "p.pdf", "page"], cwd=tmp_path, check=True)
    seen = sorted(tmp_path.glob("page*.pgm"))
    assert len(seen) == 5
    for file in seen:
        image = np.asarray(Image.open(file))
        ink = image < 128
        assert 0.002 < ink.mean() < 0.25
        edge = 12  # 0.3 in at 40 per inch
        inner = ink.copy()
        inner[edge:-edge, edge:-edge] = False
        assert not inner.any()
