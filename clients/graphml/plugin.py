"""Checks a GraphML graph and writes the findings to its elements.

python3 plugin.py ADDRESS GRAPH > CHECKED
"""

import re
import sys
import xml.etree.ElementTree as ElementTree

from skidrule_client import Client, RequestError, set_datum
from skidrule.v1 import design_pb2, rule_pb2

NAMESPACE = "http://graphml.graphdrawing.org/xmlns"
KINDS = [f.name for f in design_pb2.Component.DESCRIPTOR.oneofs_by_name["spec"].fields]
FINDINGS = "skidrule_findings"
IGNORED = {"colour", "label", "x", "y", FINDINGS}
# Most edits of one request that a server takes by default.
EDITS_AT_ONCE = 1000
MAX_BYTES = 16 << 20


class GraphError(Exception):
    """The graph is no plant, or its design cannot be checked; the message names the element."""


def name(local):
    return f"{{{NAMESPACE}}}{local}"


class Graph:
    """A GraphML file: its tree, and the element of each element path of the design."""

    def __init__(self, data):
        if len(data) > MAX_BYTES:
            raise GraphError(f"the file has {len(data)} bytes; {MAX_BYTES} are allowed")
        if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
            raise GraphError("the file declares entities, which no GraphML file needs")
        try:
            self.root = ElementTree.fromstring(data)
        except ElementTree.ParseError as e:
            raise GraphError(f"the file is no XML: {e}") from e
        self.graph = self.root.find(name("graph"))
        if self.graph is None:
            raise GraphError("the file holds no graph")
        self.keys = {k.get("id"): k.get("attr.name") for k in self.root.iter(name("key"))}
        self.elements = {}
        self.data = []
        self.design = self._design()

    def _of(self, element):
        """The data of a node or edge by key name."""
        return {self.keys.get(d.get("key")): (d.text or "").strip() for d in element.findall(name("data"))}

    def _design(self):
        design = design_pb2.Design(name=self.graph.get("id", ""))
        tags = {}
        for node in self.graph.findall(name("node")):
            data = self._of(node)
            kind = data.pop("kind", None)
            if kind is None:
                continue
            if kind not in KINDS:
                raise GraphError(f"node {node.get('id')}: there is no kind {kind!r}")
            tag = data.pop("tag", None) or node.get("id")
            component = design.components.add(tag=tag)
            getattr(component, kind).SetInParent()
            tags[node.get("id")] = tag
            self._element(f"components.{tag}", node, data)
        for edge in self.graph.findall(name("edge")):
            data = self._of(edge)
            ends = [tags.get(edge.get(end)) for end in ("source", "target")]
            if None in ends:
                continue
            tag = data.pop("tag", None) or edge.get("id")
            line = design.lines.add(tag=tag)
            line.route.add(tag=ends[0], leave=edge.get("sourceport"))
            line.route.add(tag=ends[1], enter=edge.get("targetport"))
            self._element(f"lines.{tag}", edge, data)
        return design

    def _element(self, path, element, data):
        if path in self.elements:
            raise GraphError(f"{element.get('id')}: {path} is there twice")
        self.elements[path] = element
        self.data += [(f"{path}.{key}", value) for key, value in data.items() if key not in IGNORED and value]

    def element_of(self, subject):
        """The node or edge of a subject such as components.CV-1.ports.inlet; None for the whole design."""
        return self.elements.get(".".join(subject.split(".")[:2]))

    def write(self, findings):
        """The graph with its findings, as bytes."""
        lines = {}
        for f in findings:
            element = self.element_of(f.subject)
            if element is not None:
                severity = rule_pb2.Severity.Name(f.severity).removeprefix("SEVERITY_").lower()
                lines.setdefault(element, []).append(f"{severity}: {f.message} ({f.rule_id})")
        for node in self.elements.values():
            for old in [d for d in node.findall(name("data")) if self.keys.get(d.get("key")) == FINDINGS]:
                node.remove(old)
        if FINDINGS not in self.keys.values():
            key = ElementTree.Element(name("key"), {"id": FINDINGS, "for": "all", "attr.name": FINDINGS, "attr.type": "string"})
            self.root.insert(0, key)
            self.keys[FINDINGS] = FINDINGS
        key = next(i for i, n in self.keys.items() if n == FINDINGS)
        for element, texts in lines.items():
            ElementTree.SubElement(element, name("data"), {"key": key}).text = "\n".join(texts)
        ElementTree.register_namespace("", NAMESPACE)
        return ElementTree.tostring(self.root, encoding="utf-8", xml_declaration=True)


def check(client, graph):
    """The report about a graph. The data of its elements are stated by edits, so that the server reads their units."""
    try:
        with client.edit(graph.design) as editing:
            for i in range(0, len(graph.data), EDITS_AT_ONCE):
                some = graph.data[i : i + EDITS_AT_ONCE]
                try:
                    editing.apply(*(set_datum(path, value) for path, value in some))
                except RequestError as e:
                    which = re.search(r"edits\[(\d+)\]", str(e))
                    raise GraphError(f"{some[int(which[1])][0]}: {e}" if which else str(e)) from e
            return editing.report
    except RequestError as e:
        raise GraphError(str(e)) from e


def main(address, path):
    with open(path, "rb") as file:
        graph = Graph(file.read())
    with Client(address) as client:
        report = check(client, graph)
    sys.stdout.buffer.write(graph.write(report.findings))


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    try:
        main(*sys.argv[1:])
    except GraphError as e:
        sys.exit(str(e))
