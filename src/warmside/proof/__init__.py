"""Did the wall become what was promised? What was measured afterwards, held against it."""

from warmside.proof._causes import Cause, Hints
from warmside.proof._compare import BayLook, JointLook, ThermalProof, compare
from warmside.proof._conditions import Conditions, Rule, rules, weak
from warmside.proof._estimate import Estimate, estimated
from warmside.proof._look import Look, look
from warmside.proof._picture import Picture, Unit, checked, read_matrix, read_toned
from warmside.proof._prediction import Prediction, predict, thickness_map
from warmside.proof._rectify import Lens, Mark, View, homography, view_of
from warmside.proof._scene import PERFECT, Faults, Stand, corners_seen, pictured

__all__ = [
    "PERFECT",
    "BayLook",
    "Cause",
    "Conditions",
    "Estimate",
    "Faults",
    "Hints",
    "JointLook",
    "Lens",
    "Look",
    "Mark",
    "Picture",
    "Prediction",
    "Rule",
    "Stand",
    "ThermalProof",
    "Unit",
    "View",
    "checked",
    "compare",
    "corners_seen",
    "estimated",
    "homography",
    "look",
    "pictured",
    "predict",
    "read_matrix",
    "read_toned",
    "rules",
    "thickness_map",
    "view_of",
    "weak",
]
