"""XMLBIF 0.3, the interchange format in XML (1998; memory)."""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement, indent, tostring

from pegwood.causes.inference import FaultNet
from pegwood.causes.interchange.general import GeneralNet, general


def to_xmlbif(net: FaultNet, title: str) -> str:
    """A net's text as XMLBIF; a property of each variable says which fault or sign it stands for."""
    return written(general(net, title))


def written(net: GeneralNet) -> str:
    """A general net's text as XMLBIF."""
    root = Element("BIF", VERSION="0.3")
    network = SubElement(root, "NETWORK")
    SubElement(network, "NAME").text = "pegwood"
    SubElement(network, "PROPERTY").text = f"title = {net.title}"
    for variable in net.variables:
        at = SubElement(network, "VARIABLE", TYPE="nature")
        SubElement(at, "NAME").text = variable.name
        for state in variable.states:
            SubElement(at, "OUTCOME").text = state
        SubElement(at, "PROPERTY").text = (
            f"id = {variable.of}" if variable.of else "a step on the way to a sign"
        )
    for variable in net.variables:
        at = SubElement(network, "DEFINITION")
        SubElement(at, "FOR").text = variable.name
        for parent in variable.parents:
            SubElement(at, "GIVEN").text = parent
        SubElement(at, "TABLE").text = " ".join(map(repr, variable.table.ravel().tolist()))
    indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{tostring(root, encoding="unicode")}\n'
