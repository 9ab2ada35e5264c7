"""What a printer that lays down plastic line by line and layer by layer can do."""

from math import atan2, degrees


def overhang_limit(layer, line_width):
    """Return the steepest overhang at which half of every line still rests on the layer below.

    From one layer to the next a face that leans out by A moves out by layer * tan(A); half of the outermost
    line rests on the one below while that is at most line_width / 2.

        A = atan(line_width / (2 layer))

    Args:
        layer: layer height [mm], > 0.
        line_width: width of one printed line [mm], > 0.

    Returns the angle from upright [deg]: 0 is a wall, 90 a ceiling.

    >>> round(overhang_limit(0.2, 0.45), 1)
    48.4

    Source: plane geometry; the usual 45 degrees is common practice.
    """
    return degrees(atan2(line_width, 2 * layer))
