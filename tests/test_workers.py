"""Processes that share a study's work: order, what is sent how often, and faults."""

from __future__ import annotations

import os

import pytest

from sent import Work
from warmside.workers import here, shared


def test_work_is_sent_once_for_each_process_and_comes_back_in_order():
    items = list(range(12))
    with shared(2) as each:
        told = list(each(Work(99), items, lambda item: -item))
    assert [item for item, _, _ in told] == items  # exact: whatever is begun first
    assert os.getpid() not in {pid for _, pid, _ in told}
    assert {times for _, _, times in told} == {1}  # exact: not once more with every item


def test_other_work_takes_the_place_of_the_last():
    with shared(2) as each:
        first = list(each(Work(99), [1, 2]))
        second = list(each(Work(2), [1, 2]))
    assert [item for item, _, _ in first + second] == [1, 2, 1, 2]
    with shared(2) as each, pytest.raises(ValueError, match="3 is too much"):
        list(each(Work(2), [1, 3]))


def test_one_process_keeps_everything_here():
    with shared(1) as each:
        assert each is here
        assert [pid for _, pid, _ in each(Work(99), [1, 2])] == [os.getpid()] * 2
