"""Did the wall become what was promised? What was measured afterwards, held against it."""

from warmside.proof.appearance import Look, look
from warmside.proof.comparison import ENOUGH, ThermalProof, compare
from warmside.proof.conditions import Conditions, Reading, Rule, rules, weak
from warmside.proof.estimate import Estimate, estimated
from warmside.proof.fan_pictures import FanPicture, fan_picture
from warmside.proof.fan_tests import FanChange, fan_change, least_change
from warmside.proof.file import ProofFile, WallEntry, proof_of, read_proof
from warmside.proof.foam import (
    RULES,
    SCATTER,
    Core,
    DensityProof,
    Place,
    Probed,
    ThicknessProof,
    density_proof,
    sampling_plan,
    share_above,
    thickness_proof,
)
from warmside.proof.gather import (
    Drying,
    Load,
    fan_result,
    measured_wall,
    picture_of,
    station_readings,
)
from warmside.proof.looks import BayLook, Cause, Hints, JointLook
from warmside.proof.measured import BayFoam, Measured, MeasuredWall, bay_foam
from warmside.proof.meter import MeterReading, TrueReading, against_drying, corrected
from warmside.proof.mosaic import fused
from warmside.proof.operating import Chances, chances, curve
from warmside.proof.picture import Picture, Unit, checked, read_matrix, read_toned
from warmside.proof.power import Chance, Power, power, usual, wide_enough
from warmside.proof.prediction import Prediction, predict, thickness_map
from warmside.proof.rectify import Lens, Mark, View, homography, view_of
from warmside.proof.regions import CAUSES, InTheWay, Region
from warmside.proof.scene import PERFECT, Faults, Stand, corners_seen, pictured

__all__ = [
    "CAUSES",
    "ENOUGH",
    "PERFECT",
    "RULES",
    "SCATTER",
    "BayFoam",
    "BayLook",
    "Cause",
    "Chance",
    "Chances",
    "Conditions",
    "Core",
    "DensityProof",
    "Drying",
    "Estimate",
    "FanChange",
    "FanPicture",
    "Faults",
    "Hints",
    "InTheWay",
    "JointLook",
    "Lens",
    "Load",
    "Look",
    "Mark",
    "Measured",
    "MeasuredWall",
    "MeterReading",
    "Picture",
    "Place",
    "Power",
    "Prediction",
    "Probed",
    "ProofFile",
    "Reading",
    "Region",
    "Rule",
    "Stand",
    "ThermalProof",
    "ThicknessProof",
    "TrueReading",
    "Unit",
    "View",
    "WallEntry",
    "against_drying",
    "bay_foam",
    "chances",
    "checked",
    "compare",
    "corners_seen",
    "corrected",
    "curve",
    "density_proof",
    "estimated",
    "fan_change",
    "fan_picture",
    "fan_result",
    "fused",
    "homography",
    "least_change",
    "look",
    "measured_wall",
    "picture_of",
    "pictured",
    "power",
    "predict",
    "proof_of",
    "read_matrix",
    "read_proof",
    "read_toned",
    "rules",
    "sampling_plan",
    "share_above",
    "station_readings",
    "thickness_map",
    "thickness_proof",
    "usual",
    "view_of",
    "weak",
    "wide_enough",
]
