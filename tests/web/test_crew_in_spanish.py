"""A person who chose Spanish reads the crew's pages so; everyone else reads them as before."""

from __future__ import annotations

import re

from warmside.store import Store
from web.test_pages import browser, send


def test_the_crew_s_pages_follow_the_person(store: Store, job: str) -> None:
    client = browser(store)
    here = f"/jobs/{job}"
    chosen = dict(re.findall(r'<select id="(\w+)"', client.get("/units").text) and [])
    assert not chosen
    store.choose(job, dict.fromkeys(store.job(job).walls, "cc-51"), 0, "owner")
    before = client.get(f"{here}/crew/1").text
    assert "Steps and gates" in before
    assert "[EN:" not in before
    form = client.get("/units").text
    fields = {
        name: (re.search(r'<option value="([^"]*)" selected', options)
               or re.search(r"<option selected>([^<]*)", options)
               or re.search(r'<option(?: value="([^"]*)")?>', options))
        for name, options in re.findall(r'<select id="(\w+)"(.*?)</select>', form, re.DOTALL)
    }  # fmt: skip
    typed = {
        name: (found[1] or "").replace("&#34;", '"') for name, found in fields.items() if found
    }
    assert send(client, "/units", "/units", **typed | {"language": "es"}).status_code == 303
    page = client.get(f"{here}/crew/1").text
    assert "Pasos y controles" in page
    assert "[EN: Work area closed, fan on, everyone else out, supplied air on.]" in page
    assert '<main id="main" tabindex="-1" lang="es">' in page
    assert "Empezar el día" in client.get(f"{here}/day").text
    assert send(client, "/units", "/units", **typed | {"language": "xx"}).status_code == 422
    for language, words in (("en", "Crew sheet"), ("es", "")):
        made = client.get(f"{here}/crew-sheet.pdf?language={language}")
        assert made.content.startswith(b"%PDF-"), words
    assert client.get(f"{here}/crew-sheet.pdf?language=fr").status_code == 422
