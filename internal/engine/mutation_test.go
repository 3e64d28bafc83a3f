package engine_test

import (
	"context"
	"errors"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// mainDemo is the design that is mutated in every run; with SKIDRULE_MUTATE=all all clean designs are, which takes minutes.
const mainDemo = "hatchery-side-stream"

// hazards are those of which a worse design may never pass.
var hazards = []skidrulev1.Hazard{
	skidrulev1.Hazard_HAZARD_WATER_AT_GENERATOR, skidrulev1.Hazard_HAZARD_LIQUID_ON_CATALYST,
	skidrulev1.Hazard_HAZARD_OZONE_TO_PEOPLE, skidrulev1.Hazard_HAZARD_OVERPRESSURE,
}

// Factors of re-rating. Margins of a factor of two are common, so a number that nobody misses is tried with a hundred too.
var (
	byTwo     = map[string]float64{"halve": 0.5, "double": 2}
	byHundred = map[string]float64{"hundredth": 0.01, "hundredfold": 100}
)

// TestNoMutationGoesUnnoticed changes one thing of a clean design at a time, and asks which rule notices: it deletes, reverses,
// swaps, leaves out and bypasses each component and line, and halves and doubles each number of the main demo. What nobody notices
// stands in testdata/mutation-survivors.txt with the reason why the design is not worse for it, or why that is borne. A number
// counts as noticed when a change of one of its sort is.
// `go test -run NoMutation -v ./internal/engine` prints the table.
func TestNoMutationGoesUnnoticed(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	all, err := cleanTrials()
	require.NoError(t, err)
	names := slices.Sorted(func(yield func(string) bool) {
		for name := range all {
			if !yield(name) {
				return
			}
		}
	})
	// The main demo first: what is noticed there need not be tried elsewhere.
	slices.SortStableFunc(names, func(a, b string) int {
		return map[bool]int{true: 0, false: 1}[a == mainDemo] - map[bool]int{true: 0, false: 1}[b == mainDemo]
	})
	s := readReasons(t, "testdata/mutation-survivors.txt")
	whole := os.Getenv("SKIDRULE_MUTATE") == "all"
	if !whole {
		names = names[:1]
	}
	watched := map[string]bool{}
	for _, name := range names {
		l := newLine(t, e, spelledOut(t, e, all[name].design))
		list := structural(l.design)
		for i, how := range l.tryAll(list) {
			m := list[i]
			t.Logf("%-24s %-64s %s", name, m.name, how)
			if how == "" {
				s.accept(t, "nobody notices", name+": "+m.name)
			}
		}
		switch {
		case underRace:
		case name == mainDemo:
			l.rerate(t, name, watched, byTwo, true)
			l.rerate(t, name, watched, byHundred, false)
		case whole:
			l.rerate(t, name, map[string]bool{}, byTwo, true)
		}
	}
	if underRace {
		return
	}
	for _, datum := range slices.Sorted(func(yield func(string) bool) {
		for d, seen := range watched {
			if !seen && !yield(d) {
				return
			}
		}
	}) {
		s.accept(t, "nobody notices", "datum: "+datum)
	}
	s.end(t, func(pattern string) bool {
		return whole || strings.HasPrefix(pattern, "datum: ") || strings.HasPrefix(pattern, mainDemo+": ")
	})
}

// line is a clean design with what is known of it.
type line struct {
	engine *engine.Engine
	design *skidrulev1.Design
	// known is what is found and what cannot be verified before anything is changed.
	known map[string]bool
	// hazard of each rule.
	hazard map[string]skidrulev1.Hazard
}

func newLine(t *testing.T, e *engine.Engine, design *skidrulev1.Design) *line {
	t.Helper()
	l := &line{e, design, map[string]bool{}, map[string]skidrulev1.Hazard{}}
	for _, c := range e.Book().Rules() {
		l.hazard[c.Rule.GetId()] = c.Rule.GetHazard()
	}
	r, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: design})
	require.NoError(t, err)
	for _, f := range r.GetFindings() {
		l.known[f.GetRuleId()+" "+f.GetSubject()] = true
	}
	for _, o := range r.GetOutcomes() {
		l.known[o.GetRuleId()+" "+o.GetSubject()] = true
	}
	return l
}

