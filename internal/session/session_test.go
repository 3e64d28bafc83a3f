package session_test

import (
	"context"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/session"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func read(t require.TestingT, path string) *skidrulev1.Design {
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	return f.Design
}

func remove(path string) *skidrulev1.Edit {
	return &skidrulev1.Edit{Change: &skidrulev1.Edit_Remove{Remove: path}}
}

func set(path, value string) *skidrulev1.Edit {
	return &skidrulev1.Edit{Change: &skidrulev1.Edit_Set{Set: &skidrulev1.Datum{Path: path, Value: value}}}
}

func putComponent(c *skidrulev1.Component) *skidrulev1.Edit {
	return &skidrulev1.Edit{Change: &skidrulev1.Edit_PutComponent{PutComponent: c}}
}

func putLine(l *skidrulev1.Line) *skidrulev1.Edit {
	return &skidrulev1.Edit{Change: &skidrulev1.Edit_PutLine{PutLine: l}}
}

// data are data that an edit may state, with values for each.
var data = []struct {
	path   string
	values []string
}{
	{"components.CV-1.max_pressure", []string{"0.5 bar(g)", "10 bar(g)", "16 bar(g)"}},
	{"components.CV-1.check_valve.opening_pressure", []string{"20 mbar", "0.1 bar"}},
	{"components.CV-2.body_material", []string{"pvc_u", "ss_316l", "nonsense"}},
	{"components.LT-1.max_pressure", []string{"1 bar(g)", "6 bar(g)"}},
	{"components.CV-1.ports.inlet.size", []string{"1/2 in", "3/4 in"}},
	{"components.XV-1.fail_position", []string{"open", "closed"}},
	{"components.CV-2.shares_cause", []string{"[make-a]", "[make-a, feed-b]"}},
	{"basis.water_temperature", []string{"12 degC", "25 degC"}},
	{"basis.max_ambient_temperature", []string{"50 degC", "12 bar"}},
	{"name", []string{"one name", "another name"}},
	{"cases.no_such_case.water_temperature", []string{"3 degC"}},
}

// randomEdit draws an edit of a design; it may well be one that is refused.
func randomEdit(t *rapid.T, original, now *skidrulev1.Design) []*skidrulev1.Edit {
	component := func() *skidrulev1.Component { return rapid.SampledFrom(original.GetComponents()).Draw(t, "component") }
	line := func() *skidrulev1.Line { return rapid.SampledFrom(original.GetLines()).Draw(t, "line") }
	switch rapid.IntRange(0, 8).Draw(t, "edit") {
	case 0, 1:
		d := rapid.SampledFrom(data).Draw(t, "datum")
		return []*skidrulev1.Edit{set(d.path, rapid.SampledFrom(d.values).Draw(t, "value"))}
	case 2:
		return []*skidrulev1.Edit{remove(rapid.SampledFrom(data).Draw(t, "datum").path)}
	case 3:
		return []*skidrulev1.Edit{remove("lines." + line().GetTag())}
	case 4:
		return []*skidrulev1.Edit{putLine(proto.CloneOf(line()))}
	case 5:
		// A component goes with its stops in all lines, as a drawing tool takes it out.
		tag := component().GetTag()
		edits := []*skidrulev1.Edit{remove("components." + tag)}
		for _, l := range now.GetLines() {
			c := proto.CloneOf(l)
			c.Route = nil
			for _, stop := range l.GetRoute() {
				if stop.GetTag() != tag {
					c.Route = append(c.Route, stop)
				}
			}
			switch {
			case len(c.Route) == len(l.GetRoute()):
			case len(c.Route) < 2:
				edits = append(edits, remove("lines."+l.GetTag()))
			default:
				edits = append(edits, putLine(c))
			}
		}
		return edits
	case 6:
		return []*skidrulev1.Edit{putComponent(proto.CloneOf(component()))}
	case 7:
		path := "components." + component().GetTag() + ".max_pressure"
		if rapid.Bool().Draw(t, "withdraw") {
			return []*skidrulev1.Edit{{Change: &skidrulev1.Edit_RemoveAssumption{RemoveAssumption: path}}}
		}
		return []*skidrulev1.Edit{{Change: &skidrulev1.Edit_PutAssumption{PutAssumption: &skidrulev1.Assumption{
			Path: path, Low: proto.Float64(1e5), High: proto.Float64(float64(rapid.IntRange(2, 9).Draw(t, "bar")) * 1e5), Reason: "for the test",
		}}}}
	}
	id := rapid.SampledFrom([]string{"night", "pump_stopped"}).Draw(t, "case")
	if rapid.Bool().Draw(t, "take out") {
		return []*skidrulev1.Edit{remove("cases." + id)}
	}
	if rapid.Bool().Draw(t, "turned") {
		// Another kind under the tag makes lines malformed that enter and leave it by one port.
		return []*skidrulev1.Edit{
			putComponent(&skidrulev1.Component{Tag: component().GetTag(), Spec: &skidrulev1.Component_Cap{Cap: &skidrulev1.Cap{}}}),
			putLine(&skidrulev1.Line{Tag: line().GetTag(), Route: []*skidrulev1.RouteStop{{Tag: "CV-1"}, {Tag: "CV-2", Enter: "inlet", Leave: "inlet"}, {Tag: "LT 1"}}}),
		}
	}
	return []*skidrulev1.Edit{{Change: &skidrulev1.Edit_PutCase{PutCase: &skidrulev1.OperatingCase{
		Id: id, Title: "A case of the test", Reason: "for the test", WaterTemperatureK: proto.Float64(float64(rapid.IntRange(275, 295).Draw(t, "K"))),
	}}}}
}

