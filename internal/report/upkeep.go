package report

import (
	"fmt"
	"io"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// UpkeepParts says which parts of a plan text shows.
type UpkeepParts struct {
	// Services and Spares show what wears when, and what is kept in store.
	Services, Spares bool
	// Removals shows one line for each module, Steps how each is taken out.
	Removals, Steps bool
}

// Upkeep writes a plan as text.
func Upkeep(w io.Writer, plan *skidrulev1.UpkeepPlan, parts UpkeepParts, style Style) error {
	p := newPage(w, style)
	p.title(plan)
	if parts.Services {
		p.dueServices(plan)
	}
	if parts.Spares {
		p.spareParts(plan)
	}
	if parts.Removals {
		p.removalSummary(plan)
	}
	if parts.Steps {
		for _, r := range plan.GetRemovals() {
			p.removal(r)
		}
	}
	p.cautions(plan.GetCautions())
	return p.err
}

// interval spells the time between services: months where it is that long, else as any duration.
func interval(x *float64, units quantity.System) string {
	if x != nil {
		if months, err := quantity.In(*x, quantity.Duration, "months"); err == nil && months >= 1 {
			return strings.TrimSuffix(fmt.Sprintf("%.1f", months), ".0") + " months"
		}
	}
	return orElse(notStated, x, "duration", units)
}

func (p *page) dueServices(plan *skidrulev1.UpkeepPlan) {
	p.blank()
	p.line(p.ink(bold, "Services, the soonest due first"))
	rows := [][]string{{"Every", "Tag", "Part", "Wearing parts"}}
	for _, s := range plan.GetServices() {
		wearing := strings.Join(s.GetWearingParts(), ", ")
		if wearing == "" {
			wearing = "none stated"
		}
		rows = append(rows, []string{interval(s.IntervalS, p.style.Units), s.GetTag(), titled(s.GetKind(), s.GetPart()), wearing})
	}
	p.table("  ", rows)
}

// titled names a kind with its catalogue part.
func titled(kind, part string) string {
	text := designfile.Spoken(kind)
	if part != "" {
		text += ", " + part
	}
	return text
}

func (p *page) spareParts(plan *skidrulev1.UpkeepPlan) {
	p.blank()
	p.line(p.ink(bold, "Wearing parts to keep in store"))
	rows := [][]string{{"Every", "Part", "Of", "Fitted", "In"}}
	for _, s := range plan.GetSpares() {
		rows = append(rows, []string{interval(s.IntervalS, p.style.Units), s.GetName(), titled(s.GetKind(), s.GetPart()), fmt.Sprint(len(s.GetTags())), strings.Join(s.GetTags(), ", ")})
	}
	p.table("  ", rows)
}

var isolationWords = map[skidrulev1.IsolationStatus]string{
	skidrulev1.IsolationStatus_ISOLATION_STATUS_SHUT_OFF:       "yes",
	skidrulev1.IsolationStatus_ISOLATION_STATUS_NOT_SHUT_OFF:   "no",
	skidrulev1.IsolationStatus_ISOLATION_STATUS_NOT_VERIFIABLE: "not verifiable",
}

func (p *page) removalSummary(plan *skidrulev1.UpkeepPlan) {
	p.blank()
	p.line(p.ink(bold, "Modules and what shuts them off"))
	rows := [][]string{{"Module", "Kind", "Shut off", "Shut", "Findings"}}
	for _, r := range plan.GetRemovals() {
		rows = append(rows, []string{r.GetTag(), designfile.Spoken(r.GetKind()), isolationWords[r.GetIsolation()], orNone(shutTags(r)), fmt.Sprint(len(r.GetFindings()))})
	}
	p.table("  ", rows)
}

func orNone(list []string) string {
	if len(list) == 0 {
		return "none"
	}
	return strings.Join(list, ", ")
}

// shutTags lists what the steps shut.
func shutTags(r *skidrulev1.ModuleRemoval) []string {
	var out []string
	for _, s := range r.GetSteps() {
		if s.GetAction() == skidrulev1.RemovalAction_REMOVAL_ACTION_SHUT {
			out = append(out, s.GetTags()...)
		}
	}
	return out
}

// removal writes how one module is taken out.
func (p *page) removal(r *skidrulev1.ModuleRemoval) {
	p.blank()
	head := "Take out " + r.GetTag() + ", " + designfile.Spoken(r.GetKind())
	if r.GetTitle() != "" {
		head += ": " + r.GetTitle()
	}
	p.line(p.ink(bold, clean(head)))
	for i, s := range r.GetSteps() {
		text := s.GetText()
		if more := p.stepNumbers(s); more != "" {
			text += " " + more
		}
		p.wrapped("  ", fmt.Sprintf("%2d. %-12s", i+1, spoken(s.GetAction())), faint, text)
		if way := s.GetWay(); len(way) > 2 {
			p.wrapped("                  ", "way: ", faint, strings.Join(shortWay(way), " "))
		}
		if len(s.GetMissing()) > 0 {
			p.wrapped("                  ", "not stated: ", faint, strings.Join(s.GetMissing(), ", "))
		}
	}
	if list := r.GetShutInWith(); len(list) > 0 {
		p.wrapped("  ", "under the same pressure: ", faint, strings.Join(list, ", "))
	}
	p.line("  meanwhile:")
	if len(r.GetStopsMeanwhile()) == 0 {
		p.line("    nothing else stops")
	}
	for _, s := range r.GetStopsMeanwhile() {
		p.wrapped("    ", s.GetTag()+": ", plain, s.GetReason())
	}
	p.wrapped("    ", "keeps running: ", plain, orNone(r.GetKeepsRunning()))
	for _, t := range r.GetTrips() {
		p.wrapped("  ", "trip "+t.GetSignal()+": ", yellow, tripText(t))
	}
	for _, f := range r.GetFindings() {
		text := f.GetText()
		if f.GetRuleId() != "" {
			text += " (" + f.GetRuleId() + ")"
		}
		p.wrapped("  ", "finding: ", yellow, text)
	}
}

// stepNumbers spells volume and time of a step.
func (p *page) stepNumbers(s *skidrulev1.RemovalStep) string {
	var parts []string
	if s.VolumeM3 != nil {
		parts = append(parts, measure(s.GetVolumeM3(), "volume", p.style.Units)+" and what the cells hold")
	}
	if s.DurationS != nil {
		parts = append(parts, "at least "+measure(s.GetDurationS(), "duration", p.style.Units))
	}
	if len(parts) == 0 {
		return ""
	}
	return "(" + strings.Join(parts, ", ") + ")"
}

func tripText(t *skidrulev1.ExpectedTrip) string {
	text := spoken(t.GetCondition())
	if len(t.GetStops()) > 0 {
		text += ", stops " + strings.Join(t.GetStops(), ", ")
	}
	if len(t.GetCloses()) > 0 {
		text += ", closes " + strings.Join(t.GetCloses(), ", ")
	}
	return text + ": " + t.GetReason()
}

// shortWay leaves the lines of a way out where the same line goes on.
func shortWay(way []string) []string {
	var out []string
	last := ""
	for i, tag := range way {
		if i%2 == 1 && tag == last {
			continue
		}
		if i%2 == 1 {
			last = tag
		}
		out = append(out, tag)
	}
	return out
}
