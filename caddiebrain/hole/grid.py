"""How finely a hole is cut up. Every length in yards unless it says feet."""

from dataclasses import dataclass, replace

__all__ = ["GridSpec"]


@dataclass(frozen=True)
class GridSpec:
    """Resolution of a compiled hole.

    Parameters
    ----------
    cell : float
        Side of a raster cell that knows its lie.
    spot, near_spot : float
        Side of the squares in which resting balls are taken together, far from and near the pin.
    lattice, sparse_lattice, near_lattice, collar_lattice, wood_lattice : float
        Spacing of the positions at which decisions are worked out, on open ground, where few balls come to
        rest (near the tee, behind the green, far to the side, deep in a wood), near the pin, where a ball near the
        green can be putted and along the edge of a wood; between them values are interpolated.
    near_radius : float
        How far from the pin the near spacings hold.
    margin : float
        Ground kept on either side of the line of play and behind the green.
    wide : float
        Further from the line of play than this few balls come to rest.
    putt_step_ft : float
        Width of the bins of putting distance, feet.
    screen_points, points, tee_points : tuple of int
        Points that stand for the solid and the mishit part of one shot: while screening choices, in the graph
        that is solved, and from the tee. Fibonacci numbers spread best.
    """

    cell: float = 1.0
    spot: float = 2.0
    near_spot: float = 1.0
    lattice: float = 8.5
    sparse_lattice: float = 20.0
    near_lattice: float = 9.0
    collar_lattice: float = 4.5
    wood_lattice: float = 6.0
    near_radius: float = 36.0
    margin: float = 56.0
    wide: float = 50.0
    putt_step_ft: float = 0.25
    screen_points: tuple[int, int] = (13, 5)
    points: tuple[int, int] = (89, 21)
    tee_points: tuple[int, int] = (377, 89)

    def halved(self) -> "GridSpec":
        """Return the grid with every cell, spot, lattice step and putting bin half as wide."""
        return replace(
            self,
            cell=self.cell / 2,
            spot=self.spot / 2,
            near_spot=self.near_spot / 2,
            lattice=self.lattice / 2,
            sparse_lattice=self.sparse_lattice / 2,
            near_lattice=self.near_lattice / 2,
            collar_lattice=self.collar_lattice / 2,
            wood_lattice=self.wood_lattice / 2,
            putt_step_ft=self.putt_step_ft / 2,
        )
