package engine

import (
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// markKnown marks the findings that stand in the baseline. Those about waivers never do: a waiver that has lapsed must be
// seen.
func (r *reporter) markKnown(findings []*skidrulev1.Finding) {
	if len(r.options.GetBaseline()) == 0 {
		return
	}
	known := make(map[string]bool, len(r.options.GetBaseline()))
	for _, fingerprint := range r.options.GetBaseline() {
		known[fingerprint] = true
	}
	for _, f := range findings {
		f.InBaseline = MayStandInBaseline(f) && known[f.GetFingerprint()]
	}
}

// MayStandInBaseline tells whether a finding can be taken as known: one about a waiver cannot, and one that a waiver covers
// need not.
func MayStandInBaseline(f *skidrulev1.Finding) bool {
	return !strings.HasPrefix(f.GetRuleId(), waiverTopic+"/") && f.GetWaiver() == nil
}

// countCovered counts the findings that a waiver or the baseline covers.
func countCovered(out *skidrulev1.Report) {
	for _, f := range out.GetFindings() {
		switch {
		case f.GetWaiver() != nil:
			out.Coverage.Waived++
		case f.GetInBaseline():
			out.Coverage.InBaseline++
		}
	}
}
