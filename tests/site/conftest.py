"""A framed wall of the demonstration house, planned."""

from __future__ import annotations

import pytest

from site_walls import planned
from warmside.catalog import Catalog, load
from warmside.demo import survey_text
from warmside.site import WallPlan
from warmside.survey import Survey, read


@pytest.fixture(scope="session")
def survey() -> Survey:
    return read(survey_text())


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    return load()


@pytest.fixture(scope="session")
def plan(survey: Survey, catalog: Catalog) -> WallPlan:
    """The kitchen's north wall with 3 in of closed-cell foam."""
    return planned(survey, catalog, "kitchen north", "cc-76")
