"""Do the tests notice? Small faults put into the physics and the promises, one at a time.

A seeded sample of places is drawn, in each room as its lines are. At each the source is changed (an
operator swapped, a comparison or its boundary turned, a constant moved, a sign or a returned value
dropped) in a copy of the tree, and the room's own tests and its cases of the register (``warmside
verify``) are run on it until the first one fails.
What no test noticed is printed with its line: a gap in the tests, or a change that changes nothing.

    ./bench mutants [HOW MANY] [SEED] [ROOM ...]
"""

from __future__ import annotations

import ast
import copy
import os
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from multiprocessing import get_context
from pathlib import Path
from typing import NamedTuple

import pytest

from record import record

ROOT = Path(__file__).parents[1]
TARGET = 0.8  # share to be noticed
LIMIT = 300.0  # of one mutant [s]; a mutant that hangs is noticed as well
CACHE = "NUMBA_CACHE_DIR"
# Room: its source, and the tests that are to notice, quickest first
ROOMS = {
    "humid air": ("physics/humid_air.py", ["physics/test_humid_air.py"]),
    "thermography": ("physics/thermography.py", ["physics/test_thermography.py"]),
    "climate": ("physics/climate", [
        "physics/test_climate_hourly.py", "physics/test_climate_synthesis.py",
        "physics/test_climate_formats.py",
    ]),
    "conduction": ("physics/conduction", [
        "physics/test_conduction_simple.py", "physics/test_field.py",
        "physics/test_field_details.py", "physics/test_field_iso_10211.py",
        "physics/test_field_wall.py",
    ]),
    "airflow": ("physics/airflow", [
        "physics/test_fan_test.py", "physics/test_leakage.py", "physics/test_infiltration.py",
        "physics/test_hourly_air.py",
    ]),
    "energy": ("physics/energy", ["physics/test_energy.py"]),
    "moisture": ("physics/moisture", [
        "physics/test_moisture_monthly.py", "physics/test_moisture_judgement.py",
        "physics/test_moisture_newton.py", "physics/test_moisture_mesh.py",
        "physics/test_moisture_exact.py", "physics/test_moisture_walls.py",
        "physics/test_moisture_hamstad.py",
    ]),
    "promises": ("promises", [
        "promises/test_texts.py", "promises/test_worth.py", "promises/test_tight.py",
        "promises/test_legal_safe.py", "promises/test_warm_dry.py", "promises/test_dry_hourly.py",
    ]),
}  # fmt: skip
# rooms of the register whose name is another
CASES = {"conduction": ("conduction", "field")}
REGISTER = "tests/verify/test_cases.py::test_case_agrees_with_its_source"


class Mutant(NamedTuple):
    """One small fault: which node of which file, what becomes of it."""

    room: str
    file: Path
    line: int
    node: int  # its number in the order of ast.walk
    change: int  # which of the changes that are possible there
    what: str


# ------------------------------------------------------------------ what can be changed

SWAPS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
         ast.Pow: ast.Mult}  # fmt: skip
FLIPS = {ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq,
         ast.NotEq: ast.Eq}  # fmt: skip
BOUNDARIES = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}


def changes(node: ast.AST) -> list[tuple[str, Callable[[ast.AST], ast.AST]]]:
    """What can become of a node: a name, and the function that makes the changed node."""
    if isinstance(node, ast.BinOp) and type(node.op) in SWAPS:
        return [("operator", lambda n: _with(n, op=SWAPS[type(n.op)]()))]
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        found = []
        for name, turned in (("comparison", FLIPS), ("boundary", BOUNDARIES)):
            if type(node.ops[0]) in turned:
                found.append((name, lambda n, t=turned: _with(n, ops=[t[type(n.ops[0])]()])))
        return found
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return [("sign", lambda n: n.operand)]
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        return [("constant", lambda n: _with(n, value=_moved(n.value)))]
    if isinstance(node, ast.Return) and node.value is not None:
        return [("return", lambda n: _with(n, value=ast.Constant(None)))]
    return []


def _moved(value: float) -> float:
    """The next whole number, or a tenth more; nothing becomes one."""
    return value + 1 if isinstance(value, int) else value * 1.1 if value else 1.0


def _with(node: ast.AST, **fields: object) -> ast.AST:
    changed = copy.copy(node)
    for name, value in fields.items():
        setattr(changed, name, value)
    return changed


def _left_alone(tree: ast.AST) -> set[ast.AST]:
    """Types and the words of errors: no figure is read from them."""
    found: set[ast.AST] = set()
    for node in ast.walk(tree):
        parts = [node] if isinstance(node, ast.Raise | ast.JoinedStr) else []
        parts += [getattr(node, name, None) for name in ("annotation", "returns")]
        found |= {inner for part in parts if part is not None for inner in ast.walk(part)}
    return found


def mutants(room: str, file: Path) -> Iterator[Mutant]:
    """Every small fault that a file can be given."""
    tree = ast.parse(file.read_text("utf-8"))
    alone = _left_alone(tree)
    for number, node in enumerate(ast.walk(tree)):
        for change, (what, _) in enumerate([] if node in alone else changes(node)):
            yield Mutant(room, file.relative_to(ROOT), node.lineno, number, change, what)


def changed(mutant: Mutant) -> tuple[str, str]:
    """The file's source with the fault in it, and the fault as ``before -> after``."""
    tree = ast.parse((ROOT / mutant.file).read_text("utf-8"))
    old = next(node for number, node in enumerate(ast.walk(tree)) if number == mutant.node)
    new = changes(old)[mutant.change][1](old)

    class Put(ast.NodeTransformer):
        def visit(self, node: ast.AST) -> ast.AST:
            return new if node is old else self.generic_visit(node)

    before = ast.unparse(old)
    return ast.unparse(ast.fix_missing_locations(Put().visit(tree))), (
        f"{before} -> {ast.unparse(new)}"
    )


