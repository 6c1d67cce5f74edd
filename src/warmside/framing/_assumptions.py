"""What was taken where the survey is silent, and what to look at on site."""

from __future__ import annotations

from collections.abc import Sequence

from warmside.framing._balloon import floor_band
from warmside.framing._braces import bands
from warmside.framing._joints import STOCK
from warmside.framing._openings import EDGE_HEADERS_FROM, Surround
from warmside.framing._pieces import NEAR, Shell
from warmside.wording import Sentence

TALL = 4.0  # [m] a balloon frame higher than this usually passes a floor


def assumptions(shell: Shell, around: Sequence[Surround]) -> tuple[str | Sentence, ...]:
    """Short sentences, each with its ground."""
    taken = [
        *shell.sizes.assumptions,
        *_plate_assumptions(shell),
        *_opening_assumptions(around, shell),
    ]
    wall = shell.wall
    if "three-stud" in (wall.corner_left, wall.corner_right):
        taken.append(
            "Three-stud corners: two studs with 12 in. blocks between, hollow between the blocks"
            " (common practice)."
        )
    if "two-stud" in (wall.corner_left, wall.corner_right):
        taken.append(
            "Two-stud corners: the second stud turned flat, hollow behind (common practice)."
        )
    if any(p.post != "none" for p in wall.partitions):
        taken.append("Partition posts by their usual build (common practice).")
    if wall.braces:
        taken.append("Braces are 1x4 boards let flush into the outer face (common practice).")
    if wall.frame == "balloon":
        taken += _balloon_assumptions(shell)
    return tuple(taken)


def _plate_assumptions(shell: Shell) -> list[str]:
    taken = ["Top plates are doubled (common practice)."]
    if shell.length > STOCK + NEAR:
        taken.append("Plates come 16 ft long, spliced over studs (common practice).")
    if shell.wall.profile:
        taken.append("Each step of the outline has its own plates and a stud (common practice).")
    return taken


def _opening_assumptions(around: Sequence[Surround], shell: Shell) -> list[str]:
    taken = []
    if around:
        taken.append(
            "A trimmer and a king stud stand on each side of an opening (common practice)."
        )
        taken.append(
            "A king or post on the layout takes the layout stud's place (common practice)."
        )
    if any((it.opening.header or shell.wall.header) is None for it in around):
        kind = (
            "flat doubled studs" if shell.sizes.year < EDGE_HEADERS_FROM else "doubled 2x on edge"
        )
        taken.append(
            f"Headers not opened up: {kind}, usual in {shell.sizes.year} (common practice)."
        )
    if any(it.header != "none" and it.opening.header_depth is None for it in around):
        taken.append("Header depth by the span, as much as fits (common practice).")
    if any(it.header == "none" for it in around):
        taken.append("Without a header, one flat 2x closes the head (common practice).")
    if any(it.opening.kind == "door" and it.opening.sill == 0 for it in around):
        taken.append("The bottom plate is cut out across doors (common practice).")
    if any(it.opening.weight_pockets for it in around):
        taken.append(
            "Weight pockets are 2-1/4 in. wide; the trimmers stand outside them (common practice)."
        )
    return taken


def _balloon_assumptions(shell: Shell) -> list[str]:
    taken = ["Studs stand on the sill without a bottom plate (common practice)."]
    if shell.wall.fire_blocks == "unknown":
        taken.append("Fire blocks were not looked for: taken as missing (common practice).")
    if floor_band(shell) is None:
        taken.append("No floor line given: no ribbon or joist ends drawn (common practice).")
    elif shell.wall.ribbon:
        taken.append(
            "Joists bear on a 1x4 ribbon, one beside each stud on layout (common practice)."
        )
    else:
        taken.append("Without a ribbon the joists run along the wall (common practice).")
    return taken


def warnings(shell: Shell, around: Sequence[Surround]) -> tuple[str, ...]:
    """What needs a look on site."""
    found = []
    wall = shell.wall
    if wall.open_through:
        found.append("Bays run on into floor and basement: block and seal them before foaming.")
    if floor_band(shell) and wall.fire_blocks != "present":
        found.append("Behind the floor's edge the bays are reached only through ceiling or floor.")
    if wall.frame == "balloon" and wall.floor_line is None and shell.height > TALL:
        found.append(f"A balloon frame {shell.height:.1f} m high, and no floor line was given.")
    if wall.frame == "platform" and wall.floor_line is not None:
        found.append("A floor line was given for a platform frame: left out.")
    for it in around:
        if it.opening.weight_pockets:
            found.append(f'Opening "{it.opening.name}": empty the weight pockets before foaming.')
        for number, band in enumerate(bands(shell), start=1):
            xs = [band.x0 + (band.x1 - band.x0) * k / 20 for k in range(21)]
            o = it.opening
            if any(it.x0 < x < it.x1 and o.sill < band.middle(x) < it.head for x in xs):
                found.append(f'Brace {number} meets the opening "{o.name}": taken as cut there.')
    return tuple(found)
