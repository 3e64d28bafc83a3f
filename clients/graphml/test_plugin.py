"""Tests of the plug-in against the server that the variable SKIDRULE_ADDRESS names."""

import os
import pathlib
import unittest

from plugin import FINDINGS, Graph, GraphError, check, name
from skidrule_client import Client

PLANT = (pathlib.Path(__file__).parent / "plant.graphml").read_bytes()


class PluginTest(unittest.TestCase):
    def setUp(self):
        self.client = Client(os.environ["SKIDRULE_ADDRESS"])
        self.addCleanup(self.client.__exit__)

    def test_findings_come_back_to_their_elements(self):
        graph = Graph(PLANT)
        report = check(self.client, graph)
        self.assertEqual(report.coverage.components, 6)
        barriers = [f for f in report.findings if f.rule_id == "backflow/two-independent-barriers"]
        self.assertTrue(barriers)
        once = graph.write(report.findings)
        again = Graph(once)
        self.assertEqual(again.write(check(self.client, again).findings), once, "checking twice changes nothing")
        node = again.element_of(barriers[0].subject)
        key = next(i for i, n in again.keys.items() if n == FINDINGS)
        texts = [d.text for d in node.findall(name("data")) if d.get("key") == key]
        self.assertEqual(len(texts), 1)
        self.assertIn("backflow/two-independent-barriers", texts[0])

    def test_units_are_read_by_the_server(self):
        graph = Graph(PLANT.replace(b"<data key=\"p\">1 bar(g)</data>", b"<data key=\"p\">1 furlong</data>"))
        with self.assertRaises(GraphError) as caught:
            check(self.client, graph)
        self.assertTrue(str(caught.exception).startswith("components.OG-1.max_pressure: "), caught.exception)

    def test_graphs_that_are_no_plant(self):
        for data, want in [
            (b"<x", "no XML"),
            (b"<x/>", "no graph"),
            (b"<!DOCTYPE x>" + PLANT, "entities"),
            (PLANT.replace(b">check_valve<", b">cheque_valve<"), "no kind 'cheque_valve'"),
            (PLANT.replace(b">CV-1<", b">OG-1<"), "components.OG-1 is there twice"),
        ]:
            with self.assertRaisesRegex(GraphError, want):
                Graph(data)
        with self.assertRaisesRegex(GraphError, "outlet_9"):
            check(self.client, Graph(PLANT.replace(b'sourceport="outlet"', b'sourceport="outlet_9"')))


if __name__ == "__main__":
    unittest.main()
