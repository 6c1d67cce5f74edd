"""Steps of the crew that several kinds share, each with its gate: who signs, what is read."""

from __future__ import annotations

from warmside.options._option import Job
from warmside.options._work import Gate, Step
from warmside.survey import Reading
from warmside.wording import Figure, Sentence, joined, say

_GYPSUM = 0.0127  # [m] half-inch gypsum board, the usual cover of foam


def ready(job: Job) -> tuple[Step, ...]:
    """Before anything is opened: dead lines, cleared hazards."""
    return _make_safe(job), _clear(job)


def sound(job: Job) -> tuple[Step, ...]:
    """On the open wall: dry, mended, wires and pipes in."""
    return dry(job), mend(job), _rough_in(job)


def _make_safe(job: Job) -> Step:
    wall = job.wall
    lines: list[str | Sentence] = [
        "Circuits of the wall switched off, locked and tested dead; gas and water shut where pipes "
        "run in it.",
        "Ways out kept clear; extinguisher, eyewash and first aid within reach; signs up.",
    ]
    named = [f"{box.kind}" for box in wall.boxes if box.kind in ("panel", "recessed light")]
    named += [f"{pipe.kind} pipe" for pipe in wall.pipes if pipe.kind in ("gas", "vent")]
    if named:
        lines.append(say("In this wall: {what}.", what=joined(dict.fromkeys(named), ", ")))
    gate = Gate("crew lead; a licensed electrician or gas fitter for their lines", "Tested dead.")
    return Step("make-safe", "Make safe", tuple(lines), gate)


def _clear(job: Job) -> Step:
    rows = [(h, job.catalog.hazard(h.kind)) for h in job.hazards]
    lines: tuple[str | Sentence, ...] = tuple(
        say(
            "{what} ({where}): cleared by {who}.",
            what=row.title,
            where=h.where,
            who=h.cleared_by or row.clears,
        )
        for h, row in rows
    )
    lines = lines or ("None is noted. Look again as the wall is opened, and stop at what is new.",)
    gate = Gate("the person named for each hazard", "Every hazard cleared in writing.")
    return Step("clear-hazards", "Clear hazards", lines, gate,
                "The person named for each makes an own offer.")  # fmt: skip


def strip(job: Job) -> Step:
    """The inside finish comes off."""
    lines = ["The inside finish comes off, dust contained and drawn away; nails out, wood brushed "
             "and vacuumed.", *_bays(job)]  # fmt: skip
    gate = Gate(
        "crew lead", "Clean enough to paint: bare, nothing loose, and anything found is reported."
    )
    return Step("strip", "Strip", tuple(lines), gate)


def strip_outside(job: Job) -> Step:
    """The cladding comes off, and the sheathing where the bays are worked from outside."""
    opened = job.build_up.option.kind.opened
    lines: list[str | Sentence] = [
        "The cladding comes off in whole pieces, numbered where it goes back, dust contained."
    ]
    if opened.sheathing:
        lines += [
            "Sheathing comes off in stretches that can be closed again the same day; studs are "
            "held true while it is off.",
            "The back of the inside finish is seen whole, its holes closed; nothing leans on it.",
            "Nails out, wood brushed and vacuumed.",
            *_bays(job),
        ]
        asks = "Clean, bare, nothing loose; a cover at hand for rain; anything found is reported."
    else:
        lines.append(
            "The old paper stays until the board goes on, or the sheathing is covered for rain."
        )
        asks = "Sheathing seen whole: sound, flat, nailed fast; a cover at hand for rain."
    return Step("strip-outside", "Strip outside", tuple(lines), Gate("crew lead", asks))


def _bays(job: Job) -> list[str | Sentence]:
    lines: list[str | Sentence] = []
    if job.wall.found.fill:
        state = job.wall.found.fill_state
        lines.append(say("Old fill ({state}) is removed with its facing and bagged.", state=state))
    if pockets := len(job.build_up.frame.pockets):
        lines.append(
            say(
                "Open and look into the {pockets} of the list.",
                pockets=Figure(pockets, "count", noun="pocket"),
            )
            if pockets > 1
            else "Open and look into the one pocket of the list."
        )
    return lines


