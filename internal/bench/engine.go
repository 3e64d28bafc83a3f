package bench

import (
	"context"
	_ "embed"
	"fmt"
	"sort"

	"github.com/open-policy-agent/opa/v1/ast"
	"github.com/open-policy-agent/opa/v1/rego"
	"github.com/open-policy-agent/opa/v1/storage/inmem"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

//go:embed policy.rego
var policy string

// Policy is the peer: the same questions, prepared once.
type Policy struct{ query rego.PreparedEvalQuery }

// NewPolicy compiles the policy; the ports and passages of the kinds are its static data.
func NewPolicy(ctx context.Context) (*Policy, error) {
	kinds := map[string]any{}
	for _, k := range plant.Kinds() {
		info := k.Info()
		passages := []any{}
		for _, p := range info.Passages {
			passages = append(passages, []any{info.Ports[p[0]].Name, info.Ports[p[1]].Name})
		}
		entry := map[string]any{"passages": passages}
		if info.DefaultIn >= 0 {
			entry["enter"] = info.Ports[info.DefaultIn].Name
		}
		if info.DefaultGo >= 0 {
			entry["leave"] = info.Ports[info.DefaultGo].Name
		}
		kinds[info.Name] = entry
	}
	query, err := rego.New(
		rego.Query("data.plant.answer"), rego.Module("policy.rego", policy),
		rego.Store(inmem.NewFromObject(map[string]any{"kinds": kinds})),
	).PrepareForEval(ctx)
	if err != nil {
		return nil, err
	}
	return &Policy{query}, nil
}

// Input turns the design into the engine's own values, only with what the policy reads.
func Input(d *skidrulev1.Design) ast.Value {
	text := func(s string) *ast.Term { return ast.StringTerm(s) }
	key := struct{ tag, kind, service, shares, enter, leave, route, components, lines *ast.Term }{
		text("tag"), text("kind"), text("service"), text("shares"), text("enter"), text("leave"), text("route"), text("components"), text("lines")}
	components := make([]*ast.Term, 0, len(d.GetComponents()))
	for _, c := range d.GetComponents() {
		shares := make([]*ast.Term, len(c.GetSharesCause()))
		for i, s := range c.GetSharesCause() {
			shares[i] = text(s)
		}
		service := ""
		if b := c.GetBoundary(); b != nil {
			switch b.GetService() {
			case skidrulev1.Service_SERVICE_PROCESS_WATER:
				service = "process_water"
			case skidrulev1.Service_SERVICE_OZONATED_WATER:
				service = "ozonated_water"
			}
		}
		components = append(components, ast.ObjectTerm(
			[2]*ast.Term{key.tag, text(c.GetTag())}, [2]*ast.Term{key.kind, text(plant.KindOf(c).Info().Name)},
			[2]*ast.Term{key.service, text(service)}, [2]*ast.Term{key.shares, ast.ArrayTerm(shares...)}))
	}
	lines := make([]*ast.Term, 0, len(d.GetLines()))
	for _, l := range d.GetLines() {
		stops := make([]*ast.Term, len(l.GetRoute()))
		for i, s := range l.GetRoute() {
			stops[i] = ast.ObjectTerm([2]*ast.Term{key.tag, text(s.GetTag())}, [2]*ast.Term{key.enter, text(s.GetEnter())}, [2]*ast.Term{key.leave, text(s.GetLeave())})
		}
		lines = append(lines, ast.ObjectTerm([2]*ast.Term{key.route, ast.ArrayTerm(stops...)}))
	}
	return ast.NewObject([2]*ast.Term{key.components, ast.ArrayTerm(components...)}, [2]*ast.Term{key.lines, ast.ArrayTerm(lines...)})
}

// Ask answers from the decoded message.
func (p *Policy) Ask(ctx context.Context, d *skidrulev1.Design) (*Answer, error) {
	result, err := p.query.Eval(ctx, rego.EvalParsedInput(Input(d)))
	if err != nil {
		return nil, err
	}
	if len(result) != 1 || len(result[0].Expressions) != 1 {
		return nil, fmt.Errorf("the policy gave %d results", len(result))
	}
	value, ok := result[0].Expressions[0].Value.(map[string]any)
	if !ok {
		return nil, fmt.Errorf("the policy gave a %T", result[0].Expressions[0].Value)
	}
	return readAnswer(value), nil
}

// number is what the engine gives for numbers.
type number interface{ Int64() (int64, error) }

func readAnswer(v map[string]any) *Answer {
	a := &Answer{map[string]int{}, map[string][]string{}, map[string]bool{}, map[string]bool{}, map[string]int{}}
	object := func(name string) map[string]any { m, _ := v[name].(map[string]any); return m }
	counts := func(into map[string]int, name string) {
		for tag, n := range object(name) {
			if x, ok := n.(number); ok {
				i, _ := x.Int64()
				into[tag] = int(i)
			}
		}
	}
	counts(a.Barriers, "barriers")
	counts(a.Zones, "zones")
	for tag, b := range object("no_valve") {
		a.NoValve[tag], _ = b.(bool)
	}
	for tag, b := range object("no_trap") {
		a.NoTrap[tag], _ = b.(bool)
	}
	for tag, list := range object("causes") {
		names := []string{}
		for _, s := range list.([]any) {
			names = append(names, s.(string))
		}
		sort.Strings(names)
		a.Causes[tag] = names
	}
	return a
}