// After any edits the report that the caller holds is that of a full check of the design as it then is, byte for byte.
func TestEditsGiveTheReportOfAFullCheck(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	original := read(t, "../../testdata/hatchery-side-stream/design.yaml")
	check := func(ctx context.Context, r *skidrulev1.CheckDesignRequest, touched *skidrulev1.Design) (*skidrulev1.Report, error) {
		whole := designfile.Check(r.GetDesign(), nil, designfile.Options{})
		if touched != nil {
			part := designfile.Check(touched, nil, designfile.Options{})
			assert.Equal(t, whole, part, "what is wrong with the design is wrong with the part that edits touched")
		}
		if whole != nil {
			return nil, whole
		}
		return e.Check(ctx, r)
	}
	stable := proto.MarshalOptions{Deterministic: true}
	made, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		options := &skidrulev1.CheckOptions{View: rapid.SampledFrom([]skidrulev1.ReportView{0, skidrulev1.ReportView_REPORT_VIEW_FULL, skidrulev1.ReportView_REPORT_VIEW_FINDINGS}).Draw(t, "view")}
		// The session keeps solved cases; the full check at the end does not.
		kept := engine.Keeping(context.Background())
		s, report, err := session.Start(kept, check, proto.CloneOf(original), options)
		require.NoError(t, err)
		for range rapid.IntRange(1, 5).Draw(t, "steps") {
			before := s.Design()
			edits := randomEdit(t, original, before)
			change, err := s.Apply(kept, edits)
			if err != nil {
				refused++
				require.True(t, proto.Equal(before, s.Design()), "a refused edit changes nothing")
				continue
			}
			made++
			report, err = skidrule.Changed(report, change)
			require.NoError(t, err)
		}
		full, err := check(context.Background(), &skidrulev1.CheckDesignRequest{Design: s.Design(), Options: options}, nil)
		require.NoError(t, err)
		want, err := stable.Marshal(full)
		require.NoError(t, err)
		got, err := stable.Marshal(report)
		require.NoError(t, err)
		if !assert.Equal(t, want, got) {
			t.Fatalf("after %d edits the report differs", s.Version())
		}
	})
	assert.Positive(t, made)
	assert.Positive(t, refused)
}

// without is the engine as a checker that trusts the form of a design.
func without(e *engine.Engine) session.Checker {
	return func(ctx context.Context, r *skidrulev1.CheckDesignRequest, _ *skidrulev1.Design) (*skidrulev1.Report, error) {
		return e.Check(ctx, r)
	}
}

func TestWhatAnEditChanges(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	ctx := context.Background()
	s, before, err := session.Start(ctx, without(e), read(t, "../../testdata/hatchery-side-stream/design.yaml"), nil)
	require.NoError(t, err)

	change, err := s.Apply(ctx, []*skidrulev1.Edit{set("components.CV-1.title", "Another title")})
	require.NoError(t, err)
	assert.Empty(t, change.GetAppeared())
	assert.Empty(t, change.GetChanged())
	assert.Empty(t, change.GetDisappeared())
	assert.Empty(t, change.GetFindingOrder())
	assert.True(t, proto.Equal(before.GetCoverage(), change.GetCoverage()))

	change, err = s.Apply(ctx, []*skidrulev1.Edit{set("components.CV-1.max_pressure", "0.01 bar(g)")})
	require.NoError(t, err)
	require.NotEmpty(t, change.GetFindingsAppeared(), "a valve that bears nothing breaks a rule")
	assert.Contains(t, fmt.Sprint(change.GetFindingsAppeared()), "components.CV-1")
	broken := len(change.GetFindingsAppeared())

	change, err = s.Apply(ctx, []*skidrulev1.Edit{remove("components.CV-1.max_pressure")})
	require.NoError(t, err)
	assert.Len(t, change.GetFindingsDisappeared(), broken, "with the datum of its catalogue entry it is as before")
	assert.Equal(t, int64(3), s.Version())
}

