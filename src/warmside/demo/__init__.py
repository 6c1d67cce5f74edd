"""The demonstration house and stock: invented people, places and readings, used by nothing else."""

from importlib import resources

from warmside.demo.stock_files import archetype_texts, stock_table, write_stock

__all__ = [
    "archetype_texts",
    "proof_picture",
    "proof_text",
    "stock_table",
    "survey_text",
    "write_stock",
]


def survey_text() -> str:
    """Survey file of the demonstration house (TOML)."""
    return resources.files(__name__).joinpath("house.toml").read_text(encoding="utf-8")


def proof_text() -> str:
    """Proof file of the demonstration house (TOML): synthetic from end to end, and says so."""
    return _proof("proof.toml").decode("utf-8")


def proof_picture(name: str) -> bytes:
    """A thermal picture that the proof file names; nobody took it."""
    return _proof(name)


def _proof(name: str) -> bytes:
    return resources.files(__name__).joinpath("proof", name).read_bytes()
