package engine

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/skidrule/skidrule/internal/misspelt"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Ids of the findings about waivers. No rule may take their topic.
const (
	waiverTopic   = "waivers"
	waiverExpired = waiverTopic + "/expired"
	waiverUnused  = waiverTopic + "/unused"
)

// WaiverRules describe the findings about waivers, which no rule file makes and no waiver covers.
func WaiverRules() []*skidrulev1.Rule {
	practice := []*skidrulev1.RuleSource{{Text: "common practice, no source", Status: skidrulev1.SourceStatus_SOURCE_STATUS_COMMON_PRACTICE}}
	return []*skidrulev1.Rule{
		{
			Id: waiverExpired, Title: "every waiver holds on the day of the check", Severity: skidrulev1.Severity_SEVERITY_WARNING,
			Subject: skidrulev1.RuleSubject_RULE_SUBJECT_DESIGN, Sources: practice,
			Why:  "What was accepted for a time is looked at again when the time is over; a waiver without a readable last day would hold for ever.",
			Mend: "mend what the waiver covered and delete it, or have it accepted anew with a later last day",
		},
		{
			Id: waiverUnused, Title: "every waiver covers a finding", Severity: skidrulev1.Severity_SEVERITY_WARNING,
			Subject: skidrulev1.RuleSubject_RULE_SUBJECT_DESIGN, Sources: practice,
			Why:  "A waiver that covers nothing today silently covers the same mistake when it is made again.",
			Mend: "delete the waiver, or correct the rule, the thing or the case that it names",
		},
	}
}

// checkWaivers refuses waivers that nobody could judge, and rules under the topic of the findings about waivers.
func (c *chooser) checkWaivers(book *rulebook.Book, o *skidrulev1.CheckOptions) {
	for i, r := range o.GetSiteRules() {
		if rulebook.Topic(r.GetId()) == waiverTopic {
			c.wrong.Add(fmt.Sprintf("options.site_rules[%d].id", i), "choose another topic", "the topic %s is that of findings about waivers", waiverTopic)
		}
	}
	if o.GetToday() != "" {
		if _, err := time.Parse(time.DateOnly, o.GetToday()); err != nil {
			c.wrong.Add("options.today", "write it as 2026-01-31", "%q is no day", o.GetToday())
		}
	}
	seen := map[waiverKey]int{}
	for i, w := range o.GetWaivers() {
		if c.ended() {
			return
		}
		path := fmt.Sprintf("options.waivers[%d]", i)
		if _, ok := book.Find(w.GetRuleId()); !ok {
			c.wrong.Add(path+".rule_id", misspelt.DidYouMean(w.GetRuleId(), book.IDs()), "there is no rule %q", w.GetRuleId())
		}
		if strings.TrimSpace(w.GetSubject()) == "" {
			c.wrong.Add(path+".subject", "name its tag or element path, or `design`", "the waiver names no thing")
		}
		if strings.TrimSpace(w.GetReason()) == "" {
			c.wrong.Add(path+".reason", "say why it is accepted", "the waiver has no reason")
		}
		key := keyOf(w)
		if first, twice := seen[key]; twice {
			c.wrong.Add(path, "keep one", "the waiver is about the same rule, thing and case as number %d", first+1)
		} else {
			seen[key] = i
		}
	}
}

// waiverKey is what a waiver is about.
type waiverKey struct{ rule, subject, caseID string }

func keyOf(w *skidrulev1.Waiver) waiverKey {
	return waiverKey{w.GetRuleId(), w.GetSubject(), w.GetCaseId()}
}

// waiverState is one waiver in one check.
type waiverState struct {
	waiver *skidrulev1.Waiver
	// lapse says why it no longer holds; empty while it does.
	lapse string
	used  bool
}

