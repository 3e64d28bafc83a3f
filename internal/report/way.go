package report

import (
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// leg is one component on a way with the lines that lead to it.
type leg struct {
	lines string
	step  *skidrulev1.PathStep
}

// legs are the components on a way; where it ends in lines, the last leg has none.
func legs(steps []*skidrulev1.PathStep) []leg {
	var legs []leg
	var lines []string
	for _, s := range steps {
		if strings.HasPrefix(s.GetElement(), "lines.") {
			lines = append(lines, clean(s.GetTag()))
			continue
		}
		legs = append(legs, leg{strings.Join(lines, ", "), s})
		lines = nil
	}
	if len(lines) > 0 {
		legs = append(legs, leg{strings.Join(lines, ", "), &skidrulev1.PathStep{}})
	}
	return legs
}

// way draws a path through the drawing, a component a row, with its part on the way and the weak places marked.
func (p *page) way(steps []*skidrulev1.PathStep) {
	if len(steps) == 0 {
		return
	}
	legs := legs(steps)
	linesWidth, tagWidth, kindWidth := 0, 0, 0
	for _, l := range legs {
		linesWidth, tagWidth = max(linesWidth, width(l.lines)), max(tagWidth, width(clean(l.step.GetTag())))
		kindWidth = max(kindWidth, width(kindWords(l.step)))
	}
	arrow := "→"
	if p.style.ASCII {
		arrow = "->"
	}
	p.line("    way through the drawing:")
	for i, l := range legs {
		to := pad("", width(arrow))
		if i > 0 || l.lines != "" {
			to = arrow
		}
		role, roleInk, mark := roleWords(l.step, p.style.ASCII)
		row := "    " + p.ink(faint, pad(l.lines, linesWidth)+" "+to) + " " + p.ink(roleInk, mark+" "+pad(clean(l.step.GetTag()), tagWidth))
		used := 4 + linesWidth + 1 + width(to) + 1 + width(mark) + 1 + tagWidth
		kind := kindWords(l.step)
		switch {
		case l.step.GetTag() == "" && role == "":
			p.line(strings.TrimRight(row, " "))
		case role == "":
			p.line(row, "  ", kind)
		default:
			p.roleColumn(row+"  "+pad(kind, kindWidth)+"  ", used+2+kindWidth+2, role, roleInk)
		}
	}
}

// roleColumn writes a row whose last column wraps under itself, or under the row where the page is narrow.
func (p *page) roleColumn(row string, used int, text string, c ink) {
	room := p.style.Width - used
	if room < 24 && width(clean(text)) > room {
		used, room = 10, p.style.Width-10
		p.line(strings.TrimRight(row, " "))
		row = strings.Repeat(" ", used)
	}
	for _, l := range wrap(clean(text), room) {
		p.line(row, p.ink(c, l))
		row = strings.Repeat(" ", used)
	}
}

func kindWords(s *skidrulev1.PathStep) string {
	return clean(designfile.Spoken(s.GetKind()))
}

// roleWords says what a step does on the way, how it is painted, and the mark before its tag.
func roleWords(s *skidrulev1.PathStep, ascii bool) (text string, c ink, mark string) {
	switch s.GetRole() {
	case skidrulev1.StepRole_STEP_ROLE_SOURCE, skidrulev1.StepRole_STEP_ROLE_TARGET:
		c, mark = bold, " "
	case skidrulev1.StepRole_STEP_ROLE_BARRIER:
		c, mark = green, "▐"
		if ascii {
			mark = "#"
		}
	case skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED:
		c, mark = red, "✗"
		if ascii {
			mark = "X"
		}
	default:
		return s.GetNote(), plain, " "
	}
	text = spoken(s.GetRole())
	if s.GetNote() != "" {
		text += ": " + s.GetNote()
	}
	return text, c, mark
}