# ------------------------------------------------------------------ the sample


def sample(how_many: int, seed: int, rooms: list[str]) -> list[Mutant]:
    """A share of the faults of each room, at least six, by its number of places' root.

    The root keeps the largest room, whose kernels are compiled anew for each, from taking all.
    """
    rng = random.Random(seed)
    found = {room: list(_of_room(room)) for room in rooms}
    weight = sum(len(every) ** 0.5 for every in found.values())
    drawn = []
    for every in found.values():
        share = max(6, round(how_many * len(every) ** 0.5 / weight))
        drawn += rng.sample(every, min(share, len(every)))
    return drawn


def _of_room(room: str) -> Iterator[Mutant]:
    source = ROOT / "src" / "warmside" / ROOMS[room][0]
    for file in [source] if source.is_file() else sorted(source.rglob("*.py")):
        yield from mutants(room, file)


# ------------------------------------------------------------------ one mutant


def _tests(folder: str, room: str, cache: str) -> None:
    """Run in a process of its own: the tests of a room on the copied tree."""
    os.chdir(folder)
    os.environ[CACHE] = cache
    sys.path[:0] = ["src", "tests"]
    with Path(os.devnull).open("w") as nothing:
        os.dup2(nothing.fileno(), 1)
        os.dup2(nothing.fileno(), 2)
    import numba

    numba.config.CACHE_DIR = cache  # type: ignore[attr-defined]
    from warmside.verify import cases

    quiet = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:randomly"]
    tests = [f"tests/{name}" for name in ROOMS[room][1]]
    checks = [f"{REGISTER}[{case.id}]" for case in cases() if case.room in CASES.get(room, (room,))]
    os._exit(int(pytest.main([*quiet, *tests, *checks])))


def noticed(folder: Path, room: str, cache: Path, limit: float | None = LIMIT) -> str:
    """``""`` where every test passes, else how the fault showed."""
    running = get_context("forkserver").Process(target=_tests, args=(str(folder), room, str(cache)))
    running.start()
    running.join(limit)
    if running.is_alive():
        running.kill()
        running.join()
        return "out of time"
    code = int(running.exitcode or 0)
    if code in (pytest.ExitCode.USAGE_ERROR, pytest.ExitCode.NO_TESTS_COLLECTED):
        raise RuntimeError(f"{room}: no test was run (pytest ended with {code})")
    return {0: "", 1: "a test failed"}.get(code, "the tests could not be read")


def compiled(file: Path) -> bool:
    """Whether a file holds compiled functions: callers keep those in the cache as they were."""
    text = (ROOT / file).read_text("utf-8")
    return "numba" in text or "_compile import" in text


def run(mutant: Mutant, folder: Path, cache: Path) -> tuple[str, str]:
    """Put the fault in, run the tests, take it out: what it was, and how it showed."""
    place = folder / mutant.file
    source, fault = changed(mutant)
    place.write_text(source, "utf-8")
    own = Path(tempfile.mkdtemp(dir=folder)) if compiled(mutant.file) else cache
    try:
        return fault, noticed(folder, mutant.room, own)
    finally:
        shutil.copy2(ROOT / mutant.file, place)
        if own is not cache:
            shutil.rmtree(own)


# ------------------------------------------------------------------ all


def copied(folder: Path) -> None:
    """The tree as the tests need it."""
    leave = shutil.ignore_patterns("__pycache__", "*.nbi", "*.nbc", ".*")
    for name in ("src", "tests", "docs", "examples"):
        shutil.copytree(ROOT / name, folder / name, ignore=leave)
    shutil.copy2(ROOT / "pyproject.toml", folder)


def main() -> None:
    how_many, seed = (int(word) for word in (*sys.argv[1:3], *("60", "1")[len(sys.argv[1:3]) :]))
    rooms = sys.argv[3:] or list(ROOMS)
    get_context("forkserver").set_forkserver_preload(
        ["numpy", "scipy.sparse.linalg", "numba", "pytest"]
    )
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        copied(folder)
        cache = folder / "cache"
        told: dict[str, list[bool]] = {room: [] for room in rooms}
        for room in rooms:
            how = noticed(folder, room, cache, None)  # also fills the cache, however long it takes
            if how:
                sys.exit(f"{room}: without any fault, {how}")
        for mutant in sample(how_many, seed, rooms):
            begun = time.monotonic()
            fault, how = run(mutant, folder, cache)
            told[mutant.room].append(bool(how))
            print(f"{how or 'SURVIVED':24}{time.monotonic() - begun:5.0f} s  {mutant.what:11}"
                  f"{mutant.file.relative_to('src/warmside')}:{mutant.line}  {fault[:90]}",
                  flush=True)  # fmt: skip
    tell(told)


def tell(told: dict[str, list[bool]]) -> None:
    """Caught and survived by room; ends with 1 where too few were caught."""
    print(f"\n{'room':16}{'faults':>8}{'noticed':>9}{'survived':>10}{'share':>8}")
    every = [one for room in told.values() for one in room]
    for name, room in [*told.items(), ("all", every)]:
        share = sum(room) / len(room)
        print(f"{name:16}{len(room):8}{sum(room):9}{len(room) - sum(room):10}{share:8.0%}")
    share = sum(every) / len(every)
    record("faults noticed by the tests", share, "-", target=f">= {TARGET:g}")
    sys.exit(0 if share >= TARGET else 1)


if __name__ == "__main__":
    main()
