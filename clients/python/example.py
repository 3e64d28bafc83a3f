"""Checks a design, prints what is wrong, then lowers what a component bears and tells what that changes.

python3 example.py ADDRESS DESIGN
"""

import sys

from skidrule_client import Client, load_design, set_datum
from skidrule.v1 import rule_pb2


def show(findings):
    for f in findings:
        severity = rule_pb2.Severity.Name(f.severity).removeprefix("SEVERITY_").lower()
        print(f"{severity}: {f.subject}: {f.message}")


def main(address, path):
    design = load_design(path)
    with Client(address) as client, client.edit(design) as editing:
        report = editing.report
        print(f"{report.design_name}: {len(report.findings)} findings, {report.coverage.met} met")
        show(report.findings)
        component = design.components[0].tag
        change = editing.apply(set_datum(f"components.{component}.max_pressure", "0.01 bar(g)"))
        print(f"with 0.01 bar(g) for {component}: {len(change.findings_appeared)} more, {len(change.findings_disappeared)} fewer")
        show(change.findings_appeared)


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    main(*sys.argv[1:])
