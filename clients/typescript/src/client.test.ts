// Tests of the client against the server whose addresses stand in SKIDRULE_ADDRESS and SKIDRULE_WEB; DESIGN names a design that has
// findings.

import assert from "node:assert/strict";
import { test } from "node:test";
import { clone, equals } from "@bufbuild/protobuf";
import { Code, ConnectError, type Transport } from "@connectrpc/connect";
import { createConnectTransport, createGrpcTransport, createGrpcWebTransport } from "@connectrpc/connect-node";
import { Client, loadDesign, RefusedError, remove, setDatum } from "./client.js";
import { example } from "./example.js";
import { DesignSchema } from "./generated/skidrule/v1/design_pb.js";
import { type Report, ReportSchema } from "./generated/skidrule/v1/outcome_pb.js";

const design = loadDesign(process.env.DESIGN!);
const grpc = `http://${process.env.SKIDRULE_ADDRESS}`;
const web = process.env.SKIDRULE_WEB!;
const transports: Record<string, Transport> = {
  gRPC: createGrpcTransport({ baseUrl: grpc }),
  "gRPC-Web": createGrpcWebTransport({ baseUrl: web, httpVersion: "1.1" }),
  "JSON over HTTP": createConnectTransport({ baseUrl: web, httpVersion: "1.1", useBinaryFormat: false }),
  "JSON over HTTP/2": createConnectTransport({ baseUrl: web, httpVersion: "2", useBinaryFormat: false }),
};
const want = await new Client(transports.gRPC).check(design);
const same = (got: Report, name: string) => assert.ok(equals(ReportSchema, want, got), name);

for (const [name, transport] of Object.entries(transports)) {
  test(`a check over ${name}`, async () => {
    const client = new Client(transport);
    same(await client.check(design), name);
    assert.ok(want.findings.some((f) => f.ruleId === "backflow/two-independent-barriers"));
    const bad = clone(DesignSchema, design);
    bad.components[0].part = "nobody/nothing";
    await assert.rejects(client.check(bad), (e) => e instanceof ConnectError && e.code === Code.InvalidArgument);
  });
}

for (const name of ["gRPC", "JSON over HTTP/2"]) {
  test(`a batch over ${name}`, async () => {
    const bad = clone(DesignSchema, design);
    bad.components[0].part = "nobody/nothing";
    const seen = new Set<string>();
    for await (const a of new Client(transports[name]).checkAll([{ id: "a", design }, { id: "b", design: bad }, { id: "c", design }])) {
      seen.add(a.id);
      if ("error" in a) {
        assert.equal(a.id, "b");
        assert.equal(a.error.refusal.reason, "INVALID_DESIGN");
      } else {
        same(a.report, a.id);
      }
    }
    assert.equal(seen.size, 3);
  });

  test(`an editing session over ${name}`, async () => {
    const client = new Client(transports[name]);
    const editing = await client.edit(design);
    same(editing.report, "start");
    const tag = design.components[0].tag;
    await editing.apply(remove(`lines.${design.lines[0].tag}`));
    await editing.apply(setDatum(`components.${tag}.max_pressure`, "0.01 bar(g)"), setDatum("revision", "Z"));
    await assert.rejects(editing.apply(setDatum(`components.${tag}.max_pressure`, "0.01 m3/h")), RefusedError);
    const final = clone(DesignSchema, design);
    final.lines.shift();
    final.components[0].maxPressurePaGauge = 1e3;
    final.revision = "Z";
    assert.ok(equals(ReportSchema, await client.check(final), editing.report));
    await editing.close();
  });
}

test("the example runs", async () => {
  const lines: string[] = [];
  await example(grpc, process.env.DESIGN!, (line) => lines.push(line));
  assert.ok(lines.some((l) => l.startsWith("error: ")), lines.join("\n"));
  assert.ok(lines.some((l) => l.includes(" more, ")));
});