def dry(job: Job) -> Step:
    """Wood read and dried."""
    wet = [r for r in job.wall.readings if r.moisture > job.dry]
    lines: list[str | Sentence] = [
        "Air and warmth on the open wall. Meter in the bottom plate of every third bay, below "
        "every window, at every stain."
    ]
    lines += [survey_read(r) for r in wet]
    gate = Gate("crew lead", all_dry(job), reads="dry")
    return Step("dry", "Dry", tuple(lines), gate)


def survey_read(reading: Reading) -> Sentence:
    """What the survey read of the wood, and where."""
    return say(
        "The survey read {moisture} at {where}.",
        moisture=Figure(reading.moisture, "share"),
        where=reading.where,
    )


def all_dry(job: Job) -> Sentence:
    """What the gate of dry wood asks."""
    return say("Every reading at {limit} or less.", limit=Figure(job.dry, "share"))


def mend(job: Job) -> Step:
    """What is rotten or open is made sound."""
    water = [h for h in job.hazards if h.kind in ("rot", "bulk water") and h.noted]
    lines: list[str | Sentence] = [
        say("{what} ({where}): mended first.", what=job.catalog.hazard(h.kind).title, where=h.where)
        for h in water
    ]
    lines.append("Rotten wood cut back and replaced; a member that carries load is an engineer's.")
    lines.append("Gaps over 1/2 in and knot holes closed with wood or rigid board.")
    gate = Gate("crew lead; an engineer or the official for wood that carries", "Sound and closed.")
    return Step("mend", "Mend", tuple(lines), gate,
                "Agreed on in writing when it is found.")  # fmt: skip


def _rough_in(job: Job) -> Step:
    option = job.build_up.option
    lines = [
        "Wires, boxes and pipes go in now: none can be drawn through foam later."
        if job.foams
        else "Wires, boxes and pipes go in now, before the bays are filled.",
        "Plates over anything within reach of a screw; boxes stay reachable.",
    ]
    if option.furring:
        lines.append("Boxes are set out to where the new face of the wall will be.")
    if option.board:
        lines.append("What goes through the wall goes through now: the board outside is cut to it.")
    gate = Gate("licensed electrician and plumber, and the inspector where the code asks",
                "Rough-in passed.")  # fmt: skip
    return Step("rough-in", "Rough in wiring and plumbing", tuple(lines), gate,
                "What the client adds has its trade's own offer.")  # fmt: skip


def sealed_and_sprayed(job: Job, *first: Step) -> tuple[Step, ...]:
    """Joints and foam in the order chosen, ``first`` right before the foam, then both looked at."""
    seal = (_seal(job),) if job.seals else ()
    spray = (*first, *_spray(job.passes))
    middle = (*seal, *spray) if job.sealing == "before" else (*spray, *seal)
    return (*middle, *((_seal_rest(job),) if seal else ()), _check())


def sealed(job: Job) -> tuple[Step, ...]:
    """Joints alone, where nothing is sprayed."""
    return (_seal(job), _seal_rest(job)) if job.seals else ()


def _seal(job: Job) -> Step:
    reach = job.build_up.option.kind.reaches
    joints = job.build_up.frame.joints
    metres = sum(j.length for j in joints if reach is None or j.kind in reach)
    label = "compatible with the foam, low in vapours" if job.foams else "low in vapours"
    lines = (
        say(
            "{run} of joints in the order of the map, ticked off as they are done.",
            run=Figure(metres, "span"),
        ),
        say(
            "Wood dry and free of dust; bead 1/4 in at least; gaps over 1/2 in get backer or wood "
            "first. Sealant by its label: {label}.",
            label=label,
        ),
    )
    asks = say(
        "Wood at {limit} or less; every number of the map ticked.",
        limit=Figure(job.dry, "share"),
    )
    gate = Gate("whoever seals", asks, "dry")
    return Step("seal-joints", "Seal the joints", lines, gate)


def _spray(passes: int) -> list[Step]:
    gate = Gate("the certified installer", "Every reading of the spray gate, at the wall, today.",
                reads="spray", before=True)  # fmt: skip
    first = Step(
        "spray",
        "Spray, first pass",
        (
            "Work area closed, fan on, everyone else out, supplied air on.",
            "Test shot on scrap: colour, rise, cell, bond. Then picture-frame studs and plates, "
            "let it set, and fill along the studs.",
            "Readings at start, in the middle and at the end of the day at least.",
        ),
        gate,
    )
    if passes < 2:
        return [first]
    more = Step(
        "more-passes",
        "Spray, further passes" if passes > 2 else "Spray, second pass",
        ("After the wait of the plan and when the foam has cooled; read again before it.",),
        gate,
    )
    return [first, more]


