package report_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var builtIn = sync.OnceValues(engine.New)

// broken is a demo design with one mistake in it, whose first finding is a way from the water to the generator.
const broken = "../../testdata/mistakes/single-check-valve/design.yaml"

// answerOf checks a design file with the built-in rules.
func answerOf(t *testing.T, path string) (report.HTMLAnswer, []*skidrulev1.Rule) {
	t.Helper()
	e, err := builtIn()
	require.NoError(t, err)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	name := filepath.Base(filepath.Dir(path)) + "/design.yaml"
	f, err := designfile.Read(name, data)
	require.NoError(t, err)
	request := &skidrulev1.CheckDesignRequest{Design: f.Design, Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}}
	r, err := e.Check(context.Background(), request)
	require.NoError(t, err)
	w, err := e.World(context.Background(), request)
	require.NoError(t, err)
	a := report.HTMLAnswer{Answer: report.Answer{File: name, Report: r, Positions: f.Positions}, Design: f.Design, Data: w.Plant.DataByTag()}
	solved, err := answer.SolveDesign(context.Background(), e, &skidrulev1.SolveDesignRequest{Design: f.Design, SkipMargins: true})
	require.NoError(t, err)
	a.Solution = solved.GetSolution()
	return a, rulesOf(e)
}

// rulesOf are the rules of an engine.
func rulesOf(e *engine.Engine) []*skidrulev1.Rule {
	var rules []*skidrulev1.Rule
	for _, c := range e.Book().Rules() {
		rules = append(rules, c.Rule)
	}
	return rules
}

func pageOf(t *testing.T, paths ...string) []byte {
	t.Helper()
	var answers []report.HTMLAnswer
	var rules []*skidrulev1.Rule
	for _, p := range paths {
		a, all := answerOf(t, p)
		answers, rules = append(answers, a), all
	}
	var out bytes.Buffer
	require.NoError(t, report.HTML(context.Background(), &out, answers, nil, report.Gate{Threshold: errorSeverity}, report.HTMLOptions{Date: "2026-01-15", Rules: rules}))
	return out.Bytes()
}

var brokenOnce struct {
	sync.Once
	page []byte
}

// brokenPage is the page of the broken demo, which many tests look at.
func brokenPage(t *testing.T) []byte {
	t.Helper()
	brokenOnce.Do(func() { brokenOnce.page = pageOf(t, broken) })
	require.NotEmpty(t, brokenOnce.page)
	return brokenOnce.page
}

func TestHTMLHoldsEverything(t *testing.T) {
	a, _ := answerOf(t, broken)
	page := string(brokenPage(t))
	require.NotEmpty(t, a.Report.GetFindings())
	for _, f := range a.Report.GetFindings() {
		assert.Contains(t, page, f.GetRuleId())
		assert.Contains(t, plainHTML(page), f.GetMend())
	}
	for _, want := range []string{
		"2026-01-15", "revision", "not passed:", "Findings", "Way through the drawing", "What was verified and what not", "Questions that missing data leaves open",
		"Cautions", "signature", "Texts of the rules named above", "Pressures and flows", "Lines in case pump_stopped", "Highest and lowest over the solved cases", "Met when", "single-check-valve/design.yaml", `data-tag="CV-1"`,
	} {
		assert.Contains(t, page, want)
	}
	for _, c := range a.Report.GetCautions() {
		assert.Contains(t, plainHTML(page), c)
	}
	const asks = "../../testdata/mistakes/gas-into-pump/design.yaml"
	open, _ := answerOf(t, asks)
	asked := string(pageOf(t, asks))
	require.NotEmpty(t, open.Report.GetQuestions())
	for _, q := range open.Report.GetQuestions() {
		assert.Contains(t, asked, strings.TrimPrefix(strings.TrimPrefix(q.GetPath(), "components."), "lines."))
	}
	for _, c := range a.Design.GetComponents() {
		assert.Contains(t, page, `data-tag="`+c.GetTag()+`"`)
	}
}

// plainHTML undoes the escaping of texts.
func plainHTML(s string) string {
	return strings.NewReplacer("&#39;", "'", "&#34;", `"`, "&lt;", "<", "&gt;", ">", "&amp;", "&", "&#43;", "+").Replace(s)
}

func TestHTMLNeedsNothingElse(t *testing.T) {
	page := string(brokenPage(t))
	assert.NotRegexp(t, `(?i)\b(src|href)="?(https?:)?//`, page)
	assert.NotRegexp(t, `@import|url\(`, page)
	assert.NotRegexp(t, `(?i)<(link|iframe|img|object|embed)\b`, page)
	for _, m := range regexp.MustCompile(`https?://[^"'<\s]+`).FindAllString(page, -1) {
		assert.Equal(t, "http://www.w3.org/2000/svg", m)
	}
	assert.Equal(t, 1, strings.Count(page, "<script>"))
	assert.Contains(t, page, "default-src &#39;none&#39;")
}

