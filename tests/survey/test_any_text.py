"""Any text at all gives a survey or faults, never anything else."""

from __future__ import annotations

import json
import tomllib
from datetime import date, time

from hypothesis import given
from hypothesis import strategies as st

from warmside.survey import Survey, check, template

DATA = tomllib.loads(template())
LINES = template().split("\n")


def holds(text: str) -> None:
    """A survey and no fault, or faults each complete and printable."""
    checked = check(text)
    assert (checked.survey is None) == bool(checked.faults)
    for fault in checked.faults:
        str(fault).encode("utf-8")
        assert fault.place
        assert fault.read
        assert fault.allowed
        assert len(str(fault)) < 1500
        assert "Input should" not in fault.allowed
        assert fault.line is None or 1 <= fault.line <= text.count("\n") + 1


@given(st.text(max_size=300))
def test_any_text(text):
    holds(text)


WORDS = [
    "[", "]", "[[", "]]", "{", "}", "=", ",", ".", '"', "'", '"""', "'''", "\\", "#", "\n", "\r\n",
    " ", "wall", "house", "opening", "name", "length", '"24 ft"', "24", "true", "nan", "inf",
    "1979-05-27", "0x", "_", "profile", "hazard", "\u2032", "1e400",
]  # fmt: skip


@given(st.lists(st.sampled_from(WORDS), max_size=40).map("".join))
def test_any_mix_of_the_file_s_own_signs(text):
    holds(text)


CHANGES = st.one_of(
    st.tuples(st.just("cut"), st.integers(0, len(LINES) - 1), st.integers(1, 12)),
    st.tuples(st.just("twice"), st.integers(0, len(LINES) - 1), st.integers(1, 12)),
    st.tuples(st.just("swap"), st.integers(0, len(LINES) - 1), st.integers(0, len(LINES) - 1)),
    st.tuples(
        st.just("value"),
        st.integers(0, len(LINES) - 1),
        st.sampled_from([*WORDS, "-1", '"-3 m"', '"1e9 m"', '"R-12"', '""', "[]", "{}", "[[1]]"]),
    ),
    st.tuples(st.just("splice"), st.integers(0, len(template())), st.text(max_size=3)),
)


def _mutated(changes) -> str:
    text = template()
    for kind, at, what in changes:
        lines = text.split("\n")
        if kind == "splice":
            text = text[:at] + what + text[at + 1 :]
            continue
        if at >= len(lines):
            continue
        if kind == "cut":
            del lines[at : at + what]
        elif kind == "twice":
            lines[at:at] = lines[at : at + what]
        elif kind == "swap" and what < len(lines):
            lines[at], lines[what] = lines[what], lines[at]
        elif kind == "value":
            lines[at] = lines[at].split("=")[0] + "= " + what
        text = "\n".join(lines)
    return text


@given(st.lists(CHANGES, min_size=1, max_size=4))
def test_any_change_to_the_text_of_a_good_survey(changes):
    holds(_mutated(changes))


VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(2**63), 2**63 - 1),
        st.floats(),
        st.text(max_size=20),
        st.sampled_from(["24 ft", "8' 1-1/2\"", "-25 C", "N", "19 %", "window", "cleared"]),
        st.dates(),
        st.times(),
        st.datetimes(),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.one_of(st.text(max_size=5), st.sampled_from(["name", "x", "material"])),
            inner,
            max_size=3,
        ),
    ),
    max_leaves=5,
)


def _paths(node, path=()):
    children = node.items() if isinstance(node, dict) else enumerate(node)
    for key, value in children:
        yield (*path, key)
        if isinstance(value, (dict, list)):
            yield from _paths(value, (*path, key))


PATHS = [*_paths(DATA)]


@given(st.sampled_from(PATHS), VALUES, st.booleans())
def test_any_value_in_any_place(path, value, extra):
    data = tomllib.loads(template())
    node = data
    for part in path[:-1]:
        node = node[part]
    if extra and isinstance(node, dict):
        node["another key"] = value
    else:
        node[path[-1]] = value
    holds(_toml(data))


def _toml(data) -> str:
    """Tables as TOML, one heading per table of the top level, the rest within their lines."""
    tables = {k: v if isinstance(v, list) else [v] for k, v in data.items()}
    rows = []
    for name, found in tables.items():
        if not all(isinstance(table, dict) for table in found):
            rows.insert(0, f"{_inline(name)} = {_inline(data[name])}")
            continue
        mark = ("[[", "]]") if isinstance(data[name], list) else ("[", "]")
        for table in found:
            rows += [
                _inline(name).join(mark),
                *(f"{_inline(k)} = {_inline(v)}" for k, v in table.items()),
            ]
    return "\n".join(rows)


def _inline(value) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_inline(k)} = {_inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    if isinstance(value, (date, time)):
        return value.isoformat()
    return repr(value) if isinstance(value, float) else json.dumps(value, ensure_ascii=False)


def test_the_written_template_reads_as_the_template():
    assert check(_toml(DATA)).survey == check(template()).survey


def test_the_survey_read_is_the_type_promised():
    assert isinstance(check(template()).survey, Survey)
