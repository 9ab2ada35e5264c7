"""Solids as STEP with names, colours and places."""

from collections.abc import Callable, Iterable
from errno import ENOSPC
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from cadquery import Color, Location, Shape
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool

from partgen.export.bodies import Body
from partgen.export.step_text import label, steady
from partgen.parts.record import Colour


def wagon_step(name: str, parts: Iterable[Body]) -> bytes:
    """Return an assembly called `name` as STEP [mm]: every body a named, coloured occurrence at its place.

    Each `Body.form` is a cadquery solid in its own frame; copies are occurrences of one product.
    """
    def fill(shapes: Any, colours: Any) -> None:
        whole = shapes.NewShape()
        _call(whole, name)
        products: dict[tuple[int, Colour], Any] = {}
        for body in parts:
            key = id(body.form), body.colour
            if key not in products:
                products[key] = _product(shapes, colours, body.kind, body.form, body.colour)
            at = Location((body.place.x, body.place.y, body.place.z), (0, 0, 1), body.place.yaw)
            _call(shapes.AddComponent(whole, products[key], at.wrapped), body.name)
        shapes.UpdateAssemblies()
    return _written(fill, name)


def part_step(name: str, shape: Shape, colour: Colour) -> bytes:
    """Return one solid as STEP [mm], named and coloured (sRGB shares), in its own frame."""
    return _written(lambda shapes, colours: _product(shapes, colours, name, shape, colour), name)


def _product(shapes: Any, colours: Any, name: str, shape: Shape, colour: Colour) -> Any:
    product = shapes.AddShape(_settled(shape), False)
    _call(product, name)
    colours.SetColor(product, Color(*colour).wrapped, XCAFDoc_ColorType.XCAFDoc_ColorSurf)
    return product


def _settled(shape: Shape) -> Any:
    """Return the kernel's shape with its location worked into its geometry: a part of its own is written
    for a location otherwise, named by the kernel's counter."""
    if shape.wrapped.Location().IsIdentity():
        return shape.wrapped
    here = shape.location().wrapped.Transformation()
    return BRepBuilderAPI_Transform(shape.located(Location()).wrapped, here, True).Shape()


def _call(shape: Any, name: str) -> None:
    TDataStd_Name.Set_s(shape, TCollection_ExtendedString(label(name), True))


def _written(fill: Callable[[Any, Any], object], name: str) -> bytes:
    """Give `fill` the shape and colour tables of a new document; return the document as STEP."""
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    shapes.SetAutoNaming_s(False)
    fill(shapes, XCAFDoc_DocumentTool.ColorTool_s(document.Main()))
    writer = STEPCAFControl_Writer()
    writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "whole.step"
        if writer.Write(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise OSError(ENOSPC, "the STEP writer gave up, most likely for want of room", str(path))
        return steady(path.read_text(encoding="ascii"), name).encode("ascii")
