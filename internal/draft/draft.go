package draft

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Draft draws a plant for the demand of a request, whose form [designfile.Check] has found good. The engine checks what was drawn:
// what it cannot verify becomes a question, and what it finds broken, which happens only with picked parts, is told. The error is a
// *[engine.RequestError] where the demand cannot be met, with every violation and what would be right, or the context's.
func Draft(ctx context.Context, e *engine.Engine, request *skidrulev1.DraftDesignRequest) (*skidrulev1.Draft, error) {
	d, err := readDemand(request.GetDemand())
	if err != nil {
		return nil, err
	}
	stock, err := stockOf(request)
	if err != nil {
		return nil, err
	}
	p, err := scheme(d)
	if err != nil {
		return nil, err
	}
	made, err := p.draw(nil, p.layout())
	if err != nil {
		return nil, err
	}
	var picks []*skidrulev1.DraftPick
	if stock != nil {
		if made, picks, err = p.pickParts(made, stock); err != nil {
			return nil, err
		}
	}
	report, err := e.Check(ctx, &skidrulev1.CheckDesignRequest{Design: made.design, Options: &skidrulev1.CheckOptions{Catalogue: request.GetCatalogue()}})
	if err != nil {
		return nil, fmt.Errorf("the draft cannot be checked: %w", err)
	}
	answer := &skidrulev1.Draft{
		Design: made.design, Circuit: p.circuit, Feed: p.feed, Reasons: p.reasons, Sizes: p.sizes, Picks: picks,
		Findings: report.GetFindings(), Coverage: report.GetCoverage(), Cautions: report.GetCautions(),
	}
	answer.Questions = p.questions(e.Book(), report, made.design)
	answer.Notes = p.notes(made)
	answer.Text, err = text(made, answer)
	return answer, err
}

// stockOf is the catalogue that parts are picked from, the caller's own entries first; nil where no part is picked.
func stockOf(request *skidrulev1.DraftDesignRequest) ([]*skidrulev1.CatalogueEntry, error) {
	own := request.GetCatalogue()
	if own != nil {
		if _, problems := plant.Index(own); len(problems) > 0 {
			var wrong engine.RequestError
			for _, q := range problems {
				wrong.Add("catalogue."+q.Path, q.Suggestion, "%s", q.Message)
			}
			return nil, wrong.Err()
		}
	}
	switch request.GetParts() {
	case skidrulev1.DraftParts_DRAFT_PARTS_UNSPECIFIED:
		return nil, nil
	case skidrulev1.DraftParts_DRAFT_PARTS_OWN:
		if own == nil {
			return nil, engine.Refuse("catalogue", "send one, or pick from the demo catalogue", "parts are to be picked from the caller's own catalogue, and there is none")
		}
		return own.GetEntries(), nil
	case skidrulev1.DraftParts_DRAFT_PARTS_DEMO:
		return slices.Concat(own.GetEntries(), catalogue.Demo().GetEntries()), nil
	}
	return nil, engine.Refuse("parts", "leave it out, or name own or demo", "there is no source of parts %d", request.GetParts())
}

// drawn is a design that was drawn, with the comments of its elements.
type drawn struct {
	design *skidrulev1.Design
	notes  map[string]string // by element path
	heads  map[string]string // sections, by the path of their first element
	order  []string          // paths of elements with notes, in order of the sheet
	sheet  *designfile.Positions
}

// draw draws the plan on a sheet. Components that are picked get no assumption of their own.
func (p *plan) draw(picked map[string]bool, l layout) (*drawn, error) {
	sheet, err := p.sheet(l, picked)
	if err != nil {
		return nil, err
	}
	file, err := designfile.Read("draft.yaml", sheet)
	if err != nil {
		return nil, fmt.Errorf("the sheet of a draft is unusable: %w", err)
	}
	m := &drawn{design: file.Design, notes: map[string]string{}, heads: map[string]string{}, sheet: file.Positions}
	lines := strings.Split(string(sheet), "\n")
	add := func(path string) {
		at, ok := file.Positions.Find(path)
		if !ok {
			return
		}
		var note []string
		for i := at.Line - 2; i >= 0; i-- {
			line := strings.TrimSpace(lines[i])
			if head, ok := strings.CutPrefix(line, "## "); ok {
				m.heads[path] = head
				break
			}
			if line == "" {
				continue
			}
			comment, ok := strings.CutPrefix(line, "# ")
			if !ok {
				break
			}
			note = append([]string{comment}, note...)
		}
		if len(note) > 0 {
			m.notes[path] = strings.Join(note, " ")
			m.order = append(m.order, path)
		}
	}
	for _, c := range m.design.Components {
		add("components." + c.Tag)
	}
	for _, line := range m.design.Lines {
		add("lines." + line.Tag)
	}
	for _, c := range m.design.Cases {
		add("cases." + c.Id)
	}
	m.design.Name = cmp.Or(p.demand.GetName(), "Draft of an ozone skid")
	m.design.Basis = proto.CloneOf(p.demand.basis)
	if p.doseFound {
		m.design.Basis.TransferredDoseKgPerM3 = &p.dose
	}
	fillPorts(m.design)
	return m, nil
}

// fillPorts gives every port at the end of a line the size and connection of the line, unless it states its own: parts are
// ordered with the ends of their lines, tees and vessels made with them. Branches of instruments keep the tube of theirs.
func fillPorts(design *skidrulev1.Design) {
	byTag := map[string]*skidrulev1.Component{}
	for _, c := range design.Components {
		byTag[c.Tag] = c
	}
	for _, line := range design.Lines {
		for i, stop := range line.Route {
			c := byTag[stop.Tag]
			if c == nil {
				continue
			}
			enter, leave := through(c, stop)
			if i > 0 {
				fillPort(c, enter, line)
			}
			if i < len(line.Route)-1 {
				fillPort(c, leave, line)
			}
		}
	}
}

// through gives the ports by which a line passes a component.
func through(c *skidrulev1.Component, stop *skidrulev1.RouteStop) (enter, leave string) {
	enter, leave = stop.Enter, stop.Leave
	info := plant.KindOf(c).Info()
	if enter == "" && info.DefaultIn >= 0 {
		enter = info.Ports[info.DefaultIn].Name
	}
	if leave == "" && info.DefaultGo >= 0 {
		leave = info.Ports[info.DefaultGo].Name
	}
	return enter, leave
}

func fillPort(c *skidrulev1.Component, name string, line *skidrulev1.Line) {
	var port *skidrulev1.Port
	for _, q := range c.Ports {
		if q.Name == name {
			port = q
		}
	}
	if port == nil {
		port = &skidrulev1.Port{Name: name}
		c.Ports = append(c.Ports, port)
	}
	if port.Size == nil {
		port.Size = proto.CloneOf(line.Size)
	}
	if port.Connection == skidrulev1.EndConnectionType_END_CONNECTION_TYPE_UNSPECIFIED {
		port.Connection = line.Connection
	}
}
