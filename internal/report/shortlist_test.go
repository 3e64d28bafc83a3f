package report_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// stateOf reads the short list of a report from its JSON.
func stateOf(t require.TestingT, r *skidrulev1.Report) (data []string, decided, open int) {
	var out bytes.Buffer
	require.NoError(t, report.JSON(&out, []report.Answer{{File: "a.yaml", Report: r}}, nil, report.Gate{Threshold: errorSeverity}))
	var file struct {
		Answers []struct {
			State struct {
				Data          []string
				Decided, Open int
			}
		}
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &file))
	s := file.Answers[0].State
	return s.Data, s.Decided, s.Open
}

// decidedBy counts the outcomes of which nothing is missing once the data is stated.
func decidedBy(r *skidrulev1.Report, data []string) (n int) {
	for _, o := range r.GetOutcomes() {
		if len(o.GetMissing()) > 0 && !slices.ContainsFunc(o.GetMissing(), func(m string) bool { return !slices.Contains(data, m) }) {
			n++
		}
	}
	return n
}

// The short list decides what it says it decides, most of the open outcomes where data can, and no datum of it can be left out. It
// is greedy: on small reports it is held against the shortest list of all, than which it is seldom longer.
func TestShortListOfData(t *testing.T) {
	tried, longer := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.IntRange(1, 8).Draw(t, "data")
		r := &skidrulev1.Report{Coverage: &skidrulev1.Coverage{}}
		for i := range rapid.IntRange(0, 12).Draw(t, "outcomes") {
			missing := rapid.SliceOfNDistinct(rapid.IntRange(0, names-1), 0, min(3, names), rapid.ID[int]).Draw(t, "missing")
			o := &skidrulev1.Outcome{RuleId: "a/b", Subject: fmt.Sprint("components.X-", i), Severity: errorSeverity, Status: skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE}
			for _, m := range missing {
				o.Missing = append(o.Missing, fmt.Sprint("components.X.", m))
			}
			r.Outcomes = append(r.Outcomes, o)
		}
		data, decided, open := stateOf(t, r)
		assert.Equal(t, len(r.GetOutcomes()), open)
		assert.Equal(t, decidedBy(r, data), decided)
		for i := range data {
			assert.Less(t, decidedBy(r, slices.Delete(slices.Clone(data), i, i+1)), decided, "%s can be left out", data[i])
		}
		shortest := -1
		for mask := range 1 << names {
			var try []string
			for i := range names {
				if mask>>i&1 == 1 {
					try = append(try, fmt.Sprint("components.X.", i))
				}
			}
			if 2*decidedBy(r, try) > open && (shortest < 0 || len(try) < shortest) {
				shortest = len(try)
			}
		}
		if shortest < 0 {
			return // not even all data decides most of them
		}
		assert.Greater(t, 2*decided, open, "most are decided")
		assert.GreaterOrEqual(t, len(data), shortest)
		if tried++; len(data) > shortest {
			longer++
		}
	})
	require.Positive(t, tried)
	assert.Less(t, 2*longer, tried, "%d of %d lists were longer than the shortest", longer, tried)
}

// Every format tells the counts of pairs and the short list.
func TestEveryFormatTellsCoverage(t *testing.T) {
	a := loop(t)
	data, _, _ := stateOf(t, a.Report)
	require.NotEmpty(t, data)
	c := a.Report.GetCoverage()
	gate := report.Gate{Threshold: errorSeverity}
	answers := []report.Answer{a}
	for name, write := range map[string]func(*bytes.Buffer) error{
		"text":     func(b *bytes.Buffer) error { return report.Text(b, answers, gate, report.Style{Width: 10_000}) },
		"json":     func(b *bytes.Buffer) error { return report.JSON(b, answers, nil, gate) },
		"markdown": func(b *bytes.Buffer) error { return report.Markdown(b, answers, nil, gate, 0) },
		"sarif":    func(b *bytes.Buffer) error { return report.SARIF(b, answers, nil, gate, report.SARIFOptions{}) },
		"junit":    func(b *bytes.Buffer) error { return report.JUnit(b, answers, nil, gate) },
		"html": func(b *bytes.Buffer) error {
			return report.HTML(t.Context(), b, []report.HTMLAnswer{{Answer: a}}, nil, gate, report.HTMLOptions{})
		},
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b), name)
		for _, n := range []int32{c.GetMet(), c.GetBroken(), c.GetNotVerifiable(), c.GetNotApplicable()} {
			assert.Contains(t, b.String(), fmt.Sprint(n), name)
		}
		for _, path := range data {
			_, tag, _ := bytes.Cut([]byte(path), []byte("."))
			assert.Contains(t, b.String(), string(tag), "%s: %s", name, path)
		}
	}
}
