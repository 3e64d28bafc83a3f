package engine

import (
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// shows tells whether a view gives outcomes of a status.
func shows(view skidrulev1.ReportView, s skidrulev1.OutcomeStatus) bool {
	switch view {
	case skidrulev1.ReportView_REPORT_VIEW_FULL:
		return true
	case skidrulev1.ReportView_REPORT_VIEW_FINDINGS:
		return false
	}
	return rulebook.StatusRank[s] > rulebook.StatusRank[skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET]
}

// InView is what a check would have answered in another view than the full one, in which the report was asked for. The two share all
// that they both hold.
func InView(full *skidrulev1.Report, view skidrulev1.ReportView) *skidrulev1.Report {
	out := &skidrulev1.Report{}
	full.ProtoReflect().Range(func(field protoreflect.FieldDescriptor, value protoreflect.Value) bool {
		out.ProtoReflect().Set(field, value)
		return true
	})
	out.Outcomes = nil
	for _, o := range full.GetOutcomes() {
		if shows(view, o.GetStatus()) {
			out.Outcomes = append(out.Outcomes, o)
		}
	}
	return out
}
