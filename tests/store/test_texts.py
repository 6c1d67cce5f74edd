"""Texts: saved, refused when stale, merged, undone, never lost. Every expectation is exact."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from warmside.errors import InputError
from warmside.estimate import default_text
from warmside.store import SHOP, StaleError, UnknownError
from warmside.store.checks import prepared


def test_a_job_begins_with_its_survey_and_the_shop_s_prices(store, survey):
    store.save("prices", default_text(), 0, "Ann")
    job = store.new_job(survey, "Bo")
    assert (job.name, job.place, job.client) == (
        "House on the corner", "An invented town", "Ångström household",
    )  # fmt: skip
    assert job.walls == ("north", "east")
    assert store.text("survey", job.id).text == survey  # remarks and all
    assert store.text("prices", job.id).text == default_text()
    assert store.text("catalog", job.id).revision == 0
    assert abs(datetime.now(UTC) - job.created) < timedelta(minutes=1)
    assert [change.what for change in store.history(job.id)] == [
        "prices of the shop taken over", "job begun",
    ]  # fmt: skip
    assert store.jobs() == (job,)


def test_a_stale_save_is_told_what_changed_and_kept_as_a_draft(store, survey):
    job = store.new_job(survey, "Ann")
    read = store.text("survey", job.id)
    first = store.save("survey", survey.replace('"24 ft"', '"25 ft"'), read.revision, "Ann", job.id)
    mine = survey.replace('"24 ft"', '"26 ft"')
    with pytest.raises(StaleError, match="changed by Ann") as caught:
        store.save("survey", mine, read.revision, "Bo", job.id)
    assert caught.value.changes == (first,)
    assert '-length = "24 ft"\n+length = "25 ft"' in caught.value.difference
    draft = store.drafts.get("Bo", caught.value.draft, job.id)
    assert draft.data == {"text": mine, "revision": read.revision}
    assert '"25 ft"' in store.text("survey", job.id).text


def test_saving_the_same_text_twice_is_one_change(store, survey):
    job = store.new_job(survey, "Ann")
    text = survey + "# more\n"
    assert store.save("survey", text, 1, "Ann", job.id).number == 2
    assert store.save("survey", text, 1, "Ann", job.id) is None  # the button pressed twice
    assert store.job(job.id).revision == 2


def test_two_people_on_two_walls_both_win_and_on_one_wall_the_second_is_told(store, survey):
    job = store.new_job(survey, "Ann")
    store.change_survey(job.id, {("wall", 0, "length"): "25 ft"}, 1, "Ann")
    store.change_survey(job.id, {("walls", 1, "height"): "2.5 m"}, 1, "Bo")
    text = store.text("survey", job.id).text
    assert '"25 ft"' in text
    assert '"2.5 m"' in text
    assert "# spelt so" in text
    with pytest.raises(StaleError) as caught:
        store.change_survey(job.id, {("wall", 0, "height"): "9 ft"}, 1, "Cy")
    assert {change.who for change in caught.value.changes} == {"Ann", "Bo"}
    kept = store.drafts.get("Cy", caught.value.draft, job.id).data["text"]
    assert '"9 ft"' in kept
    assert '"24 ft"' in kept  # as Cy saw it


def test_a_wall_added_by_another_does_not_take_the_change_of_its_neighbour(store, survey):
    job = store.new_job(survey, "Ann")
    first = survey.index("[[wall]]")
    added = survey[first:].split("\n\n")[1].replace('"east"', '"west"')
    store.save("survey", survey[:first] + added + "\n" + survey[first:], 1, "Ann", job.id)
    with pytest.raises(StaleError):
        store.change_survey(job.id, {("wall", 0, "height"): "9 ft"}, 1, "Bo")


def test_undo_goes_back_one_change_after_another(store, survey):
    job = store.new_job(survey, "Ann")
    texts = [survey]
    for n in range(3):
        texts.append(survey + f"# {n}\n")
        store.save("survey", texts[-1], n + 1, "Ann", job.id)
    undone = store.undo(job.id, 4, "Bo")
    assert (undone.number, undone.undoes, undone.who) == (5, 4, "Bo")
    assert store.text("survey", job.id).text == texts[2]
    with pytest.raises(StaleError):
        store.undo(job.id, 2, "Bo")  # change 3 still stands on it
    store.undo(job.id, 3, "Bo")
    store.undo(job.id, 2, "Bo")
    assert store.text("survey", job.id).text == survey
    for number, match in ((2, "still stands"), (7, "still stands"), (1, "whole job")):
        with pytest.raises(InputError, match=match):
            store.undo(job.id, number, "Bo")
    assert store.history(job.id)[-2].undone_by == 7
    assert store.text_at(job.id, "survey", 4) == texts[3]  # nothing is lost


def test_a_change_of_another_part_does_not_stand_in_the_way_of_undo(store, survey):
    job = store.new_job(survey, "Ann")
    store.save("survey", survey + "# 1\n", 1, "Ann", job.id)
    store.records.add(job.id, "day", {"note": "dry and still"}, "Cy")
    store.undo(job.id, 2, "Ann")
    assert store.text("survey", job.id).text == survey
    assert len(store.records.of(job.id)) == 1


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("survey", ""),
        ("survey", "[house]\nname = 1"),
        ("survey", "\0"),
        ("survey", "\ud800"),
        ("survey", "x" * 2_000_000),
        ("survey", None),
        ("prices", "currency = 3"),
        ("catalog", "[[materials]]\nid = 'x'"),
        ("choices", "[]"),
        ("choices", '{"north": NaN}'),
        ("choices", '{"north": 3}'),
        ("choices", "[" * 100_000),
        ("no such part", ""),
    ],
)
def test_what_cannot_be_used_is_not_kept(lite, survey, part, text):
    job = lite.new_job(survey, "Ann")
    with pytest.raises(InputError) as caught:
        lite.save(part, text, lite.job(job.id).revision, "Ann", job.id)
    assert all(fault.allowed for fault in caught.value.faults)
    assert lite.job(job.id).revision == 1


@pytest.mark.parametrize("who", ["", " ", "a\nb", "x" * 81, None, "\ud800"])
def test_every_change_has_a_name_to_it(lite, survey, who):
    with pytest.raises(InputError, match="who"):
        lite.new_job(survey, who)
    assert lite.jobs() == ()


@pytest.mark.parametrize("job", ["nowhere", "", "\0", "shop", "../../x", "\ud800", "' OR 1=1 --"])
def test_a_job_that_is_not_there(store, job):
    with pytest.raises(UnknownError):
        store.job(job)
    with pytest.raises(UnknownError):
        store.erase(job, "Ann")


def test_choices_and_the_shop_s_own_history(store, survey):
    job = store.new_job(survey, "Ann")
    store.choose(job.id, {"north": "closed-cell-76"}, 0, "Ann")
    assert store.choices(job.id) == {"north": "closed-cell-76"}
    store.save("prices", default_text(), 0, "Ann")
    dearer = default_text() + "# dearer\n"
    store.save("prices", dearer, store.text("prices").revision, "Ann")
    store.undo(SHOP, store.history()[0].number, "Ann")
    assert store.text("prices").text == default_text()
    with pytest.raises(InputError, match="shop has no survey"):
        store.save("survey", survey, 0, "Ann")


def test_search_finds_parts_of_words_without_capitals_and_accents(store, survey):
    job = store.new_job(survey, "Ann")
    other = store.new_job(survey.replace("corner", "hill 100% _"), "Ann")
    store.records.add(job.id, "reading", {"note": "Sill DAMP at the porch"}, "Ann")
    assert {hit.job.id for hit in store.search("angstrom")} == {job.id, other.id}
    assert [hit.job.id for hit in store.search("PORCH stained")] == [job.id]
    assert [hit.job.id for hit in store.search("100%")] == [other.id]
    assert store.search("100_") == ()
    assert store.search("  ") == ()
    assert store.search("\0\ud800") == ()
    assert store.search("porch")[0].parts[0].startswith("record/")


def test_archived_and_erased(store, survey):
    job = store.new_job(survey, "Ann")
    store.drafts.keep("Ann", "wall north", {"length": "2"}, job.id)
    store.archive(job.id, "Ann")
    assert store.jobs() == ()
    assert store.jobs(archived=True)[0].id == job.id
    store.archive(job.id, "Ann", archived=False)
    store.erase(job.id, "Ann")
    assert store.jobs() == ()
    assert store.drafts.of("Ann") == ()
    with pytest.raises(UnknownError):
        store.text("survey", job.id)
    assert store.history()[0].what == f"job {job.id} erased"


def test_drafts_hold_whatever_was_typed(store, survey):
    job = store.new_job(survey, "Ann")
    typed = {"length": "2\0 ft \ud800", "boxes": ["a", ""], "n": 1.5}
    store.drafts.keep("Ann", "wall north", typed, job.id)
    store.drafts.keep("Ann", "wall north", typed | {"n": 2}, job.id)
    store.drafts.keep("Bo", "wall north", {}, job.id)
    assert [draft.data["n"] for draft in store.drafts.of("Ann")] == [2]
    assert store.drafts.get("Ann", "wall north", job.id).data == typed | {"n": 2}
    store.drafts.drop("Ann", "wall north", job.id)
    assert store.drafts.get("Ann", "wall north", job.id) is None
    with pytest.raises(UnknownError):
        store.drafts.keep("Ann", "form", {}, "nowhere")


def test_writers_at_once_lose_nothing(store, survey):
    """Eight threads on one job: every acknowledged record is there, numbered without gaps."""
    job, told, errors = store.new_job(survey, "Ann"), [], []

    def write(name: str) -> None:
        try:
            for n in range(6):
                told.append(store.records.add(job.id, "reading", {"n": n}, name).id)  # noqa: PERF401
        except Exception as error:
            errors.append(error)

    threads = [threading.Thread(target=write, args=(f"Crew {i}",)) for i in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert {record.id for record in store.records.of(job.id)} == set(told)
    assert [change.number for change in store.history(job.id)] == [*range(49, 0, -1)]


def test_of_two_savers_at_once_exactly_one_wins(store, survey):
    job, won, refused = store.new_job(survey, "Ann"), [], []
    start = threading.Barrier(4)

    def save(name: str) -> None:
        start.wait()
        try:
            won.append(store.save("survey", f"{survey}# {name}\n", 1, name, job.id))
        except StaleError as error:
            refused.append((name, error.draft))

    threads = [threading.Thread(target=save, args=(f"Crew {i}",)) for i in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(won) == 1
    assert len(refused) == 3
    for name, form in refused:
        assert store.drafts.get(name, form, job.id).data["text"] == f"{survey}# {name}\n"


EXAMPLES = max(10, settings().max_examples // 20)  # each is a few dozen transactions
STEPS = st.lists(st.tuples(st.sampled_from(["save", "undo"]), st.integers(0, 3)), max_size=12)


@settings(max_examples=EXAMPLES, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=STEPS)
def test_the_history_always_adds_up(lite, survey, steps):
    """Any order of saves and undos: each change follows from the one before; a model agrees."""
    job = lite.new_job(survey, "Ann")
    stack, live = [survey], []  # other method: an undo stack in plain lists
    for what, n in steps:
        if what == "save" and (text := f"{survey}# {n}\n") != stack[-1]:
            change = lite.save("survey", text, lite.text("survey", job.id).revision, "A", job.id)
            stack.append(text)
            live.append(change.number)
        elif what == "undo" and live:
            lite.undo(job.id, live.pop(), "A")
            stack.pop()
        assert lite.text("survey", job.id).text == stack[-1]
    changes = lite.history(job.id)[::-1]
    assert [c.before for c in changes] == [None, *(c.after for c in changes[:-1])]


@pytest.mark.parametrize("number", [-1, 1 << 31, 10**30, 1.5, True, None, "1", float("nan")])
def test_numbers_that_no_change_bears(store, survey, number):
    job = store.new_job(survey, "Ann")
    for act in (
        lambda: store.save("survey", survey + "#\n", number, "Ann", job.id),
        lambda: store.change_survey(job.id, {("house", "client"): "B"}, number, "Ann"),
        lambda: store.undo(job.id, number, "Ann"),
        lambda: store.text_at(job.id, "survey", number),
        lambda: store.difference(job.id, number),
    ):
        with pytest.raises(InputError):
            act()
    assert store.job(job.id).revision == 1
    assert store.drafts.of("Ann") == ()


def test_own_rows_of_a_job_make_its_catalog(lite, survey):
    from warmside.catalog import load
    from warmside.store import catalog_of

    job, fuel = lite.new_job(survey, "Ann"), next(iter(load().fuels.values()))
    assert catalog_of(lite.text("catalog", job.id).text) == load()
    assert fuel.id in catalog_of("").fuels


def test_what_a_change_did(store, survey):
    job = store.new_job(survey, "Ann")
    change = store.change_survey(job.id, {("house", "client"): "Another household"}, 1, "Ann")
    removed, added = (
        line for line in store.difference(job.id, change.number).splitlines() if line[0] in "+-"
    )
    assert removed == '-client = "Ångström household"  # spelt so'
    assert added == '+client = "Another household"  # spelt so'
    assert len(store.difference(job.id, 1).splitlines()) == len(survey.splitlines()) + 1
    with pytest.raises(UnknownError):
        store.difference(job.id, 99)


def test_two_people_on_two_walls_at_the_same_moment_both_win(store, survey):
    job, start, errors = store.new_job(survey, "Ann"), threading.Barrier(2), []

    def change(wall: int, height: str) -> None:
        start.wait()
        try:
            store.change_survey(job.id, {("wall", wall, "height"): height}, 1, f"Crew {wall}")
        except Exception as error:
            errors.append(error)

    threads = [threading.Thread(target=change, args=args) for args in ((0, "9 ft"), (1, "2.6 m"))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    text = store.text("survey", job.id).text
    assert '"9 ft"' in text
    assert '"2.6 m"' in text
    assert store.job(job.id).revision == 3


def test_a_change_overtaken_again_and_again_is_told(lite, survey, monkeypatch):
    """Somebody always is quicker: the person is told in the end, and the text is kept."""
    job, real = lite.new_job(survey, "Ann"), lite._save

    def overtaken(part, new, revision, who, job_id, keeps=True):
        if not keeps:
            here = lite.text("survey", job_id)
            quicker = prepared("survey", here.text + "# quicker\n")
            real("survey", quicker, here.revision, "Bo", job_id)
        return real(part, new, revision, who, job_id, keeps)

    monkeypatch.setattr(lite, "_save", overtaken)
    with pytest.raises(StaleError) as caught:
        lite.change_survey(job.id, {("wall", 0, "height"): "9 ft"}, 1, "Ann")
    assert '"9 ft"' in lite.drafts.get("Ann", caught.value.draft, job.id).data["text"]


def test_drafts_are_bounded(lite, monkeypatch):
    from warmside.store import drafts

    monkeypatch.setattr(drafts, "_MOST", 3)
    for n in range(3):
        lite.drafts.keep("Ann", f"form {n}", {"n": n})
    lite.drafts.keep("Ann", "form 0", {"n": 9})  # the same form again
    lite.drafts.keep("Bo", "form 3", {})
    with pytest.raises(InputError, match="drop some"):
        lite.drafts.keep("Ann", "form 3", {})
    with pytest.raises(InputError):
        lite.drafts.keep("Ann", "form\0", {})
