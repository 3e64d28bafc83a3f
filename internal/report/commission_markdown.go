package report

import (
	"fmt"
	"io"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// CardMarkdown writes a card as Markdown. Text from designs cannot make links, mentions, tags or headings of its own.
func CardMarkdown(w io.Writer, c *skidrulev1.CommissioningCard, units quantity.System) error {
	var b strings.Builder
	fmt.Fprintf(&b, "## Expected readings: %s\n", inMarkdown(cardName(c.GetDesignName(), c.GetDesignRevision())))
	markdownList(&b, "First", c.GetCautions())
	for _, one := range c.GetCases() {
		fmt.Fprintf(&b, "\n### Case %s: %s\n\n", inMarkdown(one.GetId()), inMarkdown(one.GetTitle()))
		if one.GetExcludedBecause() != "" {
			fmt.Fprintf(&b, "Cannot occur: %s\n", inMarkdown(one.GetExcludedBecause()))
			continue
		}
		b.WriteString("Date: &nbsp; Readings by: &nbsp; Water temperature:\n\n")
		b.WriteString("| tag | shows | expected | low to high | range | in span | read | initials | meaning |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n")
		for _, r := range one.GetReadings() {
			v := sheetRowOf(r, units)
			meaning := v.Notes
			if v.Below != "" {
				meaning = append(meaning, "below: "+v.Below)
			}
			if v.Above != "" {
				meaning = append(meaning, "above: "+v.Above)
			}
			for i := range meaning {
				meaning[i] = inMarkdown(meaning[i])
			}
			fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s | | | %s |\n", code(v.Tag), inMarkdown(v.Shows), inMarkdown(v.Best), inMarkdown(v.Ends), inMarkdown(v.Range), inMarkdown(v.Span), strings.Join(meaning, "<br>"))
		}
	}
	markdownList(&b, "How these came about", c.GetBasis())
	_, err := io.WriteString(w, b.String())
	return err
}

func markdownList(b *strings.Builder, head string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "\n**%s**\n\n", inMarkdown(head))
	for _, l := range lines {
		b.WriteString("- " + inMarkdown(l) + "\n")
	}
}

// DiagnosisMarkdown writes a diagnosis as Markdown.
func DiagnosisMarkdown(w io.Writer, d *skidrulev1.Diagnosis, units quantity.System) error {
	var b strings.Builder
	fmt.Fprintf(&b, "## Readings of %s, case %s\n", inMarkdown(cardName(d.GetDesignName(), d.GetDesignRevision())), inMarkdown(d.GetCaseId()))
	markdownList(&b, "First", d.GetCautions())
	fmt.Fprintf(&b, "\n**%s:** %s\n", capital(verdictWords[d.GetVerdict()]), inMarkdown(d.GetSummary()))
	b.WriteString("\n| reading | shows | read | expected | low to high | away | uncertainty |\n| --- | --- | --- | --- | --- | --- | --- |\n")
	for _, r := range d.GetReadings() {
		v := judgedRowOf(r, units)
		if v.Note != "" {
			v.Best = v.Note
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s | %s |\n", code(v.Place), inMarkdown(v.Shows), inMarkdown(v.Read), inMarkdown(v.Best), inMarkdown(v.Ends), inMarkdown(v.Away), inMarkdown(v.Source))
	}
	for _, g := range d.GetDrawn() {
		markdownList(&b, drawnText(g, units), g.GetSteps())
		if len(g.GetSteps()) == 0 {
			fmt.Fprintf(&b, "\n%s\n", inMarkdown(drawnText(g, units)))
		}
	}
	if len(d.GetCauses()) > 0 {
		b.WriteString("\n| | cause | best size | sizes that fit | chi-square (dof) | chance | score | weight | gas drawn | |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n")
		list, more := causeRows(d, units)
		for _, v := range list {
			mark := ""
			if v.Leads {
				mark = "leads"
			}
			fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s | %s | %s | %s | %s |\n", mark, inMarkdown(v.Title), inMarkdown(v.Size), inMarkdown(v.Range), inMarkdown(v.Misfit), inMarkdown(v.Chance), inMarkdown(v.Score), inMarkdown(v.Weight), inMarkdown(v.Gas), inMarkdown(v.Note))
		}
		if more > 0 {
			fmt.Fprintf(&b, "\nand %d more that are ruled out\n", more)
		}
	}
	for _, l := range listsOf(d, units) {
		markdownList(&b, l.Head, l.Lines)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
