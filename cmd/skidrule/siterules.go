package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/misspelt"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// one finds what holds for one design, for verbs that take no more than one.
func (f *siteFlags) one(in *input, o *skidrulev1.CheckOptions) (*site, error) {
	inputs := []input{*in}
	_, err := f.settle(inputs, o, &ledger{flags: &baselineFlags{}, read: map[string]*baseline{}})
	return inputs[0].site, err
}

// siteRules are the rules as they hold at a site: built-in ones as its project file changes them, and its own.
type siteRules struct {
	list []*skidrulev1.Rule
	// changed tells of each rule that the project file changes what it changes, where and why.
	changed map[string]string
}

// hereName stands for a file of the folder that the command runs in, by which the project file of the folder is found.
const hereName = "."

// rulesHere gives the rules of the site of the folder that the command runs in.
func (f *ruleFlags) rulesHere() (*siteRules, error) {
	if f.noProject && f.project != "" {
		return nil, errors.New("--project names a project file and --no-project wants none; take one of them")
	}
	e, err := engine.New()
	if err != nil {
		return nil, err
	}
	sites := newSites(&siteFlags{project: f.project, noProject: f.noProject, rules: f.folders}, &skidrulev1.CheckOptions{})
	here, err := sites.common(hereName + "/" + hereName)
	if err != nil {
		return nil, err
	}
	s := &siteRules{changed: map[string]string{}}
	for _, r := range e.Book().Rules() {
		s.list = append(s.list, r.Rule)
	}
	for _, r := range here.brought.rules {
		s.list = append(s.list, r.Rule)
	}
	if here.project == nil {
		return s, nil
	}
	wrong := &designfile.Problems{}
	for _, change := range here.project.project.GetRuleChanges() {
		s.apply(change, here.project, wrong)
	}
	if len(wrong.List) > 0 {
		return nil, wrong
	}
	return s, nil
}

// apply changes one rule as a project file says.
func (s *siteRules) apply(change *skidrulev1.RuleChange, p *projectFile, wrong *designfile.Problems) {
	at := designfile.Child("rule_changes", change.GetRuleId())
	i := slices.IndexFunc(s.list, func(r *skidrulev1.Rule) bool { return r.GetId() == change.GetRuleId() })
	if i < 0 {
		known := make([]string, len(s.list))
		for k, r := range s.list {
			known[k] = r.GetId()
		}
		wrong.List = append(wrong.List, p.problem(at, fmt.Sprintf("there is no rule %q", change.GetRuleId()), misspelt.DidYouMean(change.GetRuleId(), known)))
		return
	}
	rule := proto.CloneOf(s.list[i])
	text := ""
	if severity := change.GetSeverity(); severity != skidrulev1.Severity_SEVERITY_UNSPECIFIED {
		text = fmt.Sprintf("severity %s in place of %s", designfile.EnumName(severity.Descriptor().Values().ByNumber(severity.Number())),
			designfile.EnumName(severity.Descriptor().Values().ByNumber(rule.GetSeverity().Number())))
		rule.Severity = severity
	}
	for _, name := range slices.Sorted(maps.Keys(change.GetParameters())) {
		k := slices.IndexFunc(rule.GetParameters(), func(q *skidrulev1.RuleParameter) bool { return q.GetName() == name })
		if k < 0 {
			wrong.List = append(wrong.List, p.problem(at+".parameters", fmt.Sprintf("%s has no parameter %q", change.GetRuleId(), name), ""))
			continue
		}
		if text != "" {
			text += ", "
		}
		text += fmt.Sprintf("%s %s in place of %s", name, change.GetParameters()[name], rule.Parameters[k].GetValue())
		rule.Parameters[k].Value, rule.Parameters[k].Source = change.GetParameters()[name], "this site"
	}
	if change.GetReason() != "" {
		text += ", because: " + change.GetReason()
	}
	s.list[i], s.changed[rule.GetId()] = rule, where(p.positions, at)+": "+text
}

// tell writes what the site changes of a rule; nothing where it changes nothing.
func (s *siteRules) tell(w io.Writer, id string) error {
	if s == nil || s.changed[id] == "" {
		return nil
	}
	_, err := fmt.Fprintf(w, "\nAt this site\n  %s\n", report.Plain(oneLine(s.changed[id])))
	return err
}
