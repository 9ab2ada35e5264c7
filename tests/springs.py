"""What bends, by finite elements: triangles of a profile in its plane, quadratic, by scikit-fem."""

import numpy as np
import shapely
from scipy.spatial import Delaunay
from skfem import Basis, BilinearForm, ElementTriP2, ElementVector, FacetBasis, LinearForm, MeshTri, condense, solve
from skfem.helpers import ddot, sym_grad, trace


def triangles(profile, size):
    """Return a mesh of a shapely polygon in triangles of about `size` [mm]."""
    edge = np.array(profile.segmentize(size).exterior.coords)[:-1]
    holes = [np.array(ring.segmentize(size).coords)[:-1] for ring in profile.interiors]
    x0, y0, x1, y1 = profile.bounds
    x, y = np.meshgrid(np.arange(x0, x1, size), np.arange(y0, y1, 0.866 * size))
    x[1::2] += size / 2
    inside = shapely.contains_xy(profile.buffer(-0.45 * size), x, y)
    points = np.vstack([edge, *holes, np.column_stack([x[inside], y[inside]])])
    corners = Delaunay(points).simplices
    spans = points[corners[:, 1:]] - points[corners[:, :1]]
    area = np.abs(spans[:, 0, 0] * spans[:, 1, 1] - spans[:, 0, 1] * spans[:, 1, 0]) / 2
    corners = corners[shapely.contains_xy(profile, *points[corners].mean(axis=1).T) & (area > 1e-7)]
    used, corners = np.unique(corners, return_inverse=True)
    return MeshTri(points[used].T.copy(), corners.reshape(-1, 3).T.copy())


def gives(profile, pushed, held, mirrored, modulus, poisson, width, size=0.2, pinned=None):
    """Return how far [mm] the place `pushed` gives along x and y for 1 N along x, and for 1 N along y, as (2, 2).

    profile: shapely polygon [mm]
    pushed, held, mirrored: which points (2, n) of its edge are pushed, held fast, and held along x alone: the middle
    modulus: Young's [MPa]; of E/(1 - nu^2) and nu/(1 - nu) plane stress becomes plane strain
    width: across the plane [mm], a function of the points (2, n)
    pinned: a place whose nearest corner is held fast
    """
    basis = Basis(triangles(profile, size), ElementVector(ElementTriP2()))
    mu, lame = modulus / 2 / (1 + poisson), modulus * poisson / (1 - poisson**2)

    @BilinearForm
    def energy(u, v, w):
        strain, other = sym_grad(u), sym_grad(v)
        return width(w.x) * (2 * mu * ddot(strain, other) + lame * trace(strain) * trace(other))

    edge = FacetBasis(basis.mesh, basis.elem, facets=basis.mesh.facets_satisfying(pushed, boundaries_only=True))
    loads = [LinearForm(lambda v, w, axis=axis: v[axis]).assemble(edge) for axis in (0, 1)]
    loads = [load / load.sum() for load in loads]
    fast = np.union1d(basis.get_dofs(held).all(), basis.get_dofs(mirrored).all(["u^1"]))
    if pinned:
        nearest = np.argmin(np.hypot(basis.mesh.p[0] - pinned[0], basis.mesh.p[1] - pinned[1]))
        fast = np.union1d(fast, basis.nodal_dofs[:, nearest])
    matrix = energy.assemble(basis)
    shifts = [solve(*condense(matrix, load, D=fast)) for load in loads]
    return np.array([[load @ shift for load in loads] for shift in shifts])


def strained(modulus, poisson):
    """Return modulus and Poisson's ratio with which plane stress is plane strain."""
    return modulus / (1 - poisson**2), poisson / (1 - poisson)