// lapse tells why a waiver no longer holds on a day; empty while it does. Its last day counts; a day that cannot be read counts
// as gone by, since the waiver would hold for ever otherwise.
func lapse(w *skidrulev1.Waiver, today time.Time) string {
	last, err := time.Parse(time.DateOnly, w.GetExpires())
	switch {
	case w.GetExpires() == "":
		return "states no last day and counts as expired"
	case err != nil:
		return fmt.Sprintf("has the last day %q, which is no day as 2026-01-31 and counts as expired", w.GetExpires())
	case today.After(last):
		return "expired on " + w.GetExpires()
	}
	return ""
}

// today is the day on which waivers are judged.
func (r *reporter) today() time.Time {
	if t, err := time.Parse(time.DateOnly, r.options.GetToday()); err == nil {
		return t
	}
	now := time.Now()
	return time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
}

// waive marks findings that waivers cover, and gives the findings about the waivers themselves.
func (r *reporter) waive(findings []*skidrulev1.Finding) []*skidrulev1.Finding {
	if len(r.options.GetWaivers()) == 0 {
		return nil
	}
	today := r.today()
	states := make([]*waiverState, 0, len(r.options.GetWaivers()))
	about := map[[2]string][]*waiverState{}
	for _, w := range r.options.GetWaivers() {
		s := &waiverState{waiver: w, lapse: lapse(w, today)}
		states = append(states, s)
	}
	// The order in which waivers are given must not show.
	slices.SortStableFunc(states, func(a, b *waiverState) int {
		x, y := keyOf(a.waiver), keyOf(b.waiver)
		return cmp.Or(cmp.Compare(x.rule, y.rule), cmp.Compare(x.subject, y.subject), cmp.Compare(x.caseID, y.caseID))
	})
	for _, s := range states {
		key := [2]string{s.waiver.GetRuleId(), thing(s.waiver.GetSubject())}
		about[key] = append(about[key], s)
	}
	for _, f := range findings {
		if r.ended() {
			return nil
		}
		cover(f, about[[2]string{f.GetRuleId(), thing(f.GetSubject())}])
	}
	open := r.openOutcomes()
	var own []*skidrulev1.Finding
	for _, s := range states {
		if r.ended() {
			return nil
		}
		if f := r.judge(s, open); f != nil {
			own = append(own, f)
		}
	}
	return own
}

// thing is a subject without the list that it stands in, so that a tag names what its element path names.
func thing(subject string) string {
	if rest, ok := strings.CutPrefix(subject, "components."); ok {
		return rest
	}
	return strings.TrimPrefix(subject, "lines.")
}

// cover marks one finding with the waiver that covers it. Where waivers cover some of its cases alone, the finding stays and
// says so.
func cover(f *skidrulev1.Finding, waivers []*waiverState) {
	var partly []*skidrulev1.Waiver
	left := map[string]bool{}
	for _, id := range f.GetCaseIds() {
		left[id] = true
	}
	for _, s := range waivers {
		w := s.waiver
		if w.GetCaseId() != "" && !slices.Contains(f.GetCaseIds(), w.GetCaseId()) {
			continue
		}
		s.used = true
		if s.lapse != "" {
			f.Message += " Its waiver " + s.lapse + "."
			continue
		}
		switch {
		case w.GetCaseId() == "":
			f.Waiver = w
			return
		default:
			partly = append(partly, w)
			delete(left, w.GetCaseId())
		}
	}
	if len(partly) > 0 && len(left) == 0 {
		f.Waiver = partly[0]
		return
	}
	for _, w := range partly {
		f.Message += " It is waived in case " + w.GetCaseId() + " alone, until " + w.GetExpires() + ": " + strings.TrimRight(w.GetReason(), ". ") + "."
	}
}

