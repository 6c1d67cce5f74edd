"""An entry in words, and an entry as its form would hold it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from warmside import units
from warmside.site.entries import Entry, Member
from warmside.site.log import Noted
from warmside.site.samples import density
from warmside.wording import Kind, Style

# field -> quantity, and the unit in which it is shown (SI -> text)
_QUANTITIES: dict[str, units.Quantity] = {
    "air_c": "temperature", "substrate_c": "temperature", "drum_a_c": "temperature",
    "drum_b_c": "temperature", "hose_c": "temperature", "outdoor_c": "temperature",
    "room_c": "temperature", "thickness_m": "length",
}  # fmt: skip
_KINDS: dict[str, Kind] = {
    **dict.fromkeys(_QUANTITIES, "temperature"), "thickness_m": "length", "wind_m_s": "wind",
}  # fmt: skip
_HIDDEN = ("at", "noted", "note", "strokes", "reading", "gate_record", "record", "text")


def shown(name: str, value: Any, style: Style | None = None) -> str:
    """A field's value with its unit, as its form reads it again, or as a reader's style has it."""
    if style is not None and name in _KINDS:
        return style(value, _KINDS[name])
    if name in _QUANTITIES:
        return units.show(value, _QUANTITIES[name])
    if name == "volume_m3" and value > _VESSEL:
        return units.show(value, "volume")
    if name in ("humidity", "wood_moisture"):
        return f"{value * 100:.3g} %"
    if name.startswith("pressure"):
        return f"{value / units.POUND_PER_INCH2:.0f} psi"
    if name in _FACTORS:
        factor, unit = _FACTORS[name]
        return f"{value * factor:.4g} {unit}".rstrip()
    if isinstance(value, datetime):
        return f"{value.astimezone():%Y-%m-%d %H:%M}"
    if isinstance(value, date):
        return value.isoformat()
    if name == "run":
        return str(value).replace("|", ", ")
    if isinstance(value, Member):
        return f"{value.name}, {value.certificate}".rstrip(", ")
    if isinstance(value, tuple):
        return "; ".join(shown(name, part, style) for part in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


_VESSEL = 0.1  # [m3] what a core is put into is smaller, and a work area larger
_FACTORS = {"mass_kg": (1e3, "g"), "volume_m3": (1e6, "mL"), "wind_m_s": (1.0, "m/s"),
            "conditioned_h": (1.0, ""), "listing_h": (1.0, ""), "label_h": (1.0, "")}  # fmt: skip


def typed_again(entry: Entry) -> dict[str, str]:
    """The entry as its form would hold it, for an amendment; without what was drawn."""

    def text(name: str, value: Any) -> str:
        return f"{value.astimezone():%Y-%m-%dT%H:%M}" if isinstance(value, datetime) else shown(
            name, value
        )  # fmt: skip

    return {
        name: text(name, value)
        for name in type(entry).model_fields
        if (value := getattr(entry, name)) not in (None, (), "")
        and name not in ("strokes", "noted")
    }


def signed_by(noted: Noted) -> str:
    """Whose name is under something, as what, drawn or typed; which account put it there, in which
    role, when.
    """
    name, role = getattr(noted.entry, "name", ""), getattr(noted.entry, "role", "")
    drawn = getattr(noted.entry, "drawn", None)
    way = "" if drawn is None else ", drawn" if drawn else ", typed"
    account = ", ".join(part for part in (noted.who, noted.account_role) if part)
    at = f"{noted.received.astimezone():%H:%M}"
    return f"{name}{f' as {role}' if role else ''}{way} (account {account}, {at})"


def entry_lines(noted: Noted, style: Style | None = None) -> tuple[tuple[str, str], ...]:
    """Names and values of an entry, by a reader's style or, without one, as its form reads them.

    A core's density is reckoned.
    """
    entry = noted.entry
    lines = [
        ((info.title or name).partition(",")[0], shown(name, value, style))
        for name, info in type(entry).model_fields.items()
        if name not in _HIDDEN and (value := getattr(entry, name)) not in (None, (), "")
    ]
    if noted.kind == "core":
        weighs = density(entry.mass_kg, entry.volume_m3)  # type: ignore[attr-defined]
        lines.append(("Density", f"{weighs:.1f} kg/m³"))
    lines += [
        (str(check.get("name")), str(check.get("state")))
        for check in noted.checks
        if check.get("state") != "passed"
    ]
    if entry.note:
        lines.append(("Note", entry.note))
    return tuple(lines)
