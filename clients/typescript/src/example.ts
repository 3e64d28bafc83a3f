// Checks a design, prints what is wrong, then lowers what a component bears and tells what that changes.
//
//   node example.js ADDRESS DESIGN

import { createGrpcTransport } from "@connectrpc/connect-node";
import { pathToFileURL } from "node:url";
import { Client, loadDesign, setDatum } from "./client.js";
import type { Finding } from "./generated/skidrule/v1/outcome_pb.js";
import { Severity } from "./generated/skidrule/v1/rule_pb.js";

function show(findings: Finding[]): string[] {
  return findings.map((f) => `${Severity[f.severity].toLowerCase()}: ${f.subject}: ${f.message}`);
}

export async function example(address: string, path: string, print: (line: string) => void): Promise<void> {
  const design = loadDesign(path);
  const editing = await new Client(createGrpcTransport({ baseUrl: address })).edit(design);
  print(`${editing.report.designName}: ${editing.report.findings.length} findings, ${editing.report.coverage?.met} met`);
  show(editing.report.findings).forEach(print);
  const tag = design.components[0].tag;
  const change = await editing.apply(setDatum(`components.${tag}.max_pressure`, "0.01 bar(g)"));
  print(`with 0.01 bar(g) for ${tag}: ${change.findingsAppeared.length} more, ${change.findingsDisappeared.length} fewer`);
  show(change.findingsAppeared).forEach(print);
  await editing.close();
}

if (process.argv[1] && import.meta.url === pathToFileURL(process.argv[1]).href) {
  if (process.argv.length !== 4) {
    console.error("node example.js ADDRESS DESIGN");
    process.exit(2);
  }
  await example(process.argv[2], process.argv[3], console.log);
}