func TestEditsThatCannotBeMade(t *testing.T) {
	accept := func(context.Context, *skidrulev1.CheckDesignRequest, *skidrulev1.Design) (*skidrulev1.Report, error) {
		return &skidrulev1.Report{}, nil
	}
	original := read(t, "../../testdata/hatchery-side-stream/design.yaml")
	for _, c := range []struct {
		edit        *skidrulev1.Edit
		field, want string
	}{
		{&skidrulev1.Edit{}, "change", "changes nothing"},
		{set("", "1"), "set.path", "has no"},
		{set("components", "{}"), "set.path", "is no datum"},
		{set("components.CV-1", "{}"), "set.path", "is an element"},
		{set("components.CV-77.title", "x"), "set.path", `there is no "components.CV-77"`},
		{set("components.CV-1.pump.max_speed", "1"), "set.path", `there is no "components.CV-1.pump"`},
		{set("components.CV-1.tag", "CV-5"), "set.path", "names the element"},
		{set("components.CV-1.colour", "red"), "set.path", `"components.CV-1" has no "colour"`},
		{set("components.CV-1.title.x", "red"), "set.path", "has no parts"},
		{set("components.CV-1.max_pressure", "10 m3/h"), "set.value", "pressure"},
		{set("components.CV-1.max_pressure", ""), "set.value", "empty"},
		{set("components.CV-1.max_pressure", "1 bar(g)\ntitle: x"), "set.value", "several lines"},
		{set("components.CV-1.max_pressure", "{a: [b"), "set.value", ""},
		{set("basis[", "x"), "set.path", "no step of a path"},
		{remove("components.CV-77"), "remove", "there is no"},
		{remove("components"), "remove", "one by one"},
		{remove("components.CV-1.check_valve"), "remove", "what the component is"},
		{remove("components.CV-1.position"), "remove", "not stated"},
		{remove("assumptions[99]"), "remove", "has no item 99"},
		{remove("components[0]"), "remove", `"components" has no item 0`},
		{remove("lines.G-2.length[0]"), "remove", `"lines.G-2.length" has no item 0`},
		{remove("components.CV-1.shares_cause[0]"), "remove", "has no item 0"},
		{set("lines.G-2.route[0]", "CV-1"), "set.path", "is an element"},
		{&skidrulev1.Edit{Change: &skidrulev1.Edit_RemoveAssumption{RemoveAssumption: "basis.bromide"}}, "remove_assumption", "nothing is assumed"},
	} {
		s, _, err := session.Start(context.Background(), accept, proto.CloneOf(original), nil)
		require.NoError(t, err)
		_, err = s.Apply(context.Background(), []*skidrulev1.Edit{set("name", "x"), c.edit})
		var bad *session.EditError
		require.ErrorAs(t, err, &bad, "%v", c.edit)
		assert.Equal(t, 1, bad.Index)
		assert.Equal(t, c.field, bad.Field, "%v: %v", c.edit, err)
		assert.Contains(t, err.Error(), c.want)
		assert.True(t, proto.Equal(original, s.Design()), "%v", c.edit)
		assert.Zero(t, s.Version())
	}
}

// What changed beside findings comes whole, and only that: questions, cases, assumptions and rules that failed.
func TestWhatChangesBesideFindings(t *testing.T) {
	failed := []*skidrulev1.RuleFailure{{RuleId: "house/a"}}
	for _, c := range []struct {
		name       string
		was, is    *skidrulev1.Report
		q, c, a, f bool
	}{
		{"nothing", &skidrulev1.Report{Failures: failed}, &skidrulev1.Report{Failures: failed}, false, false, false, false},
		{"a failure more", &skidrulev1.Report{}, &skidrulev1.Report{Failures: failed}, false, false, false, true},
		{"a failure less", &skidrulev1.Report{Failures: failed}, &skidrulev1.Report{}, false, false, false, true},
		{"a question", &skidrulev1.Report{}, &skidrulev1.Report{Questions: []*skidrulev1.Question{{Path: "basis.altitude"}}}, true, false, false, false},
		{"a case", &skidrulev1.Report{}, &skidrulev1.Report{Cases: []*skidrulev1.CaseSummary{{Id: "night"}}}, false, true, false, false},
		{"an assumption", &skidrulev1.Report{}, &skidrulev1.Report{Assumptions: []*skidrulev1.AssumptionUse{{Path: "basis.altitude"}}}, false, false, true, false},
	} {
		next := c.was
		check := func(context.Context, *skidrulev1.CheckDesignRequest, *skidrulev1.Design) (*skidrulev1.Report, error) {
			return next, nil
		}
		s, _, err := session.Start(context.Background(), check, read(t, "../../testdata/hatchery-side-stream/design.yaml"), nil)
		require.NoError(t, err, c.name)
		next = c.is
		change, err := s.Apply(context.Background(), []*skidrulev1.Edit{set("name", "another")})
		require.NoError(t, err, c.name)
		assert.Equal(t, []bool{c.q, c.c, c.a, c.f}, []bool{change.Questions != nil, change.Cases != nil, change.Assumptions != nil, change.Failures != nil}, c.name)
		assert.Len(t, change.GetFailures().GetFailures(), map[bool]int{true: len(c.is.Failures)}[c.f], c.name)
	}
}
