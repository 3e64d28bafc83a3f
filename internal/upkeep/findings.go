package upkeep

import (
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// The rules whose facts this package reads.
const (
	ruleIsolated = "service/module-can-be-isolated"
	ruleLetDown  = "service/module-can-be-let-down"
	ruleComesOut = "service/module-comes-out"
	ruleParted   = "service/parted-from-vessels"
)

// finding notes something wrong.
func (r *removal) finding(rule, text string, about ...int32) {
	r.out.Findings = append(r.out.Findings, &skidrulev1.RemovalFinding{RuleId: rule, Text: text, Tags: r.tags(about), Source: "common practice, no source"})
}

// ruled gives the id of a rule where it is asked of the module's kind.
func (r *removal) ruled(rule string) string {
	k := r.p.Components[r.module].Kind
	if rule == ruleParted && fact.AskedWhetherParted(k) || rule != ruleParted && fact.AskedWhetherIsolated(k) {
		return rule
	}
	return ""
}

// findings says what is wrong with taking the module out this way.
func (r *removal) findings() {
	r.isolationFindings()
	if r.gas && r.w.CanBeLetDown(r.module).Value == fact.False {
		if _, end := r.w.VentInside(r.module, r.iso); end < 0 || r.ruled(ruleLetDown) != "" {
			r.finding(r.ruled(ruleLetDown), "gas that is shut in with "+r.tag+" has no way out, by its normal way or by a vent", r.module)
		}
	}
	for _, port := range joined(r.p, r.module) {
		if r.w.ComesApart(port).Value == fact.False {
			r.finding(r.ruled(ruleComesOut), "the joint at "+r.p.PortLabel(port)+" does not come apart", r.module)
		}
	}
	r.vesselFindings()
	if vessels := r.stillGivingOff(); len(vessels) > 0 && len(r.iso.RunsOut) == 0 {
		r.finding("", r.names(vessels)+" is let down with "+r.tag+": no valve stands between, so the water stops as well", vessels...)
	}
	r.wholePlant()
}

// vesselFindings says which vessels are drained with the module. That is ordinary work where a vessel can be emptied; the rule is
// broken only where one cannot.
func (r *removal) vesselFindings() {
	if r.w.PartedFromVessels(r.module).Value != fact.False || len(r.iso.RunsOut) == 0 {
		return
	}
	rule, text := "", "it cannot be done without draining the rest: no valve parts "+r.tag+" from the water of "+r.names(r.iso.RunsOut)
	if r.w.PartedFromFullVessels(r.module).Value == fact.False {
		rule = r.ruled(ruleParted)
		text += "; " + r.p.Components[r.w.FullVesselBefore(r.module)].Tag + " stays full: no valve shuts it off, and it has no drain of its own"
	}
	r.finding(rule, text, r.iso.RunsOut...)
}

// isolationFindings judges the valves.
func (r *removal) isolationFindings() {
	switch r.iso.Shut.Value {
	case fact.False:
		r.finding(r.ruled(ruleIsolated), "no valve shuts "+r.tag+" off from "+r.names(r.iso.Open)+", which stays under pressure", r.iso.Open...)
	case fact.Undecided:
		r.finding(r.ruled(ruleIsolated), "whether valves shut "+r.tag+" off is open without "+strings.Join(plant.Paths(r.p, r.iso.Shut.Missing), ", "), r.module)
	}
	if len(r.iso.Checks) > 0 {
		r.finding("", r.names(r.iso.Checks)+" alone holds pressure back from "+r.tag+": a check valve is no isolation", r.iso.Checks...)
	}
	for _, c := range r.iso.OzoneAt {
		if len(r.iso.Second) == 0 {
			r.finding("", r.p.Components[c].Tag+" stands alone between "+r.tag+" and ozone: for a toxic gas two valves with a vent between them are usual", c)
		}
		if r.p.Components[c].Kind != plant.KindActuatedValve {
			continue
		}
		switch t := r.w.HoldsBackwards(c); t.Value {
		case fact.False:
			r.finding("", r.p.Components[c].Tag+" does not hold the highest water pressure backwards", c)
		case fact.Undecided:
			r.finding("", "whether "+r.p.Components[c].Tag+" holds the highest water pressure backwards is open without "+strings.Join(plant.Paths(r.p, t.Missing), ", "), c)
		}
	}
}

// wholePlant says where every train stands still.
func (r *removal) wholePlant() {
	var all []int32
	for i := range r.p.Components {
		c := int32(i)
		if k := r.p.Components[i].Kind; (k == plant.KindOzoneGenerator || k == plant.KindVenturiInjector) && !r.p.Components[i].Data.GetOutOfUse() {
			all = append(all, c)
		}
	}
	generators := 0
	for _, c := range all {
		if c != r.module && r.still.stopped[c] == "" {
			return
		}
		if r.p.Components[c].Kind == plant.KindOzoneGenerator {
			generators++
		}
	}
	if generators > 1 && !slices.Contains(all, r.module) {
		r.finding("", "every train stands still while "+r.tag+" is out", r.module)
	}
}
