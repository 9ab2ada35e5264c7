"""A solid as STEP with its name and colour, as the CAD kernel writes it."""

from errno import ENOSPC
from typing import Any

from cadquery import Color, Location, Shape
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool

from partgen.export.step_text import named, steady
from partgen.parts.record import Colour
from partgen.scratch import scratch


def part_step(name: str, shape: Shape, colour: Colour) -> bytes:
    """Return one solid as STEP [mm], named and coloured (sRGB shares), in its own frame."""
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    shapes.SetAutoNaming_s(False)
    product = shapes.AddShape(_settled(shape), False)
    TDataStd_Name.Set_s(product, TCollection_ExtendedString("part"))    # short: no line is folded within it
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    colours.SetColor(product, Color(*colour).wrapped, XCAFDoc_ColorType.XCAFDoc_ColorSurf)
    writer = STEPCAFControl_Writer()
    # Curves in their surfaces' parameters only tell again what the edges tell: with them a file is 2.7 times as long
    # and takes twice as long to write. The setting is there once there is a writer.
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
    with scratch() as folder:
        path = folder / "whole.step"
        if writer.Write(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise OSError(ENOSPC, "the STEP writer gave up, most likely for want of room", str(path))
        return named(steady(path.read_text(encoding="ascii")).encode("ascii"), name)


def _settled(shape: Shape) -> Any:
    """Return the kernel's shape with its location worked into its geometry: a part of its own is written
    for a location otherwise, named by the kernel's counter."""
    if shape.wrapped.Location().IsIdentity():
        return shape.wrapped
    here = shape.location().wrapped.Transformation()
    return BRepBuilderAPI_Transform(shape.located(Location()).wrapped, here, True).Shape()
