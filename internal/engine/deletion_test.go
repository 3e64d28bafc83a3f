package engine_test

import (
	"context"
	"errors"
	"os"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const (
	met           = skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET
	broken        = skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN
	notVerifiable = skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE
	notApplicable = skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE
)

// pair is one rule and the thing that it was asked of.
type pair struct{ rule, subject string }

// outcome is the worst of a pair over the cases.
type outcome struct {
	status   skidrulev1.OutcomeStatus
	severity skidrulev1.Severity
	hazard   skidrulev1.Hazard
}

func outcomes(r *skidrulev1.Report) map[pair]outcome {
	out := map[pair]outcome{}
	for _, o := range r.GetOutcomes() {
		k := pair{o.GetRuleId(), o.GetSubject()}
		if have, ok := out[k]; !ok || rulebook.StatusRank[o.GetStatus()] > rulebook.StatusRank[have.status] {
			out[k] = outcome{o.GetStatus(), o.GetSeverity(), o.GetHazard()}
		}
	}
	return out
}

// faultsOfDeletion compares the outcomes before and after a datum was deleted, and names the rules at fault: no outcome may
// become met that was broken or not verifiable, and none may be lost unless something else, as grave as it, is told instead.
func faultsOfDeletion(before, after map[pair]outcome) (faults []string) {
	told := skidrulev1.Severity_SEVERITY_OFF
	for k, is := range after {
		if bad(is.status) && !bad(before[k].status) {
			told = min(told, is.severity)
		}
	}
	for k, was := range before {
		is, there := after[k]
		switch {
		case was.hazard == skidrulev1.Hazard_HAZARD_UNSPECIFIED || was.status != met && !bad(was.status):
		case bad(was.status) && is.status == met, (!there || is.status == notApplicable) && told > was.severity:
			faults = append(faults, k.rule)
		}
	}
	slices.Sort(faults)
	return slices.Compact(faults)
}

func bad(s skidrulev1.OutcomeStatus) bool { return s == broken || s == notVerifiable }

// stated lists the data of a design that may be left out without drawing something else: all but components, lines and
// their routes, which other tests take away.
func stated(design *skidrulev1.Design) []datum {
	return slices.DeleteFunc(dataOf(design), func(x datum) bool {
		switch x.field.FullName() {
		case "skidrule.v1.Design.components", "skidrule.v1.Design.lines", "skidrule.v1.Line.route", "skidrule.v1.RouteStop.tag", "skidrule.v1.RouteStop.enter", "skidrule.v1.RouteStop.leave":
			return true
		}
		return x.field.Name() == "tag" && x.field.Kind() == protoreflect.StringKind
	})
}

// deletions tries each of the data, on as many processors as there are, and gives what is wrong with the answers, and how many there
// were: the other designs were refused.
func deletions(t *testing.T, e *engine.Engine, design *skidrulev1.Design, list []datum, only []string) (faults []string, judged int) {
	t.Helper()
	ask := func(d *skidrulev1.Design, only []string) (*skidrulev1.Report, error) {
		return e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL, Only: only}})
	}
	whole := func(d *skidrulev1.Design) map[pair]outcome {
		r, err := ask(d, nil)
		if err != nil {
			return nil // everything is lost, and told as that
		}
		return outcomes(r)
	}
	r, err := ask(design, only)
	require.NoError(t, err)
	before := outcomes(r)
	found := make([][]string, len(list))
	var answered atomic.Int32
	onAll(len(list), func(i int) {
		d := list[i].without(design)
		r, err := ask(d, only)
		var refused *engine.RequestError
		if errors.As(err, &refused) {
			return // a design that is refused does not pass
		}
		answered.Add(1)
		if err == nil {
			found[i] = faultsOfDeletion(before, outcomes(r))
			if len(found[i]) > 0 && only != nil {
				// The rules that were not asked may tell.
				first, second := whole(design), whole(d)
				found[i] = faultsOfDeletion(first, second)
			}
		} else {
			found[i] = []string{err.Error()}
		}
	})
	for i, rules := range found {
		for _, rule := range rules {
			faults = append(faults, rule+" without "+list[i].path)
		}
	}
	return faults, int(answered.Load())
}

// exceptionsFile lists what may be lost, with the reason.
const exceptionsFile = "testdata/deletion-exceptions.txt"

// TestDeletingDataMakesNothingPass deletes each datum of the main demo, at any depth, those of its parts included: silence
// must never be a pass. SKIDRULE_MUTATE=all does the same with every clean design.
func TestDeletingDataMakesNothingPass(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	all, err := cleanTrials()
	require.NoError(t, err)
	exceptions := readReasons(t, exceptionsFile)
	require.Contains(t, all, mainDemo)
	for name, c := range all {
		if name != mainDemo && os.Getenv("SKIDRULE_MUTATE") != "all" {
			continue
		}
		for form, design := range map[string]*skidrulev1.Design{"as drawn": c.design, "with its parts spelt out": spelledOut(t, e, c.design)} {
			list := stated(design)
			switch {
			case underRace:
				list = every(list, 80, 0)
			case design == c.design && os.Getenv("SKIDRULE_MUTATE") != "all":
				// What is spelt out has all of it again, but for the parts themselves.
				list = slices.DeleteFunc(list, func(x datum) bool { return x.field.FullName() != "skidrule.v1.Component.part" })
			}
			t.Logf("%s, %s: %d data", name, form, len(list))
			faults, judged := deletions(t, e, design, list, nil)
			// Most parts say what a component is, without which it is refused; all other data may be left out.
			least := len(list) * 9 / 10
			if design == c.design {
				least = len(list) / 5
			}
			assert.Greater(t, judged, least, "%s, %s", name, form)
			for _, f := range faults {
				exceptions.accept(t, "a deleted datum makes "+name+" pass, "+form, f)
			}
		}
	}
}

