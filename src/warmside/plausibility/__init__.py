"""Is what was written down likely? Figures that no house has, and those to look at again."""

from warmside.plausibility.house import doubts_of_house
from warmside.plausibility.likelihood import Unlikely
from warmside.plausibility.services import doubts_of_services
from warmside.plausibility.walls import doubts_of_wall

__all__ = ["Unlikely", "doubts_of_house", "doubts_of_services", "doubts_of_wall"]
