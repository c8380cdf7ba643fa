"""The W3C schema of MusicXML 4.0, as the PyPI package ``musicxml`` carries it, ready to validate with; the network is never asked.

The package has no ``xlink.xsd``, and its ``xml.xsd`` is another thing: two stubs declare the few attributes that MusicXML uses of them.
"""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path
from typing import Any

from lxml import etree

_HEAD = '<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="{}">'
_XLINK = _HEAD.format("http://www.w3.org/1999/xlink") + (
    '<xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:string" fixed="simple"/>'
    '<xs:attribute name="role" type="xs:token"/><xs:attribute name="title" type="xs:token"/>'
    '<xs:attribute name="show" type="xs:NMTOKEN"/><xs:attribute name="actuate" type="xs:NMTOKEN"/></xs:schema>'
)
_XML = _HEAD.format("http://www.w3.org/XML/1998/namespace") + (
    '<xs:attribute name="lang" type="xs:language"/><xs:attribute name="space" type="xs:NCName"/></xs:schema>'
)


class _Stubs(etree.Resolver):
    def resolve(self, url: str, public_id: str, context: Any) -> Any:
        if url.endswith("xlink.xsd"):
            return self.resolve_string(_XLINK, context)
        if url.endswith("xml.xsd"):
            return self.resolve_string(_XML, context)
        return None


@cache
def schema() -> etree.XMLSchema:
    """Return the compiled schema."""
    found = importlib.util.find_spec("musicxml")
    assert found and found.submodule_search_locations
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Stubs())
    place = Path(next(iter(found.submodule_search_locations))) / "generate_classes" / "musicxml_4_0.xsd"
    return etree.XMLSchema(etree.parse(str(place), parser))


def is_valid(tree: Any) -> bool:
    """Return whether a tree is valid MusicXML 4.0. A DOCTYPE does not count."""
    return bool(schema().validate(tree))
