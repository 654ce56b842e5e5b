"""Hand calculations against finite elements of a general library (scikit-fem, Bogner-Fox-Schmit plates), within bands.

- a long wall as a plate with a bearer's push: Navier's series within 1 % in deflection and 3 % in stress;
- a ledge's leg under a bearer and a foot's leg under its washer: the hand rule "spreads 1 in 2" against the elastic
  peak at the root: not below it by more than 10 %, not above it by more than 25 %.
"""

import numpy as np
import pytest

from baywright.mechanics.plate import Patch, Plate, supported

skfem = pytest.importorskip("skfem")


def lines(whole, count, *edges):
    """Return mesh lines along one way, some of them on the load's edges, so that all of it is caught."""
    kept = [min(max(0.0, edge), whole) for edge in edges]
    return np.unique(np.round(np.concatenate([np.linspace(0, whole, count + 1), kept]), 6))


class Bent:
    """A plate under an even push over a rectangle, 1 N in all."""

    def __init__(self, plate: Plate, x: float, y: float, u: float, v: float, cells: tuple[int, int], held) -> None:
        from skfem.helpers import dd, ddot, eye, trace

        xs, ys = (
            lines(whole, n, at - wide / 2, at + wide / 2)
            for whole, n, at, wide in ((plate.a, cells[0], x, u), (plate.b, cells[1], y, v))
        )
        mesh = skfem.MeshQuad.init_tensor(xs, ys)
        self.basis = skfem.Basis(mesh, skfem.ElementQuadBFS())
        self.plate = plate
        e, nu = plate.e, plate.nu

        @skfem.BilinearForm
        def energy(a, b, _):
            def moment(t):
                return e / (1 + nu) * (t + nu / (1 - nu) * eye(trace(t), 2))

            return plate.thickness**3 / 12 * ddot(moment(dd(a)), dd(b))

        @skfem.LinearForm
        def push(a, w):
            on = (np.abs(w.x[0] - x) <= u / 2) & (np.abs(w.x[1] - y) <= v / 2)
            return on / (u * v) * a

        k, f = energy.assemble(self.basis), push.assemble(self.basis)
        self.w = skfem.solve(*skfem.condense(k, f, D=held(self.basis)))

    @property
    def deflection(self) -> float:
        return float(np.abs(self.w[self.basis.nodal_dofs[0]]).max())

    def moments(self):
        """Return bending along x and along y a mm (N·mm/mm) at the elements' points, and those points' y."""
        h, nu = self.basis.interpolate(self.w).hess, self.plate.nu
        d = self.plate.stiffness
        return (
            d * (h[0, 0] + nu * h[1, 1]),
            d * (h[1, 1] + nu * h[0, 0]),
            np.asarray(self.basis.global_coordinates())[1],
        )


def edges_supported(basis):
    """Hold the deflection on all edges, and with it the slope along each."""
    a, b = basis.mesh.p.max(axis=1)
    level = basis.get_dofs(lambda p: np.isclose(p[1], 0) | np.isclose(p[1], b)).all(["u", "u_x"])
    upright = basis.get_dofs(lambda p: np.isclose(p[0], 0) | np.isclose(p[0], a)).all(["u", "u_y"])
    return np.unique(np.concatenate([level, upright]))


def root_clamped(basis):
    return basis.get_dofs(lambda p: np.isclose(p[1], 0)).all()


def test_a_wall_panel_with_a_bearers_push():
    wall = Plate(742.0, 406.0, 3.0, 70_000.0, 0.33)
    x, y, u, v = 596.0, 174.0, 90.0, 25.0
    fe = Bent(wall, x, y, u, v, (50, 30), edges_supported)
    series = supported(wall, 0.0, [Patch(x, y, u, v, 1.0)])
    assert fe.deflection == pytest.approx(series.deflection, rel=0.01)
    along, upright, _ = fe.moments()
    peak = max(float(np.abs(along).max()), float(np.abs(upright).max()))
    assert 6 * peak / wall.thickness**2 == pytest.approx(series.stress, rel=0.03)


@pytest.mark.parametrize(
    ("length", "toe", "thickness", "load", "arm", "hand"),
    [
        # A ledge of 25 x 25 x 3: a bearer of 40 mm on its toe, 22 mm from the root; hand: 40 + 22.
        (300.0, 22.0, 3.0, (21.0, 40.0, 2.0), 22.0, 40.0 + 22.0),
        # A foot of 60 x 60 x 6, 60 long: a washer of 16 spread to the leg's middle; hand: 16 + 6 + 27.
        (60.0, 54.0, 6.0, (27.0, 22.0, 22.0), 27.0, 16.0 + 6.0 + 27.0),
    ],
)
def test_a_leg_under_a_load_that_stands_off_its_root(length, toe, thickness, load, arm, hand):
    at, wide, deep = load
    leg = Plate(length, toe, thickness, 70_000.0, 0.3)
    fe = Bent(leg, length / 2, at, wide, deep, (60, 16), root_clamped)
    _, upright, y = fe.moments()
    first = np.sort(np.unique(np.round(fe.basis.mesh.p[1], 6)))[1]
    peak = float(np.abs(upright[y < first]).max())
    assert 0.90 < (arm / hand) / peak < 1.25
    # All of the load's moment arrives at the root.
    assert peak * length > at
