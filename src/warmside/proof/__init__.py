"""Did the wall become what was promised? What was measured afterwards, held against it."""

from warmside.proof._causes import Cause, Hints
from warmside.proof._compare import BayLook, JointLook, ThermalProof, compare
from warmside.proof._conditions import Conditions, Rule, rules, weak
from warmside.proof._estimate import Estimate, estimated
from warmside.proof._fan_picture import FanPicture, fan_picture
from warmside.proof._fan_tests import FanChange, fan_change
from warmside.proof._file import ProofFile, WallEntry, proof_of, read_proof
from warmside.proof._foam import (
    RULES,
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
from warmside.proof._gather import Drying, Load, fan_result, measured_wall
from warmside.proof._look import Look, look
from warmside.proof._measured import BayFoam, Measured, MeasuredWall, bay_foam
from warmside.proof._meter import MeterReading, TrueReading, against_drying, corrected
from warmside.proof._picture import Picture, Unit, checked, read_matrix, read_toned
from warmside.proof._prediction import Prediction, predict, thickness_map
from warmside.proof._rectify import Lens, Mark, View, homography, view_of
from warmside.proof._scene import PERFECT, Faults, Stand, corners_seen, pictured

__all__ = [
    "PERFECT",
    "RULES",
    "BayFoam",
    "BayLook",
    "Cause",
    "Conditions",
    "Core",
    "DensityProof",
    "Drying",
    "Estimate",
    "FanChange",
    "FanPicture",
    "Faults",
    "Hints",
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
    "Prediction",
    "Probed",
    "ProofFile",
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
    "checked",
    "compare",
    "corners_seen",
    "corrected",
    "density_proof",
    "estimated",
    "fan_change",
    "fan_picture",
    "fan_result",
    "homography",
    "look",
    "measured_wall",
    "pictured",
    "predict",
    "proof_of",
    "read_matrix",
    "read_proof",
    "read_toned",
    "rules",
    "sampling_plan",
    "share_above",
    "thickness_map",
    "thickness_proof",
    "view_of",
    "weak",
]
