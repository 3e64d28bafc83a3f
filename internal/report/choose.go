package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// What text shows of longer lists; JSON holds all.
const (
	mostReasons    = 2 // why a part does not do
	mostNear       = 3 // margins of a choice
	mostRejections = 4 // reasons that reject parts of a slot
	mostNamed      = 5 // data in the example of --accept
)

// Choices writes choices as text.
func Choices(w io.Writer, a *skidrulev1.PartChoices, style Style) error {
	p := newPage(w, style)
	p.title(a)
	for _, c := range a.GetChoices() {
		p.blank()
		p.choice(a, c)
	}
	if len(a.GetChoices()) == 0 {
		p.blank()
		p.noChoice(a)
	}
	p.standingFindings(a)
	p.choiceSearch(a)
	p.list("Cautions", a.GetCautions())
	return p.err
}

// measureText says the measure of a choice.
func measureText(a *skidrulev1.PartChoices, c *skidrulev1.PartChoice, units quantity.System) string {
	switch a.GetMeasure() {
	case skidrulev1.ChoiceMeasure_CHOICE_MEASURE_POWER:
		return measure(c.GetValue(), "power", units)
	case skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN:
		return fmt.Sprintf("%.1f %% of margin", 100*c.GetValue())
	case skidrulev1.ChoiceMeasure_CHOICE_MEASURE_COUNT:
		return fmt.Sprintf("%.0f pieces", c.GetValue())
	}
	return fmt.Sprintf("place %.0f by size", c.GetValue())
}

func sizeText(s *skidrulev1.PartSize, units quantity.System) string {
	if s == nil {
		return ""
	}
	if s.GetDimension() == "count" {
		return fmt.Sprintf("%s %g", s.GetLabel(), s.GetValue())
	}
	return s.GetLabel() + " " + measure(s.GetValue(), s.GetDimension(), units)
}

// partTable lists the parts of the slots.
func (p *page) partTable(parts []*skidrulev1.ChosenPart) {
	rows := [][]string{{"For", "Part", "Power", "Size"}}
	for _, q := range parts {
		power := ""
		if q.PowerW != nil {
			power = measure(q.GetPowerW(), "power", p.style.Units)
		}
		rows = append(rows, []string{q.GetSlot(), q.GetPart(), power, sizeText(q.GetSize(), p.style.Units)})
	}
	p.table("   ", rows)
}

// choice writes one choice; of the first also why smaller parts do not do.
func (p *page) choice(a *skidrulev1.PartChoices, c *skidrulev1.PartChoice) {
	p.line(p.ink(bold, fmt.Sprintf("%d. %s", c.GetRank(), measureText(a, c, p.style.Units))), fmt.Sprintf("; met: %d pairs of rule and thing", c.GetMet()))
	p.partTable(c.GetParts())
	if len(c.GetMargins()) > 0 {
		p.line("   Nearest to turning:")
	}
	for _, m := range c.GetMargins()[:min(len(c.GetMargins()), mostNear)] {
		p.hung("     ", "- ", plain, fmt.Sprintf("%s of %s: %s %s, limit %s, %.1f %% away", m.GetRuleId(), m.GetSubject(), m.GetLabel(),
			measure(m.GetValue(), m.GetDimension(), p.style.Units), measure(m.GetLimit(), m.GetDimension(), p.style.Units), 100*math.Abs(m.GetRatio())), plain)
	}
	if c.GetRank() > 1 {
		return
	}
	p.line("   Why nothing smaller:")
	for _, q := range c.GetParts() {
		if q.GetNextSmaller() == nil {
			p.hung("     ", "- ", plain, q.GetSlot()+": "+q.GetPart()+" is the smallest", plain)
		}
		for _, r := range []*skidrulev1.RejectedPart{q.GetNextSmaller(), q.GetNextByMeasure()} {
			if r == nil {
				continue
			}
			p.hung("     ", "- ", plain, q.GetSlot()+": "+p.rejectedText(r), plain)
		}
	}
}

// rejectedText says why a part does not do.
func (p *page) rejectedText(r *skidrulev1.RejectedPart) string {
	text := r.GetPart()
	if size := sizeText(r.GetSize(), p.style.Units); size != "" {
		text += " (" + size + ")"
	}
	if r.GetMeetsAll() {
		return text + " meets every rule as well, and ranks behind"
	}
	return text + ": " + reasonsText(r.GetReasons())
}

