"""What the solid checks look at: a train plan with the mesh of every part."""

from msgspec import Struct
from numpy import array, eye, pi
from trimesh import Trimesh
from trimesh.transformations import rotation_matrix

from partgen.parts import record_of
from partgen.parts.record import POSES
from partgen.plan.item import Item, Place
from partgen.plan.train import TrainPlan


class Built(Struct, frozen=True):
    """A train with its meshes: `meshes` and `volumes` (of the solids, mm3) by (wagon name, item name);
    each mesh in its part's own frame [mm]."""

    train: TrainPlan
    meshes: dict[tuple[str, str], Trimesh]
    volumes: dict[tuple[str, str], float]

    def parts(self):
        """Yield (wagon plan or track's, item, mesh) for every kind of part of every wagon and of the track."""
        for plan in self.train.printed:
            for item in plan.items:
                yield plan, item, self.meshes[plan.name, item.name]

    def standing(self, plan):
        """Yield (item, place number, mesh in wagon axes) for every part of one wagon where it stands."""
        for item in plan.items:
            if item.loose:
                continue
            for number, place in enumerate(item.places, 1):
                mesh = self.meshes[plan.name, item.name].copy()
                yield item, number, mesh.apply_transform(stand(place))


def stand(place: Place):
    """Return the 4x4 matrix [mm] that sets a part at its place in the wagon."""
    matrix = rotation_matrix(place.yaw * pi / 180, (0, 0, 1))
    matrix[:3, 3] = place.x, place.y, place.z
    return matrix


def lay(item: Item, mesh: Trimesh) -> Trimesh:
    """Return the mesh in its print pose: standing on z = 0, its middle over the origin."""
    turned = eye(4)
    turned[:3, :3] = array(POSES[record_of(item.part).pose])
    posed = mesh.copy().apply_transform(turned)
    low, high = posed.bounds
    return posed.apply_translation((-(low[0] + high[0]) / 2, -(low[1] + high[1]) / 2, -low[2]))
