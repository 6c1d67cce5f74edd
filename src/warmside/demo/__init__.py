"""The demonstration house: invented people, place and readings, used by nothing else."""

from importlib import resources


def survey_text() -> str:
    """Survey file of the demonstration house (TOML)."""
    return resources.files(__name__).joinpath("house.toml").read_text(encoding="utf-8")
