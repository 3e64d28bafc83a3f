"""Tests of the client against the server that the variable SKIDRULE_ADDRESS names; DESIGN names a design that has findings."""

import contextlib
import io
import os
import unittest

import example
from skidrule_client import Client, RequestError, load_design, put_component, put_line, remove, set_datum
from skidrule.v1 import design_pb2

ADDRESS, DESIGN = os.environ["SKIDRULE_ADDRESS"], os.environ["DESIGN"]


class ClientTest(unittest.TestCase):
    def setUp(self):
        self.design = load_design(DESIGN)
        self.client = Client(ADDRESS)
        self.addCleanup(self.client.__exit__)

    def test_a_check_finds_what_is_wrong(self):
        report = self.client.check(self.design)
        self.assertIn("backflow/two-independent-barriers", [f.rule_id for f in report.findings])

    def test_a_design_that_cannot_be_checked_is_an_error(self):
        self.design.components[0].part = "nobody/nothing"
        with self.assertRaises(RequestError) as caught:
            self.client.check(self.design)
        self.assertEqual(caught.exception.reason, "INVALID_ARGUMENT")

    def test_a_batch_answers_each(self):
        bad = design_pb2.Design()
        bad.CopyFrom(self.design)
        bad.components[0].part = "nobody/nothing"
        want = self.client.check(self.design)
        answers = {i: (r, e) for i, r, e in self.client.check_all([("a", self.design), ("b", bad), ("c", self.design)])}
        self.assertEqual(set(answers), {"a", "b", "c"})
        self.assertEqual(answers["a"][0], want)
        self.assertEqual(answers["c"][0], want)
        self.assertEqual(answers["b"][1].reason, "INVALID_DESIGN")
        self.assertTrue(answers["b"][1].violations[0][0].startswith("design.components."))

    def test_edits_give_the_report_of_a_full_check(self):
        line, component = self.design.lines[0], self.design.components[0]
        with self.client.edit(self.design) as editing:
            first = editing.report
            editing.apply(remove(f"lines.{line.tag}"))
            self.assertNotEqual(editing.report, first)
            editing.apply(set_datum(f"components.{component.tag}.max_pressure", "0.01 bar(g)"), set_datum("revision", "Z"))
            with self.assertRaises(RequestError) as caught:
                editing.apply(set_datum(f"components.{component.tag}.max_pressure", "0.01 m3/h"))
            self.assertEqual(caught.exception.reason, "INVALID_REQUEST")
            changed = design_pb2.Design()
            changed.CopyFrom(self.design)
            del changed.lines[0]
            changed.components[0].max_pressure_pa_gauge = 1e3
            changed.revision = "Z"
            self.assertEqual(editing.report, self.client.check(changed))
            editing.apply(put_line(line), put_component(component), set_datum("revision", self.design.revision))
            self.assertEqual(editing.report, first)

    def test_the_example_runs(self):
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            example.main(ADDRESS, DESIGN)
        self.assertIn("error: ", out.getvalue())
        self.assertIn("more", out.getvalue())


if __name__ == "__main__":
    unittest.main()