// reasonsText joins the first reasons.
func reasonsText(list []*skidrulev1.RejectReason) string {
	var out []string
	for n, q := range list {
		if n == mostReasons {
			out = append(out, fmt.Sprintf("and %d more", len(list)-n))
			break
		}
		said := q.GetMessage()
		if q.GetRuleId() != "" {
			said = q.GetRuleId() + ", " + said
		}
		out = append(out, strings.TrimSuffix(said, "."))
	}
	return strings.Join(out, "; ")
}

// noChoice says why there is none.
func (p *page) noChoice(a *skidrulev1.PartChoices) {
	if list := a.GetUndecided(); len(list) > 0 {
		p.line(p.ink(bold, "Nothing was chosen: the design leaves data open that concern the slots"))
		var names []string
		for _, o := range list {
			for _, path := range o.GetMissing() {
				if !slices.Contains(names, path) {
					names = append(names, path)
					p.hung("   ", "- ", plain, path+", for "+o.GetRuleId(), plain)
				}
			}
		}
		p.wrapped("   ", "", plain, "State them, or accept by name that they are not known, as --accept "+strings.Join(names[:min(len(names), mostNamed)], ",")+".")
		return
	}
	p.line(p.ink(bold, "No combination of these parts meets every rule"))
	miss := a.GetNearestMiss()
	if miss == nil {
		return
	}
	p.line("   Nearest:")
	p.partTable(miss.GetParts())
	p.line("   It misses:")
	for _, r := range miss.GetReasons() {
		p.hung("     ", "- ", plain, strings.TrimSuffix(r.GetRuleId()+" of "+r.GetSubject()+": "+r.GetMessage(), "."), plain)
	}
}

// standingFindings lists what no choice mends.
func (p *page) standingFindings(a *skidrulev1.PartChoices) {
	if len(a.GetStanding()) > 0 {
		p.blank()
		p.line(p.ink(bold, "Stands whatever is chosen"))
		for _, f := range a.GetStanding() {
			p.hung("   ", "- ", plain, severityWord(f.GetSeverity())+": "+f.GetRuleId()+" of "+f.GetSubject()+": "+f.GetMessage(), plain)
		}
	}
	if len(a.GetAccepted()) > 0 {
		p.blank()
		p.wrapped("", "Accepted as not known: ", bold, strings.Join(a.GetAccepted(), ", "))
	}
}

// choiceSearch says how the answer was found.
func (p *page) choiceSearch(a *skidrulev1.PartChoices) {
	q := a.GetSearch()
	p.blank()
	p.line(p.ink(bold, "What was looked at"))
	for _, s := range a.GetSlots() {
		var why []string
		for n, r := range s.GetRejections() {
			if n == mostRejections {
				why = append(why, fmt.Sprintf("and %d more reasons", len(s.GetRejections())-n))
				break
			}
			said := strings.TrimPrefix(r.GetRuleId()+" "+r.GetReason(), " ")
			why = append(why, fmt.Sprintf("%d by: %s", r.GetParts(), strings.TrimSpace(said)))
		}
		text := fmt.Sprintf("%d of %d parts can do", s.GetLeft(), s.GetParts())
		if len(why) > 0 {
			text += "; rejected " + strings.Join(why, ", ")
		}
		p.hung("   ", "- "+s.GetTag()+": ", plain, text, plain)
	}
	for _, c := range q.GetConflicts() {
		p.hung("   ", "- ", plain, fmt.Sprintf("%s do not go together in %d ways, by %s", strings.Join(c.GetSlots(), ", "), c.GetCombinations(), strings.Join(c.GetRuleIds(), ", ")), plain)
	}
	if q.GetExcludedAlone() != "" {
		p.wrapped("   ", "", plain, fmt.Sprintf("%s combinations: %s are excluded by a part alone, %s by parts that do not go together, %s rank behind, %d were checked as whole designs with every case solved.",
			q.GetCombinations(), q.GetExcludedAlone(), q.GetExcludedTogether(), q.GetExcludedByRank(), q.GetChecked()))
	}
	if q.GetProved() {
		p.line("   Every combination is accounted for.")
		return
	}
	p.wrapped("   ", "Not proved: ", bold, q.GetNotProvedBecause()+".")
}
