"""The compiler: hole x player x day to a decision graph. The only room where the three meet."""

from caddiebrain.hole.arsenal import arsenal_of
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.compile import HoleCompiler, HoleModel
from caddiebrain.hole.day import player_today
from caddiebrain.hole.grid import GridSpec

__all__ = ["ChoiceTable", "GridSpec", "HoleCompiler", "HoleModel", "Kind", "arsenal_of", "player_today"]
