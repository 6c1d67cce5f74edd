"""What must be looked at, tested or made dead before a wall is opened: one work for each trade."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from types import MappingProxyType

from warmside.catalog import Source
from warmside.options import BuildUp, Gate, Quantity, Task, Trade
from warmside.survey import Wall
from warmside.wording import Sentence, joined, say
from warmside.works._item import Counts, Work

ELECTRICAL = (
    "knob-and-tube wiring", "energised old wiring", "aluminium wiring", "recessed light",
    "electrical panel",
)  # fmt: skip
HEATING = ("chimney", "duct in the wall", "gas pipe")
SAMPLED = ("asbestos", "vermiculite", "urea-formaldehyde foam")
# these have works of their own, or are settled for the house as a whole
ELSEWHERE = (
    "lead paint", "missing fire blocks", "combustion appliance", "radon", "re-entry",
    "isocyanate", "room humidity",
)  # fmt: skip
DRAWN = ("structural bracing", "fire rating")  # an engineer or the official looks at a drawing
# what the survey itself shows, as a hazard is called
_BOXES = {"panel": "electrical panel", "recessed light": "recessed light",
          "duct": "duct in the wall"}  # fmt: skip
_PIPES = {"gas": "gas pipe", "vent": "chimney", "duct": "duct in the wall"}
_SEEN = Source("hazards of the survey that nobody has cleared", "own figure")


def _open(build_up: BuildUp, wall: Wall) -> tuple[str, ...]:
    """Kinds of hazard of this wall that nobody has settled, each once."""
    named = [hazard.kind for hazard in build_up.hazards]
    drawn = [_BOXES.get(box.kind, "") for box in wall.boxes]
    drawn += [_PIPES.get(pipe.kind, "") for pipe in wall.pipes]
    return tuple(dict.fromkeys(kind for kind in (*named, *drawn) if kind))


def _of(kinds: Iterable[str], key: str, name: str) -> Callable[[BuildUp, Wall], Counts]:
    wanted = tuple(kinds)

    def count(build_up: BuildUp, wall: Wall) -> Counts:
        return _line(key, name, [kind for kind in _open(build_up, wall) if kind in wanted])

    return count


def _other(build_up: BuildUp, wall: Wall) -> Counts:
    """Every hazard that no trade of its own looks at, own rows of the catalog too."""
    known = (*ELECTRICAL, *HEATING, *SAMPLED, *ELSEWHERE, *DRAWN)
    kinds = [kind for kind in _open(build_up, wall) if kind not in known]
    noted = any(hazard.kind == "missing fire blocks" for hazard in build_up.hazards)
    fitted = build_up.option.kind.opened.bays
    if (wall.open_through or noted) and not fitted:
        kinds.append("bays open from floor to floor: at the rim and from the attic")
    return _line("look", "Places to look into", kinds)


def _line(key: str, name: str, kinds: list[str]) -> Counts:
    if not kinds:
        return ()
    how = say("{kinds}", kinds=joined(kinds, ", "))
    return (Quantity(key, name, float(len(kinds)), "each", how, _SEEN, priced=False),)


def _sampled(build_up: BuildUp, wall: Wall) -> Counts:
    """Laboratory samples of what may hold asbestos; what was found is for a licensed firm."""
    may: list[str] = []
    found: list[str] = []
    for hazard in build_up.hazards:
        if hazard.kind in SAMPLED and hazard.kind not in (*may, *found):
            (found if hazard.state == "found" else may).append(hazard.kind)
    layers = [*wall.found.finish, *([wall.found.cladding] if wall.found.cladding else [])]
    samples = max(1, len(layers)) if "asbestos" in may else 0
    samples += len([kind for kind in may if kind != "asbestos"])
    lines = []
    if samples:
        how = say("{kinds}: one sample of each material that is cut", kinds=joined(may, ", "))
        lines.append(Quantity("sample", "Samples for a laboratory", samples, "each", how, _SEEN))
    named = " ".join([*(layer.material for layer in layers), wall.found.fill or ""])
    for kind in found:
        if kind.split("-")[0] in named:
            continue  # the layer itself is counted where it is taken out
        how = say("{kind} found: no figure here, get an offer from a licensed firm", kind=kind)
        lines.append(
            Quantity(f"abatement:{kind.replace(' ', '-')}", "Hazardous material, licensed removal",
                     1.0, "each", how, _SEEN)
        )  # fmt: skip
    return tuple(lines)


def _told(what: str) -> Callable[[Counts], tuple[str | Sentence, ...]]:
    def do(counts: Counts) -> tuple[str | Sentence, ...]:
        return (say("{what} ({how}).", what=what, how=joined((c.how for c in counts), "; ")),)

    return do


def _causes(kinds: Iterable[str], *more: str) -> tuple[str, ...]:
    return (*(f"hazard_{k.replace(' ', '_').replace('-', '_')}" for k in kinds), *more)


def _clearance(
    key: str, name: str, trade: Trade, kinds: tuple[str, ...], gates: tuple[str, ...], what: str,
    who: str,
) -> Work:  # fmt: skip
    return Work(
        key=key,
        name=name,
        causes=_causes(kinds, *gates),
        trade=trade,
        tasks=(Task(f"clear_{trade}", name, f"clear_{trade}", "each", "clear-hazards", trade),),
        counted=_of(kinds, f"clear_{trade}", name),
        do=_told(what),
        gate=Gate(who, "Written down, with a photo of each."),
        accepted="Each looked at, made safe, and so written by the person named.",
        warranty="Covers what was looked at; the trade's own work is under its own warranty.",
        host="clear-hazards",
    )


OLD_WIRING = _clearance(
    "old-wiring", "Wiring and lights looked at", "electrician", ELECTRICAL,
    ("gate_recessed_light", "gate_panel", "us-irc-2021:us.knob-tube", "canada-nbc-2020:ca.wiring"),
    "Traced, tested, switched off where it must be; what is replaced has its own offer",
    "a licensed electrician",
)  # fmt: skip
FLUES_AND_GAS = _clearance(
    "flues-and-gas", "Flues, ducts and gas pipes looked at", "plumber", HEATING,
    ("gate_vent", "gate_duct", "gate_gas"),
    "Found, tested, clearances marked on the wall; what is moved has its own offer",
    "a licensed heating or gas technician",
)  # fmt: skip
SAMPLES = Work(
    key="samples",
    name="Samples and licensed removal",
    causes=_causes(SAMPLED),
    trade="abatement",
    tasks=(Task("sample", "Take samples", "sample", "each", "clear-hazards", "abatement"),),
    bought=MappingProxyType({"sample": "each"}),
    counted=_sampled,
    do=_told("Nothing is cut, drilled or stirred before the result"),
    gate=Gate("an accredited laboratory or a licensed abatement firm",
              "Result in writing; photo taken."),
    accepted="The result is on file; what was found is out, with clear air samples.",
    warranty="By the laboratory's or the abatement firm's own papers.",
    host="clear-hazards",
)  # fmt: skip
DRAWINGS = Work(
    key="drawings",
    name="A drawing for the engineer or the official",
    causes=_causes(
        DRAWN, "bracing", "canada-nbc-2020:ca.lot-line", "us-irc-2021:us.lot-line",
    ),
    tasks=(Task("drawing", "Draw for the engineer or official", "drawing", "each",
                "clear-hazards"),),
    counted=_of(DRAWN, "drawing", "Drawings for an engineer or the official"),
    do=_told("Drawn and sent before the wall is opened"),
    gate=Gate("an engineer or the official", "Answer in writing."),
    accepted="The answer is on file.",
    warranty="As the engineer or the official wrote it.",
    host="clear-hazards",
)  # fmt: skip
OTHER_HAZARDS = Work(
    key="looked-into",
    name="Places looked into first",
    causes=_causes(
        ("old loose fill", "rot", "bulk water", "wet wood", "missing fire blocks"),
        "canada-nbc-2020:ca.fireblock", "us-irc-2021:us.fireblock",
    ),
    tasks=(Task("look_first", "Look into what may be hidden", "look", "each", "clear-hazards"),),
    counted=_other,
    do=_told("Opened a hand's breadth and looked into, with a photo"),
    gate=Gate("crew lead", "Seen, and written down with a photo."),
    accepted="Each seen; what is wrong was shown to the client and agreed on before it was done.",
    warranty="Covers what could be seen; what lay hidden is agreed on when it is found.",
    host="clear-hazards",
)  # fmt: skip
