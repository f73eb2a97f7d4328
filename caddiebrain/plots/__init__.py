"""Pictures of holes, shots, scores and practice as matplotlib axes; an extra: ``pip install 'caddiebrain[plots]'``.

Every function draws on the ``ax`` it is given, or on a new figure of a fitting size, and returns the axes. Keyword
arguments that are left over go to the artists that carry the data. No setting of matplotlib is changed and nothing
is shown or saved: that is the caller's.
"""

from caddiebrain.plots.chances import hole_scores, scores
from caddiebrain.plots.ground import ground
from caddiebrain.plots.shots import dispersion, hole
from caddiebrain.plots.trade import frontier, practice

__all__ = ["dispersion", "frontier", "ground", "hole", "hole_scores", "practice", "scores"]