// TestDeletingDataHidesNoMistake deletes data of designs with a mistake, and asks the rules that find it: the finding may turn
// into a question, never into nothing. Each run takes every fortieth datum of each design; SKIDRULE_MUTATE=all takes all.
func TestDeletingDataHidesNoMistake(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	all, err := mistakeTrials()
	require.NoError(t, err)
	names := slices.Sorted(func(yield func(string) bool) {
		for name := range all {
			if !yield(name) {
				return
			}
		}
	})
	exceptions := readReasons(t, exceptionsFile)
	tried, judged := 0, 0
	for i, name := range names {
		only := map[string]bool{}
		near := map[string]bool{}
		for _, f := range all[name].report.GetFindings() {
			if f.GetHazard() == skidrulev1.Hazard_HAZARD_UNSPECIFIED {
				continue
			}
			only[f.GetRuleId()] = true
			element, _, _ := strings.Cut(f.GetSubject(), " ")
			near[tagOf(element)] = true
			for _, s := range f.GetPath() {
				near[tagOf(s.GetElement())] = true
			}
		}
		if len(only) == 0 {
			continue
		}
		design := spelledOut(t, e, all[name].design)
		list := slices.DeleteFunc(stated(design), func(x datum) bool {
			return (strings.HasPrefix(x.path, "components.") || strings.HasPrefix(x.path, "lines.")) && !near[tagOf(x.path)]
		})
		if os.Getenv("SKIDRULE_MUTATE") != "all" {
			step := 40
			if underRace {
				step = 400
			}
			list = every(list, step, i)
		}
		tried += len(list)
		faults, answered := deletions(t, e, design, list, sortedWords(only))
		judged += answered
		for _, f := range faults {
			exceptions.accept(t, "a deleted datum hides the mistake "+name, f)
		}
	}
	t.Logf("%d data of %d designs", tried, len(names))
	assert.Greater(t, judged, tried*9/10)
}

// every takes each step-th of a list, from a place that differs between designs.
func every(list []datum, step, from int) []datum {
	var out []datum
	for i := from % step; i < len(list); i += step {
		out = append(out, list[i])
	}
	return out
}

// tagOf is the tag in an element path.
func tagOf(path string) string {
	_, rest, _ := strings.Cut(path, ".")
	tag, _, _ := strings.Cut(rest, ".")
	return tag
}

func sortedWords(set map[string]bool) []string {
	var out []string
	for w := range set {
		out = append(out, w)
	}
	slices.Sort(out)
	return out
}

// A fault of the comparison itself would make the tests above pass for nothing.
func TestFaultsOfDeletion(t *testing.T) {
	k, other := pair{"a/b", "components.C-1"}, pair{"c/d", "design"}
	one := func(s skidrulev1.OutcomeStatus) map[pair]outcome {
		return map[pair]outcome{k: {s, skidrulev1.Severity_SEVERITY_WARNING, skidrulev1.Hazard_HAZARD_OVERPRESSURE}}
	}
	with := func(m map[pair]outcome, severity skidrulev1.Severity) map[pair]outcome {
		m[other] = outcome{broken, severity, skidrulev1.Hazard_HAZARD_OVERPRESSURE}
		return m
	}
	for _, c := range []struct {
		name          string
		before, after map[pair]outcome
		fault         bool
	}{
		{"broken becomes met", one(broken), one(met), true},
		{"a question becomes met", one(notVerifiable), one(met), true},
		{"met becomes a question", one(met), one(notVerifiable), false},
		{"broken becomes a question", one(broken), one(notVerifiable), false},
		{"met does not apply any more", one(met), one(notApplicable), true},
		{"broken does not apply any more", one(broken), one(notApplicable), true},
		{"met is gone", one(met), nil, true},
		{"met is gone and something as grave is wrong", one(met), with(map[pair]outcome{}, skidrulev1.Severity_SEVERITY_WARNING), false},
		{"met is gone and something less grave is wrong", one(met), with(map[pair]outcome{}, skidrulev1.Severity_SEVERITY_NOTE), true},
		{"met is gone and something was wrong before", with(one(met), skidrulev1.Severity_SEVERITY_ERROR), with(map[pair]outcome{}, skidrulev1.Severity_SEVERITY_ERROR), true},
		{"it never applied", one(notApplicable), one(met), false},
	} {
		assert.Equal(t, c.fault, len(faultsOfDeletion(c.before, c.after)) > 0, c.name)
	}
}