// judge gives the finding about a waiver that has lapsed or that covers nothing; nil where all is well or nobody can say.
func (r *reporter) judge(s *waiverState, open map[[2]string][]*rulebook.Outcome) *skidrulev1.Finding {
	w := s.waiver
	what := w.GetRuleId() + " of " + thing(w.GetSubject())
	if w.GetCaseId() != "" {
		what += " in case " + w.GetCaseId()
	}
	which, message := waiverExpired, ""
	switch {
	case s.lapse != "" && (s.used || !r.decides(w, open)):
		message = "The waiver for " + what + " " + s.lapse + "."
	case s.lapse != "":
		message = "The waiver for " + what + " " + s.lapse + ", and it covers no finding any more."
	case !s.used && r.decides(w, open):
		which = waiverUnused
		message = "The waiver for " + what + " covers no finding."
		if w.GetCaseId() != "" && !slices.ContainsFunc(r.world.Cases, func(c operate.Case) bool { return c.ID == w.GetCaseId() }) {
			message = "The waiver for " + what + " covers no finding: the design has no such case."
		} else if r.waiverSubject(w) == "design" && w.GetSubject() != "design" {
			message = "The waiver for " + what + " covers no finding: the design has nothing of that name."
		}
	default:
		return nil
	}
	for _, rule := range WaiverRules() {
		if rule.GetId() == which {
			key := keyOf(w)
			return &skidrulev1.Finding{
				RuleId: which, Title: rule.GetTitle(), Severity: rule.GetSeverity(), Subject: r.waiverSubject(w), Message: message,
				Evidence: waiverEvidence(w), Why: rule.GetWhy(), Mend: rule.GetMend(), Sources: rule.GetSources(),
				Fingerprint: fingerprint(which, key.rule+"\x00"+thing(key.subject)+"\x00"+key.caseID),
			}
		}
	}
	return nil
}

func waiverEvidence(w *skidrulev1.Waiver) []*skidrulev1.Evidence {
	var out []*skidrulev1.Evidence
	for _, e := range [][2]string{{"reason of the waiver", w.GetReason()}, {"accepted by", w.GetAcceptedBy()}, {"last day", w.GetExpires()}} {
		if e[1] != "" {
			out = append(out, &skidrulev1.Evidence{Label: e[0], Dimension: "text", Text: e[1]})
		}
	}
	return out
}

// waiverSubject is the element path of what a waiver names; the design where it has nothing of that name.
func (r *reporter) waiverSubject(w *skidrulev1.Waiver) string {
	p, name := r.world.Plant, thing(w.GetSubject())
	// A joint or a port stands with its line or component.
	whole, _, _ := strings.Cut(name, " at ")
	whole, _, _ = strings.Cut(whole, ".")
	if _, ok := p.FindComponent(whole); ok && !strings.HasPrefix(w.GetSubject(), "lines.") {
		return "components." + name
	}
	if _, ok := p.FindLine(whole); ok {
		return "lines." + name
	}
	return "design"
}

// decides tells whether this check could say that a waiver covers nothing: its rule was asked in all the cases where the waiver
// would count, and its thing was decided.
func (r *reporter) decides(w *skidrulev1.Waiver, open map[[2]string][]*rulebook.Outcome) bool {
	if !r.asks(w.GetRuleId()) {
		return false
	}
	if chosen := r.options.GetCaseIds(); len(chosen) > 0 && (w.GetCaseId() == "" || !slices.Contains(chosen, w.GetCaseId())) {
		return false
	}
	for _, o := range open[[2]string{w.GetRuleId(), thing(w.GetSubject())}] {
		if w.GetCaseId() == "" || len(o.Cases) == 0 || slices.Contains(r.caseIDs(o), w.GetCaseId()) {
			return false
		}
	}
	return true
}

// openOutcomes finds outcomes that are not decided, by rule and thing.
func (r *reporter) openOutcomes() map[[2]string][]*rulebook.Outcome {
	out := map[[2]string][]*rulebook.Outcome{}
	for _, o := range r.outcomes {
		if o.Status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE || o.Status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED {
			key := [2]string{o.Rule.Rule.GetId(), thing(r.subject(o))}
			out[key] = append(out[key], o)
		}
	}
	return out
}

// asks tells whether the check asks a rule.
func (r *reporter) asks(id string) bool {
	return slices.ContainsFunc(r.rules, func(c *rulebook.Compiled) bool {
		return c.Rule.GetId() == id && c.Severity != skidrulev1.Severity_SEVERITY_OFF
	})
}