// Every id stands once, every link inside the page leads to one, and every control names what is there.
func TestHTMLHangsTogether(t *testing.T) {
	page := string(pageOf(t, broken, "../../testdata/twin-generator-manifold/design.yaml"))
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(`\sid="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		assert.False(t, ids[m[1]], "id %s twice", m[1])
		ids[m[1]] = true
	}
	named := regexp.MustCompile(`(?:href="#|aria-labelledby=")([^"]+)"`).FindAllStringSubmatch(page, -1)
	require.NotEmpty(t, named)
	for _, m := range named {
		assert.True(t, ids[m[1]], "nothing has the id %s", m[1])
	}
}

func TestHTMLIsTheSameEachTime(t *testing.T) {
	assert.Equal(t, pageOf(t, broken), pageOf(t, broken))
}

// What designs and rules hold stays text.
func TestHTMLEscapes(t *testing.T) {
	const evil = `</script><script>alert("x")</script><b onclick='y'>&`
	a, rules := answerOf(t, broken)
	a.Report.DesignName, a.Report.DesignRevision, a.File = evil, evil, evil
	a.Design.Name, a.Design.Description = evil, evil
	for _, f := range a.Report.GetFindings() {
		f.Message, f.Title, f.Mend, f.Why, f.RuleId, f.Related = evil, evil, evil, evil, evil, []string{evil}
		f.Subject = "components." + evil
		for _, s := range f.GetPath() {
			s.Tag, s.Note, s.Element, s.Kind = evil, evil, "components."+evil, evil
		}
		for _, e := range f.GetEvidence() {
			e.Label = evil
		}
	}
	a.Report.Questions = append(a.Report.Questions, &skidrulev1.Question{Path: evil})
	a.Report.Cautions = []string{evil}
	var out bytes.Buffer
	bad := []report.Unusable{{File: evil, Problems: []designfile.Problem{{File: evil, Message: evil}}}}
	require.NoError(t, report.HTML(context.Background(), &out, []report.HTMLAnswer{a}, bad, report.Gate{Threshold: errorSeverity}, report.HTMLOptions{Date: evil, Rules: rules}))
	assert.NotContains(t, out.String(), "<b onclick")
	assert.Equal(t, 1, strings.Count(strings.ToLower(out.String()), "<script"))
	assert.NotContains(t, out.String(), `alert("x")`)
}

// Designs without findings, without a drawing and without anything give a page as well.
func TestHTMLOfLittle(t *testing.T) {
	clean, rules := answerOf(t, "../../testdata/hatchery-side-stream/design.yaml")
	bare := report.HTMLAnswer{Answer: report.Answer{File: "bare.yaml", Report: &skidrulev1.Report{}}, Design: &skidrulev1.Design{}}
	torn := clean
	torn.Design = &skidrulev1.Design{Components: []*skidrulev1.Component{{}}}
	torn.Unsolved = "the reason"
	undrawn := report.HTMLAnswer{Answer: clean.Answer}
	for _, answers := range [][]report.HTMLAnswer{{clean}, {bare}, {torn}, {undrawn}, {}, {clean, bare, torn}} {
		var out bytes.Buffer
		require.NoError(t, report.HTML(context.Background(), &out, answers, nil, report.Gate{}, report.HTMLOptions{Rules: rules}))
		assert.Contains(t, out.String(), "</html>")
	}
	var out bytes.Buffer
	require.NoError(t, report.HTML(context.Background(), &out, []report.HTMLAnswer{torn}, nil, report.Gate{}, report.HTMLOptions{}))
	assert.Contains(t, out.String(), "There is no drawing: the design cannot be drawn")
	assert.Contains(t, out.String(), "Not solved: the reason")
	ended, stop := context.WithCancel(context.Background())
	stop()
	assert.ErrorIs(t, report.HTML(ended, io.Discard, []report.HTMLAnswer{clean}, nil, report.Gate{}, report.HTMLOptions{}), context.Canceled)
}

// The drawing inside the page is well formed.
func TestHTMLDrawingIsWellFormed(t *testing.T) {
	page := string(brokenPage(t))
	from, to := strings.Index(page, "<svg"), strings.Index(page, "</svg>")
	require.Positive(t, from)
	d := xml.NewDecoder(strings.NewReader(page[from : to+len("</svg>")]))
	hot := 0
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		if s, ok := token.(xml.StartElement); ok {
			for _, a := range s.Attr {
				if a.Name.Local == "class" && strings.Contains(a.Value, "sk-hot") {
					hot++
				}
			}
		}
	}
	assert.Greater(t, hot, 3, "the way of the first finding is highlighted without a script too")
}