def _seal_rest(job: Job) -> Step:
    torn = (
        "Foam torn or trimmed from joints, stud faces, boxes: sealed again."
        if job.foams
        else "Beads that tore or missed their joint: sealed again."
    )
    lines = (torn, "Smoke pen or fan: what still draws is sealed.")
    gate = Gate("crew lead", "Smoke does not move at any joint.")
    return Step("seal-rest", "Seal what is left", lines, gate)


def _check() -> Step:
    lines = (
        "Trimmed flush only where the facts of the wall say so.",
        "Thickness probes over the bay map; three cores for density; adhesion cut; colour, smell.",
        "A photo of every bay before it is covered.",
    )
    gate = Gate("the certified installer; the inspector where the code asks",
                "Probes, density and bond as sold; photos taken.", reads="quality")  # fmt: skip
    return Step("check", "Check", lines, gate)


def batts() -> Step:
    """Batts into what is left of the bays."""
    lines = ("Batts cut to the bay, split at wires, fitted round boxes, pressed nowhere.",)
    return Step("fill", "Fill", lines, Gate("crew lead", "Batts full, none pressed."))


def vapour_control() -> Step:
    """The membrane on the room side."""
    lines = ("Over studs and plates without a break, laps on wood, taped; boxes sealed to it.",)
    gate = Gate("crew lead; the inspector where the code asks", "Whole and taped, before covering.")
    return Step("vapour-control", "Vapour control", lines, gate)


def sheathing_back() -> Step:
    """New sheathing and paper close the wall outside."""
    lines = (
        "New sheathing fastened by the code's schedule; paper lapped like shingles, taped round "
        "openings into their flashing.",
    )
    gate = Gate("crew lead; the official where the code asks", "Fastened; sheds water downwards.")
    return Step("sheathing", "Sheathing and paper", lines, gate)


def board(job: Job) -> Step:
    """Rigid board over the sheathing."""
    deep = Figure(job.build_up.option.board_thickness, "size")
    lines = (
        say(
            "{deep} of rigid board on sound, dry sheathing, joints tight and staggered, taped or "
            "sealed; corners and openings cut to fit.",
            deep=deep,
        ),
        "Bucks and jamb extensions at openings first; window and door flashings brought out over "
        "the board's face, each lapped over the one below.",
    )
    gate = Gate(
        "crew lead; the official where the code asks (fire, lot line, weight of the cladding)",
        "Tight and flat; flashings lead out over the board.",
    )
    return Step("board-outside", "Board outside", lines, gate)


def cladding_back(job: Job) -> Step:
    """The cladding goes back on."""
    found = job.wall.found.cladding
    lines = ["The cladding goes back, what broke replaced to match, cut ends painted."]
    if job.build_up.option.board:
        lines.insert(0, "Upright furring strips over the board, screwed into the studs; the space "
                     "behind open at foot and top, with insect screen.")  # fmt: skip
    if found is None:
        lines.append("No cladding was noted: agree on one before the wall is opened.")
    gate = Gate("crew lead", "Flashings lapped over; water runs out, not in.")
    return Step("cladding", "Cladding", tuple(lines), gate)


def cover(job: Job) -> Step:
    """The new inside finish."""
    option = job.build_up.option
    board = Figure(_GYPSUM, "length")
    first = (
        say(
            "No foam stays bare to a room: {board} gypsum board or what the code pack allows.",
            board=board,
        )
        if job.foams
        else say(
            "{board} gypsum board or what the code pack allows, taped and filled.", board=board
        )
    )
    lines: list[str | Sentence] = [first]
    if option.furring:
        lines.insert(0, "Jambs and boxes brought out to the new face.")
    gate = Gate("crew lead; the official where the code asks", "Covered; certificate posted.")
    return Step("cover", "Cover", tuple(lines), gate)


def clear_up() -> Step:
    """The house is given back."""
    lines = ("Waste out; rooms, ducts and grounds clean; photos filed.",)
    return Step("clear-up", "Clear up", lines, Gate("crew lead", "Shown to the client."))
