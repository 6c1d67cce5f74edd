"""Changing a figure in the text of a job's own rows, the rest left as it was written."""

from __future__ import annotations

from importlib import resources

import tomlkit
from tomlkit.exceptions import TOMLKitError

from warmside.catalog._files import LARGEST_FILE
from warmside.catalog._rows import Foam
from warmside.errors import CatalogError, Fault, InputError
from warmside.toml import parse


def with_foam_waste(text: str, foam: Foam) -> str:
    """``text`` with the waste of ``foam`` in its row, the row copied from the built-in one first.

    Parameters
    ----------
    text : str
        Own rows (TOML), "" for none.
    foam : Foam
        Gives its id, its two waste factors and where they come from.

    Raises
    ------
    CatalogError
        A text that is no TOML, or a foam that neither it nor the built-in file has.
    """
    try:
        parse(text, "own rows", LARGEST_FILE)
        document = tomlkit.parse(text)
        # a text of an earlier version has the older heading
        rows = document.setdefault("foams" if "foams" in document else "foam", tomlkit.aot())
        row = next((row for row in rows if row.get("id") == foam.id), None)
    except InputError as error:
        raise CatalogError(error.faults) from None
    except (TOMLKitError, AttributeError, TypeError) as error:
        raise CatalogError([Fault("own rows", str(error)[:80], "TOML")]) from None
    if row is None:
        path = resources.files("warmside.catalog") / "data" / "foams.toml"
        built_in = tomlkit.parse(path.read_text(encoding="utf-8"))["foam"]
        row = next((row for row in built_in if row["id"] == foam.id), None)
        if row is None:
            raise CatalogError([Fault("foam", repr(foam.id), "a foam of the catalog")])
        rows.append(row)
    row["waste_open_bays"] = round(foam.waste_open_bays, 4)
    row["waste_small_bays"] = round(foam.waste_small_bays, 4)
    row["source_use"], row["tag_use"] = foam.source_use.text, foam.source_use.tag
    return tomlkit.dumps(document)
