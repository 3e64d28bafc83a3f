package report

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"io"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// HTMLAnswer is an answer with what a page shows beside it.
type HTMLAnswer struct {
	Answer
	// Design that was checked, for the drawing.
	Design *skidrulev1.Design
	// Data has the components with their catalogue data, by tag.
	Data map[string]*skidrulev1.Component
	// Solution has the solved cases; nil where none were solved.
	Solution *skidrulev1.Solution
	// Unsolved says why there is no solution, where one was wanted.
	Unsolved string
}

// HTMLOptions say what a page shows beside the answers.
type HTMLOptions struct {
	// Date of the report as it shall stand there; the package reads no clock.
	Date string
	// Units of the numbers.
	Units quantity.System
	// Rules that were asked, for their texts.
	Rules []*skidrulev1.Rule
}

//go:embed html/page.html
var htmlPage string

//go:embed html/style.css
var htmlStyle string

//go:embed html/script.js
var htmlScript string

var htmlTemplate = template.Must(template.New("page").Parse(htmlPage))

// HTML writes answers as one page that needs nothing else: no network, no other file. Each design has its drawing, on which a
// finding that is chosen shows its way; the page can be used with the keyboard alone, and printed. Drawings are made here; the
// error is that of ctx where it ends first, or the writer's. The same answers and options give the same bytes.
func HTML(ctx context.Context, w io.Writer, answers []HTMLAnswer, unusable []Unusable, gate Gate, o HTMLOptions) error {
	v := htmlView{
		Style: template.CSS(htmlStyle), Script: template.JS(htmlScript), Policy: policy(htmlScript),
		Date: clean(o.Date), Many: len(answers)+len(unusable) > 1,
	}
	b := &htmlBuilder{gate: gate, options: o, rules: map[string]*skidrulev1.Rule{}, told: map[string]bool{}}
	for _, r := range o.Rules {
		b.rules[r.GetId()] = r
	}
	plainAnswers := make([]Answer, len(answers))
	for i := range answers {
		plainAnswers[i] = answers[i].Answer
		d, err := b.design(ctx, &answers[i], i+1)
		if err != nil {
			return err
		}
		v.Designs = append(v.Designs, d)
		if v.Version == "" {
			v.Version = clean(answers[i].Report.GetVersion())
		}
	}
	for _, u := range unusable {
		v.Unusable = append(v.Unusable, htmlUnusable{clean(u.File), each(u.Problems, ProblemLine), u.More})
	}
	v.Rules = b.ruleTexts()
	v.Cautions = each(cautions(plainAnswers), clean)
	v.Title = "Review of " + htmlTitle(answers)
	return htmlTemplate.Execute(w, v)
}

// policy lets a page run its own script and nothing else.
func policy(script string) string {
	sum := sha256.Sum256([]byte(script))
	return "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

func htmlTitle(answers []HTMLAnswer) string {
	switch len(answers) {
	case 0:
		return "no design"
	case 1:
		return designName(answers[0].Report)
	}
	return count(len(answers), "design", "designs")
}

func designName(r *skidrulev1.Report) string {
	if r.GetDesignName() == "" {
		return "a " + nameless
	}
	return clean(r.GetDesignName())
}
