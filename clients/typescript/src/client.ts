// Asks a skidrule server: checks designs, one or a batch, and edits a design live.
//
//   const client = new Client(createGrpcTransport({ baseUrl: "http://127.0.0.1:7433" }));
//   const report = await client.check(loadDesign("loop.json"));
//
// A design with findings is an answer, not an error. A request of a stream that has no answer throws a RefusedError, a single
// call a ConnectError.

import { readFileSync } from "node:fs";
import { clone, create, fromBinary, fromJsonString, type MessageInitShape } from "@bufbuild/protobuf";
import { createClient, type Client as Stub, type Transport } from "@connectrpc/connect";
import { CheckService, type CheckOptions, type EditDesignRequestSchema, type EditDesignResponse } from "./generated/skidrule/v1/check_service_pb.js";
import { type Design, DesignSchema } from "./generated/skidrule/v1/design_pb.js";
import { type Edit, EditSchema, type ReportChange } from "./generated/skidrule/v1/edit_pb.js";
import { type Finding, type Outcome, type Report, ReportSchema } from "./generated/skidrule/v1/outcome_pb.js";
import type { Refusal } from "./generated/skidrule/v1/refusal_pb.js";

/** Tells why a request of a stream has no answer. */
export class RefusedError extends Error {
  constructor(readonly refusal: Refusal) {
    super(refusal.message);
  }
}

/** Reads a design in protobuf's JSON or binary form; `skidrule convert` writes both from a design file. */
export function loadDesign(path: string): Design {
  const data = readFileSync(path);
  return data.toString("utf8", 0, 64).trimStart().startsWith("{") ? fromJsonString(DesignSchema, data.toString("utf8")) : fromBinary(DesignSchema, data);
}

/** The answer to one request of a batch. */
export type Answer = { id: string; report: Report } | { id: string; error: RefusedError };

export class Client {
  private readonly stub: Stub<typeof CheckService>;

  constructor(transport: Transport) {
    this.stub = createClient(CheckService, transport);
  }

  /** The report about a design. */
  async check(design: Design, options?: CheckOptions): Promise<Report> {
    const answer = await this.stub.checkDesign({ design, options });
    return answer.report!;
  }

  /** Answers the requests of a batch as they come, in any order. */
  async *checkAll(requests: Iterable<{ id: string; design: Design }>): AsyncGenerator<Answer> {
    async function* batch() {
      for (const { id, design } of requests) {
        yield { requestId: id, design };
      }
    }
    for await (const { requestId: id, result } of this.stub.checkDesigns(batch())) {
      if (result.case === "report") {
        yield { id, report: result.value };
      } else if (result.case === "refusal") {
        yield { id, error: new RefusedError(result.value) };
      }
    }
  }

  /** Begins an editing session. It needs a transport over HTTP/2. */
  edit(design: Design, options?: CheckOptions): Promise<Editing> {
    return Editing.start(this.stub, design, options);
  }
}

type Request = MessageInitShape<typeof EditDesignRequestSchema>;

/** A design that the server keeps while it is drawn. */
export class Editing {
  private current!: Report;
  private readonly waiting: Request[] = [];
  private wake = () => {};
  private ended = false;
  private readonly answers: AsyncIterator<EditDesignResponse>;

  private constructor(stub: Stub<typeof CheckService>) {
    this.answers = stub.editDesign(this.requests())[Symbol.asyncIterator]();
  }

  static async start(stub: Stub<typeof CheckService>, design: Design, options?: CheckOptions): Promise<Editing> {
    const editing = new Editing(stub);
    try {
      const { result } = await editing.ask({ action: { case: "start", value: { design, options } } });
      editing.current = result.value as Report;
    } catch (e) {
      await editing.close();
      throw e;
    }
    return editing;
  }

  /** The report about the design as it is now. */
  get report(): Report {
    return this.current;
  }

  /** Makes edits together, or throws a RefusedError and leaves the design as it was. Gives what they changed. */
  async apply(...edits: Edit[]): Promise<ReportChange> {
    const { result } = await this.ask({ action: { case: "edits", value: { edits } } });
    const change = result.value as ReportChange;
    this.current = changed(this.current, change);
    return change;
  }

  /** Ends the session. */
  async close(): Promise<void> {
    this.ended = true;
    this.wake();
    await this.answers.next().catch(() => undefined);
  }

  private async ask(request: Request): Promise<EditDesignResponse> {
    this.waiting.push(request);
    this.wake();
    const { value, done } = await this.answers.next();
    if (done) {
      throw new Error("the server ended the session");
    }
    if (value.result.case === "refusal") {
      throw new RefusedError(value.result.value);
    }
    return value;
  }

  private async *requests(): AsyncGenerator<Request> {
    for (;;) {
      for (let next = this.waiting.shift(); next; next = this.waiting.shift()) {
        yield next;
      }
      if (this.ended) {
        return;
      }
      await new Promise<void>((wake) => (this.wake = wake));
    }
  }
}

/** States a datum as a design file does: setDatum("components.CV-2.max_pressure", "10 bar(g)"). */
export function setDatum(path: string, value: string): Edit {
  return create(EditSchema, { change: { case: "set", value: { path, value } } });
}

/** Takes out a component, line, case or datum. */
export function remove(path: string): Edit {
  return create(EditSchema, { change: { case: "remove", value: path } });
}

function compare(a: string, b: string): number {
  return Buffer.compare(Buffer.from(a), Buffer.from(b));
}

const key = (o: Outcome) => [o.ruleId, o.subject, o.status, ...o.caseIds].join("\0");

function order(a: Outcome, b: Outcome): number {
  let different = compare(a.ruleId, b.ruleId) || compare(a.subject, b.subject) || a.status - b.status;
  for (let i = 0; !different && i < Math.max(a.caseIds.length, b.caseIds.length); i++) {
    different = compare(a.caseIds[i] ?? "", b.caseIds[i] ?? "");
  }
  return different;
}

/** The report that a change makes of the one before, which stays as it is. */
export function changed(before: Report, change: ReportChange): Report {
  const report = clone(ReportSchema, before);
  report.designName = change.designName;
  report.designRevision = change.designRevision;
  report.coverage = change.coverage;
  report.questions = change.questions?.questions ?? report.questions;
  report.cases = change.cases?.cases ?? report.cases;
  report.assumptions = change.assumptions?.assumptions ?? report.assumptions;
  report.failures = change.failures?.failures ?? report.failures;

  const outcomes = new Map(report.outcomes.map((o) => [key(o), o]));
  change.disappeared.forEach((o) => outcomes.delete(key(o)));
  [...change.appeared, ...change.changed].forEach((o) => outcomes.set(key(o), o));
  report.outcomes = [...outcomes.values()].sort(order);

  const findings = new Map(report.findings.map((f) => [f.fingerprint, f]));
  change.findingsDisappeared.forEach((fingerprint) => findings.delete(fingerprint));
  [...change.findingsAppeared, ...change.findingsChanged].forEach((f) => findings.set(f.fingerprint, f));
  const all: Finding[] = [];
  for (const fingerprint of change.findingOrder.length > 0 ? change.findingOrder : findings.keys()) {
    const f = findings.get(fingerprint);
    if (!f) {
      throw new Error(`the change names the finding ${fingerprint}, which the report does not have`);
    }
    all.push(f);
  }
  report.findings = all;
  return report;
}