// noticed says which rule sees that a design is not what it was: the first new finding, of a hazard before others, or else the
// first rule that can no longer be verified. It is empty where nobody does.
func (l *line) noticed(design *skidrulev1.Design) string {
	r, err := l.engine.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: design})
	var wrong *engine.RequestError
	if errors.As(err, &wrong) {
		return "refused: " + wrong.Violations[0].Path + ": " + wrong.Violations[0].Message
	}
	if err != nil {
		return ""
	}
	first := ""
	tell := func(rule, subject, how string, s skidrulev1.Severity) {
		grave := slices.Contains(hazards, l.hazard[rule])
		if !l.known[rule+" "+subject] && (first == "" || grave && !strings.HasPrefix(first, "!")) {
			first = map[bool]string{true: "! ", false: "  "}[grave] + designfile.EnumWord(s) + " " + rule + " " + how + " " + subject
		}
	}
	for _, f := range r.GetFindings() {
		tell(f.GetRuleId(), f.GetSubject(), "broken by", f.GetSeverity())
	}
	for _, o := range r.GetOutcomes() {
		if o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
			tell(o.GetRuleId(), o.GetSubject(), "not verifiable of", o.GetSeverity())
		}
	}
	return first
}

// tryAll asks of each mutant who notices, on as many processors as there are.
func (l *line) tryAll(list []mutant) []string {
	out := make([]string, len(list))
	onAll(len(list), func(i int) { out[i] = l.noticed(list[i].design()) })
	return out
}

// onAll calls do for 0 to n-1, on as many processors as there are.
func onAll(n int, do func(i int)) {
	next := make(chan int)
	var group sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	group.Wait()
}

// rerate multiplies numbers and marks the sorts of which a change is noticed: each number, or the first few of each sort that
// nobody has noticed yet.
func (l *line) rerate(t *testing.T, name string, watched map[string]bool, factors map[string]float64, each bool) {
	t.Helper()
	const most = 20 // of a sort, where one that is noticed is enough
	var list []mutant
	count := map[string]int{}
	for _, m := range rerated(l.design, factors) {
		_, sort, _ := strings.Cut(m.watch, " ")
		if _, met := watched[sort]; !met {
			watched[sort] = false
		}
		count[m.watch]++
		if each || !watched[sort] && count[m.watch] <= most {
			list = append(list, m)
		}
	}
	for i, how := range l.tryAll(list) {
		_, sort, _ := strings.Cut(list[i].watch, " ")
		watched[sort] = watched[sort] || how != ""
		if each {
			t.Logf("%-24s %-64s %s", name, list[i].name, how)
		}
	}
}

// reasons are reviewed lines `what | reason` of a file, in which * stands for any characters.
type reasons struct {
	file     string
	patterns []string
	used     []bool
}

func readReasons(t *testing.T, file string) *reasons {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	s := &reasons{file: file}
	for row := range strings.Lines(string(data)) {
		row = strings.TrimSpace(row)
		if row == "" || strings.HasPrefix(row, "#") {
			continue
		}
		pattern, reason, ok := strings.Cut(row, " | ")
		require.True(t, ok && strings.TrimSpace(reason) != "", "%s: %q has no reason", file, row)
		require.NotContains(t, s.patterns, pattern, "%s: %q stands twice", file, pattern)
		s.patterns = append(s.patterns, pattern)
	}
	s.used = make([]bool, len(s.patterns))
	return s
}

// accept fails for what no line gives a reason for.
func (s *reasons) accept(t *testing.T, complaint, what string) {
	t.Helper()
	listed := false
	for i, p := range s.patterns {
		if matches(p, what) {
			s.used[i], listed = true, true
		}
	}
	assert.True(t, listed, "%s: %s", complaint, what)
}

// matches compares a text with one in which * stands for any characters.
func matches(pattern, text string) bool {
	first, rest, star := strings.Cut(pattern, "*")
	if !star {
		return pattern == text
	}
	if !strings.HasPrefix(text, first) {
		return false
	}
	for i := len(first); i <= len(text); i++ {
		if matches(rest, text[i:]) {
			return true
		}
	}
	return false
}

// end fails for lines that nothing needs any more, among those that were judged.
func (s *reasons) end(t *testing.T, judged func(pattern string) bool) {
	t.Helper()
	for i, p := range s.patterns {
		assert.True(t, s.used[i] || !judged(p), "%s: %q is stale", s.file, p)
	}
}

func TestPatternsOfReasons(t *testing.T) {
	for _, c := range []struct {
		pattern, text string
		want          bool
	}{
		{"*: delete tee TE-*", "demo: delete tee TE-1", true},
		{"*: delete tee TE-*", "demo: delete tee XE-1", false},
		{"*: delete tee", "demo: delete tee TE-1", false},
		{"datum: *.elevation_m", "datum: float vent valve.elevation_m", true},
		{"a/b without components.*.part", "a/b without components.CV-1.part", true},
		{"a/b without components.*.part", "a/b without components.CV-1.parts", false},
		{"x[*].y", "x[3].y", true},
	} {
		assert.Equal(t, c.want, matches(c.pattern, c.text), "%s against %s", c.pattern, c.text)
	}
}
