"""What the series at an interface and in a layer of wood mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.physics.assembly import Layer, MouldClass
from warmside.physics.moisture import _criteria as criteria
from warmside.physics.moisture._decay import decay
from warmside.physics.moisture._layered import moisture_of
from warmside.physics.moisture._mould import CLASSES, MOULD_LIMIT, mould_index
from warmside.physics.moisture._potential import FloatArray
from warmside.physics.moisture._repeat import Years
from warmside.physics.moisture._simulation import Run, contents
from warmside.wood import ROT_STARTS

METER_DEPTH = 0.003  # [m] from the room-side face: where the pins of a meter read
WOOD_ROLES = ("wood", "sheathing", "furring")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class JudgedInterface:
    """The meeting of two layers, judged on the more sensitive of its two faces.

    Attributes
    ----------
    between : tuple[str, str]
        Names of the layers, room side first.
    temperature, humidity : FloatArray
        Of the damper face, shape (n_hours,) [degC], [-].
    mould_class : MouldClass
        Of the more sensitive face.
    mould : FloatArray
        Mould index, shape (n_hours,) [-].
    mould_most : float
        Greatest mould index [-].
    mould_hour : int
        Hour at which it was reached [h].
    decay_activation, decay_mass_loss : float
        At worst [-], at the end [%]; of wood faces, else 0.
    decay_hour : int
        Hour of the worst activation [h].
    corrosion_hours, frost_hours, liquid_hours : int
        Over all years [h].
    """

    between: tuple[str, str]
    temperature: FloatArray
    humidity: FloatArray
    mould_class: MouldClass
    mould: FloatArray
    mould_most: float
    mould_hour: int
    decay_activation: float
    decay_mass_loss: float
    decay_hour: int
    corrosion_hours: int
    frost_hours: int
    liquid_hours: int


@dataclass(frozen=True, eq=False)
class WoodLayer:
    """Moisture of a layer of wood or board.

    Attributes
    ----------
    name : str
        The layer.
    role : str
        Its role.
    mean : FloatArray
        Mean over the thickness, shape (n_hours,) [kg/kg].
    meter : FloatArray
        Mean of the 3 mm next to the room, as pins pressed in there would read, (n_hours,) [kg/kg].
    days_above_20, days_above_26 : float
        Mean above 20 % and 26 % [d].
    rotting_days : float
        Mean above 26 % while the layer is above 5 degC [d].
    summer_least : float or None
        Least mean of the summer that dries least; None without a whole summer [kg/kg].
    drying_days : float or None
        Until the mean is below 19 % for good; 0 if always, None if not within the run [d].
    """

    name: str
    role: str
    mean: FloatArray
    meter: FloatArray
    days_above_20: float
    days_above_26: float
    rotting_days: float
    summer_least: float | None
    drying_days: float | None

    @property
    def stays_wet(self) -> str:
        """What is wrong with it over the whole run, as the end of a sentence; "" where nothing is.

        Fourteen days above 26 % and 5 degC, or a summer that does not bring it below 20 %.
        """
        if self.rotting_days > criteria.ROT_DAYS:
            return f"is above 26 % and 5 °C for {self.rotting_days:.0f} days"
        if self.summer_least is not None and self.summer_least >= criteria.SUMMER_MOISTURE:
            return f"is never below {self.summer_least:.0%} in a summer"
        return ""


def interface_of(run: Run, layers: Sequence[Layer], k: int, years: Years) -> JudgedInterface:
    """The interface between layers ``k`` and ``k + 1`` of a run, judged at its damper face.

    Its state is worked out for the hours that were computed; mould and rot, which have memory, run
    through those of all ``years``.
    """
    near, far = int(run.mesh.cells(k)[-1]), int(run.mesh.cells(k + 1)[0])
    t0, h0 = run.at(near)
    t1, h1 = run.at(far)
    damp, warm = np.minimum(np.maximum(h0, h1), 1.0), np.where(h0 > h1, t0, t1)
    humidity, temperature = years.told(damp), years.told(warm)
    faces = [moisture_of(layer) for layer in layers[k : k + 2]]
    kind = min((face.mould_class for face in faces), key=CLASSES.index)
    mould = mould_index(temperature, humidity, kind)
    rots = any(face.timber != "none" for face in faces)
    rot = decay(temperature, humidity) if rots else None
    return JudgedInterface(
        between=(layers[k].name, layers[k + 1].name),
        temperature=temperature,
        humidity=humidity,
        mould_class=kind,
        mould=mould,
        mould_most=float(mould.max()),
        mould_hour=int(mould.argmax()),
        decay_activation=float(rot.activation.max()) if rot else 0.0,
        decay_mass_loss=float(rot.mass_loss[-1]) if rot else 0.0,
        decay_hour=int(rot.activation.argmax()) if rot else 0,
        corrosion_hours=criteria.corrosion_hours(temperature, humidity),
        frost_hours=criteria.frost_hours(temperature, humidity),
        liquid_hours=criteria.liquid_hours(humidity),
    )


def wood_of(
    run: Run, layer: Layer, k: int, years: Years, months: npt.NDArray[np.int64]
) -> WoodLayer:
    """Moisture of a layer of wood, all of whose cells were recorded.

    Parameters
    ----------
    run : Run
        Of the path.
    layer : Layer
        For its name and role.
    k : int
        Its number in the path, room side first.
    years : Years
        How the hours computed repeat.
    months : ndarray
        Month of every hour of all years, 1 to 12, shape (n_hours,).
    """
    own = run.mesh.cells(k)
    columns = np.searchsorted(run.watched, own)
    material = run.mesh.slabs[k].material
    held = contents(material.curves, run.potential[:, columns]) / material.density
    width = run.mesh.width[own]
    within = np.clip(METER_DEPTH - (np.cumsum(width) - width), 0.0, width)
    mean, meter = (years.told(np.asarray(held @ (part / part.sum()))) for part in (width, within))
    warmth = years.told(np.asarray(run.temperature[:, columns] @ (width / width.sum())))
    return WoodLayer(
        layer.name, layer.role, mean, meter,
        criteria.days_above(mean, 0.20), criteria.days_above(mean, ROT_STARTS),
        criteria.rotting_days(mean, warmth), criteria.summer_least(mean, months),
        criteria.drying_days(mean),
    )  # fmt: skip


def looked_at(interfaces: tuple[JudgedInterface, ...], vented: bool) -> tuple[JudgedInterface, ...]:
    """Interfaces that a verdict looks at: an unvented cladding gets rain on purpose."""
    return interfaces if vented else interfaces[:-1] or interfaces


def verdict(
    interfaces: tuple[JudgedInterface, ...],
    wood: tuple[WoodLayer, ...],
    months: npt.NDArray[np.int64],
    *,
    vented: bool,
) -> tuple[bool, str]:
    """Whether the path stays dry, and the worst thing found with its place and month.

    The face of an unvented cladding gets rain on purpose and is left out.
    """
    inner = looked_at(interfaces, vented)
    rotten = max(inner, key=lambda one: one.decay_activation, default=None)
    if rotten is not None and rotten.decay_activation >= 1.0:
        return False, f"rot can start between {rotten.between[0]} and {rotten.between[1]}"
    worst = max(inner, key=lambda one: one.mould_most, default=None)
    if worst is not None and worst.mould_most >= MOULD_LIMIT:
        month = MONTHS[int(months[worst.mould_hour]) - 1]
        return False, (
            f"mould index {worst.mould_most:.1f} between {worst.between[0]} and"
            f" {worst.between[1]} in {month}, limit {MOULD_LIMIT:g}"
        )
    for layer in wood:
        if layer.stays_wet:
            return False, f"{layer.name} {layer.stays_wet}"
    if worst is None:
        return True, "one layer only"
    return True, (
        f"mould index at most {worst.mould_most:.1f}, between {worst.between[0]} and"
        f" {worst.between[1]}, limit {MOULD_LIMIT:g}"
    )
