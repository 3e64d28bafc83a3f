"""Asks a skidrule server: checks designs, one or a batch, and edits a design live.

    with Client("127.0.0.1:7433") as client:
        report = client.check(load_design("loop.json"))

A design with findings is an answer, not an error. A request that cannot be answered raises RequestError.
"""

import pathlib
import queue
import sys

import grpc
from google.protobuf import json_format

sys.path.insert(0, str(pathlib.Path(__file__).parent / "generated"))

from skidrule.v1 import check_service_pb2, check_service_pb2_grpc, design_pb2, edit_pb2, outcome_pb2  # noqa: E402

# Longest answer that a client reads, in bytes.
MAX_ANSWER_BYTES = 64 << 20


class RequestError(Exception):
    """A request has no answer. `reason` is UPPER_SNAKE, `violations` are pairs of field and description."""

    def __init__(self, reason, message, violations=()):
        lines = [f"{field}: {description}" for field, description in violations]
        super().__init__("\n".join(lines) or message)
        self.reason = reason
        self.violations = list(violations)


def _refused(refusal):
    return RequestError(refusal.reason, refusal.message, [(v.field, v.description) for v in refusal.violations])


def load_design(path):
    """Reads a design in protobuf's JSON or binary form; `skidrule convert` writes both from a design file."""
    data = pathlib.Path(path).read_bytes()
    if data.lstrip()[:1] == b"{":
        return json_format.Parse(data, design_pb2.Design())
    return design_pb2.Design.FromString(data)


class Client:
    """A connection to one server. With `credentials` it is encrypted, with `token` every call carries it."""

    def __init__(self, address, credentials=None, token=None):
        options = [("grpc.max_receive_message_length", MAX_ANSWER_BYTES)]
        if credentials:
            self._channel = grpc.secure_channel(address, credentials, options)
        else:
            self._channel = grpc.insecure_channel(address, options)
        self._metadata = [("authorization", f"Bearer {token}")] if token else []
        self._stub = check_service_pb2_grpc.CheckServiceStub(self._channel)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._channel.close()

    def check(self, design, options=None, timeout=60):
        """The report about a design."""
        request = check_service_pb2.CheckDesignRequest(design=design, options=options)
        try:
            return self._stub.CheckDesign(request, timeout=timeout, metadata=self._metadata).report
        except grpc.RpcError as e:
            raise RequestError(e.code().name, e.details()) from e

    def check_all(self, requests):
        """Answers pairs of id and design as they come, in any order: id, report, None or id, None, RequestError."""
        batch = (check_service_pb2.CheckDesignsRequest(request_id=i, design=d) for i, d in requests)
        for answer in self._stub.CheckDesigns(batch, metadata=self._metadata):
            if answer.WhichOneof("result") == "refusal":
                yield answer.request_id, None, _refused(answer.refusal)
            else:
                yield answer.request_id, answer.report, None

    def edit(self, design, options=None):
        """Begins an editing session."""
        return Editing(self._stub, self._metadata, design, options)


class Editing:
    """A design that the server keeps while it is drawn. `report` is that of the design as it is now."""

    def __init__(self, stub, metadata, design, options):
        self._requests = queue.Queue()
        self._answers = stub.EditDesign(iter(self._requests.get, None), metadata=metadata)
        try:
            start = check_service_pb2.EditStart(design=design, options=options)
            self.report = self._ask(check_service_pb2.EditDesignRequest(start=start)).report
        except BaseException:
            self.close()
            raise

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def close(self):
        """Ends the session."""
        self._requests.put(None)

    def apply(self, *edits):
        """Makes edits together, or raises RequestError and leaves the design as it was. Returns what they changed."""
        answer = self._ask(check_service_pb2.EditDesignRequest(edits=check_service_pb2.EditList(edits=edits)))
        self.report = changed(self.report, answer.change)
        return answer.change

    def _ask(self, request):
        self._requests.put(request)
        try:
            answer = next(self._answers)
        except grpc.RpcError as e:
            raise RequestError(e.code().name, e.details()) from e
        if answer.WhichOneof("result") == "refusal":
            raise _refused(answer.refusal)
        return answer


def put_component(component):
    return edit_pb2.Edit(put_component=component)


def put_line(line):
    return edit_pb2.Edit(put_line=line)


def set_datum(path, value):
    """States a datum as a design file does: set_datum("components.CV-2.max_pressure", "10 bar(g)")."""
    return edit_pb2.Edit(set=edit_pb2.Datum(path=path, value=value))


def remove(path):
    """Takes out a component, line, case or datum."""
    return edit_pb2.Edit(remove=path)


def _key(outcome):
    return outcome.rule_id, outcome.subject, outcome.status, tuple(outcome.case_ids)


def changed(before, change):
    """The report that a change makes of the one before, which stays as it is."""
    report = outcome_pb2.Report()
    report.CopyFrom(before)
    report.design_name, report.design_revision = change.design_name, change.design_revision
    report.coverage.CopyFrom(change.coverage)
    for name in ("questions", "cases", "assumptions", "failures"):
        if change.HasField(name):
            report.ClearField(name)
            getattr(report, name).extend(getattr(getattr(change, name), name))

    outcomes = {_key(o): o for o in before.outcomes}
    for o in change.disappeared:
        del outcomes[_key(o)]
    outcomes.update((_key(o), o) for o in [*change.appeared, *change.changed])
    report.ClearField("outcomes")
    report.outcomes.extend(outcomes[k] for k in sorted(outcomes))

    findings = {f.fingerprint: f for f in before.findings}
    for fingerprint in change.findings_disappeared:
        del findings[fingerprint]
    findings.update((f.fingerprint, f) for f in [*change.findings_appeared, *change.findings_changed])
    report.ClearField("findings")
    report.findings.extend(findings[i] for i in change.finding_order or findings)
    return report
