"""What a joint of tape or glue under a vehicle bears. Marks in the Source lines: CALC, worked out."""


def joint_pull(strength: float, length: float, width: float, lever: float) -> float:
    """Level pull that a joint between two flat faces bears, the pull acting below them.

    F = S/(1/(w L) + 6 h/(w L^2))

    strength: stress that the joint bears at its worst edge, shear and tension added up, S [MPa]
    length: of the joint along the pull, L [mm], above 0
    width: of the joint across it, w [mm], above 0
    lever: how far below the faces the pull acts, h [mm]
    Returns the force F [N].

    >>> print(f"{joint_pull(0.085, 18, 20, 9):.2f}")
    7.65

    Source: CALC, mean shear F/(w L) and the edge's stress under a moment F h, section modulus w L^2/6; adding them up
    is the safe side.
    """
    return strength / (1 / (width * length) + 6 * lever / (width * length**2))
